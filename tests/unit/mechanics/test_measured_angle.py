"""Angles as they are typed with gloves on: taken, recognised, or asked about."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from server.errors import ShopError
from server.mechanics.measured_angle import AngleConvention, typed_angle


@pytest.mark.parametrize(
    ("text", "bend_deg"),
    [
        ("93", 87.0),
        ("92.5", 87.5),
        ("92,5", 87.5),
        (" 92.5° ", 87.5),
        ("92.5 deg", 87.5),
        ("92 30'", 87.5),
        ("92° 30'", 87.5),
        ("88.50", 91.5),
    ],
)
def test_an_ordinary_reading_is_taken_as_typed(text: str, bend_deg: float) -> None:
    told = typed_angle(text=text, wanted_deg=90.0, convention="included")
    assert told.meaning is not None
    assert told.meaning.bend_angle_deg == pytest.approx(bend_deg)
    assert told.question is None


@pytest.mark.parametrize(
    ("text", "likely"),
    [
        ("190", 90.0),
        ("9", 90.0),
        ("930", 93.0),
        ("0.93", 93.0),
        ("9.1", 91.0),
        ("991", 91.0),
        ("9300", 93.0),
        ("29", 92.0),
    ],
)
def test_a_slip_is_asked_about_with_what_was_likely_meant(text: str, likely: float) -> None:
    told = typed_angle(text=text, wanted_deg=90.0, convention="included")
    assert told.meaning is None
    assert told.question is not None
    assert likely in [one.shown_deg for one in told.likely]


@pytest.mark.parametrize("text", ["0", "0.0", "190", "180", "500"])
def test_what_no_bend_can_show_cannot_be_confirmed_as_typed(text: str) -> None:
    told = typed_angle(text=text, wanted_deg=90.0, convention="bend")
    assert told.meaning is None
    assert told.as_typed is None
    assert told.question is not None


def test_nothing_bent_is_asked_about() -> None:
    told = typed_angle(text="0", wanted_deg=90.0, convention="bend")
    assert "anything bent" in str(told.question)
    assert told.likely == ()


def test_a_reading_far_off_without_a_slip_to_explain_it_can_be_confirmed() -> None:
    told = typed_angle(text="71", wanted_deg=90.0, convention="included")
    assert told.meaning is None
    assert told.as_typed is not None
    assert told.as_typed.bend_angle_deg == 109.0
    assert "19" in str(told.question)


@pytest.mark.parametrize(
    ("text", "convention", "bend_deg", "noted"),
    [
        ("134.2", "bend", 45.8, True),
        ("45.8", "included", 45.8, True),
        ("45.8", "bend", 45.8, False),
        ("134.2", None, 45.8, True),
        ("45.8", None, 45.8, True),
    ],
)
def test_the_other_way_of_telling_an_angle_is_recognised_when_only_it_fits(
    text: str, convention: AngleConvention | None, bend_deg: float, noted: bool
) -> None:
    told = typed_angle(text=text, wanted_deg=45.0, convention=convention)
    assert told.meaning is not None
    assert told.meaning.bend_angle_deg == pytest.approx(bend_deg)
    assert (told.note is not None) is noted


def test_near_90_both_ways_fit_and_somebody_has_to_say_which() -> None:
    told = typed_angle(text="88.5", wanted_deg=90.0, convention=None)
    assert told.meaning is None
    assert [one.bend_angle_deg for one in told.likely] == [91.5, 88.5]
    square = typed_angle(text="90", wanted_deg=90.0, convention=None)
    assert square.meaning is not None
    assert square.meaning.bend_angle_deg == 90.0


def test_a_wide_band_lets_a_far_reading_pass_without_a_question() -> None:
    narrow = typed_angle(text="106", wanted_deg=90.0, convention="included")
    wide = typed_angle(text="106", wanted_deg=90.0, convention="included", band_deg=(83.0, 97.0))
    assert narrow.meaning is None
    assert wide.meaning is not None


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty_angle"),
        ("  ", "empty_angle"),
        ("abc", "not_an_angle"),
        ("-90", "not_an_angle"),
        ("9 0", "not_an_angle"),
        ("nan", "not_an_angle"),
        ("1e2", "not_an_angle"),
        ("9" * 500, "not_an_angle"),
        (".", "not_an_angle"),
    ],
)
def test_what_is_no_angle_is_refused(text: str, code: str) -> None:
    with pytest.raises(ShopError) as trouble:
        typed_angle(text=text, wanted_deg=90.0, convention="included")
    assert trouble.value.code == code


@given(st.text(max_size=30), st.floats(1.0, 170.0), st.sampled_from(["included", "bend", None]))
def test_any_text_is_taken_asked_about_or_refused(
    text: str, wanted_deg: float, convention: AngleConvention | None
) -> None:
    try:
        told = typed_angle(text=text, wanted_deg=wanted_deg, convention=convention)
    except ShopError:
        return
    assert (told.meaning is None) is (told.question is not None)
    for meaning in (told.meaning, told.as_typed, *told.likely):
        assert meaning is None or 0.0 < meaning.bend_angle_deg < 180.0


@given(st.floats(5.0, 170.0), st.floats(-10.0, 10.0), st.sampled_from(["included", "bend"]))
def test_a_good_reading_is_never_questioned(
    wanted_deg: float, off_deg: float, convention: AngleConvention
) -> None:
    bent_deg = round(min(179.0, max(1.0, wanted_deg + off_deg)), 1)
    shown_deg = 180.0 - bent_deg if convention == "included" else bent_deg
    told = typed_angle(text=f"{shown_deg:.1f}", wanted_deg=wanted_deg, convention=convention)
    assert told.meaning is not None
    assert told.meaning.bend_angle_deg == pytest.approx(bent_deg)
