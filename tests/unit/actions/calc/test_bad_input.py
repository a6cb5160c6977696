"""Whatever comes in, a bad input is refused by name with exit status 2, and nothing breaks."""

import json

import pytest

from tests.unit.actions.calc.contract import (
    AIRBEND,
    ANGLE,
    BODIES,
    COUPON,
    FLAT,
    GAUGE,
    LEARN,
    LENGTH,
    Json,
    changed,
    leaves,
    refused,
    refused_bytes,
    run_bytes,
    without,
)

NAMES = list(BODIES)
REQUIRED = [
    (name, path)
    for name, body in BODIES.items()
    for path in leaves(body)
    if path.rsplit(".", 1)[-1]
    not in {"poisson_ratio", "radius_ratio", "legs_are", "touch_off_sd_mm", "k_factor"}
    and not path.rsplit(".", 1)[-1].isdigit()
]
PLACES = [(name, path) for name, body in BODIES.items() for path in leaves(body)]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"   ",
        b"{",
        b"{'a': 1}",
        b"[]",
        b"null",
        b"3",
        b'"text"',
        b"true",
        b"\xff\xfe\x00",
        b"[" * 100_000,
        b'{"a":' * 50_000,
        b"[" * 500 + b"]" * 500,
        b"1" * 5000,
    ],
    ids=lambda raw: repr(raw[:8]) + str(len(raw)),
)
def test_what_is_not_one_json_object_is_refused(name: str, raw: bytes) -> None:
    refused_bytes(name, raw)


@pytest.mark.parametrize("name", NAMES)
def test_more_than_four_megabytes_are_not_read(name: str) -> None:
    body = json.dumps(BODIES[name]).encode()
    assert refused_bytes(name, body + b" " * 4_000_000)["code"] == "input_too_large"
    assert run_bytes(name, body + b" " * (4_000_000 - len(body)))[0] == 0


@pytest.mark.parametrize("name", NAMES)
def test_four_megabytes_of_list_are_refused_without_being_answered(name: str) -> None:
    refused_bytes(name, b"[" + b"1," * 1_999_990 + b"1]")


def test_an_unknown_calculation_names_the_known_ones() -> None:
    error = refused("fold", {})
    assert error["code"] == "unknown_calculation"
    assert "airbend" in error["hint"]


@pytest.mark.parametrize("name", NAMES)
def test_an_unknown_field_is_refused_by_name(name: str) -> None:
    error = refused(name, {**BODIES[name], "colour_mm": 1})
    assert (error["code"], error["field"]) == ("unknown_field", "colour_mm")
    assert "colour_mm" in error["message"]


@pytest.mark.parametrize("odd", ["float", "a[b", "", "{field}", "profile_part", "x" * 1000])
def test_an_unknown_field_of_any_name_is_named(odd: str) -> None:
    assert refused("flat", {**FLAT, odd: 1})["field"] == odd


@pytest.mark.parametrize("path", ["material.hardness", "die.depth", "punch.name"])
@pytest.mark.parametrize("name", ["airbend", "angle", "learn"])
def test_an_unknown_field_further_in_is_refused_by_its_path(name: str, path: str) -> None:
    error = refused(name, changed(BODIES[name], path, 1))
    assert (error["code"], error["field"]) == ("unknown_field", path)


@pytest.mark.parametrize(("name", "path"), REQUIRED)
def test_a_missing_field_is_named(name: str, path: str) -> None:
    error = refused(name, without(BODIES[name], path))
    assert (error["code"], error["field"]) == ("missing_field", path)


@pytest.mark.parametrize(("name", "path"), PLACES)
@pytest.mark.parametrize("value", [[], {}, True, None], ids=repr)
def test_a_value_of_the_wrong_type_is_refused_at_its_place(
    name: str, path: str, value: object
) -> None:
    if value is None and path.endswith("k_factor"):
        return  # may be left open
    assert refused(name, changed(BODIES[name], path, value))["field"] == path


@pytest.mark.parametrize(("name", "path"), PLACES)
@pytest.mark.parametrize("literal", ["NaN", "Infinity", "-Infinity", "1e999", "-1e999"])
def test_numbers_that_are_not_finite_are_refused(name: str, path: str, literal: str) -> None:
    marked = json.dumps(changed(BODIES[name], path, "MARK")).replace('"MARK"', literal)
    refused_bytes(name, marked.encode())


