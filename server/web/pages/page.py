"""What a page is: one dataclass for each template, its fields the template's only variables."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Any, ClassVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from server.settings import house_folder
from server.web.display import Display, day, moment, short_day


@dataclass(frozen=True)
class Page:
    """A template with its variables. A field may itself be a page: `{{ render(field) }}`."""

    template: ClassVar[str]

    def variables(self) -> dict[str, Any]:
        """The template's variables."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


@dataclass(frozen=True)
class Frame:
    """What every full page shows around its content."""

    title: str
    place: str
    shop_name: str
    person: str
    path: str
    side: str = "office"
    styles: tuple[str, ...] = ()
    scripts: tuple[str, ...] = ()
    notice: str = ""
    brake: str = "/brake"
    practice: bool = False
    secure: bool = False


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, strict: a variable that is not there is our bug, not an empty string."""
    made = Environment(
        loader=FileSystemLoader(house_folder("templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(
        render=_render_inner, static=static_address, day=day, short_day=short_day, moment=moment
    )
    return made


def render(page: Page, show: Display) -> str:
    """A page or fragment as HTML, with numbers as this reader wants them."""
    return environment().get_template(page.template).render(page.variables(), show=show)


@pass_context
def _render_inner(context: Context, page: Page) -> Markup:
    return Markup(render(page, context["show"]))  # noqa: S704 - rendered by our own template


@lru_cache(maxsize=256)
def static_address(path: str) -> str:
    """The address of a static file, with a mark that changes with its content."""
    content = (house_folder("static") / path).read_bytes()
    return f"/static/{path}?v={hashlib.sha256(content).hexdigest()[:10]}"


def template_files() -> Iterator[Path]:
    """Every template of the house."""
    yield from house_folder("templates").rglob("*.html")
