"""The contract answers or refuses, whatever the numbers: no input reaches a bug or an infinity.

Fields are replaced by numbers from the edges of what a float can be, several at once.
"""

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.unit.actions.calc.contract import (
    BODIES,
    Json,
    answered,
    changed,
    leaves,
    refused,
    run_bytes,
)

edges = st.sampled_from(
    [0, -0.0, 1, -1, 5e-324, 1e-300, 1e-12, 1e-9, 1e-6, 0.499, 0.5, 1.0, 14.999, 15, 15.001, 89.999,
     90, 90.001, 164.999, 165, 179, 179.999, 180, 180.001, 360, 1e5, 1e9, 1.0001e9, 1e30, 1e154,
     1e308, 1.7976931348623157e308, -1e308, 10**30]
)  # fmt: skip
numbers = st.one_of(
    edges, st.floats(-10.0, 400.0), st.floats(allow_nan=False, allow_infinity=False)
)
junk = st.recursive(
    st.one_of(st.none(), st.booleans(), numbers, st.text(max_size=20)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)
places = st.sampled_from([(name, path) for name, body in BODIES.items() for path in leaves(body)])


def holds(name: str, body: object) -> None:
    """The answer or the refusal has the agreed shape; `answered` looks for infinities."""
    status, _, _ = run_bytes(name, json.dumps(body).encode())
    (answered if status == 0 else refused)(name, body)


@settings(max_examples=1500)
@given(places, numbers)
def test_one_odd_number_anywhere(place: tuple[str, str], value: float) -> None:
    name, path = place
    holds(name, changed(BODIES[name], path, value))


@settings(max_examples=1500)
@given(st.data(), st.sampled_from(list(BODIES)))
def test_many_odd_numbers_at_once(data: st.DataObject, name: str) -> None:
    body: Json = BODIES[name]
    for path in data.draw(st.lists(st.sampled_from(list(leaves(body))), max_size=6, unique=True)):
        body = changed(body, path, data.draw(numbers))
    holds(name, body)


@settings(max_examples=500)
@given(places, junk)
def test_anything_at_all_anywhere(place: tuple[str, str], value: object) -> None:
    name, path = place
    holds(name, changed(BODIES[name], path, value))


@settings(max_examples=300)
@given(st.sampled_from([*BODIES, "fold", ""]), junk)
def test_anything_at_all_as_the_whole_input(name: str, value: object) -> None:
    holds(name, value)
