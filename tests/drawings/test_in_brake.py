"""How a flat part is held: the picture lies as the planner has it, and names what it touches."""

import math
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from server.drawings.folded import draw_folded
from server.drawings.in_brake import Lying, Placed, draw_in_brake, edges_at_gauge
from server.drawings.solid_view import looking, paint, plates_of, turned
from server.drawings.svg import Sheet
from server.geometry.generator import Wall, box, panel
from server.geometry.part import FlatPart
from server.planning.planner import plan
from server.planning.sequence import BendSequence
from server.web.pages.in_brake import placed_of_plan
from tests.unit.planning.shop import FOLD, part_task

TRAY = panel(
    width_mm=180, depth_mm=120, walls=(Wall(40, 14), Wall(40), Wall(40, 14), None), thickness_mm=2.0,
    fold=FOLD, relief_mm=2,
)  # fmt: skip


@pytest.fixture(scope="module")
def planned() -> BendSequence:
    found = plan(part_task(TRAY))
    assert found.sequence is not None
    return found.sequence


def part_of(sequence: BendSequence) -> FlatPart:
    assert isinstance(sequence.making.sheet, FlatPart)
    return sequence.making.sheet


def test_the_gauged_edge_lies_at_the_planned_x_and_under_its_fingers(planned: BendSequence) -> None:
    part, made, seen = part_of(planned), dict[int, float](), 0
    for step in planned.steps:
        placed = placed_of_plan(step)
        lying = Lying(part, made, placed)
        for edge in lying.edges:
            ends = [lying.on_face(edge.face, p) for p in (edge.start_mm, edge.end_mm)]
            assert [end[1] for end in ends] == pytest.approx([step.contact.x_mm] * 2, abs=0.15)
            low, high = sorted(float(end[0]) for end in ends)
            assert any(low - 0.1 <= at * lying.sense <= high + 0.1 for at in placed.fingers_mm)
            seen += 1
        assert bool(lying.edges) == (step.contact.kind == "edge")
        assert edges_at_gauge(part, made, placed) == tuple(edge.name for edge in lying.edges)
        made |= {bend: part.bends[bend].bend_angle_deg for bend in step.bends}
    assert seen >= 3


def test_the_part_is_turned_never_mirrored(planned: BendSequence) -> None:
    part = part_of(planned)
    for step in planned.steps:
        place = Lying(part, {}, placed_of_plan(step)).place
        assert np.linalg.det(place[:3, :3]) == pytest.approx(1.0)


def test_side_b_up_lies_on_the_die_and_its_letter_says_so() -> None:
    part = box(width_mm=150, depth_mm=100, height_mm=30, thickness_mm=2.0, fold=FOLD, relief_mm=2)
    placed = Placed(
        (0,), "B", "first", "edge", 0, (40.0, 110.0), ((98.0, 0), (140, 0), (140, 15)), ()
    )
    lying = Lying(part, {}, placed)
    assert np.linalg.det(lying.place[:3, :3]) == pytest.approx(1.0)
    heights = [lying.on_face(0, point)[2] for point in part.faces[0].outline_mm]
    assert heights == pytest.approx([part.thickness_mm] * len(heights))
    words = [one.text for one in ET.fromstring(draw_in_brake(part, {}, placed, title="x")).iter()]
    assert "B" in words


def test_what_is_nearer_is_painted_later() -> None:
    """Two walls of a box, seen from the front and above: the front wall covers the back wall."""
    part = box(width_mm=150, depth_mm=100, height_mm=60, thickness_mm=2.0, fold=FOLD, relief_mm=2)
    angles = dict.fromkeys(range(4), 90.0)
    plates = turned(plates_of(part, angles), looking(yaw_deg=0.0, pitch_deg=-70.0))
    order = [plate.face for plate in paint(Sheet(0, 0, 1, 1), plates, 0.1)]
    assert order.index(3) < order.index(1)  # back before front
    assert order.index(0) < order.index(1)


def test_a_folded_part_is_drawn_at_its_folded_size() -> None:
    part = box(width_mm=150, depth_mm=100, height_mm=60, thickness_mm=2.0, fold=FOLD, relief_mm=2)
    svg = ET.fromstring(draw_folded(part, title="Box"))
    wide = float(svg.attrib["viewBox"].split()[2])
    # a box turned by 34 degrees about the upright: its width is the projection of both sides
    asked = 150 * math.cos(math.radians(34)) + 100 * math.sin(math.radians(34))
    assert wide == pytest.approx(asked, rel=0.06)
