"""What is typed about an order and its lines."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from server.actions.order import OPERATION_KINDS, LineValues, OperationValues, OrderValues
from server.errors import ShopError
from server.shop.money import amount_from_text, decimal_string, minor_digits
from server.web.forms.due import read_day, typed_of_day
from server.web.forms.form import Form, Problem

if TYPE_CHECKING:
    from server.storage.tables.job import Job
    from server.storage.tables.order import Operation, Order

MOST_QUANTITY = 1_000_000
MOST_STEPS = 20
KIND_WORDS = {"bought_out": "bought out"}
TIME_AT_END = re.compile(r",\s*(\d{1,5}(?:[.,]\d{1,3})?)\s*(s|min|h)$", re.IGNORECASE)
SECONDS_OF = {"s": 1.0, "min": 60.0, "h": 3600.0}


def read_order(form: Form) -> OrderValues:
    """The values of an order as a whole."""
    return OrderValues(
        customer_code=form.text("customer_code", needed=True, most=40),
        their_reference=form.text("their_reference", most=80),
        due_at=read_day(form, "due"),
        note=form.text("note", most=1000),
    )


def read_line(form: Form, *, currency: str, part_number: str = "") -> LineValues:
    """The values of one line; an existing job's part is given and stays."""
    return LineValues(
        part_number=part_number or form.code("part_number"),
        quantity_count=form.whole("quantity", least=1, most=MOST_QUANTITY),
        due_at=read_day(form, "line_due") if "line_due" in form.typed else read_day(form, "due"),
        unit_price_minor=read_money(form, "unit_price", currency),
        finish=form.text("finish", most=120),
        hot=form.yes("hot"),
        note=form.text("line_note", most=1000),
    )


def read_money(form: Form, name: str, currency: str) -> int | None:
    """An amount in minor units, None when left empty; a comma is read as a decimal mark."""
    raw = form.typed.get(name, "").strip()
    if not raw:
        return None
    try:
        amount = amount_from_text(raw, currency=currency)
    except ShopError as trouble:
        form.problems.setdefault(name, Problem.of(trouble))
        return None
    if amount < 0:
        form.trouble(name, "A price is not below zero.", "Correct it.")
        return None
    return amount


def read_routing(form: Form) -> list[OperationValues]:
    """Steps, one a line: a kind, what is to do and how long it takes: `weld corners, 45 min`.

    A line that stands as it was shown comes without its time: the step keeps what it had.
    """
    return list(_steps(form))


def _steps(form: Form) -> Iterator[OperationValues]:
    shown = form.typed.get("routing_shown", "").splitlines()
    for line in form.text("routing").splitlines()[:MOST_STEPS]:
        words = " ".join(line.split())
        if not words:
            continue
        estimated_s: float | None = None
        if found := TIME_AT_END.search(words):
            unit = found[2].lower()
            if words not in shown:
                estimated_s = float(found[1].replace(",", ".")) * SECONDS_OF[unit]
            words = words[: found.start()]
        plain = (
            words.lower().replace("bought out", "bought_out").replace("bought-out", "bought_out")
        )
        kind = next((one for one in OPERATION_KINDS if plain.split()[:1] == [one]), None)
        if kind is None:
            form.trouble(
                "routing",
                f"'{line.strip()[:40]}' does not begin with a kind of work.",
                "Begin each line with cut, bend, weld, finish or bought out.",
            )
            return
        skip = 2 if kind == "bought_out" and "_" not in words.split()[0] and "-" not in words else 1
        yield OperationValues(kind, " ".join(words.split()[skip:])[:120], estimated_s)


def typed_of_order(row: "Order") -> dict[str, str]:
    """An order's values as they stand in its form."""
    return {
        "version": str(row.version),
        "customer_code": row.customer_code,
        "their_reference": row.their_reference,
        "due": typed_of_day(row.due_at),
        "note": row.note,
    }


def typed_of_line(row: "Job", steps: "list[Operation]", *, currency: str) -> dict[str, str]:
    """A job's values as they stand in its form."""
    price = row.unit_price_minor
    routing = "\n".join(map(_typed_of_step, steps))
    return {
        "version": str(row.version),
        "quantity": str(row.quantity_count),
        "line_due": typed_of_day(row.due_at),
        "unit_price": "" if price is None else decimal_string(price, digits=minor_digits(currency)),
        "finish": row.finish,
        "hot": "yes" if row.hot else "",
        "line_note": row.note,
        "routing": routing,
        "routing_shown": routing,
    }


def _typed_of_step(step: "Operation") -> str:
    words = f"{KIND_WORDS.get(step.kind, step.kind)} {step.words}".strip()
    if step.estimated_s is None:
        return words
    if step.estimated_s < SECONDS_OF["min"]:
        return f"{words}, {step.estimated_s:.3g} s"
    return f"{words}, {step.estimated_s / SECONDS_OF['min']:.4g} min"