@pytest.mark.parametrize(("name", "path"), PLACES)
@pytest.mark.parametrize("value", [1e300, -1e300, 1e13, 10**400], ids=lambda v: f"{str(v)[:6]}")
def test_absurdly_large_numbers_are_refused(name: str, path: str, value: float) -> None:
    if path in {"text", "unit", "family", "legs_are"}:
        return  # not a number in the first place: checked above
    refused(name, changed(BODIES[name], path, value))


@pytest.mark.parametrize(
    ("name", "body", "path", "value"),
    [
        ("flat", FLAT, "thickness_mm", 0),
        ("flat", FLAT, "thickness_mm", -1),
        ("flat", FLAT, "legs_mm.1", 0),
        ("flat", FLAT, "legs_mm.1", -3),
        ("flat", FLAT, "bends.0.inside_radius_mm", -0.1),
        ("flat", FLAT, "bends.0.bend_angle_deg", 180.5),
        ("flat", FLAT, "bends.0.bend_angle_deg", -181),
        ("flat", FLAT, "bends.0.k_factor", 1.1),
        ("flat", FLAT, "bends.0.k_factor", -0.1),
        ("airbend", AIRBEND, "thickness_mm", 0),
        ("airbend", AIRBEND, "thickness_mm", -2),
        ("airbend", AIRBEND, "bend_length_mm", 0),
        ("airbend", AIRBEND, "bend_length_mm", -5),
        ("airbend", AIRBEND, "bend_angle_deg", -1),
        ("airbend", AIRBEND, "bend_angle_deg", 180),
        ("airbend", AIRBEND, "bend_angle_deg", 500),
        ("airbend", AIRBEND, "material.youngs_modulus_mpa", 0),
        ("airbend", AIRBEND, "material.poisson_ratio", 0.5),
        ("airbend", AIRBEND, "material.yield_strength_mpa", -280),
        ("airbend", AIRBEND, "material.radius_ratio", 0),
        ("airbend", AIRBEND, "material.radius_ratio", 2),
        ("airbend", AIRBEND, "die.v_opening_mm", 0),
        ("airbend", AIRBEND, "die.angle_deg", 0),
        ("airbend", AIRBEND, "die.angle_deg", 180),
        ("airbend", AIRBEND, "die.shoulder_radius_mm", -1),
        ("airbend", AIRBEND, "punch.tip_radius_mm", -1),
        ("airbend", AIRBEND, "punch.angle_deg", 200),
        ("angle", ANGLE, "depth_mm", -0.1),
        ("angle", ANGLE, "bend_length_mm", 0),
        ("learn", LEARN, "touch_off_sd_mm", 0),
        ("learn", LEARN, "touch_off_sd_mm", -1),
        ("learn", LEARN, "trials.1.depth_mm", -1),
        ("learn", LEARN, "trials.0.bend_angle_deg", 181),
        ("learn", LEARN, "bend_angle_deg", -3),
        ("coupon", COUPON, "thickness_mm", 0),
        ("coupon", COUPON, "bend_angle_deg", 0),
        ("coupon", COUPON, "bend_angle_deg", 200),
        ("coupon", COUPON, "inside_radius_mm", -1),
        ("coupon", COUPON, "strips.0.flat_length_mm", 0),
        ("coupon", COUPON, "strips.1.leg_b_mm", -1),
    ],
)
def test_a_number_outside_its_range_is_refused_at_its_place(
    name: str, body: Json, path: str, value: float
) -> None:
    error = refused(name, changed(body, path, value))
    assert error["field"] == path
    assert error["hint"], "a refusal says what to do"


def test_an_impossible_flange_says_which_leg_and_how_much_the_bends_take() -> None:
    error = refused("flat", changed(FLAT, "legs_mm.1", 3))
    assert (error["code"], error["field"]) == ("leg_too_short", "legs_mm.1")
    assert "Leg 2" in error["message"]


def test_legs_and_bends_have_to_go_together() -> None:
    assert refused("flat", changed(FLAT, "legs_mm", [50, 40]))["code"] == "wrong_count"
    assert refused("flat", changed(FLAT, "legs_mm", []))["code"] == "too_few"
    assert refused("flat", changed(FLAT, "legs_mm", [1] * 502))["code"] == "too_many"


