"""What a check noticed about the work: a note, a caution, or a stop with the way out."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, Sentence

Level = Literal["note", "caution", "stop"]
ORDER: dict[Level, int] = {"stop": 0, "caution": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class Finding:
    """One observation; a `stop` blocks the step it belongs to until it is freed.

    `what` says what was seen, `frees` what would clear it, `source` where the limit comes from.
    """

    level: Level
    code: str
    what: Sentence
    frees: Sentence | None = None
    source: str = ""
    bend: int | None = None
    tool: str | None = None
    amount: Amount | None = None


def has_stop(findings: Iterable[Finding]) -> bool:
    """True when at least one finding blocks."""
    return any(finding.level == "stop" for finding in findings)


def sorted_by_level(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Stops first, then cautions, then notes; the order within a level is kept."""
    return tuple(sorted(findings, key=lambda finding: ORDER[finding.level]))


@dataclass(frozen=True, slots=True)
class Given:
    """One input of a rule as the reader sees it: symbol, plain name, amount or word."""

    symbol: str
    name: str
    value: Amount | str


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a number is what it is: rule, formula, inputs, source, and how sure we are."""

    number: str
    result: Amount
    rule: str
    formula: str
    given: tuple[Given, ...]
    source: str
    sure: Sentence
