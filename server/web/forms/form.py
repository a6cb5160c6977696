"""Reading what people typed: all problems gathered, the typed text kept."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

from server.errors import Amount, Sentence, ShopError, Unit, say
from server.shop.money import LARGEST_MINOR, amount_from_text, plain_decimal, price_from_text
from server.storage.database import Session
from server.units.length import LengthUnit
from server.units.reader_unit import from_reader, unit_symbol
from server.units.sheet_gauge import GaugeFamily
from server.units.typed_length import typed_length_mm

NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)")
CODE = re.compile(r"[A-Z0-9][A-Z0-9-]*")
LONGEST_TEXT = 2000
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one field, and what to do."""

    what: Sentence
    remedy: Sentence
    code: str = ""

    @classmethod
    def of(cls, trouble: ShopError) -> "Problem":
        """The problem a trouble means for its field."""
        return cls(trouble.what, trouble.remedy, trouble.code)


@dataclass
class Form:
    """One posted form. Read every field, then look at `ok`; problems lie beside their fields."""

    typed: Mapping[str, str]
    unit: LengthUnit = "mm"
    problems: dict[str, Problem] = field(default_factory=dict)

    @classmethod
    def posted(cls, typed: Mapping[str, str], unit: LengthUnit) -> "Form":
        """A posted form, read in the unit its page was shown in.

        The reader may have changed the unit on another page meanwhile; a number that was typed
        beside "mm" stays millimetres.
        """
        shown = typed.get("typed_in", unit)
        return cls(typed, "in" if shown == "in" else "mm")

    @property
    def ok(self) -> bool:
        """Whether nothing was wrong so far."""
        return not self.problems

    @property
    def in_conflict(self) -> bool:
        """Whether somebody else changed the same thing meanwhile."""
        return any(problem.code == "edit_conflict" for problem in self.problems.values())

    def version(self) -> int:
        """The version the person looked at, or the one they chose to write over."""
        name = "over" if self.typed.get("over") else "version"
        return self.whole(name, least=0, most=10**9)

    def symbol(self, unit: Unit) -> str:
        """What stands beside an input field of this kind."""
        return unit_symbol(unit, self.unit)

    def text(self, name: str, *, needed: bool = False, most: int = LONGEST_TEXT) -> str:
        """A text without outer spaces."""
        value = (
            " ".join(self.typed.get(name, "").split())
            if most <= 200
            else self.typed.get(name, "").strip()
        )
        if needed and not value:
            self.trouble(name, "This is empty.", "Fill it in.")
        elif len(value) > most:
            self.trouble(name, f"This is longer than {most} characters.", "Shorten it.")
        return value[:most]

    def code(self, name: str, *, needed: bool = True) -> str:
        """A shop code or number: A-Z, 0-9 and hyphen, as a scanner sends it."""
        value = self.text(name, needed=needed, most=40).upper()
        if value and not CODE.fullmatch(value):
            self.trouble(
                name,
                "A code has only letters A-Z, digits and hyphens.",
                "Leave out spaces and other signs.",
            )
        return value

    def choice(self, name: str, choices: Sequence[str], default: str | None = None) -> str:
        """One of several words."""
        value = self.typed.get(name, default if default is not None else "")
        if value not in choices:
            self.trouble(name, "This is not one of the choices.", "Choose one from the list.")
            return choices[0] if choices else ""
        return value

    def yes(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.typed.get(name, "") in ("yes", "on", "true", "1")

    def whole(self, name: str, *, least: int, most: int, default: int | None = None) -> int:
        """A whole number."""
        raw = self.typed.get(name, "").strip()
        if not raw and default is not None:
            return default
        if not re.fullmatch(r"[+-]?\d+", raw):
            self.trouble(name, "This is not a whole number.", "Type digits only.")
            return least
        value = int(raw[:12])
        if not least <= value <= most:
            self.trouble(name, f"{value} is not from {least} to {most}.", "Correct it.")
            return least
        return value

    def number(
        self, name: str, *, least: float, most: float, needed: bool = True, above: bool = False
    ) -> float | None:
        """A plain number; a decimal comma is read as such."""
        raw = self.typed.get(name, "").strip().replace("\u2212", "-")
        if not raw:
            if needed:
                self.trouble(name, "This is empty.", "Type a number.")
            return None
        if not NUMBER.fullmatch(raw):
            self.trouble(name, "This is not a number.", "Type a number like 12.5.")
            return None
        value = float(raw.replace(",", "."))
        if not least <= value <= most or (above and value <= least):
            word = "above" if above else "from"
            self.trouble(
                name, f"{value:g} is out of range.", f"Use a number {word} {least:g} to {most:g}."
            )
            return None
        return value

    def need_number(self, name: str, *, least: float, most: float, above: bool = False) -> float:
        """A plain number that must be there; 0 stands in while there is a problem."""
        value = self.number(name, least=least, most=most, above=above)
        return 0.0 if value is None else value

    def amount(
        self,
        name: str,
        unit: Unit,
        *,
        least: float = 0.0,
        most: float,
        above: bool = True,
        needed: bool = True,
    ) -> float | None:
        """A force, load, strength or speed, typed in the reader's unit and given in ours."""
        before = len(self.problems)
        typed = self.number(name, least=-1e12, most=1e12, needed=needed)
        if typed is None or len(self.problems) > before:
            return None
        value = from_reader(typed, unit, self.unit)
        if not least <= value <= most or (above and value <= least):
            problem = _amount_out_of_range(value, unit, least, most, above=above)
            self.problems.setdefault(name, problem)
            return None
        return value

    def need_amount(self, name: str, unit: Unit, *, least: float = 0.0, most: float) -> float:
        """An amount that must be there; 0 stands in while there is a problem."""
        value = self.amount(name, unit, least=least, most=most)
        return 0.0 if value is None else value

    def length_mm(
        self,
        name: str,
        *,
        least_mm: float = 0.0,
        most_mm: float = 20_000.0,
        above: bool = True,
        needed: bool = True,
        family: GaugeFamily | None = None,
    ) -> float | None:
        """A typed length in mm."""
        raw = self.typed.get(name, "").strip()
        if not raw and not needed:
            return None
        try:
            value = typed_length_mm(raw, unit=self.unit, family=family)
        except ShopError as trouble:
            self.problems.setdefault(name, Problem.of(trouble))
            return None
        if not least_mm <= value <= most_mm or (above and value <= least_mm):
            self.problems.setdefault(name, _out_of_range(value, least_mm, most_mm, above=above))
            return None
        return value

    def need_length_mm(
        self,
        name: str,
        *,
        least_mm: float = 0.0,
        most_mm: float = 20_000.0,
        above: bool = True,
        family: GaugeFamily | None = None,
    ) -> float:
        """A typed length that must be there; 0 stands in while there is a problem."""
        value = self.length_mm(name, least_mm=least_mm, most_mm=most_mm, above=above, family=family)
        return 0.0 if value is None else value

    def money_minor(
        self, name: str, *, currency: str, most_minor: int = LARGEST_MINOR, needed: bool = True
    ) -> int | None:
        """An amount of money as people type it, in minor units; never below nothing."""
        raw = self.typed.get(name, "").strip()
        if not raw and not needed:
            return None
        before = len(self.problems)
        value = self.work_out(
            lambda: amount_from_text(raw, currency=currency), rename=lambda _: name
        )
        if len(self.problems) == before and value is not None and not 0 <= value <= most_minor:
            self.trouble(name, "This amount is out of range.", "Check the sign and decimal mark.")
            return None
        return value

    def need_money_minor(self, name: str, *, currency: str, most_minor: int = LARGEST_MINOR) -> int:
        """An amount of money that must be there; 0 stands in while there is a problem."""
        return self.money_minor(name, currency=currency, most_minor=most_minor) or 0

    def price_text(self, name: str, *, currency: str, most: int = 10**7) -> str:
        """A price per kilogram or hour as an exact decimal in plain writing."""
        raw = self.typed.get(name, "").strip()
        price = self.work_out(
            lambda: price_from_text(raw, currency=currency), rename=lambda _: name
        )
        if price is None:
            return "0"
        if not 0 <= price <= most:
            self.trouble(name, "This price is out of range.", "Check the sign and decimal mark.")
            return "0"
        return plain_decimal(price)

    def trouble(self, name: str, what: str, remedy: str) -> None:
        """Note a problem beside a field; the first one of a field stays."""
        self.problems.setdefault(name, Problem(say("{what}", what=what), say("{it}", it=remedy)))

    def need_ok(self) -> None:
        """Refuse to go on with a wrong field, where there is no form to show it in.

        Raises: ShopError of the first problem.
        """
        for name, problem in self.problems.items():
            raise ShopError("bad_value", problem.what, remedy=problem.remedy, where=name)

    def attempt(
        self,
        act: Callable[[], T],
        session: Session | None,
        *,
        rename: Callable[[str | None], str] = str,
    ) -> T | None:
        """Carry an action out if nothing was wrong; a trouble becomes a problem beside its field.

        What the action had written before its trouble is taken back, since the block that holds
        the session ends well and would keep it. `None` is for an action that opens its own.
        """
        if self.problems:
            return None
        done = self.work_out(act, rename=rename)
        if session is not None and not self.ok:
            session.rollback()
        return done

    def work_out(
        self, act: Callable[[], T], *, rename: Callable[[str | None], str] = str
    ) -> T | None:
        """Something that keeps nothing; a trouble becomes a problem beside its field."""
        try:
            return act()
        except ShopError as trouble:
            place = rename(trouble.where)
            last = place.rsplit(".", 1)[-1]  # a field in the reader's unit has no unit in its name
            names = (place, last, last.removesuffix("_mm"))
            field = next((name for name in names if name in self.typed), "form")
            self.problems.setdefault(field, Problem.of(trouble))
            return None


def _out_of_range(value_mm: float, least_mm: float, most_mm: float, *, above: bool) -> Problem:
    return _amount_out_of_range(value_mm, "mm", least_mm, most_mm, above=above)


def _amount_out_of_range(
    value: float, unit: Unit, least: float, most: float, *, above: bool
) -> Problem:
    return Problem(
        say("{value} is out of range.", value=Amount(value, unit)),
        say(
            "Use a {kind} {word} {least} up to {most}.",
            kind="length" if unit == "mm" else "number",
            word="above" if above else "from",
            least=Amount(least, unit),
            most=Amount(most, unit),
        ),
    )
