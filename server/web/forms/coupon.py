"""What is typed about test strips."""

from server.actions.coupon import MOST_STRIPS, CouponValues
from server.mechanics.coupon import Strip
from server.web.forms.form import Form

USUAL_TOLERANCE_MM = 0.5
SHOWN_STRIPS = 6


def read_coupon(form: Form) -> CouponValues:
    """The values of the strips' form; a row that is empty is no strip."""
    return CouponValues(
        material_code=form.text("material_code", needed=True, most=40),
        lot_code=form.text("lot_code", most=40) or None,
        die_code=form.text("die_code", needed=True, most=40),
        punch_code=form.text("punch_code", needed=True, most=40),
        thickness_mm=form.need_length_mm("thickness", most_mm=60.0),
        inside_radius_mm=form.need_length_mm("radius", most_mm=500.0, above=False),
        bend_angle_deg=form.need_number("angle", least=5.0, most=175.0),
        strips=read_strips(form),
    )


def read_strips(form: Form) -> tuple[Strip, ...]:
    """The strips typed in full; a row half typed is a problem of its own."""
    strips = []
    for row in range(1, MOST_STRIPS + 1):
        names = (f"flat_{row}", f"a_{row}", f"b_{row}")
        if not any(form.typed.get(name, "").strip() for name in names):
            continue
        strips.append(Strip(*(form.need_length_mm(name, most_mm=3000.0) for name in names)))
    if not strips:
        form.trouble("flat_1", "No strip was measured.", "Bend and measure at least one.")
    return tuple(strips)


def read_tolerance(form: Form) -> float:
    """The tolerance of a flange the deduction is for, either way."""
    typed = form.length_mm("tolerance", least_mm=0.01, most_mm=20.0, needed=False)
    return typed if typed is not None else USUAL_TOLERANCE_MM
