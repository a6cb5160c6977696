"""Customers: who asks, orders and pays."""

from sqlmodel import Field

from server.storage.tables.column import Kept, no_longer_than


class Customer(Kept, table=True):
    """A customer. `address` has one line of the address per line of text."""

    __tablename__ = "customer"
    __table_args__ = (
        *no_longer_than(40, "code"),
        *no_longer_than(200, "name"),
        *no_longer_than(3, "currency"),
    )

    code: str = Field(primary_key=True)
    name: str = Field(index=True)
    contact: str = ""
    email: str = ""
    phone: str = ""
    address: str = ""
    currency: str = ""
    terms: str = ""
    note: str = ""
