"""Quotes: list, ask, work out, send, win, lose."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import quote as actions
from server.actions import quote_outcome as outcome
from server.actions.order import newest_revision
from server.actions.quote_work import LineWish
from server.drawings.sheet_nest import draw_sheet_nest
from server.storage.database import Session
from server.storage.plain_quote import figure_of
from server.storage.queries import quote as queries
from server.storage.queries.customer import list_customers
from server.storage.queries.history import list_events
from server.storage.queries.rate import list_sheet_prices, shop_rates_of
from server.web.forms import quote as forms
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.quote import (
    FigureShow,
    LineView,
    QuoteEdit,
    QuoteList,
    QuoteRows,
    QuoteShow,
    figure_rows,
    layout_and_findings,
    time_facts,
)
from server.web.pages.quote_paper import quote_paper
from server.web.paper import answer_paper
from server.web.problems import status_of

router = APIRouter(prefix="/office/quote", include_in_schema=False)
STYLES, SCRIPTS = ("tool", "quote"), ("order",)
STATES = (("", "all"), ("draft", "draft"), ("sent", "sent"), ("won", "won"), ("lost", "lost"))
TOLD = {
    "saved": "Saved.",
    "added": "Added.",
    "again": "Worked out again.",
    "sent": "Sent: this version stays as it is.",
    "won": "Won: its jobs are made.",
    "lost": "Lost, and why is kept.",
}
Forms = Mapping[str, Form]


@router.get("")
def quotes(visit: Visiting, q: str = "", state: str = "") -> Response:
    """All quotes, or those like a text or in a state."""
    with visit.database.reading() as session:
        found = queries.list_quotes(session, states=(state,) if state else (), text=q)
        findings = actions.check_rates(session)
    rows = QuoteRows(rows=found, state=state, text=q)
    if visit.in_page:
        return visit.answer(rows)
    frame = visit.frame("Quotes", "quote", styles=STYLES)
    return visit.answer(QuoteList(frame=frame, rows=rows, states=STATES, findings=findings))


@router.get("/new")
def new_quote(visit: Visiting, part: str = "", customer: str = "") -> Response:
    """An empty form, or one for a part."""
    typed = {"part_number": part, "customer_code": customer, "quantities": forms.USUAL}
    return visit.answer(_new(visit, Form(typed, visit.unit)))


@router.post("/new")
def add_quote(visit: Visiting, typed: Typed) -> Response:
    """Add a quote, its first part worked out."""
    form = Form.posted(typed, visit.unit)
    values, quantities = forms.read_head(form), forms.read_quantities(form)
    part = form.code("part_number")
    with visit.database.writing() as session:
        row = form.attempt(
            lambda: actions.add_quote(
                session, values, [_wish(session, part, quantities)], by=visit.person
            ),
            session,
        )
    if row is None:
        return visit.answer(_new(visit, form), status=status_of(form))
    return visit.go_to(f"/office/quote/{row.number}")


@router.post("/for-order/{order_number}")
def quote_order(visit: Visiting, order_number: str) -> Response:
    """Answer an enquiry: every line at its quantity."""
    with visit.database.writing() as session:
        row = actions.add_quote_for_order(session, order_number, by=visit.person)
        number = row.number
    return visit.go_to(f"/office/quote/{number}")


@router.get("/{number}")
def quote(visit: Visiting, number: str, version: int | None = None, told: str = "") -> Response:
    """One quote, the newest version unless an older one is asked for."""
    return visit.answer(_show(visit, number, {}, version=version, told=told))


@router.get("/{number}/quote.pdf")
def quote_as_pdf(visit: Visiting, number: str, version: int | None = None) -> Response:
    """The quote as paper, for the customer."""
    with visit.database.reading() as session:
        place = queries.get_quote_place(session, number, version)
    show = replace(visit.show, currency=place.version.currency)
    paper = quote_paper(
        place,
        shop=visit.house.settings,
        person=visit.person,
        show=show,
        now=datetime.now(UTC),
    )
    return answer_paper(visit, paper, name=f"quote {number} {place.version.position}")


@router.post("/{number}")
def save_quote(visit: Visiting, number: str, typed: Typed) -> Response:
    """Change the quote's own words."""
    form = Form.posted(typed, visit.unit)
    values, version = forms.read_head(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_quote(session, number, values, version=version, by=visit.person),
            session,
        )
    return _after(visit, number, form, "head", "saved")


