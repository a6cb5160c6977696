"""What deserves attention in a brake's own record: gaps and numbers that do not fit together."""

from collections.abc import Iterator

from server.errors import Amount, say
from server.findings import Finding, sorted_by_level
from server.mechanics.control_reading import TouchOff, within_axis
from server.mechanics.stroke_setting import MUTE_OPENING_MM, SLOW_CLOSING_MM_PER_S
from server.mechanics.tooling import Brake

MANUAL = "the machine's manual comes first"


def check_brake(
    brake: Brake, *, mute_opening_mm: float | None, touch_off: TouchOff | None
) -> tuple[Finding, ...]:
    """Whether a brake's record is complete and fits together.

    Args:
        brake: the machine.
        mute_opening_mm: opening under which its guard may be muted [mm], None when not entered.
        touch_off: the last recorded touch-off, None when there is none.

    Returns: stops first, then cautions; empty when there is nothing to say.
    """
    return sorted_by_level(
        (
            *_mute(brake, mute_opening_mm),
            *_speed(brake),
            *_touch_off(brake, touch_off),
            *_outlines(brake),
        )
    )


def _mute(brake: Brake, mute_opening_mm: float | None) -> Iterator[Finding]:
    if mute_opening_mm is None:
        yield Finding(
            "caution",
            "no_mute_opening",
            say("The opening under which the guard may be muted is not entered."),
            say("Take it from this machine's manual. Never widen it, never bypass the guard."),
            source=MANUAL,
            tool=brake.name,
        )
    elif mute_opening_mm > MUTE_OPENING_MM:
        yield Finding(
            "caution",
            "mute_opening_wide",
            say(
                "A mute opening of {opening} is wider than {usual}.",
                opening=Amount(mute_opening_mm, "mm"),
                usual=Amount(MUTE_OPENING_MM, "mm"),
            ),
            say("Check it against this machine's manual and have the guard inspected."),
            source="EN 12622:2009+A1:2013, from memory; " + MANUAL,
            tool=brake.name,
            amount=Amount(mute_opening_mm - MUTE_OPENING_MM, "mm"),
        )


def _speed(brake: Brake) -> Iterator[Finding]:
    if brake.speed_mm_per_s > SLOW_CLOSING_MM_PER_S:
        yield Finding(
            "caution",
            "bending_speed_high",
            say(
                "A bending speed of {speed} is above {usual}, the fastest slow closing speed.",
                speed=Amount(brake.speed_mm_per_s, "mm_per_s"),
                usual=Amount(SLOW_CLOSING_MM_PER_S, "mm_per_s"),
            ),
            say("Above it the guard has to stay active to the end of the stroke: see the manual."),
            source="EN 12622:2009+A1:2013, from memory; " + MANUAL,
            tool=brake.name,
        )


def _touch_off(brake: Brake, touch_off: TouchOff | None) -> Iterator[Finding]:
    if touch_off is None:
        return
    if not within_axis(axis=brake.y_axis, reading_mm=touch_off.reading_mm):
        yield Finding(
            "caution",
            "touch_off_outside_y",
            say(
                "The touch-off reading {reading} lies outside Y's travel of {least} to {most}.",
                reading=Amount(touch_off.reading_mm, "mm"),
                least=Amount(brake.y_axis.least_mm, "mm"),
                most=Amount(brake.y_axis.most_mm, "mm"),
            ),
            say("Read it off the control again, in the control's own unit."),
            source="the control's limits",
            tool=brake.name,
        )


def _outlines(brake: Brake) -> Iterator[Finding]:
    if not brake.holder_mm:
        yield Finding(
            "caution",
            "no_holder",
            say("No punch holder is chosen, so clearance above the punch is not checked."),
            say("Draw the holder under Tools and choose it here."),
            source="the brake's own record",
            tool=brake.name,
        )
