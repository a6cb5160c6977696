"""Whether a part can be put into the tools and taken out of them again.

Two ways, from the documents: lift it and draw it forward under the open ram, or slide it along the
bed out of the tools. The lift is chosen here as just enough to bring the whole part above the die.
The other tools on the bed have the same section, so only this station's own extents count.

Which tools a piece meets does not depend on the rest of the part: it is found once for each piece.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from server.geometry.clearance import overlapping
from server.geometry.outline import Loop, convex_hull, padded, shifted
from server.geometry.solid import Span

LIFT_ROOM_MM = 1.0
FORWARD_MM = 3000.0

RISING, PUNCH_LOW, PUNCH_HIGH, HOLDER, DIE, BED = (1 << number for number in range(6))
"""What a piece may meet: the punch on its way up, low and high; what else is there with the ram on
top."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of the part in the machine: its outline seen along the bed, and its extent.

    `rests` marks sheet that lies on the die: it may slide along it. What is known of a piece is
    kept by the piece itself, not by its numbers.
    """

    loop: Loop
    span: Span
    rests: bool


class OpenTools:
    """The tools around a part at rest, as convex outlines.

    `punch_low` is the punch where it touches the part, `punch_high` with the ram on top; `bed` may
    be empty.
    """

    def __init__(
        self,
        *,
        punch_low: Sequence[Loop],
        punch_high: Sequence[Loop],
        holder_high: Sequence[Loop] = (),
        die: Sequence[Loop] = (),
        bed: Sequence[Loop] = (),
    ) -> None:
        rising = [convex_hull((*a, *b)) for a, b in zip(punch_low, punch_high, strict=True)]
        groups = (rising, punch_low, punch_high, holder_high, die, bed)
        self._bits = np.array([1 << n for n, loops in enumerate(groups) for _ in loops], dtype=int)
        self._loops = padded([loop for loops in groups for loop in loops])
        self._met: dict[Piece, int] = {}
        self._met_drawn: dict[tuple[Piece, float], int] = {}

    def met(self, pieces: Sequence[Piece]) -> list[tuple[Piece, int]]:
        """The pieces that meet something where they are, with what, one bit each."""
        known = self._met
        new = [piece for piece in pieces if piece not in known]
        if new:
            known.update(zip(new, self._meetings([piece.loop for piece in new]), strict=True))
        return [(piece, bits) for piece in pieces if (bits := known[piece])]

    def met_drawn(self, pieces: Sequence[Piece], lift_mm: float) -> list[tuple[Piece, int]]:
        """The pieces that meet something when lifted and drawn forward, with what, one bit each."""
        known = self._met_drawn
        new = [piece for piece in pieces if (piece, lift_mm) not in known]
        swept = [
            convex_hull(
                (
                    *shifted(piece.loop, y_mm=lift_mm),
                    *shifted(piece.loop, x_mm=-FORWARD_MM, y_mm=lift_mm),
                )
            )
            for piece in new
        ]
        keys = [(piece, lift_mm) for piece in new]
        known.update(zip(keys, self._meetings(swept), strict=True))
        return [(piece, bits) for piece in pieces if (bits := known[piece, lift_mm])]

    def _meetings(self, loops: Sequence[Loop]) -> list[int]:
        found = [0] * len(loops)
        if loops and len(self._loops):
            for which, tool in overlapping(padded(loops), self._loops).tolist():
                found[which] |= int(self._bits[tool])
        return found


@dataclass(frozen=True, slots=True)
class WayOut:
    """A part at rest in its tools, and the ways it may go in or out."""

    pieces: tuple[Piece, ...]
    tools: OpenTools

    def comes_out(self, punch_runs: tuple[Span, ...], die_runs: tuple[Span, ...]) -> bool:
        """Whether the part can be taken out of tools of these extents, or put into them."""
        met = self.tools.met(self.pieces)
        beside = {
            ends
            for piece, bits in met
            if not piece.rests
            for ends in _stops(piece, bits, BED, DIE, die_runs)
        }
        rises = not any(bits & RISING and _over(piece, punch_runs) for piece, bits in met)
        if rises and (
            self._slides(met, HOLDER, PUNCH_HIGH, punch_runs, beside)
            or self.draws_forward(punch_runs, die_runs)
        ):
            return True
        return self._slides(met, 0, PUNCH_LOW, punch_runs, beside)

    def over_the_punch(self) -> tuple[Span, ...]:
        """Stretches of the bed where a rising punch would take part of the sheet along."""
        return tuple(piece.span for piece, bits in self.tools.met(self.pieces) if bits & RISING)

    def draws_forward(
        self, punch_runs: tuple[Span, ...] | None, die_runs: tuple[Span, ...] | None
    ) -> bool:
        """Whether the part can be lifted and drawn forward with the ram on top."""
        lowest = min((y for piece in self.pieces for _, y in piece.loop), default=0.0)
        lift_mm = max(0.0, -lowest) + LIFT_ROOM_MM
        for piece, bits in self.tools.met_drawn(self.pieces, lift_mm):
            if bits & (HOLDER | BED):
                return False
            if bits & PUNCH_HIGH and _over(piece, punch_runs):
                return False
            if bits & DIE and _over(piece, die_runs):
                return False
        return True

    def _slides(
        self,
        met: list[tuple[Piece, int]],
        endless: int,
        tool: int,
        runs: tuple[Span, ...],
        blocked: set[str],
    ) -> bool:
        """Whether one end of the bed is open to a part slid along it, beside those blocked."""
        stops = set(blocked)
        for piece, bits in met:
            stops |= _stops(piece, bits, endless, tool, runs)
        return len(stops) < 2


def draws_forward(
    pieces: Sequence[Piece], *, punch: Sequence[Loop], low_mm: float, high_mm: float
) -> bool:
    """Whether the ram can open over a part and the part then be lifted and drawn forward."""
    tools = OpenTools(
        punch_low=[shifted(part, y_mm=low_mm) for part in punch],
        punch_high=[shifted(part, y_mm=high_mm) for part in punch],
    )
    way = WayOut(tuple(pieces), tools)
    return not way.over_the_punch() and way.draws_forward(None, None)


def _over(piece: Piece, runs: tuple[Span, ...] | None) -> bool:
    """Whether a piece is beside some of a tool's extents; None is a tool without ends."""
    return runs is None or any(low < piece.span[1] and piece.span[0] < high for low, high in runs)


def _stops(piece: Piece, bits: int, endless: int, tool: int, runs: tuple[Span, ...]) -> set[str]:
    """The ends of the bed that a piece cannot be slid to for what it meets."""
    if bits & endless:
        return {"left", "right"}
    found = set()
    if bits & tool:
        if any(end > piece.span[0] for _, end in runs):
            found.add("right")
        if any(start < piece.span[1] for start, _ in runs):
            found.add("left")
    return found
