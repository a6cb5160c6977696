"""What is typed about a brake. The control's own numbers are typed in the control's own unit."""

from dataclasses import replace
from typing import TYPE_CHECKING

from server.actions.brake import BrakeValues
from server.errors import ShopError
from server.geometry.tool_outline import checked_bed_outline
from server.mechanics.control_reading import RamScale
from server.units.length import LengthUnit
from server.web.display import Display
from server.web.forms.form import Form, Problem
from server.web.forms.outline import read_outline, typed_points

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake as BrakeRow

UNIT_CHOICES = (("mm", "millimetres"), ("in", "inches"))
SENSE_CHOICES = (("1", "a greater Y is deeper"), ("-1", "a smaller Y is deeper"))
TOUCH_OFF_CHOICES = (
    ("", "not recorded"),
    ("die", "on the die, over a bar"),
    ("sheet", "on the job's sheet"),
)
LENGTHS = (
    "bed_length", "frame_distance", "opening", "stroke", "throat", "mute_opening",
    "finger_low", "finger_high", "finger_width", "touch_off_tip", "touch_off_tool_height",
)  # fmt: skip
CONTROL_LENGTHS = (
    "x_least", "x_most", "x_resolution", "y_least", "y_most", "y_resolution", "touch_off_reading",
)  # fmt: skip
COUNTS = ("program_count", "steps_per_program_count", "finger_count")


def control_form(form: Form) -> Form:
    """The same form read in the unit its control fields were shown in; problems are shared."""
    shown = form.typed.get("control_typed_in", form.typed.get("control_unit", "mm"))
    unit: LengthUnit = "in" if shown == "in" else "mm"
    return replace(form, unit=unit)


def read_brake(form: Form) -> BrakeValues:
    """The values of a brake's form; look at `form.ok` before using them."""
    control = control_form(form)
    low_mm = form.need_length_mm("finger_low", least_mm=-500, most_mm=500, above=False)
    high_mm = form.need_length_mm("finger_high", least_mm=-500, most_mm=1000, above=False)
    if form.ok and high_mm <= low_mm:
        form.trouble("finger_high", "The face ends below its start.", "Correct one of the two.")
    touch_off = form.choice("touch_off_on", ("", "die", "sheet"), "") or None
    values = BrakeValues(
        name=form.text("name", needed=True, most=80),
        max_force_kn=form.need_amount("max_force", "kn", most=100_000),
        bed_length_mm=form.need_length_mm("bed_length"),
        frame_distance_mm=form.need_length_mm("frame_distance"),
        opening_mm=form.need_length_mm("opening", most_mm=5000),
        stroke_mm=form.need_length_mm("stroke", most_mm=5000),
        throat_mm=form.length_mm("throat", most_mm=5000, above=False, needed=False) or 0.0,
        max_line_load_kn_per_m=form.amount("line_load", "kn_per_m", most=50_000, needed=False),
        off_centre_ratio=form.need_number("off_centre_percent", least=0, most=100) / 100,
        bending_speed_mm_per_s=form.need_amount("bending_speed", "mm_per_s", most=200),
        approach_speed_mm_per_s=form.need_amount("approach_speed", "mm_per_s", most=1000),
        mute_opening_mm=form.length_mm("mute_opening", most_mm=100, needed=False),
        holder_code=form.text("holder_code", most=40) or None,
        bed_mm=read_outline(form, "bed", checked_bed_outline),
        control_unit=form.choice("control_unit", ("mm", "in")),
        x_least_mm=_reading(control, "x_least"),
        x_most_mm=_reading(control, "x_most"),
        x_resolution_mm=control.need_length_mm("x_resolution", most_mm=10),
        y_least_mm=_reading(control, "y_least"),
        y_most_mm=_reading(control, "y_most"),
        y_resolution_mm=control.need_length_mm("y_resolution", most_mm=10),
        y_sense=int(form.choice("y_sense", ("1", "-1"))),
        program_count=form.whole("program_count", least=1, most=100_000),
        steps_per_program_count=form.whole("steps_per_program_count", least=1, most=10_000),
        finger_low_mm=low_mm,
        finger_high_mm=high_mm,
        finger_width_mm=form.need_length_mm("finger_width", most_mm=1000),
        finger_count=form.whole("finger_count", least=1, most=20),
        touch_off_on=touch_off,
        touch_off_reading_mm=_reading(control, "touch_off_reading") if touch_off else None,
        touch_off_tip_mm=(
            form.need_length_mm("touch_off_tip", most_mm=999, above=False) if touch_off else None
        ),
        touch_off_tool_height_mm=(
            form.need_length_mm("touch_off_tool_height", most_mm=5000, above=False)
            if touch_off
            else None
        ),
        ram_scale=_ram_scale(form),
        note=form.text("note", most=500),
    )
    _need_range(form, "x", values.x_least_mm, values.x_most_mm, values.x_resolution_mm)
    _need_range(form, "y", values.y_least_mm, values.y_most_mm, values.y_resolution_mm)
    return values


