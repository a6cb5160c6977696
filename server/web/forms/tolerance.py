"""What is typed of a drawing's tolerances: its class, and each dimension marked or given its own."""

import re
from collections.abc import Iterator, Mapping, Sequence

from server.actions.tolerance import Allowed
from server.mechanics.general_tolerance import LINEAR_MM, ToleranceClass
from server.planning.dimension import Dimension, Marked
from server.web.display import Display
from server.web.forms.form import Form

CLASS_WORDS: Mapping[ToleranceClass, str] = {
    "f": "f, fine",
    "m": "m, medium",
    "c": "c, coarse",
    "v": "v, very coarse",
}
PAIR = re.compile(r"(\d{1,3})-(\d{1,3})")
MOST_PAIRS = 200
MOST_OWN_MM = 50.0


def pair_name(first: int, last: int) -> str:
    """How a dimension is called in the form."""
    return f"{first}-{last}"


def read_allowed(form: Form) -> Allowed:
    """The tolerances as typed; look at `form.ok` before using them."""
    word = form.choice("tolerance_class", tuple(LINEAR_MM), "m")
    marked = tuple(_marked(form))
    return Allowed(next(one for one in LINEAR_MM if one == word), marked)


def typed_of_allowed(
    allowed: Allowed, dimensions: Sequence[Dimension], version: int, show: Display
) -> dict[str, str]:
    """The tolerances as they stand in their form."""
    own = {(one.first, one.last): one for one in allowed.marked}
    typed = {
        "version": str(version),
        "tolerance_class": allowed.tolerance_class,
        "pairs": ",".join(pair_name(one.first, one.last) for one in dimensions),
        "add_first": "",
        "add_last": "",
    }
    for one in dimensions:
        mark = own.get((one.first, one.last))
        name = pair_name(one.first, one.last)
        typed[f"critical_{name}"] = "yes" if mark is not None and mark.critical else ""
        typed[f"own_{name}"] = show.typed(mark.tolerance_mm) if mark is not None else ""
    return typed


def _marked(form: Form) -> Iterator[Marked]:
    verb, _, what = form.typed.get("do", "").partition(":")
    for pair in PAIR.findall(form.typed.get("pairs", ""))[:MOST_PAIRS]:
        first, last = int(pair[0]), int(pair[1])
        name = pair_name(first, last)
        critical = form.yes(f"critical_{name}")
        own_mm = form.length_mm(f"own_{name}", needed=False, most_mm=MOST_OWN_MM)
        dropped = verb == "drop" and what == name
        if not dropped and (critical or own_mm is not None or first != last):
            yield Marked(first, last, critical, own_mm)
    if verb == "add":
        first = form.whole("add_first", least=1, most=200) - 1
        last = form.whole("add_last", least=1, most=200) - 1
        if first == last:
            form.trouble("add_last", "Both legs are the same.", "Choose two parallel legs.")
        yield Marked(min(first, last), max(first, last))