@router.post("/{number}/line")
def add_line(visit: Visiting, number: str, typed: Typed) -> Response:
    """Put one more part on the quote."""
    form = Form.posted(typed, visit.unit)
    part, quantities = form.code("part_number"), forms.read_quantities(form)
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.add_quote_line(session, number, part, quantities, by=visit.person),
            session,
        )
    return _after(visit, number, form, "add", "added")


@router.post("/{number}/line/{line_id}")
def save_line(visit: Visiting, number: str, line_id: int, typed: Typed) -> Response:
    """Work one part out again as it is asked for now."""
    form = Form.posted(typed, visit.unit)
    with visit.database.writing() as session:
        place = queries.get_quote_place(session, number)
        wish = _line_wish(place, line_id, form)
        if wish is not None:
            _save_line(visit, session, line_id, wish, form)
    return _after(visit, number, form, f"line-{line_id}", "again")


@router.post("/{number}/line/{line_id}/removed")
def remove_line(visit: Visiting, number: str, line_id: int) -> Response:
    """Take a part off the quote."""
    with visit.database.writing() as session:
        actions.remove_quote_line(session, line_id, by=visit.person)
    return visit.go_to(f"/office/quote/{number}")


@router.post("/{number}/again")
def work_out_again(visit: Visiting, number: str) -> Response:
    """Every part with the rates, prices and times of now."""
    with visit.database.writing() as session:
        actions.work_out_again(session, number, by=visit.person)
    return visit.go_to(f"/office/quote/{number}?told=again")


@router.post("/{number}/sent")
def send_quote(visit: Visiting, number: str) -> Response:
    """Freeze the version as sent."""
    with visit.database.writing() as session:
        outcome.send_quote(session, number, now=datetime.now(UTC), by=visit.person)
    return visit.go_to(f"/office/quote/{number}?told=sent")


@router.post("/{number}/version")
def new_version(visit: Visiting, number: str) -> Response:
    """Start another version."""
    with visit.database.writing() as session:
        actions.new_version(session, number, by=visit.person)
    return visit.go_to(f"/office/quote/{number}")


@router.post("/{number}/won")
def set_won(visit: Visiting, number: str, typed: Typed) -> Response:
    """The customer took it: make its jobs."""
    form = Form.posted(typed, visit.unit)
    with visit.database.writing() as session:
        place = queries.get_quote_place(session, number)
        chosen, due_at = forms.read_won(form, place)
        theirs = form.text("their_order", most=80)
        form.attempt(
            lambda: outcome.set_quote_won(
                session, number, chosen, due_at=due_at, their_reference=theirs, by=visit.person
            ),
            session,
        )
    return _after(visit, number, form, "won", "won")


@router.post("/{number}/lost")
def set_lost(visit: Visiting, number: str, typed: Typed) -> Response:
    """The customer did not take it, and why."""
    form = Form.posted(typed, visit.unit)
    reason = form.text("other_reason", most=80) or form.text("reason", most=80)
    note = form.text("lost_note", most=500)
    with visit.database.writing() as session:
        form.attempt(
            lambda: outcome.set_quote_lost(
                session, number, reason=reason, note=note, by=visit.person
            ),
            session,
        )
    return _after(visit, number, form, "lost", "lost")


