"""Parts: what is accepted, and what is refused with which words."""

import time
from dataclasses import replace

import pytest

from server.errors import ShopError
from server.geometry.part import (
    BendLine,
    Face,
    FlatPart,
    bend_tree,
    checked_part,
    flat_area,
    flat_regions,
    flat_size,
    stroke_groups,
)


def rectangle(u0: float, v0: float, u1: float, v1: float) -> Face:
    return Face(((u0, v0), (u1, v0), (u1, v1), (u0, v1)))


def bend_at(u: float, faces: tuple[int, int], angle_deg: float = 90.0) -> BendLine:
    return BendLine(((u, 0.0), (u, 20.0)), faces, angle_deg, 2.0, 4.4)


CHANNEL = FlatPart(
    2.0,
    (rectangle(0, 0, 30, 20), rectangle(30, 0, 80, 20), rectangle(80, 0, 110, 20)),
    (bend_at(30, (0, 1)), bend_at(80, (1, 2))),
)


def refused(part: FlatPart) -> ShopError:
    with pytest.raises(ShopError) as caught:
        checked_part(part)
    assert str(caught.value.remedy)
    return caught.value


def test_a_sound_part_keeps_its_area_and_hangs_together_as_a_tree() -> None:
    part = checked_part(CHANNEL)
    assert flat_area(part) == pytest.approx(2200.0)
    assert flat_size(part) == pytest.approx((110.0, 20.0))
    assert bend_tree(part) == ((0, 0, 1), (1, 1, 2))
    assert bend_tree(part, root=1) == ((0, 1, 0), (1, 1, 2))
    assert part.across[0] == pytest.approx((1.0, 0.0))


def test_across_points_from_the_first_named_face_to_the_second() -> None:
    part = checked_part(replace(CHANNEL, bends=(bend_at(30, (1, 0)), bend_at(80, (1, 2)))))
    assert part.across[0] == pytest.approx((-1.0, 0.0))


def test_clockwise_outlines_are_turned_round() -> None:
    turned = replace(CHANNEL, faces=(Face(CHANNEL.faces[0].outline_mm[::-1]), *CHANNEL.faces[1:]))
    assert checked_part(turned).faces[0].outline_mm[1][0] > 0.0


def test_outlines_that_leave_out_the_bend_zone_are_filled_up_to_the_line() -> None:
    short = FlatPart(
        2.0, (rectangle(0, 0, 28, 20), rectangle(32, 0, 60, 20)), (bend_at(30, (0, 1)),)
    )
    part = checked_part(short)
    assert flat_area(part) == pytest.approx(60.0 * 20.0, rel=1e-3)
    inner = flat_regions(part)[0][0].outline_mm
    assert max(u for u, _ in inner) == pytest.approx(30.0 - 2.2)


def test_a_ring_of_bends_names_its_faces() -> None:
    corners = (
        rectangle(0, 0, 30, 20), rectangle(30, 0, 60, 20),
        rectangle(30, 20, 60, 40), rectangle(0, 20, 30, 40),
    )  # fmt: skip
    lines = (
        bend_at(30, (0, 1)),
        BendLine(((30, 20), (60, 20)), (1, 2), 90.0),
        BendLine(((30, 20), (30, 40)), (2, 3), 90.0),
        BendLine(((0, 20), (30, 20)), (3, 0), 90.0),
    )
    trouble = refused(FlatPart(2.0, corners, lines))
    assert trouble.code == "cycle"
    assert "0, 1, 2, 3" in str(trouble)


def test_a_window_in_a_bend_is_one_bend_in_two_pieces_and_one_stroke() -> None:
    notched = Face(((30, 0), (60, 0), (60, 20), (30, 20), (30, 15), (35, 15), (35, 5), (30, 5)))
    pieces = (
        BendLine(((30, 0), (30, 5)), (0, 1), 90.0, 2.0, 4.4),
        BendLine(((30, 15), (30, 20)), (0, 1), 90.0, 2.0, 4.4),
    )
    part = checked_part(FlatPart(2.0, (rectangle(0, 0, 30, 20), notched), pieces))
    assert part.twins == (1,)
    assert stroke_groups(part) == ((0, 1),)
    assert bend_tree(part) == ((0, 0, 1),)


