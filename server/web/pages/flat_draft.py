"""The drawing board of a flat part."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from server.actions.work_out_flat import WorkedFlat
from server.drawings.fold import fold_data
from server.findings import Reason
from server.mechanics.bump_bend import facet_error
from server.planning.blank import WAY_WORDS, BendKey, BlankBend
from server.planning.drawn_flat import (
    FLAT_STARTERS,
    BracketSizes,
    DrawnFlat,
    FlatForm,
    PanelSizes,
    Pattern,
    SteppedSizes,
)
from server.planning.flat_blank import reasons_of_flat
from server.web.display import Display
from server.web.forms.form import Form
from server.web.pages.draft import die_choices
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Material
    from server.storage.tables.part import Draft


@dataclass(frozen=True)
class BendKind:
    """Bends of one angle made one way: which they are, and what each takes.

    `pitch_mm` and `facet_mm` are of a bumped curve: from hit to hit on the flat, and how far the
    facets lie off the arc.
    """

    numbers: tuple[int, ...]
    reason: Reason
    angle_deg: float
    made: str
    deduction_mm: float
    hit_count: int = 1
    pitch_mm: float = 0.0
    facet_mm: float = 0.0


@dataclass(frozen=True)
class FlatResult(Page):
    """What a flat drawing comes to: blank, folded size, weight, tools, what speaks against it."""

    template: ClassVar[str] = "flat_draft/_result.html"
    worked: WorkedFlat
    kinds: tuple[BendKind, ...]


@dataclass(frozen=True)
class FlatBoard(Page):
    """The drawing with its fields; swapped whole after every change."""

    template: ClassVar[str] = "flat_draft/_board.html"
    draft_id: int
    version: int
    form: Form
    shape: str
    row_count: int
    cut_kinds: tuple[str, ...]
    bend_numbers: dict[int, str]
    picture: str
    fold: str
    can_undo: bool
    can_redo: bool
    starters: tuple[str, ...]
    materials: "list[Material]"
    punches: tuple[str, ...]
    dies: tuple[tuple[str, str], ...]
    result: FlatResult | None


@dataclass(frozen=True)
class FlatDraftPage(Page):
    """The drawing board of a flat part."""

    template: ClassVar[str] = "flat_draft/edit.html"
    frame: Frame
    board: FlatBoard


def flat_board(
    draft: "Draft",
    form: Form,
    flat: DrawnFlat,
    worked: WorkedFlat | None,
    *,
    materials: "list[Material]",
    punches: tuple[str, ...],
    picture: str,
    show: Display,
) -> FlatBoard:
    """The board for a draft; `worked` is None while the shape cannot be worked out."""
    return FlatBoard(
        draft_id=draft.id or 0,
        version=draft.version,
        form=form,
        shape=shape_of(flat.form),
        row_count=_row_count(flat.form),
        cut_kinds=tuple(cut.kind for cut in flat.cutouts),
        bend_numbers=_bends_of_lines(worked) if worked else {},
        picture=picture,
        fold=fold_data(worked.blank.zoned.part) if worked else "",
        can_undo=draft.place_count > 0,
        can_redo=draft.place_count + 1 < len(draft.snapshots),
        starters=tuple(FLAT_STARTERS),
        materials=materials,
        punches=punches,
        dies=die_choices(worked.ranked_dies, show) if worked else (),
        result=flat_result(worked) if worked else None,
    )


def flat_result(worked: WorkedFlat) -> FlatResult:
    """What a worked-out flat part comes to."""
    reasons = reasons_of_flat(
        blank=worked.blank, thickness_mm=worked.part.thickness_mm, k=worked.k, die=worked.die
    )
    numbers: dict[BendKey, list[int]] = {}
    for index, bend in enumerate(worked.blank.bends):
        numbers.setdefault(bend.key, []).append(index + 1)
    return FlatResult(
        worked=worked,
        kinds=tuple(
            _kind(tuple(bends), reason, worked.blank.bends[bends[0] - 1])
            for bends, reason in zip(numbers.values(), reasons, strict=True)
        ),
    )


def _kind(numbers: tuple[int, ...], reason: Reason, bend: BlankBend) -> BendKind:
    angle_deg = abs(bend.signed_angle_deg)
    kind = BendKind(
        numbers,
        reason,
        angle_deg,
        "" if bend.way == "air" else WAY_WORDS[bend.way],
        bend.use.bend_deduction_mm,
        bend.hit_count,
    )
    if bend.way != "bump":
        return kind
    step_deg = angle_deg / bend.hit_count
    return replace(
        kind,
        pitch_mm=bend.use.bend_allowance_mm / bend.hit_count,
        facet_mm=facet_error(step_deg=step_deg, inside_radius_mm=bend.inside_radius_mm),
    )


def shape_of(form: FlatForm) -> str:
    """Which fields a drawing has."""
    match form:
        case PanelSizes():
            return "panel"
        case BracketSizes():
            return "bracket"
        case SteppedSizes():
            return "stepped"
        case Pattern():
            return "pattern"


def _row_count(form: FlatForm) -> int:
    match form:
        case BracketSizes():
            return len(form.tabs)
        case SteppedSizes():
            return len(form.steps)
        case Pattern():
            return len(form.lines)
        case _:
            return 0


def _bends_of_lines(worked: WorkedFlat) -> dict[int, str]:
    """The bends each drawn line became, where a line is more than the bend of its own number."""
    found: dict[int, list[int]] = {}
    for bend, line in enumerate(worked.blank.line_of_bend, 1):
        found.setdefault(line + 1, []).append(bend)
    return {line: ", ".join(map(str, bends)) for line, bends in found.items()}
