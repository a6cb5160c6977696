"""The page of the shop's own choices."""

from dataclasses import dataclass
from typing import ClassVar

from server.settings import ShopSettings
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.history import History
from server.web.pages.page import Frame, Page


@dataclass(frozen=True)
class SettingEdit(Page):
    """The shop's choices, each beside what it was at first."""

    template: ClassVar[str] = "setting/edit.html"
    frame: Frame
    form: Form
    usual: ShopSettings
    units: tuple[tuple[str, str], ...]
    conflict: Conflict
    history: History