@pytest.mark.parametrize(
    ("part", "code", "where"),
    [
        (
            replace(CHANNEL, faces=(rectangle(0, 0, 40, 20), *CHANNEL.faces[1:])),
            "faces_overlap",
            "part.faces.1",
        ),
        (
            replace(CHANNEL, bends=(bend_at(33, (0, 1)), bend_at(80, (1, 2)))),
            "bend_line_off_the_sheet",
            "part.bends.0.line_mm",
        ),
        (
            replace(CHANNEL, bends=(bend_at(500, (0, 1)), bend_at(80, (1, 2)))),
            "bend_line_off_the_sheet",
            "part.bends.0.line_mm",
        ),
        (
            replace(
                CHANNEL,
                bends=(
                    BendLine(((30, 0), (30, 45)), (0, 1), 90.0, 2.0, 4.4),
                    bend_at(80, (1, 2)),
                ),
            ),
            "bend_line_off_the_sheet",
            "part.bends.0.line_mm",
        ),
        (
            replace(CHANNEL, faces=(*CHANNEL.faces[:2], rectangle(80, 0, 80, 20))),
            "too_few_points",
            "part.faces.2.outline_mm",
        ),
        (
            replace(CHANNEL, faces=(*CHANNEL.faces[:2], rectangle(80, 0, 80.01, 20))),
            "zero_width",
            "part.faces.2.outline_mm",
        ),
        (
            replace(
                CHANNEL,
                faces=(*CHANNEL.faces[:2], Face(((80, 0), (110, 20), (110, 0), (80, 20)))),
            ),
            "outline_crosses_itself",
            "part.faces.2.outline_mm",
        ),
        (replace(CHANNEL, bends=CHANNEL.bends[:1]), "faces_apart", "part.faces.2"),
        (
            replace(CHANNEL, bends=(bend_at(30, (0, 7)), bend_at(80, (1, 2)))),
            "no_such_face",
            "part.bends.0.faces",
        ),
        (
            replace(CHANNEL, bends=(bend_at(30, (0, 1), 0.0), bend_at(80, (1, 2)))),
            "not_a_bend",
            "part.bends.0.bend_angle_deg",
        ),
        (
            replace(
                CHANNEL,
                bends=(BendLine(((30, 5), (30, 5)), (0, 1), 90.0), bend_at(80, (1, 2))),
            ),
            "bend_line_without_length",
            "part.bends.0.line_mm",
        ),
        (
            replace(
                CHANNEL,
                faces=(
                    Face(CHANNEL.faces[0].outline_mm, (((20, 5), (90, 5), (90, 9)),)),
                    *CHANNEL.faces[1:],
                ),
            ),
            "hole_off_the_face",
            "part.faces.0.holes_mm.0",
        ),
        (
            replace(CHANNEL, faces=(rectangle(0, 0, 3e5, 20), *CHANNEL.faces[1:])),
            "point_too_far",
            "part.faces.0.outline_mm",
        ),
        (FlatPart(2.0, (), ()), "no_faces", "part.faces"),
        (replace(CHANNEL, thickness_mm=0.0), "out_of_range", "thickness_mm"),
    ],
)
def test_trouble_is_named_with_its_place(part: FlatPart, code: str, where: str) -> None:
    trouble = refused(part)
    assert (trouble.code, trouble.where) == (code, where)


def test_a_face_used_up_by_its_bends_is_named() -> None:
    narrow = FlatPart(
        2.0,
        (rectangle(0, 0, 30, 20), rectangle(30, 0, 34, 20), rectangle(34, 0, 60, 20)),
        (bend_at(30, (0, 1)), bend_at(34, (1, 2))),
    )
    with pytest.raises(ShopError) as caught:
        flat_regions(checked_part(narrow))
    assert (caught.value.code, caught.value.where) == ("face_swallowed", "part.faces.1")


def strip_of(count: int) -> FlatPart:
    faces = tuple(rectangle(30.0 * i, 0, 30.0 * (i + 1), 20) for i in range(count + 1))
    bends = tuple(bend_at(30.0 * (i + 1), (i, i + 1)) for i in range(count))
    return FlatPart(2.0, faces, bends)


def test_500_bends_are_refused_and_499_are_checked_in_bounded_time() -> None:
    assert refused(strip_of(500)).code == "too_many_bends"
    started = time.perf_counter()
    assert len(bend_tree(checked_part(strip_of(499)))) == 499
    assert time.perf_counter() - started < 5.0


def test_collinear_bends_are_one_stroke_only_with_the_same_angle_and_sign() -> None:
    tabs = FlatPart(
        2.0,
        (
            rectangle(0, 0, 100, 50),
            rectangle(10, -20, 30, 0),
            rectangle(40, -20, 60, 0),
            rectangle(70, -20, 90, 0),
        ),
        (
            BendLine(((10, 0), (30, 0)), (0, 1), 90.0),
            BendLine(((60, 0), (40, 0)), (0, 2), 90.0),
            BendLine(((70, 0), (90, 0)), (0, 3), -90.0),
        ),
    )
    assert stroke_groups(checked_part(tabs)) == ((0, 1), (2,))
