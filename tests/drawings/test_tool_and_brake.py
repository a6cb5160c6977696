"""Drawings of tools and brakes are well-formed, to scale, and carry no style."""

import re
from xml.etree import ElementTree

import pytest

from server.drawings.brake import draw_brake_front, draw_finger, draw_y_sense
from server.drawings.tool import ToolWords, draw_tool, draw_tool_with_sizes
from server.geometry.tool_outline import die_mouth, v_die_outline

DIE = v_die_outline(
    v_opening_mm=16, angle_deg=86, shoulder_radius_mm=1.5, height_mm=60, block_width_mm=40
)
DRAWN = {
    "a tool": draw_tool(DIE, title="D"),
    "a tool with sizes": draw_tool_with_sizes(
        DIE,
        title="<D> & co",
        words=ToolWords(height="60 mm", width="40 mm", mouth="17.3 mm", tip="86°"),
        mouth=die_mouth(DIE),
    ),
    "a broken tool": draw_tool_with_sizes(
        ((0, 0), (5, 5), (0, 5)), title="x", words=ToolWords(), broken=True
    ),
    "one point": draw_tool_with_sizes(((0, 0),), title="x", words=ToolWords(), broken=True),
    "a brake": draw_brake_front(
        bed_length_mm=2600, frame_distance_mm=2150, opening_mm=420, words=("a", "b", "c")
    ),
    "a small brake with wide frames": draw_brake_front(
        bed_length_mm=300, frame_distance_mm=900, opening_mm=2000, words=("a", "b", "c")
    ),
    "y": draw_y_sense(y_sense=-1, readings=("Y 100", "Y 94")),
    "a finger": draw_finger(low_mm=-5, high_mm=28, words=("low", "high")),
}


@pytest.mark.parametrize("what", DRAWN)
def test_a_drawing_is_well_formed_titled_and_without_style(what: str) -> None:
    root = ElementTree.fromstring(DRAWN[what])
    assert root.tag.endswith("svg")
    assert root.get("aria-label")
    assert root[0].tag.endswith("title")
    for node in root.iter():
        assert "style" not in node.attrib
    assert not re.search(r"nan|inf", DRAWN[what])


@pytest.mark.parametrize("what", DRAWN)
def test_nothing_is_drawn_outside_the_paper(what: str) -> None:
    root = ElementTree.fromstring(DRAWN[what])
    x, y, width, height = (float(part) for part in root.attrib["viewBox"].split())
    for node in root.iter():
        for px, py in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", node.get("d", "")):
            assert x <= float(px) <= x + width
            assert y <= float(py) <= y + height
        if node.tag.endswith("text"):
            size, words = float(node.attrib["font-size"]), "".join(node.itertext())
            half = size * 0.6 * len(words) / (1 if node.get("text-anchor") == "start" else 2)
            assert float(node.attrib["x"]) + half <= x + width + size * 0.6, words


def test_a_tool_is_drawn_to_scale() -> None:
    path = ElementTree.fromstring(DRAWN["a tool"])[1].attrib["d"]
    points = [(float(a), float(b)) for a, b in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path)]
    assert max(x for x, _ in points) - min(x for x, _ in points) == 40
    assert max(y for _, y in points) - min(y for _, y in points) == 60
    assert min(y for _, y in points) == 0  # the top plane, with y down on paper


def test_nothing_to_draw_draws_nothing() -> None:
    assert draw_tool((), title="x") == ""
    assert draw_tool_with_sizes((), title="x", words=ToolWords()) == ""
