"""Dwell and pedal mode for a set-up: advice beside the stroke heights, which are set by hand.

The machine's manual comes first everywhere; nothing here asks to go round a guard.
"""

from collections.abc import Collection, Iterator

from server.errors import Amount, say
from server.findings import Finding

COMMON = "common practice, no source; the machine's manual comes first"
FORCED_KINDS = frozenset({"bottoming", "coining", "flatten", "offset"})
AIR_DWELL_S = 0.2
FORCED_DWELL_S = 0.7
LONG_REACH_MM = 500.0


def stroke_advice(
    *, kinds: Collection[str], longest_reach_mm: float, mute_opening_mm: float | None
) -> tuple[Finding, ...]:
    """How long to dwell, which pedal mode to bend in, and what the guard's mute point asks for.

    `kinds` are the kinds of the steps, `longest_reach_mm` how far the sheet stands out in front.
    """
    return (*_dwell(kinds), *_pedal(longest_reach_mm), *_mute(mute_opening_mm))


def _dwell(kinds: Collection[str]) -> Iterator[Finding]:
    if set(kinds) - FORCED_KINDS:
        yield Finding(
            "note",
            "dwell_air",
            say("Dwell {dwell} s at the bottom for air bends.", dwell=f"{AIR_DWELL_S:g}"),
            say("Longer only if the angle differs from stroke to stroke at one Y."),
            source=COMMON,
        )
    if set(kinds) & FORCED_KINDS:
        yield Finding(
            "note",
            "dwell_forced",
            say("Dwell {dwell} s where the tools meet.", dwell=f"{FORCED_DWELL_S:g}"),
            say("Bottoming, flattening and offsets need the force to act for a moment."),
            source=COMMON,
        )


def _pedal(longest_reach_mm: float) -> Iterator[Finding]:
    yield Finding(
        "note",
        "pedal_first",
        say("Air cycle and first part in set-up mode, pedal held, at reduced speed."),
        say("Single stroke for the run, once the first part is right and the guard is tested."),
        source=f"EN 12622, ISO 16092-3 (named from memory); {COMMON}",
    )
    if longest_reach_mm > LONG_REACH_MM:
        yield Finding(
            "caution",
            "pedal_long_reach",
            say(
                "The sheet stands out {reach}: its edge swings up fast.",
                reach=Amount(longest_reach_mm, "mm"),
            ),
            say("Stand beside it, support it, and keep to hold-to-run at slow speed."),
            source=COMMON,
        )


def _mute(mute_opening_mm: float | None) -> Iterator[Finding]:
    if mute_opening_mm is None:
        yield Finding(
            "caution",
            "mute_unknown",
            say("The guard's mute opening is not entered for this brake."),
            say("Take it from this machine's manual. Never widen it, never bypass the guard."),
            source="EN 12622, value of this machine's manual",
        )
