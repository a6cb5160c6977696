"""Numbers as a reader sees them."""

import math

import pytest

from server.errors import Amount, place, say
from server.web.display import Display, fixed
from server.web.wording import label_of, word_of

MM, INCH = Display("mm"), Display("in")


def test_lengths_have_the_readers_unit_and_a_narrow_gap() -> None:
    assert MM.length(12.5) == "12.50\u202fmm"
    assert INCH.length(12.7) == "0.500\u202fin"
    assert MM.short(16.0) == "16\u202fmm"


@pytest.mark.parametrize(
    ("amount", "shown"),
    [
        (Amount(785, "kn"), "88.2\u202fton"),
        (Amount(1000, "kn_per_m"), "34.26\u202fton/ft"),
        (Amount(235, "mpa"), "34.1\u202fksi"),
        (Amount(10, "kg"), "22.0\u202flb"),
        (Amount(90, "deg"), "90.0°"),
        (Amount(5, "s"), "5\u202fs"),
    ],
)
def test_a_reader_in_inches_reads_us_units_throughout(amount: Amount, shown: str) -> None:
    """By hand from NIST SP 811: short ton-force 8.896443 kN, ksi 6.894757 MPa, lb 0.45359237 kg."""
    assert INCH.amount(amount) == shown


def test_no_number_is_shown_as_minus_nothing_or_not_a_number() -> None:
    assert fixed(-0.001, 2) == "0.00"
    assert fixed(-1.5, 1) == "\u22121.5"
    assert fixed(math.nan, 2) == "—"
    assert fixed(math.inf, 2) == "—"


def test_a_sentence_is_escaped_with_its_words() -> None:
    told = MM.sentence(say("There is no part '{code}'.", code="<b>"))
    assert "&lt;b&gt;" in told
    assert "<b>" not in told


@pytest.mark.parametrize("value", [0.0, 0.0004, 13.5, 1300.0, 2.4893])
@pytest.mark.parametrize("show", [MM, INCH])
def test_a_typed_length_reads_back_to_what_a_form_may_round_away(
    show: Display, value: float
) -> None:
    from server.actions.history import settled
    from server.units.typed_length import typed_length_mm

    assert settled(value, typed_length_mm(show.typed(value), unit=show.unit)) == value


def test_stored_names_become_words_with_their_units() -> None:
    assert label_of("max_line_load_kn_per_m") == "max line load"
    assert word_of("rating_kn_per_m", 500.0, MM) == "500\u202fkN/m"
    assert word_of("height_mm", 110.0, INCH) == "4.3307\u202fin"
    assert word_of("segments", [[500.0, 2], [100.0, 1]], MM) == "500x2; 100x1"
    assert word_of("note", "", MM) == "—"
    assert word_of("archived", True, MM) == "yes"


def test_pages_count_bends_from_one_and_outside_programs_from_zero() -> None:
    told = say("Bend {bend} meets leg {leg}.", bend=place(0), leg=place(3))
    assert MM.sentence(told) == "Bend 1 meets leg 4."
    assert str(told) == "Bend 0 meets leg 3."


def test_money_has_its_currencys_decimals_and_a_true_minus() -> None:
    assert MM.money(123456789) == "1\u202f234\u202f567.89\u202fEUR"
    assert MM.bare_money(-5) == "\u22120.05"
    assert Display(currency="JPY").money(1250) == "1\u202f250\u202fJPY"
    assert MM.amount(Amount(1250, "minor")) == "12.50\u202fEUR"
    assert MM.percent(0.256) == "26\u202f%"
    assert MM.percent(None) == "—"
