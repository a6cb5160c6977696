"""`bendwright calc NAME`: JSON on standard input, the answer on standard output."""

import json
from typing import IO, BinaryIO

from server.actions.calc.front import calculate, trouble_as_json
from server.errors import ShopError, say

MOST_BYTES = 4_000_000
BAD_INPUT = 2


def run_calc(name: str, source: BinaryIO, out: IO[str], err: IO[str]) -> int:
    """Answer one calculation; returns 0, or 2 with the trouble as JSON on `err`.

    Only ASCII is written: a terminal's own encoding cannot break the JSON.
    """
    try:
        answer = calculate(name, _parsed(source.read(MOST_BYTES + 1)))
    except ShopError as trouble:
        json.dump(trouble_as_json(trouble), err)
        err.write("\n")
        return BAD_INPUT
    json.dump(answer, out, allow_nan=False)
    out.write("\n")
    return 0


def _parsed(raw: bytes) -> object:
    if len(raw) > MOST_BYTES:
        raise ShopError(
            "input_too_large",
            "The input is larger than 4 MB.",
            remedy="Send less.",
        )
    try:
        return json.loads(raw, parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as trouble:
        raise ShopError(
            "not_json",
            say("The input is not JSON: {why}.", why=str(trouble) or "nested too deeply"),
            remedy="Send one JSON object.",
        ) from None


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is not a JSON number")
