"""Changed since the last set-up: what is different now, and what each difference shifts by how much.

Thickness and tool heights are what people forget: on many brakes the stroke heights are set by hand
and must be set again. Every number here is a difference of two set-ups, split into its reasons; the
reasons add up to the whole difference.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from server.errors import Amount, Sentence, say
from server.findings import Finding, Level, sorted_by_level
from server.mechanics.air_bend import bending, depth_for_angle
from server.mechanics.control_reading import TouchOff, y_reading
from server.mechanics.material import Material
from server.mechanics.stroke_setting import StrokeSetting
from server.mechanics.tooling import Die, Punch, YSense

SAME_MM = 5e-4
MANUAL_FIRST = "the machine's manual comes first"


@dataclass(frozen=True, slots=True)
class KeyedStep:
    """One step as it was or will be keyed: angle wanted, travel, X; Y follows from the set-up."""

    number: int
    wanted_deg: float
    depth_mm: float
    x_mm: float


@dataclass(frozen=True, slots=True)
class SetupFacts:
    """Everything of a set-up that moves a number when it changes.

    `die_turned` is whether the die block stands with another V up or the other way round than it is
    drawn; `None` where nobody noted it.
    """

    revision_label: str
    material: Material
    thickness_mm: float
    punch: Punch
    die: Die
    touch_off: TouchOff
    stroke: StrokeSetting
    steps: tuple[KeyedStep, ...] = ()
    lot_code: str | None = None
    thickness_measured: bool = True
    die_turned: bool | None = None

    @property
    def tool_height_mm(self) -> float:
        """Punch height + die height."""
        return self.punch.height_mm + self.die.height_mm

    def y_mm(self, step: KeyedStep, y_sense: YSense) -> float:
        """The step's exact reading on this set-up."""
        return y_reading(
            touch_off=self.touch_off,
            y_sense=y_sense,
            depth_mm=step.depth_mm,
            thickness_mm=self.thickness_mm,
        )


@dataclass(frozen=True, slots=True)
class Shift:
    """One number before and now; `step` None for the whole set-up."""

    number: str
    before_mm: float
    now_mm: float
    step: int | None = None

    @property
    def change_mm(self) -> float:
        """Now less before."""
        return self.now_mm - self.before_mm


@dataclass(frozen=True, slots=True)
class SetupChange:
    """One difference, told as a finding, with every number it shifts."""

    finding: Finding
    shifts: tuple[Shift, ...] = ()


@dataclass(frozen=True, slots=True)
class YReason:
    """One reason why a step's Y differs from last time; all of a step add up to the difference."""

    code: str
    change_mm: float
    what: Sentence


def setup_changes(
    *, before: SetupFacts, now: SetupFacts, y_sense: YSense, newest_revision: str | None = None
) -> tuple[SetupChange, ...]:
    """The loud list: stops first, then what has to be set again, then what only moved numbers."""
    reasons = {
        new.number: y_reasons(before=before, now=now, old=old, new=new, y_sense=y_sense)
        for old, new in _pairs(before, now)
    }
    changes = [
        *_revision(before, now, newest_revision),
        *_material(before, now),
        *_thickness(before, now, y_sense, reasons),
        *_tools(before, now, y_sense, reasons),
        *_die_turned(before, now),
        *_touch_off(before, now, y_sense, reasons),
        *_lot(before, now),
        *_learned(before, now, y_sense, reasons),
        *_stroke(before, now),
    ]
    order = {id(one): at for at, one in enumerate(sorted_by_level([c.finding for c in changes]))}
    return tuple(sorted(changes, key=lambda change: order[id(change.finding)]))


