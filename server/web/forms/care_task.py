"""What is typed about a care task."""

from typing import TYPE_CHECKING

from server.actions.care import CareTaskValues
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.tables.care import CareTask

KINDS = ("check", "lubrication", "tools", "gauge", "hydraulics", "frame", "other")


def read_care_task(form: Form) -> CareTaskValues:
    """The values of a task's form; an empty interval is none."""
    days = form.whole("every_days", least=0, most=36500, default=0)
    return CareTaskValues(
        name=form.text("name", needed=True, most=120),
        kind=form.choice("kind", KINDS, "check"),
        what=form.text("what", most=300),
        every_days=days or None,
        every_h=form.number("every_h", least=0, most=1e6, needed=False, above=True),
    )


def typed_of_care_task(row: "CareTask") -> dict[str, str]:
    """A task as it stands in its form."""
    return {
        "name": row.name,
        "kind": row.kind if row.kind in KINDS else "other",
        "what": row.what,
        "every_days": "" if row.every_days is None else str(row.every_days),
        "every_h": "" if row.every_h is None else f"{row.every_h:g}",
    }
