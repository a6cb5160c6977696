"""What is typed about a lot."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, get_args

from server.actions.lot import LotValues
from server.mechanics.sheet_tolerance import SheetStandard
from server.units.sheet_gauge import GAUGE_FAMILIES, GaugeFamily
from server.web.display import Display
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.tables.material import Lot

EDGES = ("edge_1", "edge_2", "edge_3", "edge_4")
STANDARDS: tuple[SheetStandard, ...] = get_args(SheetStandard)
STANDARD_CHOICES = (("", "not known"), *((name, name) for name in STANDARDS))
MOST_THICKNESS_MM = 60.0


def read_lot(form: Form, families: Mapping[str, str]) -> LotValues:
    """The values of a lot's form; `families` gives the family of each material's code."""
    code = form.text("material_code", needed=True, most=40)
    family = gauge_family(families.get(code, ""))
    if code and code not in families:
        form.trouble("material_code", "There is no such material.", "Choose one from the list.")
    values = LotValues(
        material_code=code,
        thickness_mm=form.need_length_mm("thickness", most_mm=MOST_THICKNESS_MM, family=family),
        edges_mm=read_edges(form),
        thickness_standard=form.choice("thickness_standard", ("", *STANDARDS), ""),
        sheet_width_mm=form.length_mm("sheet_width", most_mm=10_000, needed=False),
        heat_number=form.text("heat_number", most=60),
        yield_strength_mpa=form.amount("yield_strength", "mpa", most=3000, needed=False),
        tensile_strength_mpa=form.amount("tensile_strength", "mpa", most=4000, needed=False),
        note=form.text("note", most=500),
    )
    _need_both_strengths(form, values)
    return values


def read_edges(form: Form) -> tuple[float, ...]:
    """The readings that were typed, in mm; a sheet may be measured at fewer than four edges."""
    readings = (form.length_mm(name, most_mm=MOST_THICKNESS_MM, needed=False) for name in EDGES)
    return tuple(reading for reading in readings if reading is not None)


def gauge_family(family: str) -> GaugeFamily | None:
    """The gauge table of a material's family; brass and copper sheet use aluminium's."""
    if family in ("brass", "copper"):
        return "aluminium"
    return next((name for name in GAUGE_FAMILIES if name == family), None)


def typed_of_lot(row: "Lot", show: Display) -> dict[str, str]:
    """A lot's values as they stand in its form."""
    edges = row.measured_edges_mm or (
        [row.measured_thickness_mm] if row.measured_thickness_mm else []
    )
    return {
        "version": str(row.version),
        "material_code": row.material_code,
        "thickness": show.typed(row.thickness_mm),
        **dict.fromkeys(EDGES, ""),
        **{name: show.typed(edge) for name, edge in zip(EDGES, edges, strict=False)},
        "thickness_standard": row.thickness_standard,
        "sheet_width": show.typed(row.sheet_width_mm),
        "heat_number": row.heat_number,
        "yield_strength": show.typed_amount(row.yield_strength_mpa, "mpa"),
        "tensile_strength": show.typed_amount(row.tensile_strength_mpa, "mpa"),
        "note": row.note,
    }


def _need_both_strengths(form: Form, values: LotValues) -> None:
    yielding, tensile = values.yield_strength_mpa, values.tensile_strength_mpa
    if "yield_strength" in form.problems or "tensile_strength" in form.problems:
        return
    if (yielding is None) != (tensile is None):
        missing = "yield_strength" if yielding is None else "tensile_strength"
        form.trouble(
            missing,
            "A certificate's strengths are used together.",
            "Fill in both, or leave both empty to use the material's.",
        )
    elif yielding is not None and tensile is not None and tensile < yielding:
        form.trouble(
            "tensile_strength",
            "The tensile strength is below the yield strength.",
            "Check whether the two were exchanged.",
        )
