"""Pages about quotes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from server.errors import Sentence, say
from server.findings import Finding
from server.shop.time_standard import LEAST_FOR_SPREAD
from server.storage.plain_finding import findings_of
from server.storage.plain_quote import Figure, SheetLayout, figure_of, layout_of
from server.storage.queries.quote import PricedLine, QuotePlace, QuoteRow
from server.web.forms.form import Form
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.quote import QuoteBreak

Choices = tuple[tuple[str, str], ...]
BELOW = ("margin", "minimum_charge")


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure at every quantity; None where a quantity has no such figure."""

    name: str
    told: Sentence
    cells: tuple[tuple[int, int | None], ...]
    strong: bool = False


@dataclass(frozen=True, slots=True)
class TimeFact:
    """A time the price rests on, with its spread and how often it was measured."""

    told: Sentence
    value_s: float
    low_s: float
    high_s: float
    measured_count: int
    source: str

    @property
    def is_spread(self) -> bool:
        """Whether enough was measured to tell a spread by; else the usual band widens it."""
        return self.measured_count >= LEAST_FOR_SPREAD


@dataclass(frozen=True, slots=True)
class LineView:
    """One part of a quote as its page shows it."""

    priced: PricedLine
    form: Form
    is_open: bool
    layout: SheetLayout | None
    picture: str
    sheets: Choices
    figures: tuple[FigureRow, ...]
    times: tuple[TimeFact, ...]
    findings: tuple[Finding, ...]
    repeat_minor: tuple[int | None, ...]

    @property
    def breaks(self) -> "tuple[QuoteBreak, ...]":
        """Its prices, smallest quantity first."""
        return self.priced.breaks

    @property
    def priced_on(self) -> date | None:
        """The day of the sheet's price, where it is known."""
        told = self.priced.line.worked.get("priced_on")
        return date.fromisoformat(told) if told else None


@dataclass(frozen=True)
class QuoteRows(Page):
    """The rows of the list of quotes."""

    template: ClassVar[str] = "quote/_rows.html"
    rows: list[QuoteRow]
    state: str
    text: str


@dataclass(frozen=True)
class QuoteList(Page):
    """All quotes."""

    template: ClassVar[str] = "quote/list.html"
    frame: Frame
    rows: QuoteRows
    states: Choices
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class QuoteEdit(Page):
    """A new quote: for whom, which part, how many."""

    template: ClassVar[str] = "quote/edit.html"
    frame: Frame
    form: Form
    customers: Choices
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class QuoteShow(Page):
    """One version of a quote with every part, its sheet, its times and its prices."""

    template: ClassVar[str] = "quote/show.html"
    frame: Frame
    place: QuotePlace
    may_change: bool
    expired: bool
    lines: tuple[LineView, ...]
    head: Form
    add: Form
    won: Form
    lost: Form
    customers: Choices
    charges: Choices
    grains: Choices
    other_names: Choices
    other_rows: tuple[int, ...]
    bought_rows: tuple[int, ...]
    lost_reasons: Choices
    findings: tuple[Finding, ...]
    history: History


@dataclass(frozen=True)
class FigureShow(Page):
    """One figure of a quote, opened to its parts."""

    template: ClassVar[str] = "quote/_figure.html"
    figure: Figure


def figure_rows(breaks: "Sequence[QuoteBreak]") -> tuple[FigureRow, ...]:
    """The figures of a part, a row each: what it costs, then what is put on top."""
    trees = [figure_of(one.explained) for one in breaks]
    named: dict[str, Sentence] = {}
    for tree in trees:
        cost = tree.find("cost")
        for figure in cost.parts if cost else ():
            named.setdefault(figure.name, figure.told)
        if cost is not None:
            named.setdefault("cost", cost.told)
    cost_told = named.pop("cost", None)
    if cost_told is not None:
        named["cost"] = cost_told
    for name in BELOW:
        for tree in trees:
            found = tree.find(name)
            if found is not None:
                named.setdefault(name, found.told)
    rows = [
        FigureRow(name, told, _cells(breaks, trees, name), strong=name == "cost")
        for name, told in named.items()
    ]
    return (*rows, FigureRow("total", say("Price"), _cells(breaks, trees, "total"), strong=True))


def _cells(
    breaks: "Sequence[QuoteBreak]", trees: Sequence[Figure], name: str
) -> tuple[tuple[int, int | None], ...]:
    cells = []
    for one, tree in zip(breaks, trees, strict=True):
        found = tree.find(name)
        cells.append((one.id or 0, found.cost_minor if found else None))
    return tuple(cells)


TOLD_TIMES = {
    "bend": ("Bends like this took", "A bend is counted at"),
    "setup": ("Set-ups like this took", "The set-up is counted at"),
    "load": ("Fetching and stacking took", "Fetching and stacking is counted at"),
}


def time_facts(priced: PricedLine) -> tuple[TimeFact, ...]:
    """The times a price rests on: the bend first, since it counts most."""
    facts = []
    for name, (measured, usual) in TOLD_TIMES.items():
        if name not in priced.line.worked.get("times", {}):
            continue
        value, low, high, count, source = priced.line.worked["times"][name]
        told = say(measured if count >= LEAST_FOR_SPREAD else usual)
        facts.append(TimeFact(told, value, low, high, int(count), source))
    return tuple(facts)


def layout_and_findings(
    priced: PricedLine,
) -> tuple[SheetLayout | None, tuple[Finding, ...]]:
    """How the blanks lie, and what to mind."""
    plain = priced.line.worked.get("layout")
    return (layout_of(plain) if plain else None), findings_of(priced.line.findings)
