"""Finding anything: exact numbers alone, beginnings, likeness; new and archived parts at once."""

from typing import Any

import pytest

from server.storage.queries.finder import find_anything, find_parts_like
from server.storage.queries.part_index import PartIndex
from server.storage.tables.column import utc_now
from server.storage.tables.part import Part
from server.web.routes.finder import ADDRESS


@pytest.mark.parametrize(
    ("text", "noun", "key", "exact"),
    [
        ("j-1041", "job", "J-1041", True),
        ("O-990", "order", "O-990", True),
        ("br-1040", "part", "BR-1040", True),
        ("northgate", "customer", "NORTHGATE", True),
        ("L-301", "lot", "L-301", True),
        ("s235jr", "material", "S235JR", True),
        ("H 71-22", "lot", "L-301", False),
        ("PO 69", "order", "O-990", False),
        ("harbour join", "customer", "HARBOUR", False),
        ("cabel chanel", "part", "CH-2210", False),
        ("J-104", "job", "J-1041", False),
    ],
)
def test_anything_is_found_by_what_people_know_of_it(
    shop: Any, text: str, noun: str, key: str, exact: bool
) -> None:
    with shop.reading() as session:
        found = find_anything(session, text, nouns=ADDRESS)
    assert (noun, key) in {(hit.noun, hit.key) for hit in found}
    assert found[0].exact == exact


def test_a_sign_of_the_pattern_language_is_only_a_sign(shop: Any) -> None:
    with shop.reading() as session:
        for text in ("%", "_", "\\", "'; DROP TABLE job; --", "\x00", "\uffff"):
            assert all(hit.noun == "part" for hit in find_anything(session, text, nouns=ADDRESS))


def test_two_letters_of_a_number_are_enough_and_nothing_finds_nothing(shop: Any) -> None:
    with shop.reading() as session:
        assert find_parts_like(session, "br", limit=5)[0].part.number == "BR-1040"
        assert find_parts_like(session, " \0", limit=5) == []
        found = [line.part.number for line in find_parts_like(session, "ch-2210", limit=5)]
    assert found[0] == "CH-2210"
    assert len(found) == len(set(found))


def test_a_part_is_found_as_soon_as_it_is_there_and_no_more_once_archived(shop: Any) -> None:
    def numbers(text: str) -> list[str]:
        with shop.reading() as session:
            return [line.part.number for line in find_parts_like(session, text, limit=5)]

    assert "GB-77" not in numbers("gearbox guard")
    with shop.writing() as session:
        session.add(Part(number="GB-77", name="Gearbox guard"))
    assert numbers("gearbox guard")[0] == "GB-77"
    with shop.writing() as session:
        session.get_one(Part, "GB-77").name = "Belt cover"
    assert numbers("belt cover")[0] == "GB-77"
    assert "GB-77" not in numbers("gearbox")
    with shop.writing() as session:
        session.get_one(Part, "GB-77").archived_at = utc_now()
    assert "GB-77" not in numbers("belt cover")


def test_many_parts_are_found_by_the_same_rule_as_few(shop: Any) -> None:
    with shop.writing() as session:
        session.add_all(
            Part(number=f"ZZ-{place:04d}", name=f"bracket {place * 7 % 997}")
            for place in range(1500)
        )
    with shop.reading() as session:
        many, few = PartIndex(), PartIndex()
        many.refresh(session)
        few.refresh(session)
        few.loose = {part[0]: part for part in few.parts}
        few.parts, few.postings = [], {}
        for text in ("ZZ-0042", "shelf brackt", "kick plate", "bracket 350"):
            ((_, first),), ((_, second),) = (one.likest(text, limit=1) for one in (many, few))
            assert first == second
