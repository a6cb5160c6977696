"""When the ram will not move: where to look, in order, without defeating anything that protects.

The order is common practice, no source: from what is seen with a glance to what only a qualified
person may open. The machine's manual and local rules come first everywhere.
"""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal

from server.errors import Sentence, say
from server.findings import Finding

By = Literal["operator", "qualified person"]

LOCK_OUT = "29 CFR 1910.147 (control of hazardous energy)"
GUARDS = "29 CFR 1910.212; ISO 12100:2010; ISO 16092-3:2017; EN 12622:2009+A1:2013"
EMERGENCY_STOP = "ISO 13850:2015"
PRACTICE = "common practice, no source; the machine's manual comes first"


@dataclass(frozen=True, slots=True)
class Look:
    """One place to look. `stop_when` says when to end the search and call a qualified person."""

    code: str
    question: str
    where: str
    put_right: str
    stop_when: str
    by: By = "operator"
    source: str = PRACTICE


BEFORE: tuple[Finding, ...] = (
    Finding(
        "stop",
        "hands_out",
        say("Keep hands and head out from between the tools while looking: the ram can drop."),
        say(
            "Before anything is reached into or opened: power off, locked and tagged by the person "
            "who reaches in, pressure let off, ram blocked or on the die, and tried."
        ),
        source=LOCK_OUT,
    ),
    Finding(
        "stop",
        "bypass_nothing",
        say("Never bridge, tie down, mask or remove a guard, a switch or the light curtain."),
        say("A guard that keeps the ram from moving is doing its work: find out what it sees."),
        source=GUARDS,
    ),
)
"""What stands above the list, always."""

LOOKS: tuple[Look, ...] = (
    Look("power", "Is there power, on all phases?",
         "Main switch on; the mains lamp and the control's screen are lit; other machines run.",
         "Switch the main switch on, if nobody has locked it.",
         "A lock or tag is on it, a breaker has tripped, or a phase is missing.",
         source=LOCK_OUT),
    Look("motor", "Does the pump motor run?",
         "Listen; look at its lamp. It may have to be started after every stop.",
         "Start it by its button.",
         "It hums, smells, turns the wrong way or trips again."),
    Look("emergency_stop", "Is an emergency stop pressed?",
         "Every button: front, rear, pedal, pendant. One pressed button is enough.",
         "Find out why it was pressed. When all is clear, pull or turn it out, then reset.",
         "Nobody knows why it was pressed, or reset does not take.",
         source=EMERGENCY_STOP),
    Look("mode", "Is the right mode chosen?",
         "Mode switch and key: set-up, single stroke, automatic; program running or stopped.",
         "Choose the mode for the work; press start on the control.",
         "The mode does not change, or the key is missing."),
    Look("doors", "Are all doors and gates shut?",
         "Side and rear doors, rear gate, tool cupboard, pit cover: shut, and their switches met.",
         "Look that nobody is behind the machine, then shut them.",
         "A door is shut and still counts as open: its switch or wiring is to be mended.",
         source=GUARDS),
    Look("light_curtain", "Does the light curtain see something?",
         "Lamps of the curtain; sheet, rag, tool or hand in the field; dirt on its windows; muting "
         "lamp and muting point.",
         "Clear the field, wipe the windows, check the muting point against the manual.",
         "The field is clear and clean and the lamp stays red, or it has to be aligned.",
         source=GUARDS),
    Look("pedal", "Does the pedal answer?",
         "Its cable and plug; the right pedal chosen; its emergency stop; something stuck under it.",
         "Free it, plug it in, take the foot fully off once.",
         "The cable or housing is damaged."),
    Look("upper_limit", "Does the ram know it is at the top?",
         "Top-of-stroke setting after the last tool or program change; the ram's position shown.",
         "Set the opening for these tools; bring the ram to the top in set-up mode.",
         "The position shown is not where the ram is."),
    Look("speed_change", "Is the speed-change point where it should be?",
         "Setting or switch after a change of thickness or tools; where the ram stopped.",
         "Set it again from the set-up page, and make an air cycle at reduced speed.",
         "The switch is loose or broken."),
    Look("gauge_in_position", "Is the back gauge in position?",
         "Gauge lamp; X shown against X wanted; fingers against the sheet, a chip or the die.",
         "Free it and move it again.",
         "It hunts, stalls or stands crooked."),
    Look("limits", "Is an axis at its limit?",
         "X, R, Y against their end positions; messages on the control.",
         "Move off the limit in set-up mode.",
         "It cannot be moved off."),
    Look("overload", "Has an overload tripped?",
         "Message on the control; force set against the force of this bend; tools seated; two "
         "sheets at once.",
         "Take the work out, check force and tools, reset once.",
         "It trips again, or a tool is cracked or the ram stands tilted."),
    Look("oil", "Are oil level, temperature and filter right?",
         "Glass with the ram up; thermometer; filter indicator; oil on the floor.",
         "Let it cool or warm up; top up with the oil of the plate.",
         "A hose or a fitting leaks: keep away, oil under pressure goes through skin."),
    Look("tilt", "Is the ram tilted?",
         "Left and right position on the control.",
         "Level it in set-up mode as the manual says.",
         "It does not level, or was tilted by a blow."),
    Look("timers", "Is it waiting for a time?",
         "Dwell, delay and star-delta times; a count reached; a program ended.",
         "Wait for the time to end; set count or dwell.",
         "A time does not end."),
    Look("qualified_person", "Nothing found?",
         "Cabinet, valves, wiring, safety relays.",
         "Leave the covers shut. Lock out, tag, and say what was looked at and when.",
         "Always.",
         by="qualified person",
         source=f"{LOCK_OUT}; 29 CFR 1910.333 (work on or near live parts)"),
)  # fmt: skip


def find_look(code: str) -> Look | None:
    """The place of a code, None for a code that is not on the list."""
    return next((look for look in LOOKS if look.code == code), None)


def next_look(looked_at: Collection[str]) -> Look:
    """The next place in order; the qualified person when everything was looked at."""
    return next((look for look in LOOKS if look.code not in looked_at), LOOKS[-1])


def left_to_look(looked_at: Collection[str]) -> tuple[Look, ...]:
    """What is still to be looked at, in order; never empty."""
    left = tuple(look for look in LOOKS if look.code not in looked_at)
    return left or (LOOKS[-1],)


def log_line(looked_at: Collection[str], *, found: str | None) -> Sentence:
    """One line for the machine's log: what was looked at, in order, and what it was."""
    names = ", ".join(look.code.replace("_", " ") for look in LOOKS if look.code in looked_at)
    cause = find_look(found) if found else None
    if cause is None:
        return say("Ram did not move. Looked at: {names}. Not found.", names=names or "nothing")
    return say(
        "Ram did not move. Looked at: {names}. It was: {cause}.",
        names=names or "nothing",
        cause=cause.code.replace("_", " "),
    )
