"""One dataclass per template, and its fields are exactly the template's variables."""

import importlib
import pkgutil
from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import ClassVar

import pytest
from jinja2 import DictLoader, Environment, StrictUndefined, UndefinedError, meta, nodes

import server.web
from server.settings import house_folder
from server.web.display import Display
from server.web.pages.page import Page, environment, render

READER = "show"
"""Given by `render` to every template: how this reader wants numbers."""


def every_page() -> list[type[Page]]:
    for found in pkgutil.walk_packages(server.web.__path__, "server.web."):
        importlib.import_module(found.name)
    return sorted(_below(Page), key=lambda page: page.__qualname__)


def _below(page: type[Page]) -> Iterator[type[Page]]:
    for child in page.__subclasses__():
        if child.__module__.startswith("server."):
            yield child
        yield from _below(child)


def variables_of(name: str, house: Environment, seen: set[str]) -> set[str]:
    """What a template reads, with all it extends, includes and imports."""
    if name in seen:
        return set()
    seen.add(name)
    assert house.loader is not None
    source, _, _ = house.loader.get_source(house, name)
    tree = house.parse(source)
    found = set(meta.find_undeclared_variables(tree)) - own_names(tree)
    for other in meta.find_referenced_templates(tree):
        assert other is not None, f"{name} names a template only while it runs"
        found |= variables_of(other, house, seen)
    return found - set(house.globals) - {READER}


def own_names(tree: nodes.Template) -> set[str]:
    """What a template imports, defines or sets for itself; its blocks see it too."""
    own = {macro.name for macro in tree.find_all(nodes.Macro)}
    for imported in tree.find_all(nodes.FromImport):
        own |= {name if isinstance(name, str) else name[1] for name in imported.names}
    for given in tree.find_all(nodes.Assign):
        own |= {name.name for name in given.find_all(nodes.Name) if name.ctx == "store"}
    return own


PAGES = every_page()


def test_there_are_pages_to_look_at() -> None:
    assert len(PAGES) > 12


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.__name__)
def test_a_pages_fields_are_its_templates_variables(page: type[Page]) -> None:
    wanted = variables_of(page.template, environment(), set())
    assert {field.name for field in fields(page)} == wanted


def test_a_field_too_many_or_too_few_would_be_seen() -> None:
    """The test of the test."""
    house = Environment(
        loader=DictLoader(
            {
                "base.html": "{{ frame.title }}{% block main %}{% endblock %}",
                "part.html": "{{ thick }}",
                "macro.html": "{% macro m(a) %}{{ a }}{{ hidden }}{% endmacro %}",
                "page.html": "{% extends 'base.html' %}{% from 'macro.html' import m with context %}"
                "{% block main %}{{ m(1) }}{% include 'part.html' %}{{ show.x }}{% endblock %}",
            }
        ),
        autoescape=True,
    )
    assert variables_of("page.html", house, set()) == {"frame", "thick", "hidden"}


def test_every_template_belongs_to_a_page() -> None:
    house, reached = environment(), set[str]()
    for page in PAGES:
        variables_of(page.template, house, reached)
    folder = house_folder("templates")
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*.html")}
    assert there == reached


def test_no_two_pages_share_a_template() -> None:
    templates = [page.template for page in PAGES]
    assert len(templates) == len(set(templates))


def test_a_variable_that_is_not_there_is_our_bug_and_not_an_empty_place() -> None:
    assert environment().undefined is StrictUndefined

    @dataclass(frozen=True)
    class Half(Page):
        template: ClassVar[str] = "shared/_problem.html"
        remedy: str = "x"

    with pytest.raises(UndefinedError):
        render(Half(), Display())
