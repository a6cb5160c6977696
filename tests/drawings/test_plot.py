"""Plots say what they show: lengths in proportion from zero, numbers in words, no point lost."""

import re

from server.drawings.plot import (
    Bar,
    PlotPoint,
    ShareBar,
    draw_bars,
    draw_quoted_actual,
    draw_shares,
)

BOX = re.compile(r'd="M([\d.-]+) [\d.-]+L([\d.-]+) ')


def test_bars_start_at_zero_and_are_as_long_as_their_numbers() -> None:
    drawn = draw_bars([Bar("a <b>", 8.0, "8"), Bar("c", 2.0, "2"), Bar("d", 0.0, "0")], title="t")
    (first, long_end), (second, short_end), (third, none_end) = (
        (float(start), float(end)) for start, end in BOX.findall(drawn)[:3]
    )
    assert first == second == third == none_end
    assert abs((long_end - first) / (short_end - second) - 4.0) < 0.01
    assert "a &lt;b&gt;" in drawn


def test_a_share_has_its_interval_and_a_month_without_cases_has_none() -> None:
    one = draw_shares([ShareBar("Jan", 0.5, 0.2, 0.8, "2 of 4")], title="t")
    none = draw_shares([ShareBar("Jan", None, 0.0, 1.0, "0 of 0")], title="t")
    assert "2 of 4" in one
    assert one.count("<path") == none.count("<path") + 4  # bar, interval, its two ends


def test_a_job_over_its_quote_is_a_triangle_and_the_others_are_circles() -> None:
    points = [PlotPoint(10, 20, "over"), PlotPoint(20, 10, "under"), PlotPoint(5, 5, "same")]
    drawn = draw_quoted_actual(points, title="t")
    assert drawn.count("<circle") == 2
    assert "quoted, minutes" in drawn
    assert "actual, minutes" in drawn
    assert draw_quoted_actual([], title="t").count("<circle") == 0
