"""Story 17: three scrapped become a re-cut of three on the cut list; causes are ranked."""

from dataclasses import replace
from datetime import datetime

import pytest

from server.errors import ShopError
from server.shop.numbers import FinishedJob, scrap_causes
from server.shop.recut import CutLine, JobCount, cut_list, recut_count, recut_line, told

LINE = CutLine("P-100", "B", "S235", 3.0, (400.0, 250.0), 20, ("J-7",))


def test_story_17_three_scrapped_are_a_re_cut_of_three_in_front_of_the_cut_list() -> None:
    count = JobCount(ordered_count=20, good_count=10, scrap_count=3, in_work_count=7)
    again = recut_line(LINE, job="J-7", count=count)
    assert again is not None
    listed = cut_list([replace(LINE, jobs=("J-8",)), again])
    assert [(line.kind, line.quantity_count) for line in listed] == [
        ("re-cut", 3),
        ("first cut", 20),
    ]
    assert str(told(listed[0])) == "Re-cut: 3 of P-100 B, S235 3 mm, for J-7."


def test_story_17_causes_are_ranked_with_running_shares() -> None:
    at = datetime.fromisoformat("2026-03-02T12:00")
    jobs = [
        FinishedJob("J-7", "A", None, at, scrap=(("angle", 2), ("scratch", 1))),
        FinishedJob("J-8", "A", None, at, scrap=(("length", 4), ("angle", 3))),
    ]
    ranked = [(c.reason, c.parts_count, round(c.cumulative_ratio, 3)) for c in scrap_causes(jobs)]
    assert ranked == [("angle", 5, 0.5), ("length", 4, 0.9), ("scratch", 1, 1.0)]


@pytest.mark.parametrize(
    ("ordered", "good", "scrap", "in_work", "again"),
    [
        (20, 17, 3, 0, 3),
        (20, 20, 3, 0, 0),  # spares covered it
        (20, 16, 3, 1, 3),
        (20, 10, 3, 10, 0),  # three blanks more than ordered were cut
        (20, 0, 0, 0, 0),  # nothing cut yet is no re-cut
        (20, 10, 2, 0, 2),
    ],
)
def test_only_what_is_missing_is_cut_again(
    ordered: int, good: int, scrap: int, in_work: int, again: int
) -> None:
    assert recut_count(JobCount(ordered, good, scrap, in_work)) == again


def test_equal_blanks_of_several_jobs_are_one_line() -> None:
    lines = [LINE, replace(LINE, jobs=("J-8",), quantity_count=5), replace(LINE, revision="C")]
    listed = cut_list(lines)
    assert [(line.revision, line.quantity_count, line.jobs) for line in listed] == [
        ("B", 25, ("J-7", "J-8")),
        ("C", 20, ("J-7",)),
    ]


def test_nothing_lost_is_no_line_and_a_count_below_zero_is_refused() -> None:
    assert recut_line(LINE, job="J-7", count=JobCount(20, 20)) is None
    with pytest.raises(ShopError, match="below zero"):
        JobCount(20, -1)
