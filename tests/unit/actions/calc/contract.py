"""Asking the way outside programs do: bytes in, exit status and JSON out."""

import copy
import io
import json
import math
from collections.abc import Iterator, Mapping
from typing import Any

from server.cli.calc import run_calc

Json = dict[str, Any]


def run_bytes(name: str, raw: bytes) -> tuple[int, str, str]:
    """(exit status, standard output, standard error)."""
    out, err = io.StringIO(), io.StringIO()
    status = run_calc(name, io.BytesIO(raw), out, err)
    return status, out.getvalue(), err.getvalue()


def answered(name: str, body: object) -> Json:
    """The answer, after checking that it came the agreed way."""
    status, out, err = run_bytes(name, json.dumps(body).encode())
    assert (status, err) == (0, ""), err
    answer = json.loads(out)
    assert isinstance(answer, dict)
    for number in numbers_in(answer):
        assert math.isfinite(number)
    return answer


def refused_bytes(name: str, raw: bytes) -> Json:
    """The error of a bad input, after checking its shape and that nothing was answered."""
    status, out, err = run_bytes(name, raw)
    assert (status, out) == (2, ""), out
    told = json.loads(err)
    assert set(told) == {"error"}
    error = told["error"]
    assert set(error) == {"code", "message", "field", "hint"}
    assert error["code"]
    assert error["message"]
    assert error["field"] is None or isinstance(error["field"], str)
    assert isinstance(error["hint"], str)
    return dict(error)


def refused(name: str, body: object) -> Json:
    return refused_bytes(name, json.dumps(body).encode())


def numbers_in(value: object) -> Iterator[float]:
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield float(value)
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from numbers_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers_in(inner)


def changed(body: Json, path: str, value: object) -> Json:
    """The same body with one field set; a dotted path, numbers are list indexes."""
    fresh = copy.deepcopy(body)
    *way, last = path.split(".")
    inside: Any = fresh
    for part in way:
        inside = inside[int(part)] if isinstance(inside, list) else inside[part]
    if isinstance(inside, list):
        inside[int(last)] = value
    else:
        inside[last] = value
    return fresh


def without(body: Json, path: str) -> Json:
    fresh = copy.deepcopy(body)
    *way, last = path.split(".")
    inside: Any = fresh
    for part in way:
        inside = inside[int(part)] if isinstance(inside, list) else inside[part]
    del inside[last]
    return fresh


FLAT: Json = {
    "thickness_mm": 2,
    "legs_mm": [50, 40.5, 30],
    "legs_are": "outside",
    "bends": [
        {"bend_angle_deg": 90, "inside_radius_mm": 2.5, "k_factor": 0.42},
        {"bend_angle_deg": -45, "inside_radius_mm": 2.5},
    ],
}
SHEET: Json = {
    "thickness_mm": 2,
    "bend_length_mm": 1000,
    "material": {
        "youngs_modulus_mpa": 210000,
        "poisson_ratio": 0.3,
        "yield_strength_mpa": 280,
        "tensile_strength_mpa": 400,
        "radius_ratio": 0.16,
    },
    "die": {"v_opening_mm": 16, "angle_deg": 86, "shoulder_radius_mm": 1.5},
    "punch": {"tip_radius_mm": 1, "angle_deg": 85},
}
AIRBEND: Json = {**SHEET, "bend_angle_deg": 90}
ANGLE: Json = {**SHEET, "depth_mm": 6.2}
LEARN: Json = {
    **SHEET,
    "bend_angle_deg": 90,
    "touch_off_sd_mm": 0.1,
    "trials": [
        {"depth_mm": 6.2, "bend_angle_deg": 88.5},
        {"depth_mm": 6.3, "bend_angle_deg": 89.7},
    ],
}
COUPON: Json = {
    "thickness_mm": 3,
    "inside_radius_mm": 4,
    "bend_angle_deg": 90,
    "strips": [
        {"flat_length_mm": 100, "leg_a_mm": 53.4, "leg_b_mm": 52.5},
        {"flat_length_mm": 100, "leg_a_mm": 53.3, "leg_b_mm": 52.5},
    ],
}
GAUGE: Json = {"family": "steel", "gauge": 16}
LENGTH: Json = {"text": '1-1/2"', "unit": "mm"}
BODIES: Mapping[str, Json] = {
    "flat": FLAT,
    "airbend": AIRBEND,
    "angle": ANGLE,
    "coupon": COUPON,
    "learn": LEARN,
    "gauge": GAUGE,
    "length": LENGTH,
}


def leaves(body: object, path: str = "") -> Iterator[str]:
    """Dotted paths of all plain values of a body."""
    if isinstance(body, dict):
        for name, value in body.items():
            yield from leaves(value, f"{path}.{name}" if path else name)
    elif isinstance(body, list):
        for index, value in enumerate(body):
            yield from leaves(value, f"{path}.{index}")
    else:
        yield path
