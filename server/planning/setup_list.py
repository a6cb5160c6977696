"""The set-up in order: what each step needs, what it records, and the pre-use checks signed by name.

The order is common practice. Safety checks name their standard, and the machine's own manual and
local rules come before all of them. A ticked list is a record of what somebody looked at; it is not
proof of safety.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from server.errors import Amount, Sentence, ShopError, say
from server.findings import Finding, sorted_by_level
from server.mechanics.handling import LOAD_CONSTANT_KG
from server.mechanics.measured_thickness import (
    angle_error_from_thickness,
    check_measured_thickness,
    mean_thickness,
)

NOT_PROOF = "Ticks record what was looked at. They are not proof of safety."
MANUAL_FIRST = "the machine's manual and local rules first"
COMMON = "common practice, no source"
EDGE_COUNT = 4
LEAST_MEASURED_COUNT = 2

Needs = Literal["tick", "thickness", "touch-off", "heights", "read-back", "angle", "signature"]


@dataclass(frozen=True, slots=True)
class SetupItem:
    """One step of the set-up: what to do, what it needs recorded, and where it is from."""

    code: str
    what: Sentence
    source: str
    needs: Needs = "tick"
    safety: bool = False
    before_hands: bool = False


@dataclass(frozen=True, slots=True)
class Tick:
    """Who did an item, and when."""

    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class SetupJob:
    """What the list is made for; heights [mm] are the punch tip's above the die top."""

    part: str
    revision_label: str
    punch: str
    die: str
    v_opening_mm: float
    thickness_mm: float
    speed_change_mm: float
    top_opening_mm: float
    mute_opening_mm: float | None = None
    several_vs: bool = False
    heaviest_tool_kg: float | None = None
    sheet_kg: float | None = None
    programs: str = ""


ISO_PRESS = "EN 12622 (hydraulic press brakes), ISO 16092-3 (hydraulic presses)"
PRE_USE_CHECKS: tuple[SetupItem, ...] = (
    SetupItem(
        "guards",
        say("Guards and side and rear doors are in place, closed and undamaged."),
        f"OSHA 29 CFR 1910.212; {ISO_PRESS}; {MANUAL_FIRST}",
        safety=True,
    ),
    SetupItem(
        "emergency_stops",
        say("Every emergency stop stops the ram; each was pressed and reset, the tools open."),
        f"ISO 12100; {ISO_PRESS}; {MANUAL_FIRST}",
        safety=True,
    ),
    SetupItem(
        "interlocks",
        say("With an interlocked door opened, the ram does not move."),
        f"ISO 12100; {ISO_PRESS}; {MANUAL_FIRST}",
        safety=True,
    ),
    SetupItem(
        "light_curtain",
        say("The light curtain or laser guard stops the ram; tested with its own test piece."),
        f"{ISO_PRESS}; {MANUAL_FIRST}",
        safety=True,
    ),
    SetupItem(
        "seating",
        say("Every punch and die segment is seated, wiped and without cracks or chips."),
        MANUAL_FIRST,
        safety=True,
    ),
    SetupItem(
        "clamps",
        say("Every clamp is tight; no segment moves by hand."),
        MANUAL_FIRST,
        safety=True,
    ),
    SetupItem(
        "bed_clear",
        say("Nothing else lies on bed, tools or back gauge: no key, gauge block or odd segment."),
        f"mixed tool heights can drive a punch into the bed: {COMMON}",
        safety=True,
    ),
)
"""Looked at before the first stroke of every set-up and every shift. The standards are named from
memory for who wants to read them; none is quoted, and the machine's manual says how each is tested."""


def setup_list(job: SetupJob) -> tuple[SetupItem, ...]:
    """The whole set-up of one job in the order it is done."""
    return (
        *_before_the_tools(job),
        *_tools(job),
        *_control(job),
        *PRE_USE_CHECKS,
        *_first_part(job),
    )


