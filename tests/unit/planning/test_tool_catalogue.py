"""Tools to consider: whole outlines, names of their own, numbers that agree with their drawing."""

import pytest
from shapely.geometry import Polygon

from server.geometry.tool_outline import (
    checked_die_outline,
    checked_punch_outline,
    die_mouth,
    outline_height,
)
from server.mechanics.tooling import Die, Punch
from server.planning.freeing import best_tool_to_buy
from server.planning.tool_catalogue import Candidate, catalogue
from tests.unit.planning.shop import profile_task

EVERY = catalogue()


def test_names_are_unique_and_punches_come_first() -> None:
    names = [one.tool.name for one in EVERY]
    assert len(set(names)) == len(names)
    kinds = [isinstance(one.tool, Punch) for one in EVERY]
    assert kinds == sorted(kinds, reverse=True)


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.tool.name)
def test_a_candidate_is_a_whole_tool(one: Candidate) -> None:
    tool = one.tool
    assert Polygon(tool.profile_mm).is_valid
    assert outline_height(tool.profile_mm) == pytest.approx(tool.height_mm)
    assert tool.rating_kn_per_m is not None
    if isinstance(tool, Die):
        checked_die_outline(tool.profile_mm)
        low, high = die_mouth(tool.profile_mm)
        assert high - low > tool.v_opening_mm
    else:
        checked_punch_outline(tool.profile_mm)


def test_a_goose_neck_of_the_catalogue_frees_a_deep_channel() -> None:
    deep = profile_task([50.0, 40.0, 50.0], [90.0, 90.0])
    worth = best_tool_to_buy(
        [deep], candidate_punches=[one.tool for one in EVERY if isinstance(one.tool, Punch)]
    )
    assert any(one.tool.startswith("goose") for one in worth)