def y_reasons(
    *, before: SetupFacts, now: SetupFacts, old: KeyedStep, new: KeyedStep, y_sense: YSense
) -> tuple[YReason, ...]:
    """Why a step's Y is not what it was: thickness, tools, touch-off, and what trials taught.

    Raises: ShopError from the mechanics when an angle cannot be bent on one of the set-ups.
    """
    by_thickness = _rule_mm(before, now.thickness_mm, old) - _rule_mm(
        before, before.thickness_mm, old
    )
    by_tools = _rule_mm(now, now.thickness_mm, old) - _rule_mm(before, now.thickness_mm, old)
    by_angle = _rule_mm(now, now.thickness_mm, new) - _rule_mm(now, now.thickness_mm, old)
    by_trials = new.depth_mm - old.depth_mm - by_thickness - by_tools - by_angle
    thicker_mm = now.thickness_mm - before.thickness_mm
    taller_mm = now.tool_height_mm - before.tool_height_mm
    whole_mm = now.y_mm(new, y_sense) - before.y_mm(old, y_sense)
    parts = [
        (
            "thickness",
            y_sense * (by_thickness - (thicker_mm if now.touch_off.on == "die" else 0.0)),
            say(
                "the sheet is {thicker} thicker",
                thicker=Amount(thicker_mm, "mm"),
            ),
        ),
        (
            "tool_height",
            -y_sense * taller_mm,
            say("the tools are {taller} taller", taller=Amount(taller_mm, "mm")),
        ),
        (
            "tools",
            y_sense * by_tools,
            say("{die} and {punch} need another travel", die=now.die.name, punch=now.punch.name),
        ),
        (
            "angle",
            y_sense * by_angle,
            say(
                "the angle wanted is {now} instead of {before}",
                now=Amount(new.wanted_deg, "deg"),
                before=Amount(old.wanted_deg, "deg"),
            ),
        ),
        ("trials", y_sense * by_trials, say("trials since then taught another travel")),
    ]
    rest_mm = whole_mm - sum(change_mm for _, change_mm, _ in parts)
    parts.append(("touch_off", rest_mm, say("the touch-off reads differently")))
    return tuple(YReason(*part) for part in parts if abs(part[1]) > SAME_MM)


Reasons = dict[int, tuple[YReason, ...]]


def _pairs(before: SetupFacts, now: SetupFacts) -> Iterator[tuple[KeyedStep, KeyedStep]]:
    old = {step.number: step for step in before.steps}
    for step in now.steps:
        if step.number in old:
            yield old[step.number], step


def _rule_mm(facts: SetupFacts, thickness_mm: float, step: KeyedStep) -> float:
    """Travel by the rules alone, for a set-up's metal and tools at a thickness."""
    sheet = bending(
        thickness_mm=thickness_mm, material=facts.material, die=facts.die, punch=facts.punch
    )
    return depth_for_angle(sheet, step.wanted_deg)


def _y_shifts(
    before: SetupFacts, now: SetupFacts, y_sense: YSense, reasons: Reasons, codes: set[str]
) -> Iterator[Shift]:
    """How far each step's Y moves for some of its reasons."""
    for old, new in _pairs(before, now):
        moved = sum(reason.change_mm for reason in reasons[new.number] if reason.code in codes)
        if abs(moved) > SAME_MM:
            was_mm = before.y_mm(old, y_sense)
            yield Shift("Y", was_mm, was_mm + moved, new.number)


def _change(
    level: Level,
    code: str,
    what: Sentence,
    frees: Sentence | None,
    *shifts: Shift,
    source: str = "",
) -> SetupChange:
    return SetupChange(Finding(level, code, what, frees, source=source), shifts)


def _revision(before: SetupFacts, now: SetupFacts, newest: str | None) -> Iterator[SetupChange]:
    if newest is not None and now.revision_label != newest:
        yield _change(
            "stop",
            "superseded",
            say("Revision {old} is superseded by {new}.", old=now.revision_label, new=newest),
            say("Set up revision {new}; its own bend sequence and blanks go with it.", new=newest),
            source="a revision is frozen; a new one blocks the old on the floor",
        )
    elif before.revision_label != now.revision_label:
        yield _change(
            "caution",
            "revision_changed",
            say(
                "Revision {new} instead of {old}: angles, X and blank may differ.",
                new=now.revision_label,
                old=before.revision_label,
            ),
            say("Key every step anew; keep nothing of the old program."),
        )


def _material(before: SetupFacts, now: SetupFacts) -> Iterator[SetupChange]:
    if before.material.code != now.material.code:
        yield _change(
            "caution",
            "material_changed",
            say(
                "{new} instead of {old}: another radius and springback.",
                new=now.material.code,
                old=before.material.code,
            ),
            say("Bend a strip first."),
        )


def _thickness(
    before: SetupFacts, now: SetupFacts, y_sense: YSense, reasons: Reasons
) -> Iterator[SetupChange]:
    if abs(now.thickness_mm - before.thickness_mm) <= SAME_MM:
        return
    yield _change(
        "caution",
        "thickness_changed",
        say(
            "Thickness {new} instead of {old}{guess}.",
            new=Amount(now.thickness_mm, "mm"),
            old=Amount(before.thickness_mm, "mm"),
            guess="" if now.thickness_measured else " (not measured)",
        ),
        say("Set the stroke heights again, key Y anew, and check X on the first part."),
        *_y_shifts(before, now, y_sense, reasons, {"thickness"}),
        source="depth, stroke heights and deductions all follow the thickness",
    )


