"""Names of faces and edges: numbers from one, letters counter-clockwise, none for a bend."""

from server.geometry.generator import Fold, box
from server.geometry.part_name import edge_named, letter_of, named_edges

BOX = box(
    width_mm=200, depth_mm=150, height_mm=40, thickness_mm=2, fold=Fold(90.0, 2.0, 4.4), relief_mm=2
)


def test_letters_leave_out_l_and_o_and_go_on_with_two() -> None:
    letters = [letter_of(index) for index in range(60)]
    assert len(set(letters)) == 60
    assert not {"l", "o"} & set("".join(letters))


def test_a_wall_has_three_free_edges_and_its_bend_has_no_name() -> None:
    edges = named_edges(BOX)
    for wall in range(1, 5):
        assert [edge.letter for edge in edges if edge.face == wall] == ["a", "b", "c"]
    assert [edge.name for edge in edges if edge.face == 4] == ["5a", "5b", "5c"]
    assert not any(edge.face == 0 for edge in edges)  # only notches smaller than a name


def test_a_stretch_of_an_edge_has_the_name_of_the_edge() -> None:
    edges = named_edges(BOX)
    one = next(edge for edge in edges if edge.name == "2b")
    middle = tuple((a + b) / 2 for a, b in zip(one.start_mm, one.end_mm, strict=True))
    assert edge_named(edges, 1, one.start_mm, (middle[0], middle[1])) == "2b"
    assert edge_named(edges, 2, one.start_mm, (middle[0], middle[1])) is None
