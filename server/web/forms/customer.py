"""What is typed about a customer."""

from typing import TYPE_CHECKING

from server.actions.customer import CustomerValues
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.tables.customer import Customer

PLAIN = ("name", "contact", "email", "phone", "address", "currency", "terms", "note")


def read_customer(form: Form) -> CustomerValues:
    """The values of a customer's form."""
    email = form.text("email", most=120)
    if email and "@" not in email:
        form.trouble("email", "An address for mail has an @ in it.", "Correct it.")
    lines = [" ".join(line.split()) for line in form.text("address", most=600).splitlines()]
    return CustomerValues(
        name=form.text("name", needed=True, most=200),
        contact=form.text("contact", most=120),
        email=email,
        phone=form.text("phone", most=60),
        address="\n".join(line for line in lines if line),
        currency=form.text("currency", most=3).upper(),
        terms=form.text("terms", most=200),
        note=form.text("note", most=1000),
    )


def typed_of_customer(row: "Customer") -> dict[str, str]:
    """A customer's values as they stand in its form."""
    return {"version": str(row.version), **{name: str(getattr(row, name)) for name in PLAIN}}
