"""What is wished of the list of jobs, and which of them were chosen."""

from datetime import UTC, datetime, timedelta

from server.shop.job_state import MOVES, OPEN_STATES, JobState
from server.storage.queries.board import JobWish, Place
from server.web.forms.form import Form

STATE_CHOICES = (
    ("", "open"),
    *((state, state) for state in MOVES),
    ("all", "every state"),
    ("archived", "archived"),
)
DUE_CHOICES = (
    ("", "any day"),
    ("late", "late"),
    ("week", "in 7 days"),
    ("fortnight", "in 14 days"),
)
MOST_CHOSEN = 500


def read_wish(form: Form, *, now: datetime) -> JobWish:
    """The jobs that are wished for; a word that is unknown wishes nothing."""
    state = form.typed.get("state", "")
    due = form.typed.get("due", "")
    ahead = {"late": 0, "week": 7, "fortnight": 14}.get(due)
    states = _states(state)
    if due == "late":
        states = tuple(one for one in states if one not in ("made", "gone", "lost"))
    return JobWish(
        states=states,
        customer_code=form.typed.get("customer", "")[:40],
        part_number=form.typed.get("part", "")[:40],
        text=form.typed.get("text", "")[:40],
        due_from=now if ahead else None,
        due_before=None if ahead is None else now + timedelta(days=ahead),
        hot=form.yes("hot"),
        archived=state == "archived",
    )


def read_place(text: str) -> Place | None:
    """Where the page before ended; nonsense is the beginning."""
    at, _, number = text.partition("~")
    if not number:
        return None
    if not at:
        return Place(None, number)
    if not at.isdecimal() or len(at) > 17:
        return None
    return Place(datetime.fromtimestamp(int(at) / 1e6, tz=UTC), number)


def place_text(place: Place) -> str:
    """A place as it stands in an address."""
    at = "" if place.due_at is None else str(round(place.due_at.timestamp() * 1e6))
    return f"{at}~{place.number}"


def read_chosen(typed: list[tuple[str, str]]) -> tuple[str, ...]:
    """The numbers of the jobs that were ticked."""
    return tuple(dict.fromkeys(value for name, value in typed if name == "job"))[:MOST_CHOSEN]


def _states(word: str) -> tuple[JobState, ...]:
    if word in ("all", "archived"):
        return tuple(MOVES)
    return next(((state,) for state in MOVES if state == word), OPEN_STATES)
