"""Whether a part can be put into the tools and taken out of them again.

Two ways, from the documents: lift it and draw it forward under the open ram, or slide it along the
bed out of the tools. The lift is chosen here as just enough to bring the whole part above the die.
The other tools on the bed have the same section, so only this station's own extents count.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.geometry.clearance import overlapping
from server.geometry.outline import Loop, convex_hull, padded, shifted
from server.geometry.solid import Span

LIFT_ROOM_MM = 1.0
FORWARD_MM = 3000.0


@dataclass(frozen=True, slots=True)
class Standing:
    """Tools as convex outlines with their extent along the bed; None where they never end."""

    loops: tuple[Loop, ...]
    spans: tuple[Span, ...] | None


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the part in the machine: its outline seen along the bed, and its extent.

    `rests` marks sheet that lies on the die: it may slide along it.
    """

    loop: Loop
    span: Span
    rests: bool


@dataclass(frozen=True, slots=True)
class WayOut:
    """A part at rest in its tools, and the ways it may go in or out.

    `punch_low` is the punch where it touches the part, `punch_high` with the ram on top; `bed` may
    be empty. Tools are convex outlines.
    """

    pieces: tuple[Piece, ...]
    punch_low: tuple[Loop, ...]
    punch_high: tuple[Loop, ...]
    holder_high: tuple[Loop, ...]
    die: tuple[Loop, ...]
    bed: tuple[Loop, ...]

    def comes_out(self, punch_runs: tuple[Span, ...], die_runs: tuple[Span, ...]) -> bool:
        """Whether the part can be taken out of tools of these extents, or put into them."""
        above = (Standing(self.punch_high, punch_runs), Standing(self.holder_high, None))
        below = (Standing(self.die, die_runs), Standing(self.bed, None))
        free = [piece for piece in self.pieces if not piece.rests]
        clear_below = _slides(free, below)
        rises = not _meets(
            self.pieces, Standing(_swept(self.punch_low, self.punch_high), punch_runs)
        )
        if rises and (
            _draws_forward(self.pieces, (*above, *below))
            or _slides(self.pieces, above, clear_below)
        ):
            return True
        return bool(_slides(self.pieces, (Standing(self.punch_low, punch_runs),), clear_below))

    def over_the_punch(self) -> tuple[Span, ...]:
        """Stretches of the bed where a rising punch would take part of the sheet along."""
        swept = Standing(_swept(self.punch_low, self.punch_high), None)
        return tuple(piece.span for piece, _ in _pairs(self.pieces, swept))


def draws_forward(
    pieces: Sequence[Piece], *, punch: Sequence[Loop], low_mm: float, high_mm: float
) -> bool:
    """Whether the ram can open over a part and the part then be lifted and drawn forward."""
    low = tuple(shifted(part, y_mm=low_mm) for part in punch)
    high = tuple(shifted(part, y_mm=high_mm) for part in punch)
    if _meets(pieces, Standing(_swept(low, high), None)):
        return False
    return _draws_forward(pieces, (Standing(high, None),))


def _swept(low: Sequence[Loop], high: Sequence[Loop]) -> tuple[Loop, ...]:
    return tuple(convex_hull((*a, *b)) for a, b in zip(low, high, strict=True))


def _draws_forward(pieces: Sequence[Piece], tools: Sequence[Standing]) -> bool:
    lowest = min((y for piece in pieces for _, y in piece.loop), default=0.0)
    lift_mm = max(0.0, -lowest) + LIFT_ROOM_MM
    moving = [
        Piece(
            convex_hull(
                (
                    *shifted(piece.loop, y_mm=lift_mm),
                    *shifted(piece.loop, x_mm=-FORWARD_MM, y_mm=lift_mm),
                )
            ),
            piece.span,
            piece.rests,
        )
        for piece in pieces
    ]
    return not any(_meets(moving, standing) for standing in tools)


Ways = frozenset[str]
BOTH: Ways = frozenset({"left", "right"})


def _slides(pieces: Sequence[Piece], tools: Sequence[Standing], ways: Ways = BOTH) -> Ways:
    """The ends of the bed, of those given, that the part can be slid to."""
    met = [pair for standing in tools for pair in _pairs(pieces, standing)]
    if any(spans is None for _, spans in met):
        return frozenset()
    blocked = set()
    for piece, spans in met:
        for start, end in spans or ():
            if end > piece.span[0]:
                blocked.add("right")
            if start < piece.span[1]:
                blocked.add("left")
    return ways - blocked


def _meets(pieces: Sequence[Piece], standing: Standing) -> bool:
    return any(
        spans is None or any(low < piece.span[1] and piece.span[0] < high for low, high in spans)
        for piece, spans in _pairs(pieces, standing)
    )


def _pairs(
    pieces: Sequence[Piece], standing: Standing
) -> list[tuple[Piece, tuple[Span, ...] | None]]:
    """The pieces whose outline overlaps the tool's, wherever they are along the bed."""
    if not pieces or not standing.loops:
        return []
    found = overlapping(
        padded([piece.loop for piece in pieces]), np.asarray(padded(standing.loops))
    )
    return [(pieces[i], standing.spans) for i in sorted({int(pair[0]) for pair in found})]
