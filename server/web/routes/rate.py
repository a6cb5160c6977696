"""The shop's rates, cutting speeds and prices of sheet: see, change, start from examples."""

from dataclasses import replace

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import rate as actions
from server.shop.rate import MOST_OTHER_RATES, example_rates
from server.storage.queries import rate as queries
from server.storage.queries.history import list_events
from server.storage.queries.material import list_materials
from server.web.forms import rate as forms
from server.web.forms.conflict import conflict_of
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.rate import CutSpeedEdit, RateEdit, SheetPriceEdit
from server.web.problems import status_of

router = APIRouter(prefix="/office/rate", include_in_schema=False)
STYLES = ("tool", "rate")


@router.get("")
def rates(visit: Visiting, saved: bool = False) -> Response:
    """Hour rates, overhead, margin and terms."""
    return visit.answer(_rates(visit, None, saved=saved))


@router.post("")
def save_rates(visit: Visiting, typed: Typed) -> Response:
    """Change them; the next quote uses them, quotes already given keep theirs."""
    form = Form.posted(typed, visit.unit)
    values, version = forms.read_rates(form, currency=visit.house.settings.currency), form.version()
    with visit.database.writing() as session:
        if values is not None:
            form.attempt(
                lambda: actions.save_rates(session, values, version=version, by=visit.person),
                session,
            )
    if not form.ok:
        return visit.answer(_rates(visit, form), status=status_of(form))
    return visit.go_to("/office/rate?saved=yes")


@router.get("/cut-speed")
def cut_speeds(visit: Visiting, saved: bool = False) -> Response:
    """The cutters' tables."""
    return visit.answer(_cut_speeds(visit, None, saved=saved))


@router.post("/cut-speed")
def save_cut_speeds(visit: Visiting, typed: Typed) -> Response:
    """Change the cutters' tables."""
    form = Form.posted(typed, visit.unit)
    rows, version = forms.read_cut_speeds(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_cut_speeds(session, rows, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_cut_speeds(visit, form), status=status_of(form))
    return visit.go_to("/office/rate/cut-speed?saved=yes")


@router.get("/sheet-price")
def sheet_prices(visit: Visiting, saved: bool = False) -> Response:
    """The price list."""
    return visit.answer(_sheet_prices(visit, None, saved=saved))


@router.post("/sheet-price")
def save_sheet_prices(visit: Visiting, typed: Typed) -> Response:
    """Change the price list."""
    form = Form.posted(typed, visit.unit)
    rows = forms.read_sheet_prices(form, currency=visit.house.settings.currency)
    version = form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_sheet_prices(session, rows, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_sheet_prices(visit, form), status=status_of(form))
    return visit.go_to("/office/rate/sheet-price?saved=yes")


def _rates(visit: Visit, form: Form | None, *, saved: bool = False) -> RateEdit:
    show = replace(visit.show, unit=form.unit) if form is not None else visit.show
    currency = visit.house.settings.currency
    with visit.database.reading() as session:
        kept = queries.find_shop_rates(session)
        version = queries.get_version(session, queries.RATES)
        events = list_events(session, noun=actions.NOUN, key=queries.RATES)
    typed_now = forms.typed_of_rates(kept or example_rates(currency), version, show)
    form = form or Form(typed_now, visit.unit)
    filled = sum(bool(form.typed.get(f"other_name_{n}")) for n in range(1, MOST_OTHER_RATES + 1))
    return RateEdit(
        frame=visit.frame("Rates", "rate", styles=STYLES, notice="Saved." if saved else ""),
        form=form,
        currency=currency,
        examples=kept is None,
        other_currency=kept.currency if kept and kept.currency != currency else "",
        charges=forms.CHARGES,
        price_rules=forms.PRICE_RULES,
        other_rows=tuple(range(1, min(filled + 2, MOST_OTHER_RATES) + 1)),
        conflict=conflict_of(form, typed_now, version=version),
        history=history_of(events, visit.show),
    )


def _cut_speeds(visit: Visit, form: Form | None, *, saved: bool = False) -> CutSpeedEdit:
    show = replace(visit.show, unit=form.unit) if form is not None else visit.show
    with visit.database.reading() as session:
        rows = queries.list_cut_speeds(session)
        version = queries.get_version(session, queries.CUT_SPEEDS)
        rates = queries.find_shop_rates(session)
        events = list_events(session, noun=actions.NOUN, key=queries.CUT_SPEEDS)
    cutter = rates.cutter if rates else example_rates(show.currency).cutter
    typed_now = forms.typed_of_cut_speeds(rows, version, show, cutter=cutter)
    form = form or Form(typed_now, visit.unit)
    return CutSpeedEdit(
        frame=visit.frame(
            "Cutting speeds", "rate", styles=STYLES, notice="Saved." if saved else ""
        ),
        form=form,
        keys=tuple(forms.row_keys(form)),
        count=len(rows),
        families=forms.FAMILY_CHOICES,
        conflict=conflict_of(form, typed_now, version=version),
        history=history_of(events, visit.show),
    )


def _sheet_prices(visit: Visit, form: Form | None, *, saved: bool = False) -> SheetPriceEdit:
    show = replace(visit.show, unit=form.unit) if form is not None else visit.show
    with visit.database.reading() as session:
        rows = queries.list_sheet_prices(session)
        version = queries.get_version(session, queries.SHEET_PRICES)
        materials = list_materials(session)
        events = list_events(session, noun=actions.NOUN, key=queries.SHEET_PRICES)
    typed_now = forms.typed_of_sheet_prices(rows, version, show)
    form = form or Form(typed_now, visit.unit)
    return SheetPriceEdit(
        frame=visit.frame("Sheet prices", "rate", styles=STYLES, notice="Saved." if saved else ""),
        form=form,
        keys=tuple(forms.row_keys(form)),
        count=len(rows),
        materials=(("", "choose"), *((row.code, row.code) for row in materials)),
        currency=visit.house.settings.currency,
        conflict=conflict_of(form, typed_now, version=version),
        history=history_of(events, visit.show),
    )
