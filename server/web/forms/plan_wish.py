"""What a person asks the planner for: tools, and what is fixed of the order."""

from collections.abc import Mapping

from server.actions.bend_sequence import PlanWish
from server.geometry.profile import Rear
from server.planning.order_wish import OrderWish, SideFirst
from server.web.forms.form import Form

MOST_BENDS = 100


def read_plan_wish(typed: Mapping[str, str]) -> PlanWish:
    """The wish as typed; what is left open is the planner's choice.

    Raises: ShopError `bad_value` for a bend that is no number.
    """
    form = Form(typed)
    die, punch = form.text("die_code", most=40), form.text("punch_code", most=40)
    wish = PlanWish(
        part_number=form.text("part_number", most=40),
        revision_label=form.text("revision_label", most=10),
        brake_code=form.text("brake_code", most=40),
        die_codes=(die,) if die else (),
        punch_codes=(punch,) if punch else (),
        order=_order(form),
        split=form.yes("split"),
    )
    form.need_ok()
    return wish


def typed_of_plan_wish(wish: PlanWish) -> dict[str, str]:
    """A wish as it stands in the form."""
    order = wish.order
    return {
        "brake_code": wish.brake_code,
        "die_code": wish.die_codes[0] if wish.die_codes else "",
        "punch_code": wish.punch_codes[0] if wish.punch_codes else "",
        "first_bend": _number(order.first_bend),
        "last_bend": _number(order.last_bend),
        "side_first": order.side_first,
        "split": "yes" if wish.split else "",
        **{f"gauge_{bend + 1}": rear for bend, rear in order.gauge_from.items()},
    }


def _order(form: Form) -> OrderWish:
    gauge_from: dict[int, Rear] = {}
    for name, value in form.typed.items():
        digits = name.removeprefix("gauge_")
        if name.startswith("gauge_") and digits.isascii() and digits.isdigit() and value:
            gauge_from[int(digits[:4]) - 1] = "first" if value == "first" else "second"
    side: SideFirst = "A" if form.typed.get("side_first") == "A" else ""
    side = "B" if form.typed.get("side_first") == "B" else side
    return OrderWish(_bend(form, "first_bend"), _bend(form, "last_bend"), side, gauge_from)


def _bend(form: Form, name: str) -> int | None:
    """A bend by its index; pages count from 1."""
    if not form.typed.get(name, "").strip():
        return None
    return form.whole(name, least=1, most=MOST_BENDS) - 1


def _number(bend: int | None) -> str:
    return "" if bend is None else str(bend + 1)
