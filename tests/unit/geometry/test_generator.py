"""Generators: the folded part has the sizes asked for."""

import numpy as np
import pytest
from numpy.typing import NDArray

from server.errors import ShopError
from server.geometry.folding import folded_poses, lifted, moved
from server.geometry.generator import Fold, Wall, box, bracket, panel, stepped_flange
from server.geometry.part import FlatPart, flat_regions, flat_size, stroke_groups

FOLD = Fold(90.0, 2.0, 4.4)
T = 2.0


def size_of(part: FlatPart) -> NDArray[np.float64]:
    poses = folded_poses(part, [bend.bend_angle_deg for bend in part.bends])
    points: NDArray[np.float64] = np.concatenate(
        [
            moved(poses[face], lifted(region.outline_mm, w_mm))
            for face, regions in enumerate(flat_regions(part))
            for region in regions
            for w_mm in (0.0, part.thickness_mm)
        ]
    )
    size: NDArray[np.float64] = points.max(axis=0) - points.min(axis=0)
    return size


@pytest.mark.parametrize("return_mm", [0.0, 15.0])
def test_a_box_has_its_outside_sizes(return_mm: float) -> None:
    part = box(
        width_mm=200, depth_mm=150, height_mm=40, thickness_mm=T, fold=FOLD, relief_mm=1.5,
        return_mm=return_mm,
    )  # fmt: skip
    assert size_of(part) == pytest.approx([200.0, 150.0, 40.0])
    assert len(part.bends) == (8 if return_mm else 4)


def test_the_flat_of_a_box_is_outside_lengths_less_deductions() -> None:
    part = box(width_mm=200, depth_mm=150, height_mm=40, thickness_mm=T, fold=FOLD)
    deduction = 2 * 4.0 - 4.4
    assert flat_size(part) == pytest.approx((280 - 2 * deduction, 230 - 2 * deduction))


def test_a_panel_may_have_walls_on_some_sides() -> None:
    part = panel(
        width_mm=200, depth_mm=100, walls=[Wall(30), None, Wall(30, 12), None], thickness_mm=T,
        fold=FOLD,
    )  # fmt: skip
    assert size_of(part) == pytest.approx([200.0, 100.0, 30.0])


def test_tabs_on_one_edge_are_one_stroke() -> None:
    part = bracket(
        width_mm=200, depth_mm=80, tabs=[(20, 50, 30), (80, 120, 25)], thickness_mm=T, fold=FOLD,
        relief_mm=3,
    )  # fmt: skip
    assert size_of(part) == pytest.approx([200.0, 80.0, 30.0])
    assert stroke_groups(part) == ((0, 1),)


def test_a_stepped_flange_is_as_high_as_its_highest_step() -> None:
    part = stepped_flange(depth_mm=80, steps=[(50, 30), (60, 20)], thickness_mm=T, fold=FOLD)
    assert size_of(part) == pytest.approx([110.0, 80.0, 30.0])


@pytest.mark.parametrize(
    "make",
    [
        lambda: box(width_mm=8, depth_mm=150, height_mm=40, thickness_mm=T, fold=FOLD),
        lambda: box(width_mm=200, depth_mm=150, height_mm=3, thickness_mm=T, fold=FOLD),
        lambda: bracket(
            width_mm=90, depth_mm=80, tabs=[(0, 50, 30)], thickness_mm=T, fold=FOLD, relief_mm=3
        ),
        lambda: panel(width_mm=200, depth_mm=100, walls=[None], thickness_mm=T, fold=FOLD),
    ],
)
def test_sizes_that_leave_nothing_flat_are_refused(make) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ShopError):
        make()
