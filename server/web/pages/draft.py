"""The drawing board's page."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.work_out import WorkedOut
from server.errors import Amount
from server.findings import Reason
from server.mechanics.v_opening import RankedDie
from server.planning.blank import reasons_of_blank
from server.planning.drawn_part import STARTERS
from server.web.display import Display
from server.web.forms.form import Form
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Material
    from server.storage.tables.part import Draft


@dataclass(frozen=True)
class DraftResult(Page):
    """What a drawing comes to: flat, deductions, weight, tools, and what speaks against it."""

    template: ClassVar[str] = "draft/_result.html"
    worked: WorkedOut
    reasons: tuple[Reason, ...]


@dataclass(frozen=True)
class DraftBoard(Page):
    """The drawing with its fields; swapped whole after every change."""

    template: ClassVar[str] = "draft/_board.html"
    draft_id: int
    version: int
    form: Form
    picture: str
    legs_mm: tuple[float, ...]
    bend_count: int
    can_undo: bool
    can_redo: bool
    starters: tuple[str, ...]
    materials: "list[Material]"
    punches: tuple[str, ...]
    dies: tuple[tuple[str, str], ...]
    result: DraftResult | None


@dataclass(frozen=True)
class DraftPage(Page):
    """The drawing board."""

    template: ClassVar[str] = "draft/edit.html"
    frame: Frame
    board: DraftBoard


def draft_path(draft: "Draft") -> str:
    """Where a drawing's board is."""
    board = "flat-draft" if draft.kind == "flat" else "draft"
    return f"/office/{board}/{draft.id}"


def board_of(
    draft: "Draft",
    form: Form,
    worked: WorkedOut | None,
    *,
    materials: "list[Material]",
    punches: tuple[str, ...],
    picture: str,
    show: Display,
) -> DraftBoard:
    """The board for a draft; `worked` is None while the shape cannot be worked out."""
    return DraftBoard(
        draft_id=draft.id or 0,
        version=draft.version,
        form=form,
        picture=picture,
        legs_mm=tuple(draft.snapshots[draft.place_count]["legs_mm"]),
        bend_count=len(draft.snapshots[draft.place_count]["bends"]),
        can_undo=draft.place_count > 0,
        can_redo=draft.place_count + 1 < len(draft.snapshots),
        starters=tuple(STARTERS),
        materials=materials,
        punches=punches,
        dies=die_choices(worked.ranked_dies, show) if worked else (),
        result=result_of(worked) if worked else None,
    )


def result_of(worked: WorkedOut) -> DraftResult:
    """What a worked-out drawing comes to."""
    return DraftResult(
        worked=worked,
        reasons=reasons_of_blank(
            blank=worked.blank,
            thickness_mm=worked.part.thickness_mm,
            k=worked.k,
            die=worked.die,
        ),
    )


def die_choices(ranked_dies: Sequence[RankedDie], show: Display) -> tuple[tuple[str, str], ...]:
    """The dies to choose from, best first, each with why it is not the best."""
    choices = []
    for place, ranked in enumerate(ranked_dies):
        if place == 0 and ranked.possible:
            words = f"{ranked.die.name}, recommended"
        else:
            words = f"{ranked.die.name}: {show.sentence(ranked.reason)}"
        choices.append((ranked.die.name, words))
    return tuple(choices)


def leg_words(worked: WorkedOut, show: Display) -> list[str]:
    """The dimension beside each leg, as it was given."""
    return [show.typed(leg_mm) for leg_mm in worked.part.profile.legs_mm]


def bend_words(worked: WorkedOut) -> list[str]:
    """The angle beside each bend."""
    return [
        Display().amount(Amount(abs(bend.bend_angle_deg), "deg")).replace(".0", "")
        for bend in worked.part.profile.bends
    ]
