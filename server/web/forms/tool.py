"""What is typed about a punch, a die or a holder."""

from collections.abc import Callable, Mapping

from server.actions.tool import (
    DieValues,
    HolderValues,
    Outline,
    Pieces,
    PunchValues,
    Tool,
    ToolKind,
    ToolValues,
)
from server.geometry.tool_outline import (
    checked_die_outline,
    checked_holder_outline,
    checked_pressing_outline,
    checked_punch_outline,
    goose_neck_punch_outline,
    straight_punch_outline,
    v_die_outline,
)
from server.web.display import Display
from server.web.forms.form import Form
from server.web.forms.outline import (
    Check,
    read_outline,
    read_pieces,
    typed_pieces,
    typed_points,
)

CHECKS: Mapping[ToolKind, Check] = {
    "punch": checked_punch_outline,
    "die": checked_die_outline,
    "holder": checked_holder_outline,
}
LENGTHS: Mapping[ToolKind, tuple[str, ...]] = {
    "punch": ("tip_radius", "height"),
    "die": ("v_opening", "shoulder_radius", "height", "v_depth"),
    "holder": ("height",),
}
STARTER_MM: Mapping[ToolKind, Mapping[str, float]] = {
    "punch": {"body_width": 26, "relief": 9, "neck": 25, "nose_width": 12, "top_width": 32},
    "die": {"block_width": 40},
    "holder": {"block_width": 60},
}
"""What the starters suggest until the person types something else: our own round numbers."""
MOST_RATING_KN_PER_M = 20_000.0
PURPOSES = ("bend", "flatten", "offset")


def read_tool(form: Form, kind: ToolKind) -> ToolValues:
    """The values of a tool's form; look at `form.ok` before using them."""
    name = form.text("name", needed=True, most=80)
    rating = form.amount("rating", "kn_per_m", most=MOST_RATING_KN_PER_M, needed=False)
    height_mm = form.need_length_mm("height", most_mm=2000)
    outline = read_outline(form, "profile", outline_check(form, kind))
    if kind == "holder":
        return HolderValues(name, height_mm, rating, outline)
    angle_deg = form.need_number("angle_deg", least=10, most=170)
    pieces = read_pieces(form, "segments")
    note = form.text("note", most=500)
    purpose = form.choice("purpose", PURPOSES, "bend") if form.typed.get("purpose") else "bend"
    if kind == "punch":
        tip_mm = form.need_length_mm("tip_radius", most_mm=500, above=False)
        return PunchValues(
            name, tip_mm, angle_deg, height_mm, rating, outline, pieces, note, purpose
        )
    return DieValues(
        name=name,
        block_code=form.code("block_code", needed=False),
        v_opening_mm=form.need_length_mm("v_opening", most_mm=1000),
        angle_deg=angle_deg,
        shoulder_radius_mm=form.need_length_mm("shoulder_radius", most_mm=200, above=False),
        height_mm=height_mm,
        rating_kn_per_m=rating,
        v_depth_mm=form.length_mm("v_depth", most_mm=1000, needed=False),
        profile_mm=outline,
        segments=pieces,
        note=note,
        purpose=purpose,
    )


def outline_check(form: Form, kind: ToolKind) -> Check:
    """What an outline has to be: only a die to bend in has a V."""
    presses = kind == "die" and form.typed.get("purpose", "bend") != "bend"
    return checked_pressing_outline if presses else CHECKS[kind]


def fill_outline(form: Form, kind: ToolKind, starter: str, show: Display) -> Form:
    """The form with its outline drawn from the typed numbers; problems beside their fields."""
    draw = _starter(form, kind, starter)
    outline = form.work_out(draw) if form.ok else None
    if outline is None:
        return form
    typed = {**form.typed, "profile": typed_points(outline, show)}
    return Form(typed, form.unit)


def _starter(form: Form, kind: ToolKind, starter: str) -> Callable[[], Outline]:
    height_mm = form.need_length_mm("height", most_mm=2000)
    if kind == "holder":
        half_mm = form.need_length_mm("block_width", most_mm=2000) / 2
        block = ((-half_mm, 0.0), (half_mm, 0.0), (half_mm, height_mm), (-half_mm, height_mm))
        return lambda: block
    angle_deg = form.need_number("angle_deg", least=10, most=170)
    if kind == "die":
        v_opening_mm = form.need_length_mm("v_opening", most_mm=1000)
        shoulder_mm = form.need_length_mm("shoulder_radius", most_mm=200, above=False)
        block_mm = form.need_length_mm("block_width", most_mm=2000)
        v_depth_mm = form.length_mm("v_depth", most_mm=1000, needed=False)
        return lambda: v_die_outline(
            v_opening_mm=v_opening_mm,
            angle_deg=angle_deg,
            shoulder_radius_mm=shoulder_mm,
            height_mm=height_mm,
            block_width_mm=block_mm,
            v_depth_mm=v_depth_mm,
        )
    tip_mm = form.need_length_mm("tip_radius", most_mm=500, above=False)
    if starter == "straight":
        body_mm = form.need_length_mm("body_width", most_mm=2000)
        return lambda: straight_punch_outline(
            tip_radius_mm=tip_mm, angle_deg=angle_deg, height_mm=height_mm, body_width_mm=body_mm
        )
    relief_mm = form.need_length_mm("relief", most_mm=2000, above=False)
    neck_mm = form.need_length_mm("neck", most_mm=2000)
    nose_mm = form.need_length_mm("nose_width", most_mm=2000)
    top_mm = form.need_length_mm("top_width", most_mm=2000)
    return lambda: goose_neck_punch_outline(
        tip_radius_mm=tip_mm,
        angle_deg=angle_deg,
        height_mm=height_mm,
        relief_mm=relief_mm,
        neck_mm=neck_mm,
        nose_width_mm=nose_mm,
        top_width_mm=top_mm,
    )


def typed_of_new_tool(kind: ToolKind, show: Display) -> dict[str, str]:
    """An empty form with what the starters suggest."""
    suggested = {name: show.typed(length) for name, length in STARTER_MM[kind].items()}
    return suggested if kind == "holder" else {**suggested, "angle_deg": "86"}


def typed_of_tool(row: Tool, kind: ToolKind, pieces: Pieces, show: Display) -> dict[str, str]:
    """A tool's values as they stand in its form."""
    values = row.model_dump()
    typed = {
        "name": row.name,
        "version": str(row.version),
        "rating": show.typed_amount(row.rating_kn_per_m, "kn_per_m"),
        "profile": typed_points(row.profile_mm, show),
        **{name: show.typed(values[f"{name}_mm"]) for name in LENGTHS[kind]},
    }
    if kind != "holder":
        typed |= {
            "angle_deg": f"{values['angle_deg']:g}",
            "note": values["note"],
            "purpose": values["purpose"],
            "segments": typed_pieces(pieces, show),
        }
    if kind == "die":
        typed["block_code"] = values["block_code"]
    widths = [x for x, _ in row.profile_mm]
    suggested = {name: show.typed(length) for name, length in STARTER_MM[kind].items()}
    if "block_width" in suggested and widths:
        suggested["block_width"] = show.typed(max(widths) - min(widths))
    return {**suggested, **typed}