@router.post("/{number}/archived")
def archive_quote(visit: Visiting, number: str, typed: Typed) -> Response:
    """Take a quote off the list, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_quote_archived(session, number, archived=archived, by=visit.person)
    return visit.go_to("/office/quote" if archived else f"/office/quote/{number}")


@router.get("/{number}/figure/{break_id}")
def figure(visit: Visiting, number: str, break_id: int, name: str = "total") -> Response:
    """One figure opened to its parts."""
    with visit.database.reading() as session:
        queries.get_quote(session, number)
        tree = figure_of(queries.get_break(session, break_id).explained)
    return visit.answer(FigureShow(figure=tree.find(name) or tree))


def _wish(session: Session, part: str, quantities: tuple[int, ...]) -> LineWish:
    return LineWish(part, newest_revision(session, part).label, quantities)


def _line_wish(place: queries.QuotePlace, line_id: int, form: Form) -> LineWish | None:
    one = next((one for one in place.lines if one.line.id == line_id), None)
    if one is None:
        form.trouble("form", "That part was taken off the quote.", "Reload the page.")
        return None
    rates = shop_rates_of(place.version.rates)
    return forms.read_line(form, one, rates=rates.other, currency=rates.currency)


def _save_line(visit: Visit, session: Session, line_id: int, wish: LineWish, form: Form) -> None:
    version = form.version()
    form.attempt(
        lambda: actions.save_quote_line(session, line_id, wish, version=version, by=visit.person),
        session,
    )


def _after(visit: Visit, number: str, form: Form, name: str, told: str) -> Response:
    """Back to the quote, or the same page with the form as it was typed."""
    if not form.ok:
        return visit.answer(_show(visit, number, {name: form}), status=status_of(form))
    return visit.go_to(f"/office/quote/{number}?told={told}")


def _new(visit: Visit, form: Form) -> QuoteEdit:
    with visit.database.reading() as session:
        return QuoteEdit(
            frame=visit.frame("New quote", "quote", styles=STYLES, scripts=SCRIPTS),
            form=form,
            customers=_customers(session),
            findings=actions.check_rates(session),
        )


def _customers(session: Session) -> tuple[tuple[str, str], ...]:
    return (("", "choose"), *((row.code, row.name) for row in list_customers(session)))


def _show(
    visit: Visit, number: str, typed: Forms, *, version: int | None = None, told: str = ""
) -> QuoteShow:
    with visit.database.reading() as session:
        place = queries.get_quote_place(session, number.upper(), version)
        events = list_events(session, noun=actions.NOUN, key=place.quote.number)
        lines = tuple(_line(visit, session, one, typed) for one in place.lines)
        customers = _customers(session)
        findings = actions.check_rates(session)
    show = replace(visit.show, currency=place.version.currency)
    rates = shop_rates_of(place.version.rates)
    valid = place.version.valid_until
    may_change = (
        place.newest and place.version.sent_at is None and place.quote.state in ("draft", "sent")
    )
    return QuoteShow(
        frame=visit.frame(
            place.quote.number,
            "quote",
            styles=STYLES,
            scripts=SCRIPTS,
            notice=TOLD.get(told, ""),
        ),
        place=place,
        may_change=may_change,
        expired=valid is not None and valid < datetime.now(UTC).date(),
        lines=lines,
        head=typed.get("head", Form(forms.typed_of_head(place), visit.unit)),
        add=typed.get("add", Form({"quantities": forms.USUAL}, visit.unit)),
        won=typed.get("won", Form({}, visit.unit)),
        lost=typed.get("lost", Form({}, visit.unit)),
        customers=customers,
        charges=forms.CHARGES,
        grains=forms.GRAINS,
        other_names=(("", "—"), *((one.name, one.name) for one in rates.other)),
        other_rows=forms.OTHER_ROWS,
        bought_rows=forms.BOUGHT_ROWS,
        lost_reasons=(("", "choose"), *((one, one) for one in outcome.LOST_REASONS)),
        findings=findings if may_change else (),
        history=history_of(events, show),
    )


def _line(visit: Visit, session: Session, one: queries.PricedLine, typed: Forms) -> LineView:
    layout, findings = layout_and_findings(one)
    form = typed.get(f"line-{one.line.id}")
    picture = ""
    if layout is not None:
        picture = draw_sheet_nest(
            sheet_width_mm=layout.sheet_width_mm,
            sheet_height_mm=layout.sheet_height_mm,
            places=layout.places,
            title=f"Blanks of {one.part.number} on a full sheet",
            length=lambda length_mm: visit.show.length(
                length_mm, 0 if visit.show.unit == "mm" else 1
            ),
        )
    repeat = one.line.worked.get("repeat", {})
    return LineView(
        priced=one,
        form=form or Form(forms.typed_of_line(one, visit.show), visit.unit),
        is_open=form is not None,
        layout=layout,
        picture=picture,
        sheets=forms.sheet_choices(
            list_sheet_prices(
                session,
                material_code=one.revision.material_code,
                thickness_mm=one.revision.thickness_mm,
            ),
            visit.show,
        ),
        figures=figure_rows(one.breaks),
        times=time_facts(one),
        findings=findings,
        repeat_minor=tuple(repeat.get(str(b.quantity_count)) for b in one.breaks),
    )
