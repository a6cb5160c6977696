"""Sentences whose numbers know their unit, and troubles that can be told of another place."""

from typing import get_args

import pytest

from server.errors import PLAIN_SYMBOL, Amount, ShopError, Unit, say
from server.findings import Finding, has_stop, sorted_by_level


@pytest.mark.parametrize("unit", get_args(Unit))
def test_every_unit_has_a_plain_symbol(unit: Unit) -> None:
    assert str(Amount(1.5, unit)) == f"1.5{PLAIN_SYMBOL[unit]}"


def test_a_sentence_carries_its_amounts_and_prints_them() -> None:
    sentence = say("The leg is {leg}; {name} needs {least}.", leg=Amount(5, "mm"), name="V{16}",
                   least=Amount(10.736, "mm"))  # fmt: skip
    assert str(sentence) == "The leg is 5 mm; V{16} needs 10.736 mm."
    assert sentence.amounts["leg"] == Amount(5, "mm")


def test_a_trouble_told_of_another_place_is_otherwise_the_same() -> None:
    trouble = ShopError("code", say("What {x}", x=Amount(1, "mm")), remedy="Do.", where="here")
    moved = trouble.at("legs.3")
    assert (moved.code, moved.what, moved.remedy, moved.where) == (
        trouble.code, trouble.what, trouble.remedy, "legs.3",
    )  # fmt: skip
    assert str(trouble) == "What 1 mm"


def test_stops_sort_first_and_the_order_within_a_level_is_kept() -> None:
    made = [
        Finding("note", "a", say("a")),
        Finding("stop", "b", say("b")),
        Finding("caution", "c", say("c")),
        Finding("stop", "d", say("d")),
        Finding("note", "e", say("e")),
    ]
    assert [finding.code for finding in sorted_by_level(made)] == ["b", "d", "c", "a", "e"]
    assert has_stop(made)
    assert not has_stop(finding for finding in made if finding.level != "stop")
