"""Test strips: measured on the tablet, used for new drawings."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import coupon as actions
from server.storage.queries.coupon import list_coupons
from server.storage.queries.lot import list_lots_with_materials
from server.storage.queries.material import list_materials
from server.storage.queries.tool import list_dies, list_punches
from server.web.forms.coupon import read_coupon
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.coupon import (
    CouponEdit,
    CouponList,
    coupon_edit,
    coupon_result_view,
)
from server.web.problems import status_of

router = APIRouter(prefix="/brake/coupon", include_in_schema=False)
STYLES = ("panel", "setup", "coupon")


@router.get("")
def coupons(visit: Visiting) -> Response:
    """What strips gave so far."""
    with visit.database.reading() as session:
        rows = tuple(list_coupons(session))
    frame = visit.frame("Test strips", "brake", side="brake", styles=STYLES)
    return visit.answer(CouponList(frame, rows))


@router.get("/new")
def new_coupon(visit: Visiting, material: str = "") -> Response:
    """An empty form."""
    typed = {"material_code": material, "angle": "90", "tolerance": visit.show.typed(0.5)}
    return visit.answer(_edit(visit, Form(typed, visit.unit)))


@router.post("/new")
def add_coupon(visit: Visiting, typed: Typed) -> Response:
    """Keep measured strips."""
    form = Form.posted(typed, visit.unit)
    values = read_coupon(form)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_coupon(session, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"{visit.brake}/coupon")


@router.post("/result")
def result(visit: Visiting, typed: Typed) -> Response:
    """What the strips typed so far give."""
    return visit.answer(coupon_result_view(Form.posted(typed, visit.unit), visit.show))


@router.post("/use")
def use(visit: Visiting, typed: Typed) -> Response:
    """Use strips for new drawings, or no longer."""
    form = Form(typed, visit.unit)
    coupon_id = form.whole("coupon", least=1, most=10**9)
    form.need_ok()
    with visit.database.writing() as session:
        actions.use_coupon(session, coupon_id, in_use=form.yes("in_use"), by=visit.person)
    return visit.go_to(f"{visit.brake}/coupon")


def _edit(visit: Visit, form: Form) -> CouponEdit:
    with visit.database.reading() as session:
        choices = (
            (("", "choose"), *((row.code, row.code) for row in list_materials(session))),
            (
                ("", "not noted"),
                *((lot.code, lot.code) for lot, _ in list_lots_with_materials(session)),
            ),
            (
                ("", "choose"),
                *(
                    (row.code, f"{row.code}, V {visit.show.short(row.v_opening_mm)}")
                    for row in list_dies(session, purpose="bend")
                ),
            ),
            (
                ("", "choose"),
                *((row.code, row.code) for row in list_punches(session, purpose="bend")),
            ),
        )
    frame = visit.frame("Measure strips", "brake", side="brake", styles=STYLES, scripts=("keypad",))
    return coupon_edit(form, frame=frame, show=visit.show, choices=choices)
