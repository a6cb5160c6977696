"""Pages about lots."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.findings import Finding
from server.mechanics.measured_thickness import (
    allowed_deviation,
    check_measured_thickness,
    mean_thickness,
)
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.forms.lot import MOST_THICKNESS_MM, STANDARDS, gauge_family, read_edges
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Lot, Material


@dataclass(frozen=True, slots=True)
class LotLine:
    """One lot in the list, and whether its measurement is within what its standard allows."""

    lot: "Lot"
    material: "Material"
    deviation_percent: float | None
    within: bool


@dataclass(frozen=True)
class LotList(Page):
    """Every lot."""

    template: ClassVar[str] = "lot/list.html"
    frame: Frame
    lots: tuple[LotLine, ...]
    with_archived: bool
    history: History


@dataclass(frozen=True)
class LotMeasure(Page):
    """What was understood from the typed thickness and readings."""

    template: ClassVar[str] = "lot/_measure.html"
    thickness_mm: float | None
    mean_mm: float | None
    spread_mm: float
    readings_count: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class LotEdit(Page):
    """One lot, or a new one."""

    template: ClassVar[str] = "lot/edit.html"
    frame: Frame
    form: Form
    code: str
    archived: bool
    materials: tuple[tuple[str, str], ...]
    standards: tuple[tuple[str, str], ...]
    measure: LotMeasure
    conflict: Conflict
    history: History


def lot_line(lot: "Lot", material: "Material") -> LotLine:
    """A lot as it stands in the list."""
    measured = lot.measured_thickness_mm
    if measured is None:
        return LotLine(lot, material, None, within=True)
    standard = next((name for name in STANDARDS if name == lot.thickness_standard), None)
    allowed_mm, _ = allowed_deviation(
        thickness_mm=lot.thickness_mm, standard=standard, sheet_width_mm=lot.sheet_width_mm
    )
    off_mm = measured - lot.thickness_mm
    return LotLine(
        lot, material, 100 * off_mm / lot.thickness_mm, within=abs(off_mm) <= allowed_mm + 1e-9
    )


def lot_measure(form: Form, family: str) -> LotMeasure:
    """What the typed thickness and readings say; half typed, as much as there is."""
    aside = Form(form.typed, form.unit)
    gauge = gauge_family(family)
    thickness = aside.length_mm("thickness", most_mm=MOST_THICKNESS_MM, needed=False, family=gauge)
    width = aside.length_mm("sheet_width", most_mm=10_000, needed=False)
    standard = next(
        (name for name in STANDARDS if name == form.typed.get("thickness_standard")), None
    )
    readings = read_edges(aside)
    found: tuple[Finding, ...] = ()
    if thickness and readings:
        found = check_measured_thickness(
            thickness_mm=thickness,
            readings_mm=readings,
            standard=standard,
            sheet_width_mm=width,
            gauge_family=gauge
            if family in ("steel", "galvanized", "stainless", "aluminium")
            else None,
        )
    return LotMeasure(
        thickness_mm=thickness,
        mean_mm=mean_thickness(readings_mm=readings) if readings else None,
        spread_mm=max(readings) - min(readings) if readings else 0.0,
        readings_count=len(readings),
        findings=found,
    )
