"""Why each number of a step is what it is."""

from server.errors import Amount, Sentence, say
from server.findings import Given, Reason
from server.mechanics.ram_depth import (
    MODEL_ERROR_DEPTH_LEAST_RATIO,
    ram_depth_per_degree,
    shoulder_centre,
)
from server.mechanics.springback import MODEL_ERROR_LEAST_RATIO, MODEL_ERROR_MOST_RATIO
from server.mechanics.tooling import Die, YSense
from server.planning.plan_task import PlanTask
from server.planning.sequence import PlanStep
from server.planning.stroke import Stroke

TRY_IT = "A trial on the job's own sheet is worth more than any model."


def reasons_of_step(task: PlanTask, step: PlanStep, stroke: Stroke) -> tuple[Reason, ...]:
    """Reasons of X, depth, angle under load and force; Y's belongs to a set-up (`y_reason`)."""
    found = [_x_reason(task, step)]
    if stroke.depth_mm is not None:
        found += [_depth_reason(task, stroke), _angle_reason(task, stroke)]
    return (*found, _force_reason(task, stroke))


def depth_slope(task: PlanTask, stroke: Stroke) -> float:
    """Depth for one degree of bend angle under load at the end of the stroke [mm_per_deg]."""
    return ram_depth_per_degree(
        loaded_bend_angle_deg=stroke.loaded_deg,
        shoulder_centre_mm=_shoulder_centre(stroke.die),
        roll_radius_mm=_roll_radius(task, stroke),
    )


def y_reason(
    *,
    y_mm: float,
    y_exact_mm: float,
    touch_off_on: str,
    reading_mm: float,
    tip_mm: float,
    thickness_mm: float,
    depth_mm: float,
    correction_mm: float,
    y_sense: YSense,
    checked: bool,
    resolution_mm: float,
) -> Reason:
    """Why the control's Y is what it is on one set-up."""
    sign = "+" if y_sense == 1 else "−"
    on_sheet = touch_off_on == "sheet"
    sure: Sentence = (
        say("The touch-off was checked on this set-up. {try_it}", try_it=TRY_IT)
        if checked
        else say("The touch-off is predicted from tool heights: check it before the first bend.")
    )
    return Reason(
        number="Y",
        result=Amount(y_mm, "mm"),
        rule="touch-off on the job's own sheet: the travel is kept"
        if on_sheet
        else "touch-off on the die: the position is kept",
        formula=f"Y = Y₀ {sign} D" if on_sheet else f"Y = Y₀ {sign} (h − t + D)",
        given=(
            Given("Y₀", "reading at touch-off", Amount(reading_mm, "mm")),
            *(() if on_sheet else (Given("h", "tip height then", Amount(tip_mm, "mm")),)),
            Given("t", "thickness", Amount(thickness_mm, "mm")),
            Given("D", "depth from first touch", Amount(depth_mm, "mm")),
            *(
                (Given("+", "correction from trials", Amount(correction_mm, "mm")),)
                if correction_mm
                else ()
            ),
            Given("exact", "before rounding", Amount(y_exact_mm, "mm")),
            Given("step", "rounded shallower to", Amount(resolution_mm, "mm")),
        ),
        source="definition of the touch-off",
        sure=sure,
    )


def _x_reason(task: PlanTask, step: PlanStep) -> Reason:
    contact = step.contact
    what = "free edge" if contact.kind == "edge" else "upright flange"
    return Reason(
        number="X",
        result=Amount(step.target.x_mm, "mm"),
        rule=f"die centre line to the {what} that touches the finger",
        formula="X = bend line to contact, with formed bends rolled, rounded to the control's step",
        given=(
            Given("exact", "before rounding", Amount(step.target.x_exact_mm, "mm")),
            Given("step", "control's step", Amount(task.brake.x_axis.resolution_mm, "mm")),
            Given("R", "finger's lower edge above die", Amount(step.target.r_mm, "mm")),
        ),
        source="geometry of the part as it lies flat on the die before this stroke",
        sure=say("As sure as the blank and its deductions; the gauged flange corrects it."),
    )


