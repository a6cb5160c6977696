"""Test strips on the tablet: the deduction at once, how many are enough, kept and set aside."""

from typing import Any

from server.storage.queries.coupon import find_coupon, list_coupons
from tests.conftest import Office

STRIP = {
    "material_code": "DC01", "lot_code": "", "die_code": "D16", "punch_code": "P1-STRAIGHT",
    "thickness": "3", "radius": "4", "angle": "90", "tolerance": "0.5",
    "flat_1": "100", "a_1": "53.4", "b_1": "52.5",
}  # fmt: skip
IN_PAGE = {"HX-Request": "true"}


def test_one_strip_gives_its_deduction_at_once_and_says_how_many_more(office: Office) -> None:
    page = office.post("/brake/coupon/result", STRIP, headers=IN_PAGE).text
    assert "5.90" in page
    assert "K 0.386" in page
    assert "more strips would settle it" in page


def test_strips_that_agree_are_enough_and_strips_that_do_not_never_are(office: Office) -> None:
    more: dict[str, str] = {}
    for row in (2, 3, 4, 5):
        more |= {f"flat_{row}": "100", f"a_{row}": "53.4", f"b_{row}": "52.5"}
    page = office.post("/brake/coupon/result", STRIP | more, headers=IN_PAGE).text
    assert "Enough" in page
    wild = {"flat_2": "100", "a_2": "54.9", "b_2": "52.9"}
    page = office.post("/brake/coupon/result", STRIP | wild, headers=IN_PAGE).text
    assert "differ too much" in page


def test_strips_are_kept_used_and_set_aside(office: Office, shop: Any) -> None:
    assert office.post("/brake/coupon/new", STRIP).headers["location"] == "/brake/coupon"
    with shop.reading() as session:
        kept = find_coupon(session, material_code="DC01", thickness_mm=3.0, v_opening_mm=16.0)
        before = len(list_coupons(session))
    assert kept is not None
    assert "DC01" in office.get("/brake/coupon").text
    office.post("/brake/coupon/use", {"coupon": str(kept.id), "in_use": "no"})
    with shop.reading() as session:
        assert not find_coupon(session, material_code="DC01", thickness_mm=3.0, v_opening_mm=16.0)
        assert len(list_coupons(session)) == before
    assert "set aside" in office.get("/brake/coupon").text


def test_a_comma_and_inches_are_read_and_half_a_strip_is_told(office: Office) -> None:
    page = office.post("/brake/coupon/result", STRIP | {"a_1": "53,4"}, headers=IN_PAGE).text
    assert "5.90" in page
    answer = office.post("/brake/coupon/new", STRIP | {"flat_2": "100"})
    assert answer.status_code == 422
    assert 'value="53.4"' in answer.text
    nothing = office.post("/brake/coupon/new", {"material_code": "DC01"})
    assert nothing.status_code == 422
    assert "No strip was measured" in nothing.text


def test_strips_no_metal_can_have_are_refused(office: Office) -> None:
    answer = office.post("/brake/coupon/new", STRIP | {"a_1": "80", "b_1": "80"})
    assert answer.status_code == 422
    assert "No metal bends like that" in answer.text
