"""The house keeps its shape: empty inits, one place for the inch, short routes, named units."""

import ast
import io
import re
import sys
import tokenize
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import Float, Integer, Numeric

HOUSE = Path(__file__).parents[2]
MODULES = sorted((HOUSE / "server").rglob("*.py"))
ROUTES = sorted((HOUSE / "server" / "web" / "routes").glob("*.py"))
MOST_ROUTE_STATEMENTS = 8
MODULE_LINES, FUNCTION_LINES = 400, 60

UNIT = re.compile(
    r"(_mm|_mm2|_mm3|_cm|_in|_deg|_rad|_n|_kn|_mpa|_kg|_g|_s|_min|_h|_minor|_per_hour_minor|_m_per_s"
    r"|_mm_per_s|_mm_per_deg|_deg_per_s|_kn_per_m|_n_per_mm|_kg_m3|_n_mm|_per_mm|_factor|_ratio|_ratio_to_3mm|_ratio_3_to_6mm|_ratio_over_6mm"
    r"|_count|_share|_percent|_x|_y|_days|_bytes|_width|_height)$"
)


def name_of(path: Path) -> str:
    return path.relative_to(HOUSE).as_posix()


def test_there_is_a_house_to_look_at() -> None:
    assert len(MODULES) > 80
    assert len(ROUTES) > 5


def test_init_files_stay_empty() -> None:
    for path in MODULES:
        if path.name == "__init__.py":
            assert path.read_bytes() == b"", name_of(path)


def test_no_folder_is_a_junk_drawer() -> None:
    folders = {path.parent.name for path in MODULES}
    assert not folders & {"utils", "util", "helpers", "helper", "common", "misc"}


def numbers_in(text: str) -> Iterator[tuple[str, int]]:
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type == tokenize.NUMBER:
            yield token.string, token.start[0]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_the_inch_is_known_to_units_only(path: Path) -> None:
    if "units" in path.parts:
        return
    for number, line in numbers_in(path.read_text(encoding="utf-8")):
        assert number not in ("25.4", "0.0254", "304.8", "0.3048"), f"{name_of(path)}:{line}"


def test_an_inch_in_the_wrong_room_would_be_seen() -> None:
    """The test of the test: a number is found, a comment or a word is not."""
    assert ("25.4", 1) in numbers_in("length_mm = 25.4 * length_in\n")
    assert list(numbers_in('note = "25.4"  # 25.4\n')) == []


def routes_in(path: Path) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and any(
            isinstance(mark, ast.Call) for mark in node.decorator_list
        ):
            yield node


def statements_in(node: ast.AST) -> int:
    return sum(isinstance(inner, ast.stmt) for inner in ast.walk(node)) - 2  # itself, docstring


EVERY_ROUTE = [(path, node) for path in ROUTES for node in routes_in(path)]


@pytest.mark.parametrize(("path", "node"), EVERY_ROUTE, ids=lambda one: getattr(one, "name", ""))
def test_a_route_is_short_and_catches_nothing(
    path: Path, node: ast.FunctionDef | ast.AsyncFunctionDef
) -> None:
    assert ast.get_docstring(node), f"{path.stem}.{node.name} says nothing of itself"
    assert not any(isinstance(inner, ast.Try) for inner in ast.walk(node))
    assert statements_in(node) <= MOST_ROUTE_STATEMENTS, (
        f"{path.stem}.{node.name} has {statements_in(node)} statements"
    )


COLUMNS_WITHOUT_UNIT = {
    "id": "a row's own number",
    "version": "grows by one",
    "position": "place in a list",
    "station": "place along the bed",
    "y_sense": "1 or -1",
    "priority": "an order",
    "gauge_face": "place in a list",
    "piece": "which blank of the set-up",
    "program": "a program's own number in the control",
    "which": "which program of a split sequence",
    "many": "how many programs a sequence was split into",
}


