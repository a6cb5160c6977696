"""What a search asks about strokes, and the tools as prisms that both kinds of part meet.

Choices left open by the documents: a holder drawn with its foot at y = 0 stands on the punch, one
drawn higher is already in the punch's coordinates; a bed drawn with its top at y = 0 carries the
die, one drawn lower is already in the machine frame.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from server.errors import Amount, Sentence, place, say
from server.findings import Finding
from server.geometry.clearance import Prism, Swing
from server.geometry.outline import Loop, shifted
from server.mechanics.tooling import Die, Punch
from server.planning.gauging import Contact
from server.planning.making import Making, die_height, open_tip_height, punch_height
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.tool_staging import RunNeed

Meets = Literal["punch", "holder", "die", "bed", "finger"]
RearIndex = Literal[0, 1]

HOLDER, BED, FINGER = "the holder", "the bed", "the finger"
AT_PLACE_MM = 0.01


Offer = tuple[Contact, tuple[Punch, ...]]
"""A gauge contact, and the punches a stroke may be possible with."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A stroke and the half behind the die, asked for some of many sets, by their places."""

    stroke: int
    rear: int
    places: Sequence[int]


@dataclass(frozen=True, slots=True)
class Stop:
    """An X the gauge may stand at while of the strokes `of` (bits) just those of `made` are made."""

    x_mm: float
    of: int
    made: int


