"""The first-article sheet: as it stands, and as it was signed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from server.actions.first_article import ArticleLine
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.first_article import FirstArticle
    from server.storage.tables.job import Run


@dataclass(frozen=True)
class FirstArticleLines(Page):
    """Wanted against measured, bend for bend; the panel that asks whether the part is right."""

    template: ClassVar[str] = "first_article/_lines.html"
    lines: Sequence[ArticleLine | Mapping[str, Any]]
    verdict: str


@dataclass(frozen=True)
class FirstArticleShow(Page):
    """A run's first article: what is measured now, and the sheets signed so far."""

    template: ClassVar[str] = "first_article/show.html"
    frame: Frame
    run: "Run"
    table: FirstArticleLines
    sheets: "Sequence[FirstArticle]"
    waits: bool


@dataclass(frozen=True)
class FirstArticleSheet(Page):
    """One signed sheet, to be printed."""

    template: ClassVar[str] = "first_article/sheet.html"
    frame: Frame
    sheet: "FirstArticle"
    table: FirstArticleLines
