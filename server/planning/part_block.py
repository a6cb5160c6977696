"""What one element of a folded part meets through a stroke, as stretches of the bed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from server.geometry.clearance import Obstacles, overlap_depth
from server.geometry.outline import Loop, padded
from server.geometry.solid import Solid, Span, span_over
from server.planning.tool_staging import merged


@dataclass(frozen=True, slots=True)
class Met:
    """One tool met by one element: where along the bed, and at which sample by how much.

    `depth_mm` is 0 until a report asks for it.
    """

    tool: str
    spans: tuple[Span, ...]
    sample: int
    depth_mm: float = 0.0


def shadows_of(solids: tuple[Solid, ...]) -> tuple[list[Loop], np.ndarray]:
    """The solids' outlines seen along the bed, and the same padded."""
    loops = [solid.shadow() for solid in solids]
    return loops, padded(loops)


def meetings(
    solids: tuple[Solid, ...], tools: Obstacles, pieces: np.ndarray | None = None
) -> tuple[Met, ...]:
    """Every tool that some of the solids meet, with the stretches where.

    `pieces` are the solids seen along the bed, where they are known.
    """
    if not solids or not tools.parts:
        return ()
    pieces = shadows_of(solids)[1] if pieces is None else pieces
    spans: dict[str, list[Span]] = {}
    first: dict[str, int] = {}
    for tool, piece, pair in _hits(tools, pieces):
        sample = pair // tools.parts
        first[tool] = min(first.get(tool, sample), sample)
        known = spans.setdefault(tool, [])
        solid = solids[piece]
        whole = solid.span(2)
        if any(low <= whole[0] and whole[1] <= high for low, high in known):
            continue
        if solid.is_prism_along_z():
            known.append(whole)
        else:
            over = span_over(solid, [tuple(corner) for corner in tools.corners[pair].tolist()])
            if over is not None:
                known.append(over)
    return tuple(
        Met(tool, tuple(merged(found)), first[tool]) for tool, found in spans.items() if found
    )


def deepest(
    solids: tuple[Solid, ...], tools: Obstacles, tool: str, skin_mm: float
) -> tuple[float, int]:
    """How deep the solids reach into a tool at worst, and at which sample."""
    loops, pieces = shadows_of(solids)
    samples = sorted(
        {pair // tools.parts for name, _, pair in _hits(tools, pieces) if name == tool}
    )
    return max(
        (
            (overlap_depth(loops, tools.shape_of(tool, sample)) + skin_mm, sample)
            for sample in looked_at(samples)
        ),
        default=(0.0, 0),
        key=lambda found: (found[0], -found[1]),
    )


def looked_at(samples: list[int]) -> list[int]:
    """At most nine samples out of many, the first and the last among them."""
    if len(samples) <= 9:
        return samples
    return [samples[round(i * (len(samples) - 1) / 8)] for i in range(9)]


def _hits(tools: Obstacles, pieces: np.ndarray) -> Iterator[tuple[str, int, int]]:
    which, other = tools.hits(pieces)
    for piece, pair in zip(which.tolist(), other.tolist(), strict=True):
        yield tools.names[pair % tools.parts], piece, pair