def _tools(
    before: SetupFacts, now: SetupFacts, y_sense: YSense, reasons: Reasons
) -> Iterator[SetupChange]:
    taller_mm = now.tool_height_mm - before.tool_height_mm
    swapped = (before.punch.name, before.die.name) != (now.punch.name, now.die.name)
    same_shape = (before.die.v_opening_mm, before.punch.tip_radius_mm) == (
        now.die.v_opening_mm,
        now.punch.tip_radius_mm,
    )
    if not swapped and abs(taller_mm) <= SAME_MM and same_shape:
        return
    yield _change(
        "caution",
        "tools_changed" if swapped else "tool_height_changed",
        say(
            "{punch} over {die}, {new} high together instead of {old}.",
            punch=now.punch.name,
            die=now.die.name,
            new=Amount(now.tool_height_mm, "mm"),
            old=Amount(before.tool_height_mm, "mm"),
        ),
        say("Touch off again, and set the stroke heights again."),
        Shift("tool height", before.tool_height_mm, now.tool_height_mm),
        *_y_shifts(before, now, y_sense, reasons, {"tools", "tool_height"}),
        source="every height above the bed goes with the height of the tools",
    )


def _die_turned(before: SetupFacts, now: SetupFacts) -> Iterator[SetupChange]:
    if before.die_turned == now.die_turned:
        return
    yield _change(
        "caution",
        "die_turned",
        say("The die block does not stand as it did last time."),
        say(
            "Check which V is up and that it is seated; touch off again. Lift the block with two "
            "people or an aid, the ram blocked."
        ),
        source=MANUAL_FIRST,
    )


def _touch_off(
    before: SetupFacts, now: SetupFacts, y_sense: YSense, reasons: Reasons
) -> Iterator[SetupChange]:
    if not now.touch_off.checked:
        yield _change(
            "caution",
            "touch_off_not_checked",
            say("The touch-off is predicted from tool heights and has not been looked at."),
            say("Touch off on the job's own sheet before the first bend."),
            Shift("touch-off", before.touch_off.reading_mm, now.touch_off.reading_mm),
        )
    elif abs(now.touch_off.reading_mm - before.touch_off.reading_mm) > SAME_MM:
        yield _change(
            "note",
            "touch_off_changed",
            say(
                "Touch-off {new} instead of {old}.",
                new=Amount(now.touch_off.reading_mm, "mm"),
                old=Amount(before.touch_off.reading_mm, "mm"),
            ),
            None,
            Shift("touch-off", before.touch_off.reading_mm, now.touch_off.reading_mm),
            *_y_shifts(before, now, y_sense, reasons, {"touch_off"}),
        )


def _lot(before: SetupFacts, now: SetupFacts) -> Iterator[SetupChange]:
    if before.lot_code != now.lot_code and now.lot_code is not None:
        yield _change(
            "note",
            "lot_changed",
            say(
                "Lot {new} instead of {old}.", new=now.lot_code, old=before.lot_code or "none noted"
            ),
            say("Measure its thickness at four edges."),
        )


def _learned(
    before: SetupFacts, now: SetupFacts, y_sense: YSense, reasons: Reasons
) -> Iterator[SetupChange]:
    shifts = tuple(_y_shifts(before, now, y_sense, reasons, {"trials", "angle"}))
    if shifts:
        yield _change(
            "note",
            "learned_since",
            say("Trials and angles since then move Y."),
            None,
            *shifts,
        )


def _stroke(before: SetupFacts, now: SetupFacts) -> Iterator[SetupChange]:
    pairs: Sequence[tuple[str, float, float]] = (
        ("speed change above the die", before.stroke.speed_change_mm, now.stroke.speed_change_mm),
        ("speed change, ram above the bed", before.stroke.speed_change_ram_mm,
         now.stroke.speed_change_ram_mm),
        ("top of stroke above the die", before.stroke.top_opening_mm, now.stroke.top_opening_mm),
        ("top of stroke, ram above the bed", before.stroke.top_ram_mm, now.stroke.top_ram_mm),
    )  # fmt: skip
    shifts = [
        Shift(name, was, is_now) for name, was, is_now in pairs if abs(is_now - was) > SAME_MM
    ]
    if shifts:
        yield _change(
            "caution",
            "stroke_heights",
            say("The stroke heights have to be set again."),
            say("Set speed change and top of stroke to the new heights, then make an air cycle."),
            *shifts,
            source=MANUAL_FIRST,
        )
