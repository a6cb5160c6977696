"""The list for a ram that will not move: its order, its stops, and that it defeats nothing."""

import re

from server.shop.decision_list import BEFORE, LOOKS, find_look, left_to_look, log_line, next_look

ORDER_OF_THE_DESIGN = [
    "power", "motor", "emergency_stop", "mode", "doors", "light_curtain", "pedal", "upper_limit",
    "speed_change", "gauge_in_position", "limits", "overload", "oil", "tilt", "timers",
    "qualified_person",
]  # fmt: skip


def test_the_order_is_the_trade_s() -> None:
    assert [look.code for look in LOOKS] == ORDER_OF_THE_DESIGN


def test_every_place_says_where_to_look_what_to_do_and_when_to_stop() -> None:
    for look in LOOKS:
        assert look.question.endswith("?")
        assert min(map(len, (look.where, look.put_right, look.stop_when))) >= 7
        assert look.source


def test_nothing_tells_to_defeat_a_guard() -> None:
    words = re.compile(
        r"\b(bridge|bypass|jumper|tie down|mask|remove|override|disable|defeat|tape)\b",
        re.IGNORECASE,
    )
    for look in LOOKS:
        assert not words.search(f"{look.where} {look.put_right} {look.stop_when}")
    (never,) = [found for found in BEFORE if words.search(str(found.what))]
    assert str(never.what).startswith("Never ")


def test_lock_out_stands_before_everything_with_its_source() -> None:
    assert [found.level for found in BEFORE] == ["stop", "stop"]
    assert "locked and tagged" in str(BEFORE[0].frees)
    assert "1910.147" in BEFORE[0].source
    assert "ISO 12100" in BEFORE[1].source


def test_only_a_qualified_person_opens_the_cabinet_and_comes_last() -> None:
    assert [look.code for look in LOOKS if look.by != "operator"] == ["qualified_person"]
    assert "covers shut" in LOOKS[-1].put_right


def test_the_next_place_follows_what_was_looked_at() -> None:
    assert next_look([]).code == "power"
    assert next_look(["power", "motor", "doors"]).code == "emergency_stop"
    assert next_look(ORDER_OF_THE_DESIGN).code == "qualified_person"
    assert [look.code for look in left_to_look(ORDER_OF_THE_DESIGN[:-2])] == [
        "timers", "qualified_person",
    ]  # fmt: skip
    assert left_to_look(ORDER_OF_THE_DESIGN) == (LOOKS[-1],)
    assert find_look("gremlins") is None


def test_the_log_says_what_was_looked_at_in_order_and_what_it_was() -> None:
    assert str(log_line({"doors", "power"}, found="doors")) == (
        "Ram did not move. Looked at: power, doors. It was: doors."
    )
    assert str(log_line([], found=None)).endswith("Looked at: nothing. Not found.")