def test_an_apex_that_runs_away_is_refused_with_the_way_out() -> None:
    sharp = changed(FLAT, "bends.0", {
        "bend_angle_deg": 170, "inside_radius_mm": 2, "k_factor": 0.4, "dimension_to": "apex",
    })  # fmt: skip
    error = refused("flat", sharp)
    assert (error["code"], error["field"]) == ("apex_too_far", "bends.0.dimension_to")
    assert "tangent" in error["hint"]


def test_a_k_factor_and_a_rule_at_once_are_refused() -> None:
    error = refused("flat", changed(FLAT, "bends.0.rule", "faa"))
    assert (error["code"], error["field"]) == ("two_rules", "bends.0.k_factor")
    fixed = changed(without(FLAT, "bends.0.k_factor"), "bends.0.rule", "fixed")
    assert refused("flat", fixed)["code"] == "k_factor_missing"


def test_strengths_the_wrong_way_round_are_noticed() -> None:
    error = refused("airbend", changed(AIRBEND, "material.tensile_strength_mpa", 200))
    assert error["code"] == "strengths_swapped"


def test_a_sheet_that_would_spring_back_flat_is_refused() -> None:
    soft = changed(AIRBEND, "material.youngs_modulus_mpa", 500)
    assert refused("airbend", soft)["code"] in {"springs_back_too_far", "all_springs_back"}


@pytest.mark.parametrize("value", [-10.5, 91, "guess", True])
@pytest.mark.parametrize("name", ["airbend", "angle", "learn"])
def test_a_springback_no_sheet_has_is_refused(name: str, value: object) -> None:
    refused(name, changed(BODIES[name], "springback_deg", value))


def test_a_negative_springback_larger_than_the_bend_is_refused() -> None:
    body = {**AIRBEND, "bend_angle_deg": 5, "springback_deg": -8}
    assert refused("airbend", body)["code"] == "springs_past_flat"


def test_a_depth_past_the_roll_up_says_that_the_sheet_leaves_the_die() -> None:
    thick = changed(changed(ANGLE, "thickness_mm", 12), "depth_mm", 14)
    error = refused("angle", thick)
    assert (error["code"], error["field"]) == ("too_deep", "depth_mm")


@pytest.mark.parametrize(
    ("gauge", "family", "code"),
    [
        (2, "steel", "unknown_gauge"),
        (39, "steel", "unknown_gauge"),
        (0, "aluminium", "unknown_gauge"),
        (-16, "steel", "unknown_gauge"),
        (7, "galvanized", "unknown_gauge"),
        (16, "titanium", "not_a_choice"),
        (16.5, "steel", "not_a_whole_number"),
        ("16", "steel", "not_a_whole_number"),
    ],
)
def test_a_gauge_that_no_table_has_is_refused(gauge: object, family: str, code: str) -> None:
    assert refused("gauge", {**GAUGE, "gauge": gauge, "family": family})["code"] == code


@pytest.mark.parametrize(
    ("text", "code", "field"),
    [
        ("", "empty_length", "text"),
        ("abc", "not_a_length", "text"),
        ("1,234", "ambiguous_length", "text"),
        ("11/2", "ambiguous_length", "text"),
        ("16 ga", "gauge_needs_family", "family"),
        ("99 ga", "unknown_gauge", "text"),
        ("3 mm 2 in", "mixed_units", "text"),
        ("3 furlongs", "unknown_unit", "text"),
        ("1/0", "not_a_length", "text"),
        ("9" * 41, "not_a_length", "text"),
        ("9e9", "unknown_unit", "text"),
        ("99999999 m", "length_too_large", "text"),
        ("{what}", "not_a_length", "text"),
        ("\ud800", "not_a_length", "text"),
    ],
)
def test_a_text_that_is_not_one_length_is_refused(text: str, code: str, field: str) -> None:
    error = refused("length", {**LENGTH, "text": text})
    assert (error["code"], error["field"]) == (code, field)


def test_what_is_written_is_json_on_any_terminal() -> None:
    raw = json.dumps({"text": "\U0001f600 \ud800 °", "unit": "mm"}).encode()
    _, _, err = run_bytes("length", raw)
    assert err.isascii()
    assert "\U0001f600 \ud800 °" in json.loads(err)["error"]["message"]


def test_both_readings_of_an_ambiguous_length_are_shown() -> None:
    error = refused("length", {**LENGTH, "text": "1,234"})
    assert "1.234" in error["message"]
    assert "1234" in error["message"]
