"""What is said about a tool's own record."""

from dataclasses import replace

from server.geometry.tool_outline import straight_punch_outline, v_die_outline
from server.mechanics.tool_check import check_die, check_holder, check_punch, check_rating
from server.mechanics.tooling import Die, Punch

PUNCH = Punch(
    "P",
    1.0,
    86.0,
    100.0,
    800.0,
    straight_punch_outline(tip_radius_mm=1, angle_deg=86, height_mm=100, body_width_mm=26),
    (500.0,),
)
DIE = Die(
    "D",
    16.0,
    86.0,
    1.5,
    60.0,
    900.0,
    None,
    v_die_outline(
        v_opening_mm=16, angle_deg=86, shoulder_radius_mm=1.5, height_mm=60, block_width_mm=40
    ),
    (500.0,),
)


def codes(found: tuple[object, ...]) -> list[str]:
    return [getattr(finding, "code", "") for finding in found]


def test_a_whole_record_has_nothing_said_about_it() -> None:
    assert check_punch(PUNCH) == ()
    assert check_die(DIE) == ()
    assert (
        check_holder(
            name="H", height_mm=40, rating_kn_per_m=900, profile_mm=((-9, 0), (9, 0), (9, 40))
        )
        == ()
    )


def test_a_missing_rating_stops_and_comes_first() -> None:
    found = check_punch(replace(PUNCH, rating_kn_per_m=None, height_mm=120.0, segments_mm=()))
    assert codes(found) == ["no_rating", "height_differs", "no_pieces"]
    assert found[0].level == "stop"
    assert "Do not guess" in str(found[0].frees)
    assert check_rating("holder", "H", 1.0) == ()


def test_a_height_that_is_not_the_outlines_is_told_with_the_difference() -> None:
    (told,) = check_die(replace(DIE, height_mm=55.0))
    assert told.code == "height_differs"
    assert told.amount is not None
    assert round(told.amount.value, 6) == 5.0


def test_a_v_that_is_not_the_outlines_is_told() -> None:
    assert codes(check_die(replace(DIE, v_opening_mm=20.0))) == ["mouth_differs"]
    shifted = tuple((x + 0.5, y) for x, y in DIE.profile_mm)
    assert codes(check_die(replace(DIE, profile_mm=shifted))) == ["mouth_off_centre"]


def test_a_tool_without_an_outline_is_only_asked_for_its_rating() -> None:
    assert check_die(replace(DIE, profile_mm=())) == ()
