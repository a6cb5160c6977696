"""The shape of a calculation's input: strict, unknown fields refused by name, finite numbers only."""

from collections.abc import Mapping
from typing import Annotated, Any, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from server.errors import ShopError, say

Real = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Count = Annotated[int, Field(strict=True)]

SAYS: Mapping[str, tuple[str, str, str]] = {
    "extra_forbidden": ("unknown_field", "There is no field '{field}' here.", "Leave it out."),
    "missing": ("missing_field", "The field '{field}' is missing.", "Give it."),
    "float_type": ("not_a_number", "'{field}' is not a number.", "Give a plain number."),
    "int_type": ("not_a_whole_number", "'{field}' is not a whole number.", "Give a whole number."),
    "int_from_float": (
        "not_a_whole_number",
        "'{field}' is not a whole number.",
        "Give a whole number.",
    ),
    "finite_number": ("not_finite", "'{field}' is not a finite number.", "Give a finite number."),
    "literal_error": ("not_a_choice", "'{field}' is not one of the choices.", "Use {expected}."),
    "string_type": ("not_text", "'{field}' is not text.", "Give it as text in quotes."),
    "list_type": ("not_a_list", "'{field}' is not a list.", "Give a list in square brackets."),
    "model_type": ("not_an_object", "'{field}' is not an object.", "Give an object."),
    "too_short": ("too_few", "'{field}' has too few entries.", "Give at least {min_length}."),
    "too_long": ("too_many", "'{field}' has too many entries.", "Give at most {max_length}."),
}


class Body(BaseModel):
    """A calculation's input; the names are the contract's."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


B = TypeVar("B", bound=Body)


def read_body(kind: type[B], values: object) -> B:
    """A checked body from parsed JSON.

    Raises: ShopError with the first trouble found, `where` naming the field as a dotted path.
    """
    try:
        return kind.model_validate(values)
    except ValidationError as trouble:
        raise trouble_with(trouble.errors(include_url=False)[0]) from None


def trouble_with(detail: Mapping[str, Any]) -> ShopError:
    """The shop's words for one of pydantic's complaints."""
    place = detail["loc"]
    own = 1 if detail["type"] == "extra_forbidden" else 0  # an unknown name may look like a tag
    path = [
        str(part)
        for index, part in enumerate(place)
        if index >= len(place) - own or not _is_tag(part)
    ]
    context = {name: str(value) for name, value in detail.get("ctx", {}).items()}
    code, what, remedy = SAYS.get(
        detail["type"], ("bad_value", "'{field}': {message}.", "Look at the documentation.")
    )
    words = {"field": ".".join(path) or "the input", "message": str(detail["msg"]), **context}
    try:
        told = say(remedy, **words)
        str(told)
    except KeyError:
        told = say("Look at the documentation.")
    return ShopError(code, say(what, **words), remedy=told, where=".".join(path))


def _is_tag(part: object) -> bool:
    return isinstance(part, str) and ("[" in part or part in TAGS)


TAGS = frozenset({"float", "profile_part", "flat_part", "constrained-float"})
