"""Ways in and out of the tools, with boxes worked by hand."""

from server.geometry.outline import Loop
from server.planning.taking_out import AtRest, Lying, OpenTools, Piece, WayOut

FOOT: Loop = ((0.0, 0.0), (10.0, 10.0), (10.0, 20.0), (-10.0, 20.0), (-10.0, 10.0))
NECK: Loop = ((-3.0, 20.0), (3.0, 20.0), (3.0, 100.0), (-3.0, 100.0))
DIE: Loop = ((-20.0, -60.0), (20.0, -60.0), (20.0, 0.0), (-20.0, 0.0))


def raised(loop: Loop, by_mm: float) -> Loop:
    return tuple((x, y + by_mm) for x, y in loop)


def way(*pieces: Piece, open_mm: float = 80.0) -> WayOut:
    low, high = (tuple(raised(part, y) for part in (FOOT, NECK)) for y in (2.0, open_mm))
    lying = Lying(AtRest.of(pieces), range(len(pieces)))
    return WayOut([lying], OpenTools(punch_low=low, punch_high=high, die=(DIE,)))


def wall(x_mm: float, height_mm: float, z: tuple[float, float]) -> Piece:
    loop = ((x_mm, 0.0), (x_mm + 2.0, 0.0), (x_mm + 2.0, height_mm), (x_mm, height_mm))
    return Piece(loop, z, rests=False)


RUNS = ((0.0, 100.0),)


def test_a_rear_wall_lower_than_the_opening_is_drawn_forward_under_the_punch() -> None:
    assert way(wall(30.0, 70.0, (0.0, 100.0))).comes_out(RUNS, RUNS)


def test_a_rear_wall_higher_than_the_opening_slides_out_along_the_bed() -> None:
    assert way(wall(30.0, 90.0, (0.0, 100.0))).comes_out(RUNS, RUNS)


def ceiling(z: tuple[float, float]) -> Piece:
    """A return flange over the punch's foot: the ram cannot rise past it."""
    return Piece(((5.0, 50.0), (40.0, 50.0), (40.0, 52.0), (5.0, 52.0)), z, rests=False)


def side_wall(x0: float, x1: float, z0: float) -> Piece:
    """A wall across the bed beside the tools."""
    return Piece(((x0, 0.0), (x1, 0.0), (x1, 90.0), (x0, 90.0)), (z0, z0 + 2.0), rests=False)


def test_a_part_that_closes_over_the_punch_is_stuck_between_two_side_walls() -> None:
    closed = (ceiling((0.0, 100.0)), side_wall(-30.0, 30.0, -5.0), side_wall(-30.0, 30.0, 103.0))
    assert not way(*closed).comes_out(RUNS, RUNS)
    assert way(*closed[:2]).comes_out(RUNS, RUNS)


def test_the_stretch_over_the_punch_is_named() -> None:
    assert way(ceiling((20.0, 60.0)), wall(30.0, 40.0, (0.0, 100.0))).over_the_punch() == (
        (20.0, 60.0),
    )


def test_a_tool_that_leaves_the_stretch_out_rises_free() -> None:
    closed = (ceiling((-30.0, -2.0)), side_wall(-30.0, 30.0, -5.0), side_wall(-30.0, 30.0, 103.0))
    assert way(*closed, open_mm=120.0).comes_out(RUNS, RUNS)
    assert not way(*closed, open_mm=120.0).comes_out(((-10.0, 100.0),), ((-10.0, 100.0),))


def test_a_flange_hanging_beside_the_die_is_lifted_over_it() -> None:
    hanging = Piece(((30.0, -40.0), (32.0, -40.0), (32.0, 2.0), (30.0, 2.0)), (0.0, 100.0), False)
    assert way(hanging).comes_out(RUNS, RUNS)
    tall = (
        hanging,
        wall(30.0, 50.0, (0.0, 100.0)),
        side_wall(-30.0, 30.0, -5.0),
        side_wall(-30.0, 30.0, 103.0),
    )
    assert way(*tall, open_mm=120.0).comes_out(RUNS, RUNS)
    assert not way(*tall, open_mm=60.0).comes_out(RUNS, RUNS)