def _depth_reason(task: PlanTask, stroke: Stroke) -> Reason:
    die = stroke.die
    return Reason(
        number="depth",
        result=Amount(stroke.depth_mm or 0.0, "mm"),
        rule="air bend depth: straight flanks tangent to the inside arc and to the shoulders",
        formula="D = x_s tan φ − (Rs + t + ri)(sec φ − 1), φ = A/2 under load",
        given=(
            Given("V", "V opening", Amount(die.v_opening_mm, "mm")),
            Given("Rs", "shoulder radius", Amount(die.shoulder_radius_mm, "mm")),
            Given("g", "die angle", Amount(die.angle_deg, "deg")),
            Given("x_s", "shoulder centre", Amount(_shoulder_centre(die), "mm")),
            Given("t", "thickness", Amount(task.thickness_mm, "mm")),
            Given("ri", "inside radius under load", Amount(stroke.loaded_radius_mm, "mm")),
            Given("A", "angle under load", Amount(stroke.loaded_deg, "deg")),
            Given("dD/dA", "depth for a degree", Amount(depth_slope(task, stroke), "mm_per_deg")),
        ),
        source="derived here; checked against a geometry library and a numerical strip",
        sure=say(
            "A real sheet needs {least} to 100 % of this travel. {try_it}",
            least=f"{100 * MODEL_ERROR_DEPTH_LEAST_RATIO:.0f}",
            try_it=TRY_IT,
        ),
    )


def _angle_reason(task: PlanTask, stroke: Stroke) -> Reason:
    lost_deg = stroke.loaded_deg - stroke.bend_angle_deg
    metal = task.material
    return Reason(
        number="angle under load",
        result=Amount(stroke.loaded_deg, "deg"),
        rule="wanted angle + springback, elastic unloading of arc and flanks",
        formula="A_load = A + M/(E′I) [(ri + t/2) A_load + f], M/(E′I) = 3 Y′/(E′ t)",
        given=(
            Given("A", "angle wanted", Amount(stroke.bend_angle_deg, "deg")),
            Given("Y", "flow stress", Amount(metal.bending_flow_stress_mpa, "mpa")),
            Given("E", "Young's modulus", Amount(metal.youngs_modulus_mpa, "mpa")),
            Given("ν", "Poisson's ratio", Amount(metal.poisson_ratio, "ratio")),
            Given("", "springback", Amount(lost_deg, "deg")),
        ),
        source="elementary plastic bending in plane strain; the springback given where one is",
        sure=say(
            "A numerical strip springs back {least} to {most} times this.",
            least=f"{MODEL_ERROR_LEAST_RATIO:.2f}",
            most=f"{MODEL_ERROR_MOST_RATIO:.2f}",
        ),
    )


def _force_reason(task: PlanTask, stroke: Stroke) -> Reason:
    return Reason(
        number="force",
        result=Amount(stroke.force_kn, "kn"),
        rule="the highest of the published rules, times the length of the bend",
        formula="F = C Rm t² L / V; C the larger of 1 + 4 t/V (Lange) and 1.597 (US chart)",
        given=(
            Given("Rm", "tensile strength", Amount(task.material.tensile_strength_mpa, "mpa")),
            Given("t", "thickness", Amount(task.thickness_mm, "mm")),
            Given("V", "V opening", Amount(stroke.die.v_opening_mm, "mm")),
            Given("L", "bend length", Amount(stroke.length_mm, "mm")),
            Given("F/L", "line load", Amount(stroke.line_load_kn_per_m, "kn_per_m")),
        ),
        source="Lange, Umformtechnik (1990); US chart 575 t²/V (common practice, no source)",
        sure=say("Within about a fifth; a stronger lot needs more: see its certificate."),
    )


def _shoulder_centre(die: Die) -> float:
    return shoulder_centre(
        v_opening_mm=die.v_opening_mm,
        die_angle_deg=die.angle_deg,
        shoulder_radius_mm=die.shoulder_radius_mm,
    )


def _roll_radius(task: PlanTask, stroke: Stroke) -> float:
    return stroke.die.shoulder_radius_mm + task.thickness_mm + stroke.loaded_radius_mm
