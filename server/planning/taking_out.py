"""Whether a part can be put into the tools and taken out of them again.

Two ways, from the documents: lift it and draw it forward under the open ram, or slide it along the
bed out of the tools. The lift is chosen here as just enough to bring the whole part above the die.
The other tools on the bed have the same section, so only this station's own extents count.

Which tools a piece meets does not depend on the rest of the part: it is found once for each piece,
for many together. Instead of drawing a piece forward, the tools are drawn to the rear.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from server.geometry.clearance import edge_normals, overlapping
from server.geometry.outline import Loop, convex_hull, padded, shifted
from server.geometry.solid import Span

LIFT_ROOM_MM = 1.0
FORWARD_MM = 3000.0
LEVEL_DIGITS = 9

RISING, PUNCH_LOW, PUNCH_HIGH, HOLDER, DIE, BED = (1 << number for number in range(6))
"""What a piece may meet: the punch on its way up, low and high; what else is there with the ram on
top."""

MetPiece = tuple[Span, bool, int]
"""A piece that meets something: its extent along the bed, whether it rests, what it meets."""


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A piece of the part in the machine: its outline seen along the bed, and its extent.

    `rests` marks sheet that lies on the die: it may slide along it.
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
        self._bits = [1 << n for n, loops in enumerate(groups) for _ in loops]
        self._loops = padded([loop for loops in groups for loop in loops])
        open_groups = ((PUNCH_HIGH, punch_high), (HOLDER, holder_high), (DIE, die), (BED, bed))
        self._drawn_bits = [bit for bit, loops in open_groups for _ in loops]
        self._drawn_loops = padded(
            [
                convex_hull((*loop, *shifted(loop, x_mm=FORWARD_MM)))
                for _, loops in open_groups
                for loop in loops
            ]
        )

    def met(self, outlines: np.ndarray, normals: np.ndarray) -> list[int]:
        """What each outline meets where it is, one bit each."""
        return _bits_met(outlines, normals, self._loops, self._bits)

    def met_drawn(self, outlines: np.ndarray, normals: np.ndarray, lift_mm: float) -> list[int]:
        """What each outline meets when lifted and drawn forward, one bit each."""
        lifted = outlines + np.array([0.0, lift_mm])
        return _bits_met(lifted, normals, self._drawn_loops, self._drawn_bits)


def _bits_met(
    outlines: np.ndarray, normals: np.ndarray, loops: np.ndarray, bits: Sequence[int]
) -> list[int]:
    found = [0] * len(outlines)
    for which, tool in overlapping(outlines, loops, normals).tolist():
        found[which] |= bits[tool]
    return found


class AtRest:
    """Pieces of a part lying still in the machine, any of which may be there.

    `outlines` are their corners seen along the bed (count, corners, 2) with the normals of the
    sides. `groups` are those of like size, with the corners and sides they have: most have few.
    """

    def __init__(
        self,
        outlines: np.ndarray,
        normals: np.ndarray,
        spans: Sequence[Span],
        rests: Sequence[bool],
        groups: Sequence[tuple[np.ndarray, int, int]] | None = None,
    ) -> None:
        self.outlines = outlines
        if groups is None:
            groups = [(np.arange(len(outlines)), outlines.shape[1], normals.shape[1])]
        self._groups = [
            (rows.tolist(), outlines[rows, :corners], normals[rows, :sides])
            for rows, corners, sides in groups
        ]
        self.spans = spans
        self.rests = rests
        self._met: dict[OpenTools, list[int]] = {}
        self._met_drawn: dict[tuple[OpenTools, float], list[int]] = {}

    @classmethod
    def of(cls, pieces: Sequence[Piece]) -> "AtRest":
        """Pieces given one by one."""
        outlines = padded([piece.loop for piece in pieces])
        return cls(
            outlines,
            edge_normals(outlines),
            [piece.span for piece in pieces],
            [piece.rests for piece in pieces],
        )

    @cached_property
    def lowest(self) -> list[float]:
        """The least height of each piece."""
        found: list[float] = self.outlines[..., 1].min(axis=1).tolist()
        return found

    def met(self, tools: OpenTools) -> list[int]:
        """What each piece meets where it is, one bit each."""
        if tools not in self._met:
            self._met[tools] = self._bits(tools.met)
        return self._met[tools]

    def met_drawn(self, tools: OpenTools, lift_mm: float) -> list[int]:
        """What each piece meets when lifted and drawn forward, one bit each."""
        key = (tools, lift_mm)
        if key not in self._met_drawn:
            self._met_drawn[key] = self._bits(
                lambda outlines, normals: tools.met_drawn(outlines, normals, lift_mm)
            )
        return self._met_drawn[key]

    def _bits(self, met: Callable[[np.ndarray, np.ndarray], list[int]]) -> list[int]:
        found = [0] * len(self.outlines)
        for rows, outlines, normals in self._groups:
            for row, bits in zip(rows, met(outlines, normals), strict=True):
                found[row] = bits
        return found


class Lying:
    """Those of some pieces at rest that are there, by number."""

    def __init__(self, pieces: AtRest, chosen: Sequence[int]) -> None:
        self.pieces = pieces
        self.chosen = chosen
        self._met: dict[OpenTools, tuple[MetPiece, ...]] = {}

    @cached_property
    def lowest_mm(self) -> float:
        """The least height of what is there, 0 for nothing."""
        lowest = self.pieces.lowest
        return min([lowest[number] for number in self.chosen], default=0.0)

    def met(self, tools: OpenTools) -> tuple[MetPiece, ...]:
        """The pieces that meet something where they are."""
        if tools not in self._met:
            self._met[tools] = self._only(self.pieces.met(tools))
        return self._met[tools]

    def met_drawn(self, tools: OpenTools, lift_mm: float) -> tuple[MetPiece, ...]:
        """The pieces that meet something when lifted and drawn forward."""
        return self._only(self.pieces.met_drawn(tools, lift_mm))

    def _only(self, bits: Sequence[int]) -> tuple[MetPiece, ...]:
        pieces = self.pieces
        return tuple(
            (pieces.spans[number], pieces.rests[number], bits[number])
            for number in self.chosen
            if bits[number]
        )


class WayOut:
    """A part at rest in its tools, and the ways it may go in or out."""

    def __init__(self, lying: Sequence[Lying], tools: OpenTools) -> None:
        self.lying = lying
        self.tools = tools
        self._met = [one for some in lying for one in some.met(tools)]
        self._drawn: list[MetPiece] | None = None

    def comes_out(self, punch_runs: tuple[Span, ...], die_runs: tuple[Span, ...]) -> bool:
        """Whether the part can be taken out of tools of these extents, or put into them."""
        beside: set[str] = set()
        for span, rests, bits in self._met:
            if not rests and bits & (BED | DIE):
                beside |= _stops(span, bits, BED, DIE, die_runs)
        rises = not any(bits & RISING and _over(span, punch_runs) for span, _, bits in self._met)
        if rises and (
            self._slides(HOLDER, PUNCH_HIGH, punch_runs, beside)
            or self.draws_forward(punch_runs, die_runs)
        ):
            return True
        return self._slides(0, PUNCH_LOW, punch_runs, beside)

    def over_the_punch(self) -> tuple[Span, ...]:
        """Stretches of the bed where a rising punch would take part of the sheet along."""
        return tuple(span for span, _, bits in self._met if bits & RISING)

    def draws_forward(
        self, punch_runs: tuple[Span, ...] | None, die_runs: tuple[Span, ...] | None
    ) -> bool:
        """Whether the part can be lifted and drawn forward with the ram on top."""
        for span, _, bits in self._met_drawn():
            if bits & (HOLDER | BED):
                return False
            if bits & PUNCH_HIGH and _over(span, punch_runs):
                return False
            if bits & DIE and _over(span, die_runs):
                return False
        return True

    def _met_drawn(self) -> list[MetPiece]:
        if self._drawn is None:
            lowest_mm = min((some.lowest_mm for some in self.lying), default=0.0)
            lift_mm = round(max(0.0, -lowest_mm), LEVEL_DIGITS) + LIFT_ROOM_MM
            self._drawn = [
                one for some in self.lying for one in some.met_drawn(self.tools, lift_mm)
            ]
        return self._drawn

    def _slides(self, endless: int, tool: int, runs: tuple[Span, ...], blocked: set[str]) -> bool:
        """Whether one end of the bed is open to a part slid along it, beside those blocked."""
        stops = set(blocked)
        for span, _, bits in self._met:
            if len(stops) == 2:
                break
            if bits & (endless | tool):
                stops |= _stops(span, bits, endless, tool, runs)
        return len(stops) < 2


def draws_forward(
    pieces: Sequence[Piece], *, punch: Sequence[Loop], low_mm: float, high_mm: float
) -> bool:
    """Whether the ram can open over a part and the part then be lifted and drawn forward."""
    tools = OpenTools(
        punch_low=[shifted(part, y_mm=low_mm) for part in punch],
        punch_high=[shifted(part, y_mm=high_mm) for part in punch],
    )
    way = WayOut([Lying(AtRest.of(pieces), range(len(pieces)))], tools)
    return not way.over_the_punch() and way.draws_forward(None, None)


def _over(span: Span, runs: tuple[Span, ...] | None) -> bool:
    """Whether a piece is beside some of a tool's extents; None is a tool without ends."""
    return runs is None or any(low < span[1] and span[0] < high for low, high in runs)


def _stops(span: Span, bits: int, endless: int, tool: int, runs: tuple[Span, ...]) -> set[str]:
    """The ends of the bed that a piece cannot be slid to for what it meets."""
    if bits & endless:
        return {"left", "right"}
    found = set()
    if bits & tool:
        if any(end > span[0] for _, end in runs):
            found.add("right")
        if any(start < span[1] for start, _ in runs):
            found.add("left")
    return found
