"""The cut list's page."""

from dataclasses import dataclass
from typing import ClassVar

from server.shop.recut import CutLine
from server.web.pages.page import Frame, Page


@dataclass(frozen=True)
class CutList(Page):
    """What has to be cut now."""

    template: ClassVar[str] = "cut/list.html"
    frame: Frame
    lines: tuple[CutLine, ...]
