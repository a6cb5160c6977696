"""What elements of a folded part meet through a stroke, as stretches of the bed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from server.geometry.clearance import Obstacles, overlap_depth
from server.geometry.outline import Loop, padded
from server.geometry.solid import Solid, Span
from server.planning.placed_element import PlacedBlock
from server.planning.tool_staging import merged


@dataclass(frozen=True, slots=True)
class Met:
    """One tool met by one element, and where along the bed."""

    tool: str
    spans: tuple[Span, ...]


def meetings(block: PlacedBlock, tools: Obstacles, *, flat_too: bool) -> list[tuple[Met, ...]]:
    """For each element of a block every tool that it meets, with the stretches where.

    `flat_too` holds those against the tools that lie in the plane of the bend line.
    """
    found: list[tuple[Met, ...]] = [()] * len(block.placed)
    by_place: dict[int, dict[str, list[Span]]] = {}
    for solid, tool, span in _stretches(block, tools, flat_too=flat_too):
        by_place.setdefault(block.owner[solid], {}).setdefault(tool, []).append(span)
    for place, spans in by_place.items():
        found[place] = tuple(
            Met(tool, tuple(merged(spans[tool])))
            for tool in dict.fromkeys(tools.names)
            if tool in spans
        )
    return found


def _stretches(
    block: PlacedBlock, tools: Obstacles, *, flat_too: bool
) -> Iterator[tuple[int, str, Span]]:
    """Each solid that meets a tool, and where; together they tell all there is.

    A solid is first held against the tool where their boxes share most. Once it is met over its
    whole length no other place can add to that.
    """
    stack = block.stack
    if not stack.count or not tools.parts:
        return
    rows = block.rows if flat_too else block.rows_not_flat
    which, other = tools.near(stack.low[rows, :2], stack.high[rows, :2])
    which = rows[which]
    names = list(dict.fromkeys(tools.names))
    numbers = np.array([names.index(name) for name in tools.names], dtype=np.intp)
    pair_of = which * len(names) + numbers[other % tools.parts]
    shared = np.minimum(stack.high[which, :2], tools.high[other])
    shared -= np.maximum(stack.low[which, :2], tools.low[other])
    order = np.lexsort((-shared[:, 0] * shared[:, 1], pair_of))
    which, other, pair_of = which[order], other[order], pair_of[order]
    first = np.ones(len(order), dtype=bool)
    first[1:] = pair_of[1:] != pair_of[:-1]
    whole = np.zeros(stack.count * len(names), dtype=bool)
    for chosen in (first, ~first):
        now = np.nonzero(chosen & ~whole[pair_of])[0]
        now = now[stack.overlap(which[now], tools, other[now])]
        lows, highs = stack.spans_over(which[now], tools.corners[other[now]])
        ends = stack.low[which[now], 2], stack.high[which[now], 2]
        whole[pair_of[now[(lows == ends[0]) & (highs == ends[1])]]] = True
        for pair, low, high in zip(
            pair_of[now].tolist(), lows.tolist(), highs.tolist(), strict=True
        ):
            if low <= high:
                yield pair // len(names), names[pair % len(names)], (low, high)


def deepest(
    solids: tuple[Solid, ...], tools: Obstacles, tool: str, skin_mm: float
) -> tuple[float, int]:
    """How deep the solids reach into a tool at worst, and at which sample."""
    loops: list[Loop] = [solid.shadow() for solid in solids]
    samples = sorted(
        {pair // tools.parts for name, pair in _hits(tools, padded(loops)) if name == tool}
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


def _hits(tools: Obstacles, pieces: np.ndarray) -> Iterator[tuple[str, int]]:
    for pair in tools.hits(pieces)[1].tolist():
        yield tools.names[pair % tools.parts], pair