class StrokeTests(Protocol):
    """A part in chosen dies, asked stroke by stroke.

    `done` has one bit for each stroke made; `rear` 0 puts the half of the bend's first face (leg 0)
    behind the die, 1 the other. `directions[stroke][rear]` numbers which way the sheet lies, equal
    when no turn in the plane is needed.
    """

    making: Making
    directions: tuple[tuple[int, int], ...]

    @property
    def tests_made(self) -> int:
        """Tests made so far."""

    def contact(self, done: int, stroke: int, rear: int) -> Contact | None:
        """The gauge contact when it is allowed and the sheet rests on both shoulders."""

    def possible(self, done: int, stroke: int, rear: int, punch: Punch) -> bool:
        """Whether nothing blocks the stroke; only asked where there is a contact."""

    def contacts(
        self, done: Sequence[int], stroke: int, rear: int, punches: Sequence[Punch]
    ) -> list[Offer | None]:
        """For each of many states the contact, and the punches not seen to be blocked."""

    def offers(
        self,
        sets: Sequence[int],
        asks: Sequence[Ask],
        punches: Sequence[Sequence[Punch]],
    ) -> list[list[Offer | None]]:
        """`contacts` for many strokes and sets at once, as the last of the sets; an answer per ask."""

    def stations(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[int, ...]:
        """Numbers of the tool stations that serve a possible stroke."""

    def always_blocked(
        self, stroke: int, other: int, punches: Sequence[Punch], rears: Sequence[int]
    ) -> bool:
        """Whether another stroke made before blocks a stroke, whatever else is made."""

    def possible_stops(
        self, stroke: int, rear: int, before: int, later: int
    ) -> tuple[Stop, ...] | None:
        """Every X at which a stroke may be gauged with `before` made and `later` not made.

        There may be more than are reached; None when they are too many to tell.
        """

    def findings(self, done: int, stroke: int, rear: int, punch: Punch) -> tuple[Finding, ...]:
        """Everything that blocks the stroke, each with what would free it."""


def holder_in_place(task: PlanTask, punch: Punch) -> Loop:
    """The holder's outline in the punch's coordinates."""
    loop = task.brake.holder_mm
    height_mm = punch_height(punch)
    if loop and abs(min(y for _, y in loop)) <= AT_PLACE_MM < height_mm:
        return shifted(loop, y_mm=height_mm)
    return loop


def bed_in_place(task: PlanTask, die: Die) -> Loop:
    """The bed's outline in the machine frame."""
    loop = task.brake.bed_mm
    height_mm = die_height(die)
    if loop and abs(max(y for _, y in loop)) <= AT_PLACE_MM < height_mm:
        return shifted(loop, y_mm=-height_mm)
    return loop


def upper_prisms(task: PlanTask, punch: Punch) -> list[Prism]:
    """Punch and holder, which move with the ram."""
    found = [Prism(punch.name, punch.profile_mm, moves=True)] if punch.profile_mm else []
    holder = holder_in_place(task, punch)
    return [*found, Prism(HOLDER, holder, moves=True)] if holder else found


def lower_prisms(task: PlanTask, die: Die) -> list[Prism]:
    """Die and bed, which stand still."""
    found = [Prism(die.name, die.profile_mm, moves=False)] if die.profile_mm else []
    bed = bed_in_place(task, die)
    return [*found, Prism(BED, bed, moves=False)] if bed else found


def with_loading(task: PlanTask, stroke: Stroke, punch: Punch, own: Swing | None = None) -> Swing:
    """A stroke's samples and, last, the flat sheet under the open ram.

    `own` is the half's own motion in a stroke whose halves move differently.
    """
    swing = stroke.swing if own is None else own
    open_mm = open_tip_height(task, punch, stroke.die)
    return Swing(
        half_rad=np.append(swing.half_rad, 0.0),
        centre_mm=np.append(swing.centre_mm, swing.pivot_mm),
        rolled_mm=np.append(swing.rolled_mm, swing.rolled_mm[0]),
        pivot_mm=swing.pivot_mm,
        tip_mm=np.append(swing.tip_mm, open_mm),
    )


def opening_finding(task: PlanTask, stroke: Stroke, punch: Punch) -> Finding | None:
    """The stop for tools so tall that the sheet does not go between them."""
    open_mm = open_tip_height(task, punch, stroke.die)
    if open_mm > task.thickness_mm:
        return None
    return Finding(
        "stop",
        "opening_too_small",
        say(
            "With {punch} on {die} the brake opens {room} between the tools; the sheet is {t}.",
            punch=punch.name,
            die=stroke.die.name,
            room=Amount(open_mm, "mm"),
            t=Amount(task.thickness_mm, "mm"),
        ),
        say("Use lower tools."),
        source="the brake's opening less the tools' heights",
        bend=stroke.bends[0],
        tool=punch.name,
        amount=Amount(task.thickness_mm - open_mm, "mm"),
    )


def support_finding(stroke: Stroke, flat_mm: float) -> Finding:
    """The stop for a half that is not flat far enough to rest on its shoulder."""
    short_mm = stroke.least_flat_mm - flat_mm
    return Finding(
        "stop",
        "flange_too_short",
        say(
            "Beside bend {bend} the sheet is flat for {flat}; on {die} it has to be {least}.",
            bend=place(stroke.bends[0]),
            flat=Amount(flat_mm, "mm"),
            die=stroke.die.name,
            least=Amount(stroke.least_flat_mm, "mm"),
        ),
        say(
            "Use a narrower V, make the flange {short} longer, or bend its neighbour later.",
            short=Amount(short_mm, "mm"),
        ),
        source="contact on the die shoulder at the loaded angle, with the shop's margin",
        bend=stroke.bends[0],
        tool=stroke.die.name,
        amount=Amount(short_mm, "mm"),
    )


def meeting_finding(
    *,
    stroke: Stroke,
    what: Sentence,
    meets: Meets | Literal["itself"],
    tool: str,
    overlap_mm: float,
    angle_deg: float | None,
    other: Sentence | None = None,
) -> Finding:
    """The stop for sheet that meets a tool; `angle_deg` None means at loading.

    `other` tells what of the part is met when it meets itself.
    """
    when = "while it is put in" if angle_deg is None else "at {angle}"
    met = other or say("{tool}", tool=tool)
    angle = {} if angle_deg is None else {"angle": Amount(angle_deg, "deg")}
    frees = {
        "punch": "Use a punch with more relief on that side, or bend in another order.",
        "holder": "Use a taller punch, or bend in another order.",
        "die": "Use a narrower die, or bend in another order.",
        "bed": "Use a taller die, or bend in another order.",
        "finger": "Set the fingers to another height, or gauge the other half.",
        "itself": "Make the flange shorter, or bend in another order.",
    }[meets]
    return Finding(
        "stop",
        f"meets_{meets}",
        say(
            f"Bend {{bend}}: {when} {what.template} meets {met.template} by {{overlap}}.",
            bend=place(stroke.bends[0]),
            overlap=Amount(overlap_mm, "mm"),
            **angle,
            **what.amounts,
            **met.amounts,
        ),
        say(frees),
        source="clearance of the folded part through the stroke, 0.1 mm allowed",
        bend=stroke.bends[0],
        tool=tool,
        amount=Amount(overlap_mm, "mm"),
    )


def kind_of_tool(name: str, punch: Punch, stroke: Stroke) -> Meets:
    """What kind of thing a prism's name stands for."""
    if name == punch.name:
        return "punch"
    if name == stroke.die.name:
        return "die"
    return "holder" if name == HOLDER else "bed"


def no_length(stroke: Stroke, tool: str, need: RunNeed, bed_mm: float) -> Finding:
    """The stop for tools that cannot be put together to the length needed."""
    if need.least_mm > bed_mm:
        return Finding(
            "stop",
            "bend_longer_than_bed",
            say(
                "The bend needs tools of {need}; the bed is {bed}.",
                need=Amount(need.least_mm, "mm"),
                bed=Amount(bed_mm, "mm"),
            ),
            say("Make the part in two, or on a longer brake."),
            source="the machine's plate",
            bend=stroke.bends[0],
            tool=tool,
            amount=Amount(need.least_mm - bed_mm, "mm"),
        )
    return Finding(
        "stop",
        "no_tool_of_length",
        say(
            "{tool} has to be {least} to {most} long; its segments do not make that.",
            tool=tool,
            least=Amount(need.least_mm, "mm"),
            most="any length" if math.isinf(need.most_mm) else Amount(need.most_mm, "mm"),
        ),
        say("Get a segment that fills the gap, or bend the side flanges later."),
        source="at most 3 mm short at each end, 1 mm beside standing flanges",
        bend=stroke.bends[0],
        tool=tool,
    )


def along_the_bed_only(stroke: Stroke, *, loading: bool) -> Finding:
    """The caution for a part that goes in or out only along the bed."""
    when = "before" if loading else "after"
    return Finding(
        "caution",
        f"slide_{'in' if loading else 'out'}_along_the_bed",
        say(
            "Bend {bend}: {when} the stroke the part cannot be drawn forward under the open ram.",
            bend=place(stroke.bends[0]),
            when=when,
        ),
        say("Slide it along the bed; keep that end of the brake free, and get help if it is long."),
        source="geometry of the folded part and the open tools",
        bend=stroke.bends[0],
    )
