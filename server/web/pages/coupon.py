"""Test strips on the tablet: what they gave, and measuring new ones."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from server.actions.coupon import coupon_of
from server.drawings.trial_plot import draw_spread
from server.mechanics.coupon import CouponResult, Strip
from server.mechanics.enough_strips import StripsEnough, strips_enough
from server.web.display import Display
from server.web.forms.coupon import SHOWN_STRIPS, read_coupon, read_tolerance
from server.web.forms.form import Form
from server.web.pages.page import Frame, Page

if TYPE_CHECKING:
    from server.storage.tables.material import Coupon

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class CouponList(Page):
    """What strips gave so far, and which are used for new drawings."""

    template: ClassVar[str] = "coupon/list.html"
    frame: Frame
    coupons: "tuple[Coupon, ...]"


@dataclass(frozen=True)
class CouponResultView(Page):
    """What the strips typed so far give, and how many are enough."""

    template: ClassVar[str] = "coupon/_result.html"
    result: CouponResult | None
    strips: tuple[Strip, ...]
    enough: StripsEnough | None
    picture: str


@dataclass(frozen=True)
class CouponEdit(Page):
    """Measuring strips."""

    template: ClassVar[str] = "coupon/edit.html"
    frame: Frame
    form: Form
    materials: Choices
    lots: Choices
    dies: Choices
    punches: Choices
    rows: range
    answer: CouponResultView


def coupon_result_view(form: Form, show: Display) -> CouponResultView:
    """What the typed strips give; nothing while something is missing or wrong."""
    aside = Form(form.typed, form.unit)
    values = read_coupon(aside)
    aside_needs = {"material_code", "die_code", "punch_code", "lot_code"}
    if set(aside.problems) - aside_needs:
        return CouponResultView(None, (), None, "")
    result = aside.work_out(lambda: coupon_of(values))
    if result is None:
        return CouponResultView(None, (), None, "")
    deductions = [strip.bend_deduction_mm for strip in values.strips]
    enough = strips_enough(deductions_mm=deductions, tolerance_mm=read_tolerance(aside))
    return CouponResultView(
        result,
        values.strips,
        enough,
        draw_spread(
            deductions,
            middle=result.bend_deduction_mm,
            half=enough.uncertain_by_mm,
            told=show.bare,
            title="Deduction of each strip, their mean, and how far it may be off",
        ),
    )


def coupon_edit(
    form: Form,
    *,
    frame: Frame,
    show: Display,
    choices: tuple[Choices, Choices, Choices, Choices],
) -> CouponEdit:
    """The page of the strips' form."""
    materials, lots, dies, punches = choices
    return CouponEdit(
        frame=frame,
        form=form,
        materials=materials,
        lots=lots,
        dies=dies,
        punches=punches,
        rows=range(1, SHOWN_STRIPS + 1),
        answer=coupon_result_view(form, show),
    )
