"""Reading quotes with their versions, parts and prices."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, func, or_, select

from server.errors import ShopError, say
from server.storage.queries.setting import find_setting, put_setting
from server.storage.tables.customer import Customer
from server.storage.tables.job import Run
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.part import Part, Revision
from server.storage.tables.planning import Planning
from server.storage.tables.quote import Quote, QuoteBreak, QuoteLine, QuoteVersion

FIRST_NUMBER = 1001
NEXT_NUMBER = "next_number_Q"


@dataclass(frozen=True, slots=True)
class PricedLine:
    """One part of a quote with its revision and its prices, smallest quantity first."""

    line: QuoteLine
    part: Part
    revision: Revision
    breaks: tuple[QuoteBreak, ...]


@dataclass(frozen=True, slots=True)
class QuotePlace:
    """One version of a quote with everything that belongs to it, and the places of the others."""

    quote: Quote
    version: QuoteVersion
    versions: tuple[QuoteVersion, ...]
    customer: Customer | None
    lines: tuple[PricedLine, ...]

    @property
    def newest(self) -> bool:
        """Whether this is the version that counts."""
        return self.version.position == self.versions[-1].position


@dataclass(frozen=True, slots=True)
class QuoteRow:
    """A quote in a list: what it is about and its highest total."""

    quote: Quote
    version: QuoteVersion
    customer_name: str
    parts: str
    total_minor: int


def find_quote(session: Session, number: str) -> Quote | None:
    """The quote with a number, or None."""
    return session.get(Quote, number)


def get_quote(session: Session, number: str) -> Quote:
    """The quote with a number.

    Raises: ShopError `not_found`.
    """
    found = find_quote(session, number)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no quote '{number}'.", number=number),
            remedy="Look at the list of quotes.",
            where="number",
        )
    return found


def list_versions(session: Session, number: str) -> list[QuoteVersion]:
    """A quote's versions, oldest first."""
    query = select(QuoteVersion).where(col(QuoteVersion.quote_number) == number)
    return list(session.exec(query.order_by(col(QuoteVersion.position))))


def get_quote_place(session: Session, number: str, position: int | None = None) -> QuotePlace:
    """A version of a quote, the newest unless told otherwise, with its parts and prices.

    Raises: ShopError `not_found`.
    """
    quote = get_quote(session, number)
    versions = list_versions(session, number)
    wanted = versions[-1].position if position is None else position
    version = next((one for one in versions if one.position == wanted), None)
    if version is None:
        raise ShopError(
            "not_found", "The quote has no such version.", remedy="Open the newest version."
        )
    customer = session.get(Customer, quote.customer_code) if quote.customer_code else None
    return QuotePlace(quote, version, tuple(versions), customer, _lines(session, version))


def _lines(session: Session, version: QuoteVersion) -> tuple[PricedLine, ...]:
    query = (
        select(QuoteLine, Part, Revision)
        .join(Part, col(Part.number) == col(QuoteLine.part_number))
        .join(
            Revision,
            (col(Revision.part_number) == col(QuoteLine.part_number))
            & (col(Revision.label) == col(QuoteLine.revision_label)),
        )
        .where(col(QuoteLine.quote_version_id) == version.id)
        .order_by(col(QuoteLine.position))
    )
    found = list(session.exec(query))
    ids = [line.id for line, _, _ in found]
    by_line: dict[int, list[QuoteBreak]] = {}
    prices = select(QuoteBreak).where(col(QuoteBreak.quote_line_id).in_(ids))
    for one in session.exec(prices.order_by(col(QuoteBreak.quantity_count))) if ids else ():
        by_line.setdefault(one.quote_line_id, []).append(one)
    return tuple(
        PricedLine(line, part, revision, tuple(by_line.get(line.id or 0, ())))
        for line, part, revision in found
    )


def get_line(session: Session, line_id: int) -> QuoteLine:
    """One part of a quote version.

    Raises: ShopError `not_found`.
    """
    found = session.get(QuoteLine, line_id)
    if found is None:
        raise ShopError(
            "not_found", "That part was taken off the quote.", remedy="Reload the page."
        )
    return found


def list_breaks(session: Session, line_id: int) -> list[QuoteBreak]:
    """The prices of one part, smallest quantity first."""
    query = select(QuoteBreak).where(col(QuoteBreak.quote_line_id) == line_id)
    return list(session.exec(query.order_by(col(QuoteBreak.quantity_count))))


