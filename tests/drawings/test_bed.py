"""Tools along the bed, drawn to scale."""

import re

import pytest

from server.drawings.bed import BedRun, BedStation, draw_bed, gaps_of

LEFT = BedStation(1, (BedRun(-400.0, (200.0, 100.0)),), (BedRun(-400.0, (300.0,)),))
RIGHT = BedStation(2, (BedRun(-50.0, (100.0,)), BedRun(90.0, (50.0,))), (BedRun(-50.0, (200.0,)),))


def widths(drawn: str) -> list[float]:
    boxes = re.findall(r'd="M([\d.-]+) -?[\d.]+L([\d.-]+) -?[\d.]+L[^"]*Z" fill="#c3ccd6"', drawn)
    return [float(right) - float(left) for left, right in boxes]


def test_segments_are_as_long_as_they_are_to_one_scale() -> None:
    drawn = draw_bed(stations=(LEFT, RIGHT), bed_length_mm=2600.0, told=lambda mm: f"{mm:g}")
    lengths = [200.0, 100.0, 300.0, 100.0, 50.0, 200.0]
    shown = widths(drawn)
    assert len(shown) == len(lengths)
    scale = shown[0] / lengths[0]
    assert [one / scale for one in shown] == pytest.approx(lengths, rel=1e-2)


def test_gaps_are_found_between_runs_and_between_stations() -> None:
    assert gaps_of((RIGHT, LEFT)) == ((-100.0, -50.0), (50.0, 90.0))
    assert gaps_of((LEFT,)) == ()
    drawn = draw_bed(stations=(LEFT, RIGHT), bed_length_mm=2600.0, told=lambda mm: f"{mm:g}")
    assert "gap 50" in drawn
    assert "gap 40" in drawn
