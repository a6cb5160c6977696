"""Tool set-ups: where the touch-off and the sheet in hand turn depths into readings."""

from dataclasses import dataclass
from typing import Any

from server.actions.other_sheet import SAME_MM, fit_to_sheet
from server.errors import Amount, ShopError, say
from server.findings import Given, Reason
from server.mechanics.control_reading import (
    TouchOff,
    TouchOffOn,
    rounded_shallower,
    touch_off_after_tool_change,
    y_reading,
)
from server.mechanics.stroke_setting import MUTE_OPENING_MM, StrokeSetting, stroke_setting
from server.mechanics.tooling import YSense
from server.planning.step_reason import y_reason
from server.settings import ShopSettings
from server.storage.database import Session
from server.storage.plain_finding import plain_reasons
from server.storage.queries.bend_sequence import get_setup, list_steps
from server.storage.queries.brake import get_brake, touch_off_of
from server.storage.queries.tool import get_die, get_punch
from server.storage.tables.bend_sequence import BendSequence, Step
from server.storage.tables.brake import Brake
from server.storage.tables.column import utc_now
from server.storage.tables.setup import Setup, SetupStep


@dataclass(frozen=True, slots=True)
class TouchOffValues:
    """What was read at a touch-off: on what, the control's reading, the tip's height then."""

    on: TouchOffOn
    reading_mm: float
    tip_above_die_top_mm: float


def prepare_setup(
    session: Session,
    sequence: BendSequence,
    *,
    settings: ShopSettings,
    thickness_mm: float | None = None,
    lot_code: str | None = None,
) -> Setup:
    """A set-up for a sequence, its touch-off predicted from the brake's last one.

    A brake that was never touched off starts at reading 0 on the die, marked as not checked.

    Raises: ShopError `not_found`.
    """
    brake = get_brake(session, sequence.brake_code)
    steps = list_steps(session, sequence.id or 0)
    height_mm = tool_height(session, steps[0]) if steps else 1.0
    known = touch_off_of(brake) or TouchOff("die", 0.0, 0.0, height_mm, checked=False)
    predicted = touch_off_after_tool_change(
        touch_off=known, y_sense=_sense(brake), tool_height_mm=height_mm
    )
    thickness = thickness_mm or sequence.thickness_mm
    setting = _stroke(brake, steps, thickness, height_mm, settings)
    setup = Setup(
        bend_sequence_id=sequence.id or 0,
        brake_code=brake.code,
        lot_code=lot_code,
        thickness_mm=thickness,
        thickness_measured=thickness_mm is not None,
        tool_height_mm=height_mm,
        touch_off_on=predicted.on,
        touch_off_reading_mm=predicted.reading_mm,
        touch_off_tip_mm=predicted.tip_above_die_top_mm,
        touch_off_checked=False,
        stroke_setting=_plain_setting(setting),
        stations=sequence.stations,
    )
    session.add(setup)
    session.flush()
    _key_steps(session, setup, brake, steps)
    if thickness_mm is not None:
        fit_to_sheet(session, setup, settings=settings)
        _key_steps(session, setup, brake, steps)
    return setup


def prepare_stroke(session: Session, setup: Setup, *, settings: ShopSettings) -> None:
    """Work out stroke heights and X anew, after the sheet was measured."""
    brake = get_brake(session, setup.brake_code)
    steps = list_steps(session, setup.bend_sequence_id)
    setting = _stroke(brake, steps, setup.thickness_mm, setup.tool_height_mm, settings)
    setup.stroke_setting = _plain_setting(setting)
    session.add(setup)
    fit_to_sheet(session, setup, settings=settings)
    _key_steps(session, setup, brake, steps)


def record_touch_off(session: Session, setup_id: int, values: TouchOffValues, *, by: str) -> Setup:
    """Keep a touch-off made on this set-up; every Y follows it, and the brake remembers it.

    Raises: ShopError `not_found`, `out_of_range`.
    """
    setup = get_setup(session, setup_id)
    brake = get_brake(session, setup.brake_code)
    checked = TouchOff(values.on, values.reading_mm, values.tip_above_die_top_mm)
    if not brake.y_least_mm <= values.reading_mm <= brake.y_most_mm:
        raise ShopError(
            "out_of_range",
            "The control cannot show that reading.",
            remedy="Read Y off the control again.",
            where="reading",
        )
    setup.touch_off_on = checked.on
    setup.touch_off_reading_mm = checked.reading_mm
    setup.touch_off_tip_mm = checked.tip_above_die_top_mm
    setup.touch_off_checked = True
    brake.touch_off_on = checked.on
    brake.touch_off_reading_mm = checked.reading_mm
    brake.touch_off_tip_mm = checked.tip_above_die_top_mm
    brake.touch_off_tool_height_mm = setup.tool_height_mm
    session.add_all((setup, brake))
    _key_steps(session, setup, brake, list_steps(session, setup.bend_sequence_id))
    del by
    return setup


def tool_height(session: Session, step: Step) -> float:
    """Punch height + die height of a step's tools [mm]."""
    return get_punch(session, step.punch_code).height_mm + get_die(session, step.die_code).height_mm


def key_steps(session: Session, setup: Setup) -> None:
    """Work out anew what is keyed for each step, after a correction or another measurement."""
    brake = get_brake(session, setup.brake_code)
    _key_steps(session, setup, brake, list_steps(session, setup.bend_sequence_id))


