"""Pictures of flat parts: what a hand can pull, what is marked wrong, and what the 3-D view gets."""

import json
import math
import xml.etree.ElementTree as ET

import pytest
from shapely.geometry import Polygon

from server.drawings.flat import FlatMarks, draw_flat, draw_small_flat
from server.drawings.fold import FoldStep, fold_data, outermost_first
from server.drawings.pattern import PatternMarks, draw_pattern
from server.geometry.cutout import Cutout
from server.geometry.generator import Fold, Wall, panel
from server.geometry.part import flat_area, flat_regions
from server.planning.drawn_flat import FLAT_STARTERS, Pattern
from server.planning.flat_blank import split_of_pattern

WALLS = [Wall(40.0, 12.0), Wall(40.0), Wall(40.0, 12.0), None]
TRAY = panel(
    width_mm=200,
    depth_mm=120,
    walls=WALLS,
    thickness_mm=1.5,
    fold=Fold(90.0, 2.0, 4.0),
    relief_mm=2,
)


def length(length_mm: float) -> str:
    return f"{length_mm:.1f}"


def test_the_flat_names_every_bend_and_face() -> None:
    svg = draw_flat(TRAY, title="Blank", length=length, names=True, marks=FlatMarks(grain="u"))
    words = [text.text for text in ET.fromstring(svg).iter() if text.tag.endswith("text")]
    assert {f"{bend + 1}↑" for bend in range(len(TRAY.bends))} <= set(words)
    assert {"1", "2", "4"} <= set(words)  # a narrow return has no room for its number
    assert "grain" in words
    assert ET.fromstring(draw_small_flat(TRAY, title="Blank")) is not None


def test_a_pattern_has_a_handle_for_every_corner_line_and_hole() -> None:
    pattern = FLAT_STARTERS["free pattern"].form
    assert isinstance(pattern, Pattern)
    holes = (Cutout("round", (40.0, 80.0), 12.0, 12.0),)
    split = split_of_pattern(pattern, holes)
    marks = PatternMarks(lines=frozenset({0}))
    svg = draw_pattern(pattern, holes, split, title="Pattern", length=length, marks=marks)
    for what, count in (("pull-point", 4), ("pull-line", 1), ("pull-cut", 1)):
        assert svg.count(f'class="{what}"') == count


def test_the_view_gets_every_bit_of_the_sheet_once() -> None:
    data = json.loads(fold_data(TRAY))
    plates = [
        Polygon([(part[i], part[i + 1]) for i in range(0, len(part), 3)])
        for face in data["faces"]
        for part in face["parts"]
    ]
    zones = math.fsum(bend.length_mm * bend.allowance_mm for bend in TRAY.bends)
    regions = math.fsum(
        Polygon(one.outline_mm, one.holes_mm).area for all_ in flat_regions(TRAY) for one in all_
    )
    area = math.fsum(plate.area for plate in plates)
    assert area == pytest.approx(regions, abs=0.5)
    assert area + zones == pytest.approx(flat_area(TRAY), rel=2e-3)
    assert all(plate.convex_hull.area == pytest.approx(plate.area) for plate in plates)


def test_without_a_plan_the_outer_bends_fold_first() -> None:
    first = outermost_first(TRAY)[0]
    assert set(first.angles_deg) <= {1, 4}  # the returns, before the walls they stand on
    steps = [FoldStep("step 1", {0: 93.0}), FoldStep("step 2", {0: 90.0, 1: 90.0})]
    data = json.loads(fold_data(TRAY, steps))
    assert [step["name"] for step in data["steps"]] == ["step 1", "step 2"]
