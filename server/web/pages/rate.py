"""Pages about the shop's rates, cutting speeds and prices of sheet."""

from dataclasses import dataclass
from typing import ClassVar

from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class RateEdit(Page):
    """Hour rates, overhead, margin and terms; `examples` while the shop has set none."""

    template: ClassVar[str] = "rate/edit.html"
    frame: Frame
    form: Form
    currency: str
    examples: bool
    other_currency: str
    charges: Choices
    price_rules: Choices
    other_rows: tuple[int, ...]
    conflict: Conflict
    history: History


@dataclass(frozen=True)
class CutSpeedEdit(Page):
    """The cutters' tables, all rows in one form."""

    template: ClassVar[str] = "rate/cut_speed.html"
    frame: Frame
    form: Form
    keys: tuple[str, ...]
    count: int
    families: Choices
    conflict: Conflict
    history: History


@dataclass(frozen=True)
class SheetPriceEdit(Page):
    """The price list, all rows in one form."""

    template: ClassVar[str] = "rate/sheet_price.html"
    frame: Frame
    form: Form
    keys: tuple[str, ...]
    count: int
    materials: Choices
    currency: str
    conflict: Conflict
    history: History
