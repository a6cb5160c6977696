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
NAME = r"\d{1,3}|[bf]\d{1,3}|e\d{1,3}[a-z]{1,2}"
PAIR = re.compile(rf"({NAME})-({NAME})")
END = re.compile(r"(f?)([1-9]\d{0,2})")
MOST_PAIRS = 200
MOST_OWN_MM = 50.0


def pair_name(first: int | str, last: int | str) -> str:
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
        first, last = (int(one) if one.isdigit() else one for one in pair)
        name = pair_name(first, last)
        critical = form.yes(f"critical_{name}")
        own_mm = form.length_mm(f"own_{name}", needed=False, most_mm=MOST_OWN_MM)
        dropped = verb == "drop" and what == name
        added = first != last if isinstance(first, int) else first.startswith("f")
        if not dropped and (critical or own_mm is not None or added):
            yield Marked(first, last, critical, own_mm)
    if verb == "add":
        ends = [END.fullmatch(form.typed.get(name, "")) for name in ("add_first", "add_last")]
        known = [found for found in ends if found is not None]
        if len(known) < 2 or known[0][1] != known[1][1]:
            form.trouble("add_last", "Two of them are needed.", "Choose one on each list.")
            return
        low, high = sorted(int(found[2]) for found in known)
        if low == high:
            form.trouble("add_last", "Both are the same.", "Choose two that are parallel.")
        elif known[0][1]:
            yield Marked(f"f{low}", f"f{high}")
        else:
            yield Marked(low - 1, high - 1)
