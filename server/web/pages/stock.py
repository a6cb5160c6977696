"""Pages about stock: what there is of each size, one lot's sheets, deliveries."""

from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING, ClassVar

from server.findings import Finding
from server.shop.stock import Level
from server.shop.trace import Trace
from server.web.forms.form import Form
from server.web.pages.attachment import Attachments
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Lot
    from server.storage.tables.stock import ReorderPoint, StockMove


@dataclass(frozen=True, slots=True)
class SizeLine:
    """All sheets of one material, thickness and size, whole ones or remnants."""

    material: str
    thickness_mm: float
    width_mm: float
    height_mm: float
    remnant: bool
    levels: tuple[Level, ...]
    on_hand_count: int
    reserved_count: int
    free_count: int
    least_count: int | None
    last_price_per_kg: str


@dataclass(frozen=True)
class StockList(Page):
    """Everything in stock."""

    template: ClassVar[str] = "stock/list.html"
    frame: Frame
    lines: tuple[SizeLine, ...]
    low_stock: tuple[Finding, ...]
    points: "list[ReorderPoint]"
    form: Form
    materials: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class StockReceive(Page):
    """A delivery being written down."""

    template: ClassVar[str] = "stock/edit.html"
    frame: Frame
    form: Form
    materials: tuple[tuple[str, str], ...]
    standards: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One price that was paid."""

    at: datetime
    price_per_kg: str
    change_ratio: Fraction | None


@dataclass(frozen=True)
class StockShow(Page):
    """One lot: its sheets, what happened to them, and all that was made of them."""

    template: ClassVar[str] = "stock/show.html"
    frame: Frame
    lot: "Lot"
    level: Level | None
    moves: "list[StockMove]"
    trace: Trace
    remnants: "list[Lot]"
    prices: tuple[PriceLine, ...]
    average_price: str
    form: Form
    attachments: Attachments
    history: History
