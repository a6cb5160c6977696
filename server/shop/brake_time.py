"""Brake time of a part before it was ever run: handling by mass and size, set-up by what changes.

Every band is common practice without a source and a shop setting; measured times replace them
(`time_standard`). Times of two people count twice, since both are paid.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, say
from server.findings import Finding
from server.mechanics.elementary import need_between
from server.mechanics.handling import LOAD_CONSTANT_KG
from server.shop.time_standard import Kind, TimeBand, TimeFigure, learned_time

MassClass = Literal["under 1 kg", "1 to 10 kg", "10 to 25 kg", "two people"]
SetUpKind = Literal["same tools", "die", "punch", "die and punch"]
Standards = Mapping[tuple[Kind, str], TimeFigure]


@dataclass(frozen=True, slots=True)
class HandlingClass:
    """Seconds to handle one bend of parts in a range of mass, and how many people it takes."""

    name: MassClass
    from_kg: float
    to_kg: float
    band: TimeBand
    people_count: int = 1


HANDLING: tuple[HandlingClass, ...] = (
    HandlingClass("under 1 kg", 0.0, 1.0, TimeBand(6.0, 10.0)),
    HandlingClass("1 to 10 kg", 1.0, 10.0, TimeBand(10.0, 20.0)),
    HandlingClass("10 to 25 kg", 10.0, 25.0, TimeBand(20.0, 45.0)),
    HandlingClass("two people", 25.0, 250.0, TimeBand(40.0, 90.0), people_count=2),
)

SETUP_BANDS: Mapping[SetUpKind, TimeBand] = {
    "same tools": TimeBand(180.0, 360.0),
    "die": TimeBand(300.0, 600.0),
    "punch": TimeBand(300.0, 600.0),
    "die and punch": TimeBand(600.0, 1200.0),
}
LOAD_BAND = TimeBand(6.0, 20.0)

LONG_SIDE_MM = 1500.0
"""Side from which a light part handles like the next heavier class. Common practice, no source."""

TWO_PEOPLE_SIDE_MM = 2500.0
"""Side from which two people carry a part whatever it weighs. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class BrakeTime:
    """Brake time of one part and of its set-up; `people_count` handle each bend together."""

    handling: HandlingClass
    bend: TimeFigure
    load: TimeFigure
    setup: TimeFigure
    people_count: int
    findings: tuple[Finding, ...]

    def per_part_s(self, bends_count: int) -> float:
        """Paid seconds for one part: load and stack once, handle every bend."""
        return self.people_count * (self.load.value_s + bends_count * self.bend.value_s)


def handling_class(*, mass_kg: float, longest_side_mm: float) -> HandlingClass:
    """The handling class of a part by its mass, moved up by its size.

    Args:
        mass_kg: mass of the blank [kg], 0 or more.
        longest_side_mm: its longest side [mm], 0 or more.

    Returns: a `HandlingClass`.

    Raises: ShopError `out_of_range` for a negative mass or side.

    References: classes and sides are common practice, no source.

    >>> handling_class(mass_kg=0.8, longest_side_mm=300.0).name
    'under 1 kg'
    >>> handling_class(mass_kg=0.8, longest_side_mm=1800.0).name
    '1 to 10 kg'
    """
    need_between("mass_kg", mass_kg, 0.0, 1e5, "kg")
    need_between("longest_side_mm", longest_side_mm, 0.0, 1e5, "mm")
    two_people = HANDLING[-1]
    if longest_side_mm >= TWO_PEOPLE_SIDE_MM:
        return two_people
    index = next((i for i, c in enumerate(HANDLING) if mass_kg < c.to_kg), len(HANDLING) - 1)
    if longest_side_mm >= LONG_SIDE_MM:
        index = min(index + 1, len(HANDLING) - 1)
    return HANDLING[index]


