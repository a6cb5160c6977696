"""Folding: against hand-worked corners, an independent product of motions, and invariants."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation
from shapely.geometry import MultiPoint

from server.geometry.folding import (
    arc_strips,
    bend_motion,
    folded_poses,
    inverse_motion,
    lifted,
    moved,
    unfolded_poses,
)
from server.geometry.generator import Fold, box, bracket
from server.geometry.part import FlatPart, bend_tree, flat_area, flat_regions
from server.geometry.profile import Profile, ProfileBend, flat_part

FOLD = Fold(90.0, 2.0, 4.4)
TRAY = box(
    width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2.0, fold=FOLD, relief_mm=1.5,
    return_mm=15,
)  # fmt: skip


def full(part: FlatPart) -> list[float]:
    return [bend.bend_angle_deg for bend in part.bends]


def test_a_right_angle_worked_by_hand() -> None:
    """r 2, t 2, BA 4: the far face starts at w = 4 on the planes u = 52 (B) and u = 50 (A)."""
    part = flat_part(Profile(2.0, 20.0, (48.0, 48.0), (ProfileBend(90.0, 2.0, 4.0),)))
    far = folded_poses(part, [90.0])[1]
    assert moved(far, lifted([(52.0, 0.0)], 0.0))[0] == pytest.approx((52.0, 0.0, 4.0))
    assert moved(far, lifted([(100.0, 20.0)], 2.0))[0] == pytest.approx((50.0, 20.0, 52.0))


def by_scipy(part: FlatPart, angles: list[float], root: int) -> dict[int, NDArray[np.float64]]:
    """Face corners after folding, computed another way: scipy's rotations about arc axes in space,
    applied one bend after another to everything farther out, starting from the leaves' side."""
    corners = {
        i: np.array([(u, v, 0.0) for u, v in face.outline_mm]) for i, face in enumerate(part.faces)
    }
    tree = bend_tree(part, root)
    beyond: dict[int, set[int]] = {}
    for bend, _, far in reversed(tree):
        beyond[bend] = {far}.union(*(beyond[b] for b, near, _ in tree if near == far))
    for bend, near, _ in reversed(tree):
        line = part.bends[bend]
        start = np.array([*line.line_mm[0], 0.0])
        across = np.array([*part.across[bend], 0.0]) * (1 if line.faces[0] == near else -1)
        angle = angles[bend]
        if angle == 0.0:
            continue
        arc = line.allowance_mm * abs(angle / line.bend_angle_deg)
        height = part.thickness_mm + line.inside_radius_mm if angle > 0 else -line.inside_radius_mm
        axis = start - across * arc / 2 + np.array([0.0, 0.0, height])
        spin = Rotation.from_rotvec(np.cross(across, [0.0, 0.0, 1.0]) * math.radians(angle))
        for face in beyond[bend]:
            corners[face] = spin.apply(corners[face] - across * arc - axis) + axis
    return corners


@pytest.mark.parametrize("root", [0, 3])
def test_folding_agrees_with_an_independent_product_of_rotations(root: int) -> None:
    angles = full(TRAY)
    angles[2] = 33.0
    angles[5] = 0.0
    poses = folded_poses(TRAY, angles, root)
    for face, expected in by_scipy(TRAY, angles, root).items():
        ours = moved(poses[face], lifted(TRAY.faces[face].outline_mm, 0.0))
        np.testing.assert_allclose(ours, expected, atol=1e-9)


def test_folding_then_unfolding_gives_the_flat_back() -> None:
    angles = dict(enumerate(full(TRAY)))
    poses = folded_poses(TRAY, angles)
    back = unfolded_poses(TRAY, poses, angles)
    assert np.abs(back - np.eye(4)).max() < 1e-9


def test_the_folded_shape_does_not_depend_on_the_root() -> None:
    from_base = folded_poses(TRAY, full(TRAY), root=0)
    from_wall = folded_poses(TRAY, full(TRAY), root=3)
    for face in range(len(TRAY.faces)):
        seen = inverse_motion(from_base[3]) @ from_base[face]
        np.testing.assert_allclose(seen, from_wall[face], atol=1e-9)


def test_poses_are_rigid() -> None:
    for pose in folded_poses(TRAY, full(TRAY)):
        np.testing.assert_allclose(pose[:3, :3] @ pose[:3, :3].T, np.eye(3), atol=1e-12)
        assert np.linalg.det(pose[:3, :3]) == pytest.approx(1.0)


def test_area_of_faces_and_zones_is_the_flat_area_whichever_way_the_tree_is_walked() -> None:
    """Faces keep their area in space; the neutral area of the zones fills the rest."""
    for root in (0, 4):
        poses = folded_poses(TRAY, full(TRAY), root)
        area = 0.0
        for face, regions in enumerate(flat_regions(TRAY)):
            for region in regions:
                points = moved(poses[face], lifted(region.outline_mm, 1.0))
                normal = poses[face][:3, 2]
                cross = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)
                area += abs(float(cross @ normal)) / 2
        area += sum(bend.allowance_mm * bend.length_mm for bend in TRAY.bends)
        assert area == pytest.approx(flat_area(TRAY), rel=1e-9)


def test_volume_of_a_rolled_arc_is_that_of_a_ring_sector() -> None:
    """pi/4 ((r+t)^2 - r^2) x length, from above as strips get finer (chords)."""
    strips = arc_strips(TRAY, 0, 90.0, 0, 64)
    volume = 0.0
    for strip in strips:
        section = MultiPoint(
            [(corner[1], corner[2]) for layer in strip for corner in (layer[0], layer[3])]
        ).convex_hull
        volume += section.area * TRAY.bends[0].length_mm
    exact = math.pi / 4 * (4.0**2 - 2.0**2) * TRAY.bends[0].length_mm
    assert volume == pytest.approx(exact, rel=1e-3)


def test_arc_strips_start_and_end_on_the_faces_they_join() -> None:
    for near in TRAY.bends[0].faces:
        strips = arc_strips(TRAY, 0, 90.0, near, 8)
        far = bend_motion(TRAY, 0, 90.0, near)
        sign = 1.0 if TRAY.bends[0].faces[0] == near else -1.0
        across = np.array([*TRAY.across[0], 0.0]) * sign
        start = np.array([*TRAY.bends[0].line_mm[0], 0.0])
        np.testing.assert_allclose(strips[0][0][0], start - 2.2 * across, atol=1e-9)
        reached = moved(far, (start + 2.2 * across)[None])[0]
        np.testing.assert_allclose(strips[-1][0][3], reached, atol=1e-9)


def test_a_negative_bend_closes_toward_side_b() -> None:
    part = bracket(
        width_mm=100, depth_mm=60, tabs=[(20, 50, 30)], thickness_mm=2.0,
        fold=Fold(-90.0, 2.0, 4.4), relief_mm=3,
    )  # fmt: skip
    poses = folded_poses(part, full(part))
    tab = moved(poses[1], lifted(part.faces[1].outline_mm, 0.0))
    assert tab[:, 2].min() == pytest.approx(2.0 - 30.0)
