"""Days on forms: typed many ways, kept as the end of the working day."""

from datetime import UTC, date, datetime

from server.errors import ShopError
from server.shop.typed_date import spoken_day, typed_day
from server.web.forms.form import Form, Problem

END_OF_DAY_H = 15
"""Hour (UTC) at which a due day counts as missed. Common practice, no source."""


def today_here() -> date:
    """Today on the office PC."""
    return datetime.now(UTC).astimezone().date()


def read_day(form: Form, name: str) -> datetime | None:
    """A typed day as the moment it ends for the shop, or None when it is left empty."""
    raw = form.typed.get(name, "").strip()
    if not raw:
        return None
    try:
        day = typed_day(raw, today=today_here())
    except ShopError as trouble:
        form.problems.setdefault(name, Problem.of(trouble))
        return None
    return datetime(day.year, day.month, day.day, END_OF_DAY_H, tzinfo=UTC)


def typed_of_day(at: datetime | None) -> str:
    """A kept day as it stands in a form: with its weekday, so that nothing is mistaken."""
    return "" if at is None else spoken_day(at.date()).split(" ", 1)[1]