def test_every_number_in_the_database_carries_its_unit() -> None:
    from server.storage.tables.every import METADATA

    for table in METADATA.sorted_tables:
        for column in table.columns:
            if not isinstance(column.type, Float | Integer | Numeric):
                continue
            if column.name in COLUMNS_WITHOUT_UNIT or column.name.endswith("_id"):
                continue
            assert UNIT.search(column.name), f"{table.name}.{column.name}"


FIELDS_WITHOUT_UNIT = {
    "reading_1": "in the ram scale's own unit",
    "reading_2": "in the ram scale's own unit",
    "value": "its unit stands beside it",
}
WORDS_OF_THE_CONTRACT = {
    "flange_margin": "a ratio",
    "radius_ratio_sd": "a ratio",
    "springback_sd": "a ratio",
    "margin": "a ratio; the contract's word",
    "scrap_allowance": "a ratio; the contract's word",
    "weight": "a factor; the contract's word",
    "changeover_weight": "a factor",
    "seconds": "its unit is its name; the contract's word",
}
PURE = (
    "mechanics",
    "geometry",
    "planning",
    "shop",
    "actions",
    "settings.py",
    "findings.py",
    "errors.py",
)


def number_fields() -> Iterator[tuple[str, str]]:
    for path in MODULES:
        if not set(PURE) & set(path.parts):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.ClassDef) or node.name.startswith("_"):
                continue
            marks = " ".join(ast.unparse(mark) for mark in node.decorator_list)
            if "dataclass" not in marks:
                continue
            for line in node.body:
                if isinstance(line, ast.AnnAssign) and isinstance(line.target, ast.Name):
                    kind = ast.unparse(line.annotation)
                    if kind in ("float", "float | None", "Number"):
                        yield f"{name_of(path)} {node.name}", line.target.id


def test_every_measure_in_a_dataclass_carries_its_unit() -> None:
    found = list(number_fields())
    assert len(found) > 100  # whole numbers are counts and places in lists
    bare = [
        f"{where}.{name}"
        for where, name in found
        if not UNIT.search(name) and name not in FIELDS_WITHOUT_UNIT | WORDS_OF_THE_CONTRACT
    ]
    assert bare == []


def test_sizes_worth_a_question_are_told() -> None:
    """Reported, never failed: `pytest -rP -k sizes_worth` shows them."""
    told = []
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        if text.count("\n") > MODULE_LINES:
            told.append(f"{name_of(path)} has {text.count(chr(10))} lines")
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                length = (node.end_lineno or 0) - node.lineno + 1
                length -= len((ast.get_docstring(node, clean=False) or "").splitlines())
                if length > FUNCTION_LINES:
                    told.append(f"{name_of(path)} {node.name} has {length} lines of code")
    sys.stdout.write("\n".join(told))


def attempts_in(tree: ast.AST, held: str = "") -> Iterator[tuple[ast.Call, str]]:
    """Every `form.attempt(..)` with the name of the session that is open around it, or none."""
    if isinstance(tree, ast.FunctionDef):
        names = [one.arg for one in (*tree.args.args, *tree.args.kwonlyargs)]
        held = "session" if "session" in names else ""
    if isinstance(tree, ast.With):
        for item in tree.items:
            if ast.unparse(item.context_expr).endswith(".writing()") and item.optional_vars:
                held = ast.unparse(item.optional_vars)
    if isinstance(tree, ast.Call) and ast.unparse(tree.func).endswith(".attempt"):
        yield tree, held
    for child in ast.iter_child_nodes(tree):
        yield from attempts_in(child, held)


def test_a_failed_attempt_is_taken_back_wherever_a_session_is_open() -> None:
    found = [
        (f"{name_of(path)}:{call.lineno}", ast.unparse(call.args[1]), held)
        for path in sorted((HOUSE / "server" / "web").rglob("*.py"))
        for call, held in attempts_in(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert len(found) > 30
    for place, given, held in found:
        assert given == (held or "None"), place
