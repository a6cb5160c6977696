"""How a flat part is held: the picture lies as the planner has it, and names what it touches."""

import math
import xml.etree.ElementTree as ET

import pytest

from server.drawings.folded import draw_folded
from server.drawings.hold import Held, draw_hold, gauged_edges
from server.drawings.solid_view import looking, paint, plates_of, turned
from server.drawings.svg import Sheet
from server.geometry.generator import Wall, box, panel
from server.geometry.part import FlatPart
from server.planning.planner import plan
from server.planning.sequence import BendSequence, PlanStep
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


def held_of(step: PlanStep, made: dict[int, float]) -> Held:
    return Held(
        bends=step.bends,
        angles_deg=made,
        rear="first" if step.rear == "first" else "second",
        side_up="A" if step.side_up == "A" else "B",
        x_mm=step.target.x_mm,
        fingers_mm=step.contact.fingers_mm,
        finger_width_mm=30.0,
        low_mm=0.0,
        high_mm=15.0,
        die_width_mm=30.0,
    )


def test_the_gauged_edges_lie_at_the_planned_x_and_under_the_fingers(
    planned: BendSequence,
) -> None:
    part, made, seen = part_of(planned), dict[int, float](), 0
    for step in planned.steps:
        held = held_of(step, dict(made))
        found = gauged_edges(part, held)
        for one in found:
            ends = [float(one.start[1]), float(one.end[1])]
            assert ends == pytest.approx([step.contact.x_mm] * 2, abs=0.15)
            seen += 1
        assert bool(found) == (step.contact.kind == "edge")
        words = [
            text.text
            for text in ET.fromstring(draw_hold(part, held, shorten=False, title="x")).iter()
        ]
        assert {one.edge.name for one in found} <= set(words)
        made |= {bend: part.bends[bend].bend_angle_deg for bend in step.bends}
    assert seen >= 3


def test_the_face_the_planner_gauges_has_one_of_the_edges(planned: BendSequence) -> None:
    """The planner knows one face; two fingers may stop at two faces in one line."""
    part, made = part_of(planned), dict[int, float]()
    for step in planned.steps:
        found = gauged_edges(part, held_of(step, dict(made)))
        if len(found) == 1:
            assert found[0].edge.face == step.contact.face
        made |= {bend: part.bends[bend].bend_angle_deg for bend in step.bends}


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
