"""Trouble a person can fix, and sentences whose numbers know their unit.

Three kinds of trouble exist in the house and are never mixed:

* `ShopError` (here): something a person can put right. Raised.
* `Finding` (in `findings`): what a check noticed about the work. Collected, never raised.
* anything else: our own bug. It gets a reference number on the page and a trace in the log.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Unit = Literal[
    "mm",
    "deg",
    "n",
    "kn",
    "kn_per_m",
    "mpa",
    "kg",
    "s",
    "min",
    "mm_per_s",
    "mm_per_deg",
    "deg_per_s",
    "m_per_s",
    "mm2",
    "minor",
    "percent",
    "ratio",
    "count",
    "place",
]

PLAIN_SYMBOL: Mapping[Unit, str] = {
    "mm": " mm",
    "deg": "°",
    "n": " N",
    "kn": " kN",
    "kn_per_m": " kN/m",
    "mpa": " MPa",
    "kg": " kg",
    "s": " s",
    "min": " min",
    "mm_per_s": " mm/s",
    "mm_per_deg": " mm/°",
    "deg_per_s": "°/s",
    "m_per_s": " m/s",
    "mm2": " mm²",
    "minor": " minor units",
    "percent": " %",
    "ratio": "",
    "count": "",
    "place": "",
}


@dataclass(frozen=True, slots=True)
class Amount:
    """A number with its unit, so that a page can print it in the reader's unit."""

    value: float
    unit: Unit

    def __str__(self) -> str:
        return f"{self.value:.5g}{PLAIN_SYMBOL[self.unit]}"


def place(index: int) -> Amount:
    """A bend, leg or face by its index from 0; pages count from 1, outside programs from 0."""
    return Amount(index, "place")


@dataclass(frozen=True, slots=True)
class Sentence:
    """A message whose numbers travel beside the words: `{name}` marks where each goes."""

    template: str
    amounts: Mapping[str, Amount | str] = field(default_factory=dict)

    def __str__(self) -> str:
        return self.template.format_map(self.amounts)


def say(template: str, /, **amounts: Amount | str) -> Sentence:
    """A sentence from words and amounts: `say("The leg is {leg}.", leg=Amount(5, "mm"))`."""
    return Sentence(template, amounts)


class ShopError(Exception):
    """Something a person can put right: what is wrong, what to do, and where."""

    def __init__(
        self,
        code: str,
        what: Sentence | str,
        *,
        remedy: Sentence | str = "",
        where: str | None = None,
    ) -> None:
        self.code = code
        self.what = say(what) if isinstance(what, str) else what
        self.remedy = say(remedy) if isinstance(remedy, str) else remedy
        self.where = where
        super().__init__(str(self.what))

    def at(self, where: str) -> "ShopError":
        """The same trouble, told of another place (a form field instead of a parameter)."""
        return ShopError(self.code, self.what, remedy=self.remedy, where=where)
