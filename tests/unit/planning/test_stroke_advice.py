"""Dwell and pedal advice: what the steps ask for, never a way round a guard."""

from server.planning.stroke_advice import stroke_advice


def codes(*, kinds: set[str], reach_mm: float = 100.0, mute_mm: float | None = 6.0) -> set[str]:
    found = stroke_advice(kinds=kinds, longest_reach_mm=reach_mm, mute_opening_mm=mute_mm)
    return {one.code for one in found}


def test_forced_bends_dwell_longer_than_air_bends() -> None:
    assert codes(kinds={"air"}) == {"dwell_air", "pedal_first"}
    assert codes(kinds={"bottoming"}) == {"dwell_forced", "pedal_first"}
    assert {"dwell_air", "dwell_forced"} <= codes(kinds={"air", "flatten"})


def test_a_long_sheet_and_an_unknown_mute_point_are_cautions() -> None:
    assert "pedal_long_reach" in codes(kinds={"air"}, reach_mm=501.0)
    assert "mute_unknown" in codes(kinds={"air"}, mute_mm=None)
