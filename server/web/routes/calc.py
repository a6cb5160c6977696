"""Calculations for outside programs: the same bodies as the command `bendwright calc`."""

from typing import Any

from fastapi import APIRouter

from server.actions.calc.front import NAMES, get_calculation

router = APIRouter(prefix="/api/calc", tags=["calculations"])


def _add(name: str) -> None:
    calculation = get_calculation(name)

    def answer(body: Any) -> Any:
        return calculation.answer(body)

    answer.__annotations__ = {"body": calculation.Request, "return": dict[str, Any]}
    answer.__doc__ = calculation.answer.__doc__
    router.post(f"/{name}", name=f"calc_{name}", summary=calculation.__doc__)(answer)


for calculation_name in NAMES:
    _add(calculation_name)
