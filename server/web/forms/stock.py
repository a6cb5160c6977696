"""What is typed about deliveries, counts, remnants and reorder points."""

from collections.abc import Mapping
from fractions import Fraction

from server.actions.stock import DeliveryValues, ReorderValues
from server.errors import ShopError
from server.shop.money import price_from_text
from server.web.forms.form import Form, Problem
from server.web.forms.lot import MOST_THICKNESS_MM, STANDARDS, gauge_family

MOST_SHEETS = 100_000
MOST_SIDE_MM = 20_000


def read_delivery(form: Form, families: Mapping[str, str], *, currency: str) -> DeliveryValues:
    """The values of a delivery; `families` gives the family of each material's code."""
    material, thickness_mm = _sheet(form, families)
    return DeliveryValues(
        lot_code=form.code("lot"),
        material_code=material,
        thickness_mm=thickness_mm,
        sheet_width_mm=form.need_length_mm("sheet_width", most_mm=MOST_SIDE_MM),
        sheet_length_mm=form.need_length_mm("sheet_length", most_mm=MOST_SIDE_MM),
        sheets_count=form.whole("sheets_count", least=1, most=MOST_SHEETS),
        price_per_kg=read_price(form, "price_per_kg", currency),
        heat_number=form.text("heat_number", most=60),
        thickness_standard=form.choice("thickness_standard", ("", *STANDARDS), ""),
        note=form.text("note", most=500),
    )


def read_reorder(form: Form, families: Mapping[str, str]) -> ReorderValues:
    """The values of a reorder point."""
    material, thickness_mm = _sheet(form, families)
    return ReorderValues(
        material_code=material,
        thickness_mm=thickness_mm,
        sheet_width_mm=form.need_length_mm("sheet_width", most_mm=MOST_SIDE_MM),
        sheet_length_mm=form.need_length_mm("sheet_length", most_mm=MOST_SIDE_MM),
        least_count=form.whole("least", least=0, most=MOST_SHEETS),
        up_to_count=form.whole("up_to", least=1, most=MOST_SHEETS),
    )


def read_price(form: Form, name: str, currency: str) -> Fraction | None:
    """An exact price per kilogram, None when left empty; a comma is read as a decimal mark."""
    raw = form.typed.get(name, "").strip()
    if not raw:
        return None
    try:
        price = price_from_text(raw, currency=currency)
    except ShopError as trouble:
        form.problems.setdefault(name, Problem.of(trouble))
        return None
    if price < 0:
        form.trouble(name, "A price is not below zero.", "Correct it.")
        return None
    return price


def _sheet(form: Form, families: Mapping[str, str]) -> tuple[str, float]:
    material = form.text("material_code", needed=True, most=40)
    if material and material not in families:
        form.trouble("material_code", "There is no such material.", "Choose one from the list.")
    family = gauge_family(families.get(material, ""))
    thickness = form.need_length_mm("thickness", most_mm=MOST_THICKNESS_MM, family=family)
    return material, thickness