def get_break(session: Session, break_id: int) -> QuoteBreak:
    """The price at one quantity.

    Raises: ShopError `not_found`.
    """
    found = session.get(QuoteBreak, break_id)
    if found is None:
        raise ShopError(
            "not_found", "The quote was worked out again since.", remedy="Reload the page."
        )
    return found


def list_quotes(
    session: Session, *, states: Sequence[str] = (), text: str = "", limit: int = 200, skip: int = 0
) -> list[QuoteRow]:
    """Quotes with their newest version, changed last first."""
    newest = (
        select(col(QuoteVersion.quote_number), func.max(col(QuoteVersion.position)).label("place"))
        .group_by(col(QuoteVersion.quote_number))
        .subquery()
    )
    query = (
        select(Quote, QuoteVersion, Customer)
        .join(newest, newest.c.quote_number == col(Quote.number))
        .join(
            QuoteVersion,
            (col(QuoteVersion.quote_number) == col(Quote.number))
            & (col(QuoteVersion.position) == newest.c.place),
        )
        .join(Customer, col(Customer.code) == col(Quote.customer_code), isouter=True)
        .where(col(Quote.archived_at).is_(None))
        .order_by(col(Quote.changed_at).desc(), col(Quote.number).desc())
    )
    if states:
        query = query.where(col(Quote.state).in_(states))
    if text.strip():
        like = f"%{text.strip()}%"
        query = query.where(
            or_(
                col(Quote.number).ilike(like),
                col(Quote.their_reference).ilike(like),
                col(Customer.name).ilike(like),
                col(QuoteVersion.id).in_(
                    select(QuoteLine.quote_version_id).where(col(QuoteLine.part_number).ilike(like))
                ),
            )
        )
    found = list(session.exec(query.offset(skip).limit(limit)))
    about = _about(session, [version.id or 0 for _, version, _ in found])
    return [
        QuoteRow(
            quote, version, customer.name if customer else "", *about.get(version.id or 0, ("", 0))
        )
        for quote, version, customer in found
    ]


def _about(session: Session, version_ids: list[int]) -> dict[int, tuple[str, int]]:
    """Part numbers and the sum of each part's largest total, by version."""
    query = (
        select(
            col(QuoteLine.quote_version_id),
            col(QuoteLine.part_number),
            func.max(col(QuoteBreak.total_minor)),
        )
        .join(QuoteBreak, col(QuoteBreak.quote_line_id) == col(QuoteLine.id), isouter=True)
        .where(col(QuoteLine.quote_version_id).in_(version_ids))
        .group_by(col(QuoteLine.id))
        .order_by(col(QuoteLine.quote_version_id), col(QuoteLine.position))
    )
    about: dict[int, tuple[str, int]] = {}
    for version_id, part, total in session.exec(query) if version_ids else ():
        parts, so_far = about.get(version_id, ("", 0))
        about[version_id] = (f"{parts}, {part}" if parts else part, so_far + (total or 0))
    return about


def next_quote_number(session: Session) -> str:
    """The next free number, such as Q-1002; counted up, never used twice."""
    count = int(find_setting(session, NEXT_NUMBER) or FIRST_NUMBER)
    while find_quote(session, f"Q-{count}") is not None:
        count += 1
    put_setting(session, NEXT_NUMBER, count + 1)
    return f"Q-{count}"


def list_sequence_times(session: Session, sequence_id: int) -> list[MeasuredTime]:
    """Accepted times of the runs of one bend sequence."""
    query = (
        select(MeasuredTime)
        .join(Run, col(Run.id) == col(MeasuredTime.run_id))
        .where(col(Run.bend_sequence_id) == sequence_id, col(MeasuredTime.accepted).is_(True))
    )
    return list(session.exec(query))


def find_newest_planning(session: Session, part_number: str, label: str) -> Planning | None:
    """What the planner said last of a revision, or None."""
    query = (
        select(Planning)
        .where(
            col(Planning.part_number) == part_number,
            col(Planning.revision_label) == label,
            col(Planning.kind) == "plan",
            col(Planning.state).in_(("planned", "blocked")),
        )
        .order_by(col(Planning.id).desc())
        .limit(1)
    )
    return session.exec(query).first()
