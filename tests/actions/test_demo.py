"""The demo shop: every part of it can be bent, and nothing but its actions made it."""

from typing import Any

from server.storage.queries.bend_sequence import list_bend_sequences, list_steps
from server.storage.queries.part import list_part_lines


def test_every_demo_part_has_a_planned_bend_sequence_of_all_its_bends(shop: Any) -> None:
    with shop.reading() as session:
        lines = list_part_lines(session, limit=100, skip=0)
        revisions = [line.revision for line in lines if line.revision is not None]
        assert len(revisions) == len(lines)
        assert [revision.kind for revision in revisions].count("flat") >= 5
        for revision in revisions:
            sequences = list_bend_sequences(session, revision.part_number, revision.label)
            assert sequences, f"{revision.part_number} has no bend sequence"
            assert sequences[0].state == "ready"
            made = [
                bend for step in list_steps(session, sequences[0].id or 0) for bend in step.bends
            ]
            assert sorted(set(made)) == list(range(len(revision.faces["bends"])))
            wanted = sequences[0].flat_length_mm
            assert wanted is not None
            assert abs(wanted - revision.blank_length_mm) < 0.01, revision.part_number
