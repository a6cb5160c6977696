"""Reading orders, their lines and the lines' routing; numbers for new ones."""

from dataclasses import dataclass

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.queries.setting import find_setting, put_setting
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job
from server.storage.tables.order import Operation, Order

FIRST_NUMBER = 1001


def find_order(session: Session, number: str) -> Order | None:
    """The order with a number, or None."""
    return session.get(Order, number)


def get_order(session: Session, number: str) -> Order:
    """The order with a number.

    Raises: ShopError `not_found`.
    """
    found = find_order(session, number)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no order '{number}'.", number=number),
            remedy="Look at the board.",
            where="order_number",
        )
    return found


def list_lines(session: Session, order_number: str) -> list[Job]:
    """The lines of an order, archived ones too, in their order."""
    query = (
        select(Job)
        .where(col(Job.order_number) == order_number)
        .order_by(col(Job.position), col(Job.number))
    )
    return list(session.exec(query))


def list_operations(session: Session, job_number: str) -> list[Operation]:
    """A job's way through the shop, in order."""
    query = (
        select(Operation)
        .where(col(Operation.job_number) == job_number)
        .order_by(col(Operation.position), col(Operation.id))
    )
    return list(session.exec(query))


@dataclass(frozen=True, slots=True)
class OrderPlace:
    """An order with its customer and lines."""

    order: Order
    customer: Customer
    lines: list[Job]


def get_order_place(session: Session, number: str) -> OrderPlace:
    """An order with what belongs to it.

    Raises: ShopError `not_found`.
    """
    order = get_order(session, number)
    customer = session.get_one(Customer, order.customer_code)
    return OrderPlace(order, customer, list_lines(session, number))


def next_number(session: Session, prefix: str, column: "type[Job] | type[Order]") -> str:
    """The next free number with a prefix, such as J-1049; counted up, never used twice.

    A shop that comes with numbers of its own is counted on from its highest.
    """
    key = f"next_number_{prefix}"
    kept = find_setting(session, key)
    count = int(kept) if kept is not None else _highest(session, prefix, column) + 1
    while session.get(column, f"{prefix}-{count}") is not None:
        count += 1
    put_setting(session, key, count + 1)
    return f"{prefix}-{count}"


def _highest(session: Session, prefix: str, column: "type[Job] | type[Order]") -> int:
    start = f"{prefix}-"
    query = (
        select(column.number)
        .where(
            col(column.number).startswith(start, autoescape=True),
            col(column.number).op("NOT GLOB")(f"{start}*[^0-9]*"),
        )
        .order_by(func.length(column.number).desc(), col(column.number).desc())
        .limit(1)
    )
    found = session.exec(query).first()
    digits = found.removeprefix(start) if found else ""
    return int(digits) if digits.isdecimal() else FIRST_NUMBER - 1
