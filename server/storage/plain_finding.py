"""Findings and reasons as plain values and back, so that what was said then can be shown later."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from server.errors import Amount, Sentence
from server.findings import Finding, Given, Reason


def plain_findings(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Findings as plain values."""
    return [
        {
            "level": finding.level,
            "code": finding.code,
            "what": plain_sentence(finding.what),
            "frees": plain_sentence(finding.frees) if finding.frees else None,
            "source": finding.source,
            "bend": finding.bend,
            "tool": finding.tool,
            "amount": _plain_amount(finding.amount) if finding.amount else None,
        }
        for finding in findings
    ]


def findings_of(plain: Sequence[Mapping[str, Any]]) -> tuple[Finding, ...]:
    """The findings that `plain_findings` wrote."""
    return tuple(
        Finding(
            level=one["level"],
            code=one["code"],
            what=sentence_of(one["what"]),
            frees=sentence_of(one["frees"]) if one["frees"] else None,
            source=one["source"],
            bend=one["bend"],
            tool=one["tool"],
            amount=_amount(one["amount"]) if one["amount"] else None,
        )
        for one in plain
    )


def plain_reasons(reasons: Iterable[Reason]) -> list[dict[str, Any]]:
    """Reasons as plain values."""
    return [
        {
            "number": reason.number,
            "result": _plain_amount(reason.result),
            "rule": reason.rule,
            "formula": reason.formula,
            "given": [
                [given.symbol, given.name, _plain_value(given.value)] for given in reason.given
            ],
            "source": reason.source,
            "sure": plain_sentence(reason.sure),
        }
        for reason in reasons
    ]


def reasons_of(plain: Sequence[Mapping[str, Any]]) -> tuple[Reason, ...]:
    """The reasons that `plain_reasons` wrote."""
    return tuple(
        Reason(
            number=one["number"],
            result=_amount(one["result"]),
            rule=one["rule"],
            formula=one["formula"],
            given=tuple(Given(symbol, name, _value(value)) for symbol, name, value in one["given"]),
            source=one["source"],
            sure=sentence_of(one["sure"]),
        )
        for one in plain
    )


def plain_sentence(sentence: Sentence) -> list[Any]:
    """A sentence as plain values."""
    return [
        sentence.template,
        {name: _plain_value(value) for name, value in sentence.amounts.items()},
    ]


def sentence_of(plain: Sequence[Any]) -> Sentence:
    """The sentence that `plain_sentence` wrote."""
    return Sentence(plain[0], {name: _value(value) for name, value in plain[1].items()})


def _plain_value(value: Amount | str) -> Any:
    return value if isinstance(value, str) else _plain_amount(value)


def _value(plain: Any) -> Amount | str:
    return plain if isinstance(plain, str) else _amount(plain)


def _plain_amount(amount: Amount) -> list[Any]:
    return [amount.value, amount.unit]


def _amount(plain: Sequence[Any]) -> Amount:
    return Amount(float(plain[0]), plain[1])
