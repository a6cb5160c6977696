"""Every formula of the mechanics floor says what it takes, in which unit, and where it is from.

Read from the source text, not from running it: sections of the docstring against the signature,
the unit in brackets against the parameter's own suffix, `Raises:` against what the body raises.
"""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

FLOOR = Path(__file__).parents[2] / "server" / "mechanics"
SECTIONS = ("Formula:", "Args:", "Returns:", "Raises:", "References:")
FORMULA_HAS = ("Formula:", "Args:", "Returns:", "References:")
CHECK_HAS = ("Args:", "Returns:")
SUFFIX_UNIT = {
    "_kn_per_m": "kn_per_m",
    "_kg_m3": "kg_m3",
    "_mm_per_s": "mm_per_s",
    "_mm_per_deg": "mm_per_deg",
    "_deg_per_s": "deg_per_s",
    "_m_per_s": "m_per_s",
    "_per_mm": "per mm",
    "_mm2": "mm2",
    "_mm": "mm",
    "_cm": "cm",
    "_deg": "deg",
    "_kn": "kn",
    "_n": "n",
    "_mpa": "mpa",
    "_kg": "kg",
    "_s": "s",
    "_percent": "percent",
    "_factor": "ratio",
    "_ratio": "ratio",
    "_count": "count",
}
NUMBERS = {"float", "int", "Number", "FloatArray", "float | None", "int | None"}
INDEXES = {"index", "bend"}
"""Places in a list, not amounts."""

GUARD = re.compile(r"^need_")


@dataclass(frozen=True)
class Formula:
    """One public function with keyword-only parameters."""

    module: str
    node: ast.FunctionDef
    raisers: frozenset[str]

    def __str__(self) -> str:
        return f"{self.module}.{self.node.name}"

    @property
    def docstring(self) -> str:
        return ast.get_docstring(self.node) or ""

    @property
    def parameters(self) -> list[ast.arg]:
        return [*self.node.args.args, *self.node.args.kwonlyargs]

    def section(self, name: str) -> str:
        """The text of a section, empty when there is none."""
        text = "\n" + self.docstring
        start = text.find("\n" + name)
        if start < 0:
            return ""
        start += 1 + len(name)
        ends = [text.find("\n" + other, start) for other in (*SECTIONS, ">>>")]
        return text[start : min((end for end in ends if end >= 0), default=len(text))].strip()

    @property
    def is_check(self) -> bool:
        return self.node.name.startswith("check_")

    def raises(self) -> bool:
        """Whether the body raises, or calls a guard or another function of its module that does."""
        called = {
            call.func.id
            for call in ast.walk(self.node)
            if isinstance(call, ast.Call) and isinstance(call.func, ast.Name)
        }
        return (
            any(isinstance(node, ast.Raise) for node in ast.walk(self.node))
            or any(GUARD.match(name) for name in called)
            or bool(called & self.raisers)
        )


def modules() -> list[Path]:
    return sorted(path for path in FLOOR.glob("*.py") if path.stem != "__init__")


def formulas() -> Iterator[Formula]:
    for path in modules():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        functions = [node for node in tree.body if isinstance(node, ast.FunctionDef)]
        raisers = frozenset(
            node.name
            for node in functions
            if any(isinstance(inner, ast.Raise) for inner in ast.walk(node))
            or any(
                isinstance(inner, ast.Call)
                and isinstance(inner.func, ast.Name)
                and GUARD.match(inner.func.id)
                for inner in ast.walk(node)
            )
        )
        for node in functions:
            if node.args.kwonlyargs and not node.name.startswith("_"):
                yield Formula(path.stem, node, raisers)


FORMULAS = list(formulas())
each_formula = pytest.mark.parametrize("formula", FORMULAS, ids=str)


def documented(formula: Formula) -> dict[str, str]:
    """Parameter -> its words, from the Args section."""
    entries = re.split(r"\n {4}(?=\w+: )", "\n    " + formula.section("Args:"))
    found = {}
    for entry in entries:
        name, _, words = entry.strip().partition(": ")
        if name:
            found[name] = " ".join(words.split())
    return found


def unit_of(parameter: str) -> str | None:
    return next((unit for end, unit in SUFFIX_UNIT.items() if parameter.endswith(end)), None)


def test_the_house_has_formulas_to_look_at() -> None:
    assert len(FORMULAS) > 60


@pytest.mark.parametrize("path", modules(), ids=lambda path: path.stem)
def test_every_module_has_a_head(path: Path) -> None:
    head = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert head, "say in one sentence what the module is about"
    assert len(head.splitlines()[0]) > 20


@each_formula
def test_every_formula_has_its_sections_in_order(formula: Formula) -> None:
    wanted = CHECK_HAS if formula.is_check else FORMULA_HAS
    missing = [name for name in wanted if not formula.section(name)]
    assert missing == []
    lines = formula.docstring.splitlines()
    first = lines[0]
    assert first
    assert first[0].isupper()
    places = [lines.index(line) for line in lines if line.startswith(SECTIONS)]
    order = [SECTIONS.index(lines[place].split(":")[0] + ":") for place in places]
    assert order == sorted(order)


@each_formula
def test_every_formula_is_worked_once_by_hand(formula: Formula) -> None:
    if not formula.is_check:
        assert ">>> " in formula.docstring


@each_formula
def test_every_parameter_is_documented_and_no_other(formula: Formula) -> None:
    assert list(documented(formula)) == [argument.arg for argument in formula.parameters]


@each_formula
def test_the_unit_in_brackets_is_the_parameters_own(formula: Formula) -> None:
    words = documented(formula)
    for argument in formula.parameters:
        assert argument.annotation is not None
        if ast.unparse(argument.annotation) not in NUMBERS or argument.arg in INDEXES:
            continue
        unit = unit_of(argument.arg)
        assert unit is not None, f"{argument.arg} does not carry its unit in its name"
        assert f"[{unit}]" in words[argument.arg], f"{argument.arg} needs [{unit}]"


@each_formula
def test_what_can_be_raised_is_told(formula: Formula) -> None:
    told = bool(formula.section("Raises:"))
    if formula.raises():
        assert told, "the body raises or calls a guard, but there is no Raises section"
    if told:
        assert "`" in formula.section("Raises:"), "name the ShopError's code"


def test_the_sections_are_read_as_they_are_written() -> None:
    """The test of the test: a docstring with a gap is seen to have one."""
    text = '''
def length(*, width_mm: float) -> float:
    """A length.

    Formula: l = w

    Args:
        width_mm: the width [cm].

    Returns: the length [mm].
    """
    need_above("width_mm", width_mm, 0.0, "mm")
    return width_mm
'''
    node = ast.parse(text).body[0]
    assert isinstance(node, ast.FunctionDef)
    formula = Formula("example", node, frozenset())
    assert documented(formula) == {"width_mm": "the width [cm]."}
    assert formula.section("References:") == ""
    assert formula.raises()
    for check in (
        test_every_formula_has_its_sections_in_order,
        test_every_formula_is_worked_once_by_hand,
        test_the_unit_in_brackets_is_the_parameters_own,
        test_what_can_be_raised_is_told,
    ):
        with pytest.raises(AssertionError):
            check(formula)
