"""The states of a job, the moves between them, and why a move is not allowed yet."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from server.errors import Amount, ShopError, say
from server.findings import Finding

JobState = Literal["asked", "priced", "won", "ready", "running", "held", "made", "gone", "lost"]

MOVES: Mapping[JobState, tuple[JobState, ...]] = {
    "asked": ("priced", "lost"),
    "priced": ("won", "lost", "asked"),
    "won": ("ready", "held", "lost"),
    "ready": ("running", "held", "won", "lost"),
    "running": ("made", "held", "ready"),
    "held": ("won", "ready", "running", "lost"),
    "made": ("gone", "running"),
    "gone": ("made",),
    "lost": ("asked",),
}
"""Where a job may go from where it is; the first is the ordinary way on."""

OPEN_STATES: tuple[JobState, ...] = ("asked", "priced", "won", "ready", "running", "held", "made")
TO_SCHEDULE: tuple[JobState, ...] = ("won", "ready", "running", "held")


@dataclass(frozen=True, slots=True)
class JobFacts:
    """What the moves depend on. Counts are parts; `price_valid_until` None means no limit.

    `held_from` is the state a held job was in.
    """

    quantity_count: int
    good_count: int = 0
    has_price: bool = False
    price_valid_until: date | None = None
    has_bend_sequence: bool = False
    needs_bending: bool = True
    material_there: bool = False
    revision_superseded: bool = False
    short_delivery_agreed: bool = False
    reason: str = ""
    held_from: JobState | None = None


def check_move(
    before: JobState, after: JobState, facts: JobFacts, *, today: date
) -> tuple[Finding, ...]:
    """Why a job may not go from one state to another, or what to mind when it does.

    Args:
        before: the state it is in.
        after: the state wanted.
        facts: what is known of the job.
        today: the day it would move.

    Returns: stops and cautions; empty when the way is free.
    """
    if after == before:
        return (_stop("already_there", "The job is {state} already.", state=before),)
    if after not in MOVES[before]:
        ways = ", ".join(MOVES[before])
        return (
            Finding(
                "stop",
                "no_such_move",
                say("A job that is {a} cannot become {b}.", a=before, b=after),
                say("From {a} it can become: {ways}.", a=before, ways=ways),
                source="the job's states",
            ),
        )
    return tuple(_conditions(before, after, facts, today))


def need_move(before: JobState, after: JobState, facts: JobFacts, *, today: date) -> None:
    """Refuse a move that is stopped.

    Raises: ShopError with the first stop's code.
    """
    for finding in check_move(before, after, facts, today=today):
        if finding.level == "stop":
            raise ShopError(finding.code, finding.what, remedy=finding.frees or "", where="state")


def _conditions(
    before: JobState, after: JobState, facts: JobFacts, today: date
) -> Iterator[Finding]:
    match after:
        case "priced":
            if not facts.has_price:
                yield _stop("no_price", "There is no price yet.", "Make a quote first.")
        case "won":
            yield from _check_won(before, facts, today)
        case "ready" | "running":
            yield from _check_floor(facts)
        case "made":
            yield from _check_made(facts)
        case "lost" | "held":
            if not facts.reason.strip():
                yield _stop(
                    "no_reason",
                    "No reason is given for {state}.",
                    "Say why in a few words; it is what the numbers learn from.",
                    state=after,
                )
        case _:
            return
    if before == "held" and facts.held_from is not None and after not in (facts.held_from, "lost"):
        yield Finding(
            "caution",
            "not_where_it_was",
            say("It was {state} when it was held.", state=facts.held_from),
            source="the job's history",
        )


def _check_won(before: JobState, facts: JobFacts, today: date) -> Iterator[Finding]:
    if before == "priced" and not facts.has_price:
        yield _stop("no_price", "There is no price yet.", "Make a quote first.")
    valid = facts.price_valid_until
    if before == "priced" and valid is not None and valid < today:
        yield Finding(
            "caution",
            "price_expired",
            say("The price was valid until {day}.", day=valid.isoformat()),
            say("Work the quote out again, or confirm that the price still holds."),
            source="the quote",
        )


def _check_floor(facts: JobFacts) -> Iterator[Finding]:
    if facts.revision_superseded:
        yield _stop(
            "revision_superseded",
            "The part has a newer revision than the job.",
            "Ask the customer, and change the job to the new revision or confirm the old one.",
        )
    if not facts.material_there:
        yield _stop(
            "material_missing",
            "Its material is not reserved or not there.",
            "Reserve sheets of a lot, or wait for the delivery.",
        )
    if facts.needs_bending and not facts.has_bend_sequence:
        yield _stop(
            "no_bend_sequence",
            "No bend sequence is saved for it.",
            "Plan the part, and save the bend sequence.",
        )


def _check_made(facts: JobFacts) -> Iterator[Finding]:
    missing = facts.quantity_count - facts.good_count
    if missing <= 0:
        return
    what = say(
        "{missing} of {ordered} good parts are missing.",
        missing=Amount(missing, "count"),
        ordered=Amount(facts.quantity_count, "count"),
    )
    if facts.short_delivery_agreed:
        yield Finding("caution", "short_delivery", what, source="agreed with the customer")
    else:
        yield Finding(
            "stop",
            "parts_missing",
            what,
            say("Put the missing ones on the cut list, or agree a short delivery."),
            source="the job's counts",
            amount=Amount(missing, "count"),
        )


def _stop(code: str, what: str, frees: str = "", **words: str) -> Finding:
    return Finding(
        "stop", code, say(what, **words), say(frees) if frees else None, source="the job's states"
    )