def check_setup_list(
    *, items: Sequence[SetupItem], ticks: Mapping[str, Tick], hands_in: bool = False
) -> tuple[Finding, ...]:
    """What is not ticked: a stop for safety, a caution for the rest; always with the plain word.

    `hands_in` asks only whether hands may go between the tools now.
    """
    open_items = [item for item in items if item.code not in ticks]
    if hands_in:
        open_items = [item for item in open_items if item.before_hands]
    found = [
        Finding(
            "stop" if item.safety else "caution",
            "not_ticked",
            say("Not ticked: {what}", what=str(item.what)),
            say("Look at it and tick it with your name."),
            source=item.source,
        )
        for item in open_items
    ]
    if any(item.safety for item in items) and not hands_in:
        found.append(Finding("note", "not_proof_of_safety", say(NOT_PROOF), source=MANUAL_FIRST))
    return sorted_by_level(found)


def ticked(
    *, items: Sequence[SetupItem], ticks: Mapping[str, Tick], code: str, by: str, at: datetime
) -> dict[str, Tick]:
    """The ticks with one more, by name and time. A tick already there keeps its first name.

    Raises: ShopError `no_such_item`, `name_missing`, `not_in_order` where something that has to be
        done before hands go between the tools is still open.
    """
    if not by.strip():
        raise ShopError(
            "name_missing", "Nobody is signed in.", remedy="Say who you are.", where="by"
        )
    places = {item.code: place for place, item in enumerate(items)}
    if code not in places:
        raise ShopError(
            "no_such_item",
            say("The set-up has no item '{code}'.", code=code),
            remedy="Take the list anew.",
            where="code",
        )
    for item in items[: places[code]]:
        if item.before_hands and item.code not in ticks:
            raise ShopError(
                "not_in_order",
                say("First: {what}", what=str(item.what)),
                remedy="Do and tick it before anything that needs hands between the tools.",
                where=item.code,
            )
    return {code: Tick(by.strip(), at), **ticks}


def check_edges(
    *, nominal_mm: float, readings_mm: Sequence[float], tolerance_deg: float
) -> tuple[Finding, ...]:
    """The sheet measured at its edges: enough readings, near nominal, even enough for the angle.

    Raises: ShopError `out_of_range` with no reading.
    """
    mean_mm = mean_thickness(readings_mm=readings_mm)
    found = list(check_measured_thickness(thickness_mm=nominal_mm, readings_mm=readings_mm))
    if len(readings_mm) < EDGE_COUNT:
        found.append(
            Finding(
                "note" if len(readings_mm) >= LEAST_MEASURED_COUNT else "caution",
                "few_edges",
                say("{count} of four edges measured.", count=str(len(readings_mm))),
                say("Measure all four: a sheet is often thinner at its edges."),
                source=COMMON,
            )
        )
    spread_mm = max(readings_mm) - min(readings_mm)
    spread_deg = angle_error_from_thickness(thickness_mm=mean_mm, difference_mm=spread_mm)
    if spread_deg > 2 * tolerance_deg:
        found.append(
            Finding(
                "stop",
                "sheet_too_uneven",
                say(
                    "The edges differ by {spread}: {angle} of bend angle, more than the tolerance "
                    "of {tolerance} either way.",
                    spread=Amount(spread_mm, "mm"),
                    angle=Amount(spread_deg, "deg"),
                    tolerance=Amount(tolerance_deg, "deg"),
                ),
                say("Sort the blanks by thickness and give each heap its own Y."),
                source="34° x dt/t at V = 8 t, derived in measured_thickness",
                amount=Amount(spread_mm, "mm"),
            )
        )
    return sorted_by_level(found)


def _before_the_tools(job: SetupJob) -> Iterator[SetupItem]:
    yield SetupItem(
        "read_revision",
        say("Read {part} revision {label} and compare it with the traveller.",
            part=job.part, label=job.revision_label),
        COMMON,
    )  # fmt: skip
    yield SetupItem(
        "measure_thickness",
        say(
            "Measure the sheet at its four edges; nominal {t}. Mark burr side and grain.",
            t=Amount(job.thickness_mm, "mm"),
        ),
        "thickness is the largest angle error (derived in measured_thickness)",
        needs="thickness",
    )
    if job.sheet_kg is not None and job.sheet_kg > LOAD_CONSTANT_KG:
        yield _lift("lift_sheet", "A blank", job.sheet_kg)


