"""Why a stroke of a flat part is blocked, with amounts and what would free it."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from server.errors import Amount, Sentence, place, say
from server.findings import Finding
from server.mechanics.tooling import Punch
from server.planning.gauging import check_x, no_contact
from server.planning.making import Making, open_tip_height
from server.planning.part_block import deepest
from server.planning.placed_element import Element
from server.planning.stroke import Stroke
from server.planning.stroke_tests import (
    FINGER,
    kind_of_tool,
    meeting_finding,
    no_length,
    opening_finding,
    support_finding,
)
from server.planning.tool_staging import run_needs, serves

if TYPE_CHECKING:
    from server.planning.part_staging import Needs
    from server.planning.part_strokes import PartStrokes

LOADING = -1
"""Stands for the sample of the flat sheet under the open ram."""


def part_findings(
    tests: "PartStrokes", done: int, stroke: int, rear: int, punch: Punch
) -> tuple[Finding, ...]:
    """Everything that blocks a stroke in a folded state."""
    return tuple(_findings(tests, done, stroke, rear, punch))


def _findings(
    tests: "PartStrokes", done: int, stroke: int, rear: int, punch: Punch
) -> Iterator[Finding]:
    one = tests.making.strokes[stroke]
    behind, front = tests.sides(stroke, rear)
    yield from one.stops(punch)
    opening = opening_finding(tests.task, one, punch)
    yield from () if opening is None else (opening,)
    if not behind.on_one_line(done) or not front.on_one_line(done):
        yield _apart(one)
        return
    for half in (behind, front):
        if not half.rests(done):
            beyond_mm = one.least_flat_mm - half.least_flat_mm
            yield support_finding(one, half.straight_mm(done) + beyond_mm)
    contact = next(iter(tests.touching(behind, done)), None)
    if contact is None:
        yield no_contact(one.bends[0], tests.task.brake.finger)
    else:
        yield from check_x(
            x_mm=contact.x_mm,
            brake=tests.task.brake,
            nearest_x_mm=tests.nearest_x(one),
            bend=one.bends[0],
            die_name=one.die.name,
        )
    needs = tests.needs(done, stroke, rear, punch)
    if needs is None:
        yield from _meeting_findings(tests, done, stroke, rear, punch)
    elif contact is not None and opening is None:
        yield from _staging_findings(tests, done, stroke, rear, punch, needs)
    if one.still is not None:
        return
    if contact is not None:
        met = tests.finger_met(done, stroke, rear, contact)
        if met is not None:
            element, depth_mm, sample = met
            yield meeting_finding(
                stroke=one,
                what=_words(tests.making, element),
                meets="finger",
                tool=FINGER,
                overlap_mm=depth_mm,
                angle_deg=one.angle_at(sample),
            )
    pair = tests.self_met(done, stroke)
    if pair is not None:
        yield meeting_finding(
            stroke=one,
            what=_words(tests.making, pair[0]),
            meets="itself",
            tool=str(_words(tests.making, pair[1])),
            other=_words(tests.making, pair[1], "other"),
            overlap_mm=tests.making.sheet.thickness_mm,
            angle_deg=one.loaded_deg,
        )


def _meeting_findings(
    tests: "PartStrokes", done: int, stroke: int, rear: int, punch: Punch
) -> Iterator[Finding]:
    """The deepest meeting with each tool that cannot be staged around."""
    one = tests.making.strokes[stroke]
    worst: dict[str, tuple[float, int, Element]] = {}
    for half, is_front in tests.tested(stroke, rear):
        above, below = tests.tools(half, punch, front=is_front)
        for placed in half.placed_elements(done):
            element = placed.element
            for met in tests.element_met(half, placed, punch, front=is_front):
                staged = met.tool in (punch.name, one.die.name)
                if staged and run_needs(half.spans, met.spans) is not None:
                    continue
                tools = above if met.tool in above.names else below
                depth_mm, sample = deepest(placed.solids, tools, met.tool, tests.thick.skin_mm)
                if sample >= len(half.swing.half_rad):
                    sample = LOADING
                if depth_mm > worst.get(met.tool, (0.0, 0, element))[0]:
                    worst[met.tool] = (depth_mm, sample, element)
    for tool, (depth_mm, sample, element) in worst.items():
        yield meeting_finding(
            stroke=one,
            what=_words(tests.making, element),
            meets=kind_of_tool(tool, punch, one),
            tool=tool,
            overlap_mm=depth_mm,
            angle_deg=None if sample == LOADING else one.angle_at(sample),
        )


def _staging_findings(
    tests: "PartStrokes", done: int, stroke: int, rear: int, punch: Punch, needs: "Needs"
) -> Iterator[Finding]:
    """No segments of the lengths needed, or no way in and out."""
    one = tests.making.strokes[stroke]
    for tool, kind, runs, segments in (
        (punch.name, "punch", needs[0], punch.segments_mm),
        (one.die.name, "die", needs[1], one.die.segments_mm),
    ):
        stock = tests.stock(kind, tool, segments)
        for need in runs:
            if stock.best(need.least_mm, need.most_mm, need.nominal_mm) is None:
                yield no_length(one, tool, need, tests.task.brake.bed_length_mm)
    tools = f"{punch.name} / {one.die.name}"
    usable = [station for station in tests.stations_of.get(tools, []) if serves(station, *needs)]
    if usable and not any(
        tests.comes_out_of(done, stroke, rear, punch, station, needs) for station in usable
    ):
        yield _stuck(one, punch, open_tip_height(tests.task, punch, one.die))


def _apart(stroke: Stroke) -> Finding:
    told = ", ".join(f"{{bend_{bend}}}" for bend in stroke.bends)
    return Finding(
        "stop",
        "no_longer_on_one_line",
        say(
            f"Bends {told} no longer lie on one line when the bends between them are made.",
            **{f"bend_{bend}": place(bend) for bend in stroke.bends},
        ),
        say("Bend them before the bend between them."),
        source="geometry of the folded part",
        bend=stroke.bends[0],
    )


def _stuck(stroke: Stroke, punch: Punch, open_mm: float) -> Finding:
    return Finding(
        "stop",
        "opening_too_small",
        say(
            "Bend {bend}: under {punch} the brake opens {room}; the part cannot be lifted and "
            "drawn forward, nor slid out along the bed.",
            bend=place(stroke.bends[0]),
            punch=punch.name,
            room=Amount(open_mm, "mm"),
        ),
        say("Use lower tools or a brake with more opening, or bend this line earlier."),
        source="the brake's opening less the tools' heights",
        bend=stroke.bends[0],
        tool=punch.name,
    )


def _words(making: Making, element: Element, key: str = "at") -> Sentence:
    if element.kind == "zone":
        return say(
            f"the roll of bend {{{key}}}", **{key: place(making.bend_of_zone[element.index])}
        )
    strip_of = making.bend_of_face(element.index)
    if strip_of is not None:
        return say(f"the middle of bend {{{key}}}", **{key: place(strip_of)})
    return say(f"face {{{key}}}", **{key: place(element.index)})
