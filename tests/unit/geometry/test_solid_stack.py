"""Solids side by side against a solver that knows nothing of them but their corners."""

import itertools
import math
import random

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation
from shapely.geometry import MultiPoint, Polygon

from server.geometry.clearance import Obstacles, Prism, Swing
from server.geometry.outline import Loop, convex_hull, padded
from server.geometry.solid import Solid, plate
from server.geometry.solid_stack import SolidStack

STILL = Swing(np.zeros(1), np.zeros(1), np.zeros(1), 0.0, np.zeros(1))


def random_outline(rng: random.Random, corners: int, size_mm: float) -> Loop:
    return convex_hull(
        (rng.uniform(-size_mm, size_mm), rng.uniform(-size_mm, size_mm)) for _ in range(corners)
    )


def random_solids(rng: random.Random, count: int) -> list[Solid]:
    found = []
    for _ in range(count):
        made = plate(random_outline(rng, rng.choice([3, 4, 12]), 20.0), 0.0, 2.0)
        motion = np.eye(4)
        angles = [rng.choice([0.0, 30.0, 90.0, rng.uniform(0, 180)]) for _ in range(3)]
        motion[:3, :3] = Rotation.from_euler("xyz", angles, degrees=True).as_matrix()
        motion[:3, 3] = [rng.uniform(-10.0, 10.0) for _ in range(3)]
        found.append(made.moved(motion))
    return found


def end_along_z(solid: Solid, area: Loop, sign: float) -> float:
    """Least z (sign 1) or greatest (-1) of a mix of the corners that lies above an area."""
    corners = solid.corners
    sides = []
    for (x0, y0), (x1, y1) in itertools.pairwise((*area, area[0])):
        nx, ny = y1 - y0, x0 - x1
        sides.append((nx * (corners[:, 0] - x0) + ny * (corners[:, 1] - y0)).tolist())
    found = linprog(
        sign * corners[:, 2],
        A_ub=sides,
        b_ub=[0.0] * len(sides),
        A_eq=[[1.0] * len(corners)],
        b_eq=[1.0],
    )
    return sign * found.fun if found.success else sign * math.inf


def test_what_lies_above_an_area_reaches_as_far_as_a_linear_program_says() -> None:
    rng = random.Random(5)
    solids = random_solids(rng, 60)
    areas = [random_outline(rng, 6, 15.0) for _ in solids]
    lows, highs = SolidStack(solids).spans_over(np.arange(len(solids)), padded(areas))
    shared = 0
    for solid, area, low, high in zip(solids, areas, lows.tolist(), highs.tolist(), strict=True):
        if low > high:
            low, high = math.inf, -math.inf
        assert low == pytest.approx(end_along_z(solid, area, 1.0), abs=1e-6)
        assert high == pytest.approx(end_along_z(solid, area, -1.0), abs=1e-6)
        shared += low < high
    assert 10 < shared < len(solids)


def test_solids_overlap_a_prism_where_their_shadows_share_area_with_it() -> None:
    rng = random.Random(6)
    solids = random_solids(rng, 80)
    loop = random_outline(rng, 6, 15.0)
    stack = SolidStack(solids)
    tools = Obstacles([Prism("tool", loop, moves=False)], STILL, front=False)
    numbers = np.arange(len(solids))
    found = stack.overlap(numbers, tools, np.zeros(len(solids), dtype=np.intp)).tolist()
    expected = [
        MultiPoint(solid.corners[:, :2]).convex_hull.intersection(Polygon(loop)).area > 1e-6
        for solid in solids
    ]
    assert found == expected
    assert 10 < sum(found) < len(solids)
    which, _ = tools.hits(stack.outlines, stack.normals)
    assert which.tolist() == [number for number in numbers.tolist() if expected[number]]