def _tools(job: SetupJob) -> Iterator[SetupItem]:
    yield SetupItem(
        "block_ram",
        say(
            "Block the ram, or let it down on the closed tools, and lock out the power before hands "
            "go between the tools."
        ),
        f"OSHA 29 CFR 1910.147 (lock-out); ISO 12100; {MANUAL_FIRST}",
        safety=True,
        before_hands=True,
    )
    if job.heaviest_tool_kg is not None and job.heaviest_tool_kg > LOAD_CONSTANT_KG:
        yield _lift("lift_tools", "The heaviest tool", job.heaviest_tool_kg)
    yield SetupItem(
        "fetch_tools",
        say("Fetch {punch} and {die}; wipe and inspect them.", punch=job.punch, die=job.die),
        COMMON,
    )
    if job.several_vs:
        yield SetupItem(
            "mark_v",
            say(
                "Turn the block so that V {v} is up, and mark it.", v=Amount(job.v_opening_mm, "mm")
            ),
            "a die block turned the wrong way is a common cause of scrap: " + COMMON,
        )
    yield SetupItem(
        "place_segments",
        say("Place the segments as drawn, gaps where marked; take everything else off the bed."),
        f"mixed tool heights can drive a punch into the bed: {COMMON}",
    )
    yield SetupItem(
        "seat_and_clamp",
        say("Seat the tools at low pressure, hands clear, and clamp from the centre outwards."),
        f"{COMMON}; {MANUAL_FIRST}",
        safety=True,
    )


def _control(job: SetupJob) -> Iterator[SetupItem]:
    yield SetupItem(
        "touch_off",
        say("Touch off on the job's own sheet; record the reading and the sheet's thickness."),
        "touched off on the sheet, its thickness costs a third of the angle (derived)",
        needs="touch-off",
    )
    where = f" into program {job.programs}" if job.programs else ""
    yield SetupItem(
        "key_in",
        say("Key the sheet{where}, and read it back.", where=where),
        COMMON,
        needs="read-back",
    )
    yield SetupItem(
        "stroke_heights",
        say(
            "Set speed change {change} and top of stroke {top} above the die; dwell and pedal mode.",
            change=Amount(job.speed_change_mm, "mm"),
            top=Amount(job.top_opening_mm, "mm"),
        ),
        MANUAL_FIRST,
        needs="heights",
        safety=True,
    )
    if job.mute_opening_mm is not None:
        yield SetupItem(
            "mute_point",
            say(
                "The guard's mute point stays where the manual says: {mute}.",
                mute=Amount(job.mute_opening_mm, "mm"),
            ),
            f"EN 12622, value of this machine's manual; {MANUAL_FIRST}",
            safety=True,
        )


def _first_part(job: SetupJob) -> Iterator[SetupItem]:
    yield SetupItem(
        "air_cycle",
        say(
            "Make an air cycle without sheet, in set-up mode: speed change, stop, gauge, no contact."
        ),
        f"{COMMON}; {MANUAL_FIRST}",
        safety=True,
    )
    yield SetupItem(
        "first_blank",
        say("Bend a strip or the first blank; measure angle and flange."),
        COMMON,
        needs="angle",
    )
    yield SetupItem("correct", say("Correct Y and X; bend and measure again."), COMMON)
    yield SetupItem(
        "sign",
        say("Sign the first article of {part} revision {label}.",
            part=job.part, label=job.revision_label),
        COMMON,
        needs="signature",
    )  # fmt: skip


def _lift(code: str, what: str, mass_kg: float) -> SetupItem:
    return SetupItem(
        code,
        say(
            "{what} weighs {mass}: lift it with two people or a lifting aid.",
            what=what,
            mass=Amount(mass_kg, "kg"),
        ),
        "NIOSH 94-110, load constant 23 kg",
        safety=True,
    )
