"""Pages about materials."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Lot, Material


@dataclass(frozen=True)
class MaterialList(Page):
    """All materials."""

    template: ClassVar[str] = "material/list.html"
    frame: Frame
    materials: "list[Material]"
    with_archived: bool
    history: History


@dataclass(frozen=True)
class MaterialEdit(Page):
    """One material's values, or a new material's."""

    template: ClassVar[str] = "material/edit.html"
    frame: Frame
    form: Form
    code: str
    archived: bool
    families: tuple[tuple[str, str], ...]
    lots: "list[Lot]"
    conflict: Conflict
    history: History
