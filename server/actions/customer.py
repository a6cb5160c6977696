"""Keeping customers: added, changed, archived once orders need them, else thrown away."""

from dataclasses import asdict, dataclass

from server.actions.history import (
    archive_row,
    change_row,
    keep,
    need_same_version,
    picture,
    put_row_back,
)
from server.errors import ShopError, say
from server.shop.money import minor_digits
from server.storage.database import Session
from server.storage.queries.customer import find_customer, get_customer, has_history
from server.storage.tables.customer import Customer

NOUN = "customer"


@dataclass(frozen=True, slots=True)
class CustomerValues:
    """What a person may say about a customer; `address` has a line of text per line."""

    name: str
    contact: str
    email: str
    phone: str
    address: str
    currency: str
    terms: str
    note: str


def add_customer(session: Session, code: str, values: CustomerValues, *, by: str) -> Customer:
    """A new customer.

    Raises: ShopError `already_exists`, `unknown_currency`.
    """
    if find_customer(session, code) is not None:
        raise ShopError(
            "already_exists",
            say("There is a customer '{code}' already.", code=code),
            remedy="Open that one, or use another code.",
            where="code",
        )
    _need_currency(values)
    row = Customer(code=code, **asdict(values))
    session.add(row)
    keep(session, "added", noun=NOUN, key=code, by=by, after=picture(row))
    return row


def save_customer(
    session: Session, code: str, values: CustomerValues, *, version: int, by: str
) -> Customer:
    """Changed values of a customer.

    Raises: ShopError `not_found`, `edit_conflict`, `unknown_currency`.
    """
    row = get_customer(session, code)
    need_same_version(row, version)
    _need_currency(values)
    change_row(session, row, asdict(values), noun=NOUN, key=code, did="changed", by=by)
    return row


def set_customer_archived(session: Session, code: str, *, archived: bool, by: str) -> Customer:
    """Take a customer off the lists, or put it back; orders keep their name either way.

    Raises: ShopError `not_found`.
    """
    row = get_customer(session, code)
    archive_row(session, row, archived=archived, noun=NOUN, key=code, by=by)
    return row


def remove_customer(session: Session, code: str, *, by: str) -> bool:
    """Throw away a customer nothing hangs on; one with orders is archived instead.

    Returns: whether it is gone for good.

    Raises: ShopError `not_found`.
    """
    row = get_customer(session, code)
    if has_history(session, code):
        set_customer_archived(session, code, archived=True, by=by)
        return False
    keep(session, "removed", noun=NOUN, key=code, by=by, before=picture(row))
    session.delete(row)
    return True


def put_customer_back(session: Session, code: str, event_id: int, *, by: str) -> Customer:
    """Undo one change of a customer.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    row = get_customer(session, code)
    put_row_back(session, row, event_id, noun=NOUN, key=code, by=by)
    return row


def _need_currency(values: CustomerValues) -> None:
    if values.currency:
        minor_digits(values.currency)
