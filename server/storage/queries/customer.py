"""Reading customers."""

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.shop.job_state import OPEN_STATES
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job
from server.storage.tables.order import Order


def find_customer(session: Session, code: str) -> Customer | None:
    """The customer with a code, or None."""
    return session.get(Customer, code)


def get_customer(session: Session, code: str) -> Customer:
    """The customer with a code.

    Raises: ShopError `not_found`.
    """
    found = find_customer(session, code)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no customer '{code}'.", code=code),
            remedy="Choose one from the list, or add it.",
            where="customer_code",
        )
    return found


def list_customers(
    session: Session, *, with_archived: bool = False, most: int = 5000
) -> list[Customer]:
    """Customers by name."""
    query = select(Customer).order_by(col(Customer.name), col(Customer.code)).limit(most)
    if not with_archived:
        query = query.where(col(Customer.archived_at).is_(None))
    return list(session.exec(query))


def customer_names(session: Session, codes: Iterable[str | None]) -> dict[str | None, str]:
    """The name of each customer of a few codes, and an empty name for no customer."""
    wanted = {code for code in codes if code}
    names: dict[str | None, str] = {None: ""}
    if wanted:
        query = select(col(Customer.code), col(Customer.name)).where(col(Customer.code).in_(wanted))
        names.update((code, name) for code, name in session.exec(query))
    return names


def has_history(session: Session, code: str) -> bool:
    """Whether an order or job names a customer, so that the customer has to stay."""
    orders = select(Order.number).where(col(Order.customer_code) == code).limit(1)
    jobs = select(Job.number).where(col(Job.customer_code) == code).limit(1)
    return session.exec(orders).first() is not None or session.exec(jobs).first() is not None


@dataclass(frozen=True, slots=True)
class CustomerLine:
    """A customer in the list, with how many of its jobs are open."""

    customer: Customer
    open_count: int


def list_customer_lines(session: Session, *, with_archived: bool = False) -> list[CustomerLine]:
    """All customers by name with their open jobs, in two queries."""
    counted = (
        select(col(Job.customer_code), func.count())
        .where(col(Job.archived_at).is_(None), col(Job.state).in_(OPEN_STATES))
        .group_by(col(Job.customer_code))
    )
    open_counts = dict(session.exec(counted).all())
    return [
        CustomerLine(row, open_counts.get(row.code, 0))
        for row in list_customers(session, with_archived=with_archived)
    ]
