"""Templates, styles and drawings keep to the security policy and to the house's own tokens."""

import re
from pathlib import Path

import pytest

from server.drawings.svg import Sheet
from server.settings import house_folder
from server.web.pages.page import template_files

TEMPLATES = sorted(template_files())
STYLES = sorted(house_folder("static").glob("css/*.css"))
SCRIPTS = sorted(house_folder("static").glob("js/*.js"))
DRAWINGS = sorted((Path(__file__).parents[2] / "server" / "drawings").glob("*.py"))

# a picture is drawn by us and escapes its own words: see test_words_in_a_drawing_are_escaped
FORBIDDEN = {
    "an inline script": re.compile(r"<script(?![^>]*\ssrc=)", re.IGNORECASE),
    "an inline style": re.compile(r"<style|\sstyle\s*=", re.IGNORECASE),
    "an event handler": re.compile(r"\son[a-z]+\s*=", re.IGNORECASE),
    "a script address": re.compile(r"javascript:", re.IGNORECASE),
    "an htmx handler": re.compile(r"hx-on"),
    "an htmx script value": re.compile(r"""["'{]\s*js:"""),
    "an htmx trigger filter": re.compile(r"""hx-trigger=["'][^"']*\["""),
    "text that is not escaped": re.compile(
        r"\{\{(?![^}|]*picture\w*\s*\|)[^}]*\|\s*safe\b|autoescape\s+false"
    ),
}


def name_of(path: Path) -> str:
    return "/".join(path.parts[-2:])


@pytest.mark.parametrize("what", FORBIDDEN)
@pytest.mark.parametrize("path", TEMPLATES, ids=name_of)
def test_a_template_has_nothing_the_policy_would_block(path: Path, what: str) -> None:
    found = FORBIDDEN[what].search(path.read_text(encoding="utf-8"))
    assert found is None, f"{name_of(path)} has {what}: {found.group()!r}"


@pytest.mark.parametrize("path", DRAWINGS, ids=name_of)
def test_a_drawing_writes_no_style_attribute(path: Path) -> None:
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        assert not re.search(r"\bstyle=[\"'\\]", line), f"{name_of(path)}:{number}"


@pytest.mark.parametrize("path", SCRIPTS, ids=name_of)
def test_a_script_writes_no_inline_style_and_runs_no_text(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    for banned in ("eval(", "new Function", "document.write", 'setAttribute("style"'):
        assert banned not in text, f"{name_of(path)} uses {banned}"


def test_words_in_a_drawing_are_escaped() -> None:
    sheet = Sheet(0, 0, 10, 10)
    sheet.text((1, 1), "<b>&")
    drawn = sheet.svg(title='"<i>')
    assert "&lt;b&gt;&amp;" in drawn
    assert "<i>" not in drawn


def test_the_rules_above_find_what_they_look_for() -> None:
    """The test of the test."""
    bad = {
        "an inline script": "<script>alert(1)</script>",
        "an inline style": '<p style="x">',
        "an event handler": '<p onclick="x">',
        "a script address": '<a href="JavaScript:x">',
        "an htmx handler": '<p hx-on:click="x">',
        "an htmx script value": "hx-vals='js:{a: 1}'",
        "an htmx trigger filter": 'hx-trigger="click[ctrlKey]"',
        "text that is not escaped": "{{ name | safe }}",
    }
    assert set(bad) == set(FORBIDDEN)
    for what, text in bad.items():
        assert FORBIDDEN[what].search(text), what
    good = '<script src="/static/js/a.js" type="module"></script><input name="one"> position=1'
    assert not any(rule.search(good) for rule in FORBIDDEN.values())


def test_styles_use_only_the_houses_own_properties() -> None:
    known = set()
    for path in STYLES:
        known |= set(re.findall(r"(--[a-z0-9-]+)\s*:", path.read_text(encoding="utf-8")))
    assert "--paper" in known
    for path in (*STYLES, *TEMPLATES):
        used = set(re.findall(r"var\((--[a-z0-9-]+)", path.read_text(encoding="utf-8")))
        assert used <= known, f"{name_of(path)}: {sorted(used - known)}"


def test_styles_load_nothing_from_outside() -> None:
    for path in STYLES:
        for address in re.findall(r"url\(([^)]*)\)", path.read_text(encoding="utf-8")):
            inside = address.strip("\"'")
            assert not inside.startswith(("http", "//")), f"{name_of(path)}: {inside}"
            assert (path.parent / inside).resolve().is_file(), f"{name_of(path)}: {inside}"


def test_every_static_file_a_template_names_is_there() -> None:
    static = house_folder("static")
    for path in TEMPLATES:
        for address in re.findall(r"static\('([^'~]+)'\)", path.read_text(encoding="utf-8")):
            assert (static / address).is_file(), f"{name_of(path)}: {address}"


def test_vendored_files_carry_their_licence() -> None:
    for folder in (house_folder("static") / "vendor").iterdir():
        names = {path.name for path in folder.iterdir()}
        assert {"LICENSE", "README.md"} <= names, folder.name