def touch_off_on_step(setup: Setup, brake: Brake, tool_height_mm: float) -> TouchOff:
    """The set-up's touch-off as it reads with a step's own tools."""
    return touch_off_after_tool_change(
        touch_off=TouchOff(
            "sheet" if setup.touch_off_on == "sheet" else "die",
            setup.touch_off_reading_mm,
            setup.touch_off_tip_mm,
            setup.tool_height_mm,
            setup.touch_off_checked,
        ),
        y_sense=_sense(brake),
        tool_height_mm=tool_height_mm,
    )


def _key_steps(session: Session, setup: Setup, brake: Brake, steps: list[Step]) -> None:
    """What is keyed for each step, written anew; the set-up's version tells that it changed."""
    setup.changed_at = utc_now()
    session.add(setup)
    heights: dict[tuple[str, str], float] = {}
    for step in steps:
        tools = (step.punch_code, step.die_code)
        if tools not in heights:
            heights[tools] = tool_height(session, step)
        known = session.get(SetupStep, (setup.id, step.position)) or SetupStep(
            setup_id=setup.id or 0,
            position=step.position,
            x_mm=step.x_mm,
            y_mm=0.0,
            depth_mm=0.0,
            thickness_mm=setup.thickness_mm,
        )
        _key_step(known, setup, brake, step, heights[tools])
        session.add(known)
    session.flush()


def _key_step(
    keyed: SetupStep, setup: Setup, brake: Brake, step: Step, tool_height_mm: float
) -> None:
    sense = _sense(brake)
    touch_off = touch_off_on_step(setup, brake, tool_height_mm)
    depth_mm = (step.depth_mm or 0.0) + keyed.y_correction_mm
    exact_mm = y_reading(
        touch_off=touch_off,
        y_sense=sense,
        depth_mm=depth_mm,
        thickness_mm=setup.thickness_mm,
    )
    keyed.depth_mm = depth_mm
    keyed.thickness_mm = setup.thickness_mm
    for_sheet_mm = step.x_mm if keyed.sheet_x_mm is None else keyed.sheet_x_mm
    keyed.x_mm = for_sheet_mm + keyed.x_correction_mm
    keyed.y_mm = rounded_shallower(
        reading_mm=exact_mm, y_sense=sense, resolution_mm=brake.y_resolution_mm
    )
    keyed.reasons = plain_reasons(
        (
            y_reason(
                y_mm=keyed.y_mm,
                y_exact_mm=exact_mm,
                touch_off_on=touch_off.on,
                reading_mm=touch_off.reading_mm,
                tip_mm=touch_off.tip_above_die_top_mm,
                thickness_mm=setup.thickness_mm,
                depth_mm=step.depth_mm or 0.0,
                correction_mm=keyed.y_correction_mm,
                y_sense=sense,
                checked=touch_off.checked,
                resolution_mm=brake.y_resolution_mm,
            ),
            *_x_of_sheet(keyed, step),
        )
    )


def _x_of_sheet(keyed: SetupStep, step: Step) -> tuple[Reason, ...]:
    """Why X is another one than was planned, where the sheet is."""
    if keyed.sheet_x_mm is None or abs(keyed.sheet_x_mm - step.x_mm) < SAME_MM:
        return ()
    return (
        Reason(
            number="X",
            result=Amount(keyed.x_mm, "mm"),
            rule="worked out again for the thickness of this sheet",
            formula="X = X₀ + what the thickness adds, rounded to the control's step",
            given=(
                Given("X₀", "as it was planned", Amount(step.x_mm, "mm")),
                Given("t", "thickness of this sheet", Amount(keyed.thickness_mm, "mm")),
                Given("+", "by the thickness", Amount(keyed.sheet_x_mm - step.x_mm, "mm")),
                Given("+", "correction from trials", Amount(keyed.x_correction_mm, "mm")),
            ),
            source="the same geometry as in the plan, with this sheet's deductions",
            sure=say("As sure as the blank and its deductions; the gauged flange corrects it."),
        ),
    )


def _stroke(
    brake: Brake,
    steps: list[Step],
    thickness_mm: float,
    tool_height_mm: float,
    settings: ShopSettings,
) -> StrokeSetting:
    return stroke_setting(
        thickness_mm=thickness_mm,
        tool_height_mm=tool_height_mm,
        tallest_standing_flange_mm=_tallest_flange(steps),
        above_sheet_mm=settings.bend.speed_change_above_sheet_mm,
        loading_room_mm=settings.bend.loading_room_mm,
        mute_opening_mm=brake.mute_opening_mm or MUTE_OPENING_MM,
    )


def _tallest_flange(steps: list[Step]) -> float:
    """Highest point of the sheet above the die top when a step is loaded [mm]."""
    heights = [
        y
        for step in steps
        for loop in (*step.scene["before"]["sheet_mm"], *step.scene["before"]["silhouette_mm"])
        for _, y in loop
    ]
    return max(heights, default=0.0)


def _plain_setting(setting: StrokeSetting) -> dict[str, Any]:
    return {name: getattr(setting, name) for name in setting.__slots__}


def _sense(brake: Brake) -> YSense:
    return 1 if brake.y_sense > 0 else -1
