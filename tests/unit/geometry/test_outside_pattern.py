"""Outside patterns: the blank is shorter by one deduction for each bend, and back again."""

import math

import pytest
from shapely.geometry import Polygon

from server.errors import ShopError
from server.geometry.outside_pattern import lengthened, shortened
from server.geometry.part import BendLine, Face, FlatPart, checked_part, flat_area, flat_size

SQUARE = Face(((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)))


def cross(arm_mm: float = 30.0) -> FlatPart:
    """A base with one arm on every side, one bend each, and room at the corners."""
    far_u, far_v = 100.0 + arm_mm, 60.0 + arm_mm
    arms = [
        ((8.0, -arm_mm), (92.0, -arm_mm), (92.0, 0.0), (8.0, 0.0)),
        ((100.0, 8.0), (far_u, 8.0), (far_u, 52.0), (100.0, 52.0)),
        ((8.0, 60.0), (92.0, 60.0), (92.0, far_v), (8.0, far_v)),
        ((-arm_mm, 8.0), (0.0, 8.0), (0.0, 52.0), (-arm_mm, 52.0)),
    ]
    lines = [
        ((8.0, 0.0), (92.0, 0.0)),
        ((100.0, 8.0), (100.0, 52.0)),
        ((8.0, 60.0), (92.0, 60.0)),
        ((0.0, 8.0), (0.0, 52.0)),
    ]
    bends = tuple(BendLine(line, (0, side + 1), 90.0) for side, line in enumerate(lines))
    return checked_part(FlatPart(2.0, (SQUARE, *(Face(arm) for arm in arms)), bends))


def test_a_blank_is_its_outside_lengths_less_one_deduction_a_bend() -> None:
    # flat length = sum of outside legs - sum of deductions: the definition of the deduction
    blank = checked_part(shortened(cross(), (3.0, 3.5, 3.0, 3.5)))
    assert flat_size(blank) == pytest.approx((160.0 - 7.0, 120.0 - 6.0))


def test_lengthening_undoes_shortening() -> None:
    pattern, deductions = cross(), (3.0, 3.5, 2.0, 1.0)
    there = checked_part(shortened(pattern, deductions))
    back = checked_part(lengthened(there, deductions))
    assert flat_size(back) == pytest.approx(flat_size(pattern))
    assert flat_area(back) == pytest.approx(flat_area(pattern), rel=1e-6)
    for before, after in zip(pattern.faces, back.faces, strict=True):
        assert Polygon(after.outline_mm).area == pytest.approx(Polygon(before.outline_mm).area)
    assert [math.dist(*bend.line_mm) for bend in back.bends] == pytest.approx(
        [bend.length_mm for bend in pattern.bends], abs=1e-6
    )


def test_deductions_that_leave_nothing_of_a_face_name_it() -> None:
    with pytest.raises(ShopError) as trouble:
        shortened(cross(2.0), (4.5, 4.5, 4.5, 4.5))
    assert trouble.value.code == "face_swallowed"
    assert (trouble.value.where or "").startswith("part.faces.")