def bend_band(*, mass_kg: float, longest_side_mm: float) -> TimeBand:
    """What one bend of a part usually takes: the class's band, its typical time by the mass.

    Formula: low + (high - low) x (mass - from) / (to - from), within the class of the mass itself

    Args:
        mass_kg: mass of the blank [kg], 0 or more.
        longest_side_mm: its longest side [mm], 0 or more.

    Returns: a `TimeBand`; moved up by size, the middle of the band is typical.

    Raises: ShopError `out_of_range` for a negative mass or side.

    References: common practice, no source.

    >>> bend_band(mass_kg=5.5, longest_side_mm=400.0).middle_s
    15.0
    """
    chosen = handling_class(mass_kg=mass_kg, longest_side_mm=longest_side_mm)
    band = chosen.band
    if not chosen.from_kg <= mass_kg < chosen.to_kg:
        return band
    share = (mass_kg - chosen.from_kg) / (chosen.to_kg - chosen.from_kg)
    return TimeBand(band.low_s, band.high_s, band.low_s + (band.high_s - band.low_s) * share)


def brake_time(
    *,
    mass_kg: float,
    longest_side_mm: float,
    setup: SetUpKind,
    standards: Standards | None = None,
    own_bend: TimeFigure | None = None,
    planned_bend_s: float | None = None,
) -> BrakeTime:
    """Brake time of a part, from the best that is known.

    In order of trust: times measured on this very bend sequence, the shop's standard for the
    class, seconds the planner counted for its strokes and turns, the band of common practice.

    Args:
        mass_kg: mass of the blank [kg], 0 or more.
        longest_side_mm: its longest side [mm], 0 or more.
        setup: what has to change on the brake.
        standards: learned times by class.
        own_bend: learned time per bend of this very bend sequence.
        planned_bend_s: planned seconds per bend, handling included [s].

    Returns: a `BrakeTime`.

    Raises: ShopError `out_of_range` for a negative mass or side.

    References: common practice, no source, until measured.

    >>> time = brake_time(mass_kg=5.5, longest_side_mm=400, setup="die")
    >>> time.bend.value_s, time.setup.value_s
    (15.0, 450.0)
    """
    known = standards or {}
    chosen = handling_class(mass_kg=mass_kg, longest_side_mm=longest_side_mm)
    band = bend_band(mass_kg=mass_kg, longest_side_mm=longest_side_mm)
    standard = known.get(("bend", chosen.name))
    if own_bend is not None and own_bend.measured_count:
        bend = own_bend
    elif standard is not None and standard.measured_count:
        bend = standard
    elif planned_bend_s is not None:
        bend = TimeFigure(
            planned_bend_s,
            min(band.low_s, planned_bend_s),
            max(band.high_s, planned_bend_s),
            0,
            "planned strokes and turns",
        )
    else:
        bend = learned_time(band=band, values_s=())
    load_share = min(mass_kg / HANDLING[-1].from_kg, 1.0)
    load_typical = LOAD_BAND.low_s + (LOAD_BAND.high_s - LOAD_BAND.low_s) * load_share
    load_band = TimeBand(LOAD_BAND.low_s, LOAD_BAND.high_s, load_typical)
    return BrakeTime(
        handling=chosen,
        bend=bend,
        load=known.get(("load", chosen.name)) or learned_time(band=load_band, values_s=()),
        setup=known.get(("setup", setup)) or learned_time(band=SETUP_BANDS[setup], values_s=()),
        people_count=chosen.people_count,
        findings=_check_lifting(mass_kg, longest_side_mm, chosen),
    )


def starting_bands() -> dict[tuple[Kind, str], TimeBand]:
    """The bands a new shop starts its time standards from."""
    bands: dict[tuple[Kind, str], TimeBand] = {
        ("bend", handling.name): handling.band for handling in HANDLING
    }
    bands.update({("setup", kind): band for kind, band in SETUP_BANDS.items()})
    bands.update({("load", handling.name): LOAD_BAND for handling in HANDLING})
    return bands


def _check_lifting(
    mass_kg: float, longest_side_mm: float, chosen: HandlingClass
) -> tuple[Finding, ...]:
    if chosen.people_count == 1:
        return ()
    if mass_kg > LOAD_CONSTANT_KG:
        what = say("The blank weighs {mass}: counted for two people.", mass=Amount(mass_kg, "kg"))
    else:
        what = say(
            "A side of {side} is carried by two people: counted twice.",
            side=Amount(longest_side_mm, "mm"),
        )
    return (
        Finding(
            "caution",
            "two_people",
            what,
            say("Plan a second person or a lifting aid; local rules may set less."),
            source="DHHS (NIOSH) Publication 94-110, rev. 9/2021: 23 kg in the best position",
            amount=Amount(mass_kg, "kg"),
        ),
    )
