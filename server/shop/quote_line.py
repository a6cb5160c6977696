"""A figure of a quote that opens to its parts: name, money, formula, what it was worked out from."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from server.errors import Amount, Sentence, say
from server.findings import Given, Reason
from server.shop.money import decimal_string, rounded_minor


@dataclass(frozen=True, slots=True)
class Line:
    """One figure. `cost` is exact money in major units; `parts` add up to it where there are any.

    `name` is for programs and stays the same; `told` is for people.
    """

    name: str
    told: Sentence
    cost: Fraction
    formula: str = ""
    given: tuple[Given, ...] = ()
    source: str = ""
    parts: tuple["Line", ...] = ()

    def cost_minor(self, digits: int = 2) -> int:
        """The figure rounded half-even for showing [minor]."""
        return rounded_minor(self.cost, digits=digits)

    def find(self, name: str) -> "Line | None":
        """The line of this name here or below."""
        return next((line for line in self.walk() if line.name == name), None)

    def get(self, name: str) -> "Line":
        """The line of this name here or below; a name that is not there is our own mistake."""
        line = self.find(name)
        if line is None:
            raise KeyError(name)
        return line

    def walk(self) -> Iterator["Line"]:
        """The line and everything below it, parents first."""
        yield self
        for part in self.parts:
            yield from part.walk()

    def reason(self, digits: int = 2) -> Reason:
        """The same figure as the pages open any number."""
        return Reason(
            number=self.name,
            result=Amount(self.cost_minor(digits), "minor"),
            rule=str(self.told),
            formula=self.formula,
            given=self.given
            or tuple(
                Given(part.name, str(part.told), Amount(part.cost_minor(digits), "minor"))
                for part in self.parts
            ),
            source=self.source,
            sure=say("Exact from the figures above; rounded half-even when shown."),
        )


def summed(name: str, told: Sentence, parts: tuple[Line, ...], *, source: str = "") -> Line:
    """A line that is the sum of its parts."""
    formula = " + ".join(part.name.replace("_", " ") for part in parts)
    return Line(name, told, sum((p.cost for p in parts), Fraction()), formula, (), source, parts)


def money_given(symbol: str, name: str, amount: Fraction, *, per: str = "") -> Given:
    """A price or rate as an input of a line, in plain decimals."""
    text = decimal_string(rounded_minor(amount, digits=4), digits=4).rstrip("0")
    whole, _, decimals = text.partition(".")
    return Given(symbol, name, f"{whole}.{decimals:0<2}{per}")
