"""Pages about punches, dies and holders."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from markupsafe import Markup

from server.actions.tool import Tool, ToolKind
from server.drawings.tool import ToolWords, draw_tool, draw_tool_with_sizes
from server.errors import ShopError
from server.findings import Finding
from server.geometry.tool_outline import die_mouth
from server.mechanics.tool_check import (
    NO_RATING,
    check_die,
    check_holder,
    check_punch,
    check_rating,
)
from server.mechanics.tooling import Die, Outline, Punch
from server.web.display import Display
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.forms.outline import read_outline, read_pieces, read_points
from server.web.forms.tool import LENGTHS, MOST_RATING_KN_PER_M, outline_check
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.tool import DieSegment, PunchSegment


@dataclass(frozen=True, slots=True)
class ToolLine:
    """One tool in the list."""

    row: Tool
    drawing: Markup
    pieces_count: int
    pieces_mm: float


@dataclass(frozen=True)
class ToolList(Page):
    """Every tool of the shop."""

    template: ClassVar[str] = "tool/list.html"
    frame: Frame
    punches: tuple[ToolLine, ...]
    dies: tuple[ToolLine, ...]
    holders: tuple[ToolLine, ...]
    with_archived: bool
    history: History


@dataclass(frozen=True)
class ToolShape(Page):
    """The cross-section part of a tool's page: its numbers, its outline and the drawing."""

    template: ClassVar[str] = "tool/_shape.html"
    kind: ToolKind
    form: Form
    drawing: Markup
    findings: tuple[Finding, ...]
    starters_open: bool


@dataclass(frozen=True)
class ToolEdit(Page):
    """One tool, or a new one."""

    template: ClassVar[str] = "tool/edit.html"
    frame: Frame
    kind: ToolKind
    form: Form
    code: str
    archived: bool
    shape: ToolShape
    rating: tuple[Finding, ...]
    conflict: Conflict
    history: History


def tool_line(row: Tool, segments: "Iterable[PunchSegment | DieSegment]" = ()) -> ToolLine:
    """A tool as it stands in the list."""
    pieces = list(segments)
    return ToolLine(
        row=row,
        drawing=Markup(draw_tool(_points(row.profile_mm), title=f"Cross-section of {row.code}")),  # noqa: S704 - drawn by us
        pieces_count=sum(piece.pieces_count for piece in pieces),
        pieces_mm=sum(piece.length_mm * piece.pieces_count for piece in pieces),
    )


def tool_shape(
    form: Form, kind: ToolKind, show: Display, *, code: str = "", while_typing: bool = False
) -> ToolShape:
    """The cross-section part for what is typed; while typing, empty fields are no problem yet."""
    typed = form if not while_typing else Form(form.typed, form.unit)
    lengths = {name: typed.length_mm(name, above=False, needed=False) for name in LENGTHS[kind]}
    angle_deg = None if kind == "holder" else typed.number("angle_deg", least=10, most=170)
    rating = typed.amount("rating", "kn_per_m", most=MOST_RATING_KN_PER_M, needed=False)
    aside = Form(form.typed, form.unit)
    points = read_points(aside, "profile")
    outline = (
        read_outline(typed, "profile", outline_check(typed, kind))
        if points or not while_typing
        else ()
    )
    if while_typing:
        typed.problems = {
            name: problem
            for name, problem in typed.problems.items()
            if typed.typed.get(name, "").strip() or name == "profile"
        }
    segments = read_pieces(aside, "segments")
    lengths_mm = tuple(length for length, count in segments for _ in range(count))
    found: tuple[Finding, ...] = ()
    if outline and "profile" not in typed.problems:
        found = _findings(
            kind, code or "this tool", lengths, angle_deg, rating, tuple(outline), lengths_mm
        )
    return ToolShape(
        kind=kind,
        form=typed,
        drawing=_drawing(kind, tuple(outline), points, lengths, angle_deg, show),
        findings=tuple(finding for finding in found if finding.code != NO_RATING),
        starters_open=not points,
    )


def rating_findings(row: Tool, kind: ToolKind) -> tuple[Finding, ...]:
    """What is said loudest about a tool: that its rating is missing."""
    return tuple(check_rating(kind, row.code, row.rating_kn_per_m))


def _findings(
    kind: ToolKind,
    name: str,
    lengths: Mapping[str, float | None],
    angle_deg: float | None,
    rating: float | None,
    outline: Outline,
    segments_mm: tuple[float, ...],
) -> tuple[Finding, ...]:
    height_mm = lengths["height"]
    if not height_mm:
        return ()
    try:
        if kind == "holder":
            return check_holder(
                name=name, height_mm=height_mm, rating_kn_per_m=rating, profile_mm=outline
            )
        if angle_deg is None:
            return ()
        if kind == "punch":
            tip_mm = lengths["tip_radius"] or 0.0
            return check_punch(
                Punch(name, tip_mm, angle_deg, height_mm, rating, outline, segments_mm)
            )
        return check_die(
            Die(
                name,
                lengths["v_opening"] or 0.0,
                angle_deg,
                lengths["shoulder_radius"] or 0.0,
                height_mm,
                rating,
                lengths["v_depth"] or None,
                outline,
                segments_mm,
            )
        )
    except ShopError:
        return ()  # the form says which number is wrong


def _drawing(
    kind: ToolKind,
    outline: Outline,
    points: Outline,
    lengths: Mapping[str, float | None],
    angle_deg: float | None,
    show: Display,
) -> Markup:
    if not points:
        return Markup("")
    xs, ys = zip(*(outline or points), strict=True)
    mouth = die_mouth(outline) if kind == "die" and outline else (0.0, 0.0)
    tip = ""
    if kind == "punch" and angle_deg is not None and lengths["tip_radius"] is not None:
        tip = f"{angle_deg:g}° R{show.short(lengths['tip_radius'])}"
    words = ToolWords(
        height=show.short(max(ys) - min(ys)),
        width=show.short(max(xs) - min(xs)),
        mouth=show.length(mouth[1] - mouth[0]) if mouth[0] < mouth[1] else "",
        tip=tip,
    )
    return Markup(  # noqa: S704 - drawn by us
        draw_tool_with_sizes(
            outline or points,
            title=f"Cross-section of the {kind}",
            words=words,
            mouth=mouth,
            broken=not outline,
        )
    )


def _points(profile_mm: Iterable[Iterable[float]]) -> Outline:
    return tuple((x, y) for x, y in profile_mm)