def in_control_unit(form: Form) -> Form:
    """The form with its control fields written in the unit that is chosen now."""
    control = control_form(form)
    chosen: LengthUnit = "in" if form.typed.get("control_unit") == "in" else "mm"
    if chosen == control.unit:
        return form
    show = Display(unit=chosen)
    typed = dict(form.typed)
    aside = Form(form.typed, control.unit)
    for name in CONTROL_LENGTHS:
        value = aside.length_mm(name, least_mm=-1e6, most_mm=1e6, above=False, needed=False)
        if value is not None:
            typed[name] = show.typed(value)
    return Form({**typed, "control_typed_in": chosen}, form.unit)


def typed_of_brake(row: "BrakeRow", show: Display) -> dict[str, str]:
    """A brake's values as they stand in its form."""
    values = row.model_dump()
    control = Display(unit="in" if row.control_unit == "in" else "mm")
    scale = row.ram_scale or []
    typed = {
        "version": str(row.version),
        "name": row.name,
        "note": row.note,
        "max_force": show.typed_amount(row.max_force_kn, "kn"),
        "line_load": show.typed_amount(row.max_line_load_kn_per_m, "kn_per_m"),
        "off_centre_percent": f"{row.off_centre_ratio * 100:g}",
        "bending_speed": show.typed_amount(row.bending_speed_mm_per_s, "mm_per_s"),
        "approach_speed": show.typed_amount(row.approach_speed_mm_per_s, "mm_per_s"),
        "holder_code": row.holder_code or "",
        "bed": typed_points(row.bed_mm, show),
        "control_unit": row.control_unit,
        "control_typed_in": row.control_unit,
        "y_sense": str(row.y_sense),
        "touch_off_on": row.touch_off_on or "",
        **{name: show.typed(values[f"{name}_mm"]) for name in LENGTHS},
        **{name: control.typed(values[f"{name}_mm"]) for name in CONTROL_LENGTHS},
        **{name: str(values[name]) for name in COUNTS},
    }
    for count, (height_mm, reading) in enumerate(scale, start=1):
        typed |= {f"scale_height_{count}": show.typed(height_mm)}
        typed |= {f"scale_reading_{count}": f"{reading:g}"}
    return typed


def _reading(control: Form, name: str) -> float:
    return control.need_length_mm(name, least_mm=-100_000, most_mm=100_000, above=False)


def _need_range(
    form: Form, axis: str, least_mm: float, most_mm: float, resolution_mm: float
) -> None:
    if f"{axis}_least" in form.problems or f"{axis}_most" in form.problems:
        return
    if most_mm <= least_mm:
        form.trouble(f"{axis}_most", "The most is not above the least.", "Correct one of the two.")
    elif resolution_mm >= most_mm - least_mm:
        form.trouble(f"{axis}_resolution", "One step is more than the travel.", "Correct it.")


def _ram_scale(form: Form) -> tuple[tuple[float, float], ...] | None:
    names = ("scale_height_1", "scale_reading_1", "scale_height_2", "scale_reading_2")
    typed = [name for name in names if form.typed.get(name, "").strip()]
    if not typed:
        return None
    if len(typed) < len(names):
        for name in names:
            if name not in typed:
                form.trouble(name, "One of the two readings is not whole.", "Fill in all four.")
        return None
    points = tuple(
        (
            form.need_length_mm(f"scale_height_{count}", most_mm=5000, above=False),
            form.need_number(f"scale_reading_{count}", least=-1e6, most=1e6),
        )
        for count in (1, 2)
    )
    try:
        RamScale(*points[0], *points[1])
    except ShopError as trouble:
        form.problems.setdefault("scale_reading_2", Problem.of(trouble))
    return points
