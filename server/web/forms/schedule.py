"""Forms of the schedule: wishes, and the shop's hours."""

import re
from collections.abc import Iterator
from datetime import date, datetime
from typing import TYPE_CHECKING

from server.actions.schedule_hours import WEEKDAYS, WORK_KINDS, HoursValues, ShiftValues
from server.actions.schedule_request import Wish
from server.actions.wall_clock import utc_of
from server.web.forms.form import Form

if TYPE_CHECKING:
    from collections.abc import Iterable

    from server.storage.tables.schedule import Shift

SHIFT = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)\s*(?:-|–|to)\s*([01]?\d|2[0-4]):([0-5]\d)")
WISHES = ("again", "pin", "unpin", "hot", "down", "job")
FIRST_YEAR, LAST_YEAR = 2000, 2200
DAY_MIN = 1440


def read_wish(form: Form) -> Wish:
    """What somebody wishes of the plan."""
    kind = form.choice("kind", WISHES)
    if kind == "again":
        return Wish("again")
    if kind == "down":
        return Wish(
            "down",
            resource_code=form.text("resource_code", needed=True, most=40),
            start_at=moment_of(form, "start_at"),
            end_at=moment_of(form, "end_at"),
            reason=form.text("reason", most=120),
        )
    number = form.text("job_number", needed=True, most=40)
    if kind == "job":
        return Wish("job", job_number=number)
    position = form.whole("position", least=0, most=10_000)
    if kind == "unpin":
        return Wish("unpin", job_number=number, position=position)
    if kind == "hot":
        return Wish("pin", job_number=number, position=position, hot=True)
    return Wish(
        "pin",
        job_number=number,
        position=position,
        resource_code=form.text("resource_code", most=40),
        start_at=moment_of(form, "start_at") if form.typed.get("start_at") else None,
        hot=form.yes("hot"),
    )


def title_of(wish: Wish, form: Form) -> str:
    """What a proposal is called."""
    what = form.typed.get("title", "").strip()[:80]
    if what:
        return what
    match wish.kind:
        case "pin" if wish.hot:
            return f"{wish.job_number} first"
        case "pin":
            return f"{wish.job_number} pinned"
        case "unpin":
            return f"{wish.job_number} no longer pinned"
        case "down":
            return f"{wish.resource_code} stands still"
        case "job":
            return f"{wish.job_number} comes in"
        case _:
            return "Planned again"


def moment_of(form: Form, name: str) -> datetime | None:
    """A date and time by the clock on the wall, as UTC."""
    text = form.typed.get(name, "").strip()
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        form.trouble(name, "This is not a date with a time.", "Type it like 2026-11-25T07:30.")
        return None
    if at.tzinfo is not None or not FIRST_YEAR <= at.year <= LAST_YEAR:
        form.trouble(name, "This is not a date to plan with.", "Check the year.")
        return None
    return utc_of(at)


def day_of(form: Form, name: str) -> date | None:
    """A day."""
    try:
        day = date.fromisoformat(form.typed.get(name, "").strip())
    except ValueError:
        form.trouble(name, "This is not a day.", "Type it like 2026-12-24.")
        return None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        form.trouble(name, "This is not a day to plan with.", "Check the year.")
        return None
    return day


def read_week(form: Form) -> list[ShiftValues]:
    """Shifts of each weekday, typed as 07:00-16:00, several with commas between."""
    return [shift for weekday in WEEKDAYS for shift in _day_shifts(form, weekday)]


def _day_shifts(form: Form, weekday: str) -> Iterator[ShiftValues]:
    text = form.typed.get(weekday, "").strip()
    for part in filter(None, (one.strip() for one in text.split(","))):
        match = SHIFT.fullmatch(part)
        start, end = (0, 0) if match is None else _minutes(match)
        if match is None or start == end % DAY_MIN or start >= DAY_MIN:
            form.trouble(
                weekday,
                f"'{part[:40]}' is not a shift.",
                "Type it like 07:00-16:00; several with commas between; empty is closed.",
            )
            return
        yield ShiftValues(weekday, start, end % DAY_MIN)


def _minutes(match: re.Match[str]) -> tuple[int, int]:
    return int(match[1]) * 60 + int(match[2]), int(match[3]) * 60 + int(match[4])


def typed_of_week(shifts: "Iterable[Shift]") -> dict[str, str]:
    """Shifts as they stand in the form."""
    typed = dict.fromkeys(WEEKDAYS, "")
    for row in shifts:
        words = f"{_clock(row.start_min)}-{_clock(row.end_min)}"
        typed[row.weekday] = f"{typed[row.weekday]}, {words}" if typed[row.weekday] else words
    return typed


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def read_hours(form: Form) -> HoursValues | None:
    """Extra or closed hours; None when a time is wrong."""
    kind = form.choice("hours_kind", ("open", "closed"))
    start, end = moment_of(form, "start_at"), moment_of(form, "end_at")
    code = form.text("resource_code", most=40) if kind == "closed" else ""
    reason = form.text("reason", most=120)
    if start is None or end is None:
        return None
    return HoursValues(kind, start, end, code, reason)


def read_does(form: Form) -> list[str]:
    """The kinds of work that are ticked."""
    return [kind for kind, _ in WORK_KINDS if form.yes(f"does_{kind}")]
