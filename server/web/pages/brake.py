"""Pages about the shop's brakes."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from markupsafe import Markup

from server.drawings.brake import draw_brake_front, draw_finger, draw_y_sense
from server.findings import Finding
from server.mechanics.brake_load import SHORT_TOOL_RATIO
from server.web.display import Display
from server.web.forms.brake import control_form
from server.web.forms.conflict import Conflict
from server.web.forms.form import Form
from server.web.pages.history import History
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.brake import Brake

EXAMPLE_DEPTH_MM = 6.0


@dataclass(frozen=True)
class BrakeList(Page):
    """Every brake of the shop."""

    template: ClassVar[str] = "brake/list.html"
    frame: Frame
    brakes: "list[Brake]"
    with_archived: bool
    history: History


@dataclass(frozen=True, slots=True)
class UsualLoad:
    """The most line load a brake bears when its manual gives none, and where it comes from."""

    line_load_kn_per_m: float
    least_length_mm: float
    in_force: bool


@dataclass(frozen=True)
class BrakePlate(Page):
    """What follows from the plate while it is typed: the front view and the line load."""

    template: ClassVar[str] = "brake/_plate.html"
    drawing: Markup
    usual_load: UsualLoad | None


@dataclass(frozen=True)
class BrakeControl(Page):
    """The control's numbers in its own unit, with small drawings of Y and of a finger."""

    template: ClassVar[str] = "brake/_control.html"
    form: Form
    unit_choices: tuple[tuple[str, str], ...]
    sense_choices: tuple[tuple[str, str], ...]
    y_sense: Markup
    finger: Markup


@dataclass(frozen=True)
class BrakeEdit(Page):
    """One brake, or a new one."""

    template: ClassVar[str] = "brake/edit.html"
    frame: Frame
    form: Form
    code: str
    archived: bool
    plate: BrakePlate
    control: BrakeControl
    holders: tuple[tuple[str, str], ...]
    touch_off_choices: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]
    conflict: Conflict
    history: History


def brake_plate(form: Form, show: Display) -> BrakePlate:
    """The front view and the line load for what is typed; half typed, as much as there is."""
    aside = Form(form.typed, form.unit)
    bed = aside.length_mm("bed_length", needed=False)
    frames = aside.length_mm("frame_distance", needed=False)
    opening = aside.length_mm("opening", needed=False)
    force = aside.amount("max_force", "kn", most=100_000, needed=False)
    own = aside.amount("line_load", "kn_per_m", most=50_000, needed=False)
    usual = None
    if force and frames:
        least_mm = SHORT_TOOL_RATIO * frames
        usual = UsualLoad(force / (least_mm / 1000), least_mm, in_force=own is None)
    drawing = ""
    if bed and frames and opening:
        words = (show.short(bed), show.short(frames), show.short(opening))
        drawing = draw_brake_front(
            bed_length_mm=bed, frame_distance_mm=frames, opening_mm=opening, words=words
        )
    return BrakePlate(drawing=Markup(drawing), usual_load=usual)  # noqa: S704 - drawn by us


def brake_control(
    form: Form,
    show: Display,
    *,
    unit_choices: tuple[tuple[str, str], ...],
    sense_choices: tuple[tuple[str, str], ...],
) -> BrakeControl:
    """The control's part of the page for what is typed."""
    sense = -1 if form.typed.get("y_sense") == "-1" else 1
    control = Display(unit=control_form(form).unit)
    aside = Form(form.typed, form.unit)
    low = aside.length_mm("finger_low", least_mm=-500, above=False, needed=False)
    high = aside.length_mm("finger_high", least_mm=-500, above=False, needed=False)
    finger = ""
    if low is not None and high is not None and high > low:
        words = (f"R {show.short(low)}", f"R {show.short(high)}")
        finger = draw_finger(low_mm=low, high_mm=high, words=words)
    from_mm, to_mm = 100.0, 100.0 + sense * EXAMPLE_DEPTH_MM
    readings = (f"Y {control.bare(from_mm)}", f"Y {control.bare(to_mm)}")
    return BrakeControl(
        form=form,
        unit_choices=unit_choices,
        sense_choices=sense_choices,
        y_sense=Markup(draw_y_sense(y_sense=sense, readings=readings)),  # noqa: S704 - drawn by us
        finger=Markup(finger),  # noqa: S704 - drawn by us
    )
