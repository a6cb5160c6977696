"""Every trouble's way to the reader. The one table of status codes."""

import logging
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import HTMLResponse, JSONResponse, Response

from server.actions.calc.body import trouble_with
from server.actions.calc.front import trouble_as_json
from server.errors import Sentence, ShopError, say
from server.storage.database import IntegrityError, StaleDataError
from server.web.forms.form import Form
from server.web.house import display_of, frame_for
from server.web.pages.page import Frame, Page, render
from server.web.security import HEADERS

log = logging.getLogger("bendwright")

STATUS: Mapping[str, int] = {
    "not_found": 404,
    "edit_conflict": 409,
    "already_exists": 409,
    "blocked": 409,
    "wrong_state": 409,
    "too_large": 413,
    "unknown_calculation": 404,
}
OTHERWISE = 422


@dataclass(frozen=True)
class ProblemPage(Page):
    """A whole page that says what is wrong and what to do."""

    template: ClassVar[str] = "shared/problem.html"
    frame: Frame
    what: Sentence
    remedy: Sentence
    status: int
    reference: str


@dataclass(frozen=True)
class ProblemNote(Page):
    """The same, as a note inside the page that is open."""

    template: ClassVar[str] = "shared/_problem.html"
    what: Sentence
    remedy: Sentence
    reference: str


def add_problem_handlers(app: FastAPI) -> None:
    """Teach the app to tell each kind of trouble."""

    @app.exception_handler(ShopError)
    def _shop(request: Request, trouble: ShopError) -> Response:
        return tell(request, trouble)

    @app.exception_handler(RequestValidationError)
    def _shape(request: Request, trouble: RequestValidationError) -> Response:
        first = dict(trouble.errors()[0])
        first["loc"] = [part for part in first["loc"] if part not in ("body", "query", "path")]
        return tell(request, trouble_with(first))

    @app.exception_handler(HTTPException)
    def _http(request: Request, trouble: HTTPException) -> Response:
        return tell(request, _known(trouble), status=trouble.status_code)

    @app.exception_handler(StaleDataError)
    def _stale(request: Request, _trouble: StaleDataError) -> Response:
        return tell(request, edit_conflict())

    @app.exception_handler(IntegrityError)
    def _integrity(request: Request, trouble: IntegrityError) -> Response:
        log.warning("refused by the schema: %s", trouble.orig)
        return tell(
            request,
            ShopError(
                "already_exists",
                "The shop's records do not allow this.",
                remedy="Another record may have the same number, or still needs this one.",
            ),
        )

    @app.exception_handler(Exception)
    def _bug(request: Request, trouble: Exception) -> Response:
        reference = secrets.token_hex(4)
        log.error("reference %s at %s", reference, request.url.path, exc_info=trouble)
        mistake = ShopError(
            "our_mistake",
            "Something went wrong on our side; nothing was half saved.",
            remedy=say(
                "Try again. If it stays, tell whoever keeps the program: reference {reference}.",
                reference=reference,
            ),
        )
        answer = tell(request, mistake, status=500, reference=reference)
        answer.headers.update(HEADERS)  # this answer is made outside the guard
        return answer


def edit_conflict() -> ShopError:
    """Somebody else changed the same thing meanwhile."""
    return ShopError(
        "edit_conflict",
        "Somebody changed this while you had it open.",
        remedy="Reload to see it as it is now, then make your change again. What you typed is "
        "still on this page.",
    )


def status_of(form: Form) -> int:
    """The status of a form that could not be carried out."""
    codes = [problem.code for problem in form.problems.values()]
    return next((STATUS[code] for code in codes if code in STATUS), OTHERWISE)


def tell(
    request: Request, trouble: ShopError, *, status: int | None = None, reference: str = ""
) -> Response:
    """The answer to a trouble, as JSON, as a note for an open page, or as a page."""
    code = status or STATUS.get(trouble.code, OTHERWISE)
    if request.url.path.startswith("/api/"):
        return JSONResponse(trouble_as_json(trouble), status_code=code)
    show = display_of(request)
    if request.headers.get("hx-request"):
        note = ProblemNote(what=trouble.what, remedy=trouble.remedy, reference=reference)
        return HTMLResponse(
            render(note, show),
            status_code=code,
            headers={"HX-Retarget": "#problem", "HX-Reswap": "innerHTML"},
        )
    page = ProblemPage(
        frame=frame_for(request, title="Not this way", place=""),
        what=trouble.what,
        remedy=trouble.remedy,
        status=code,
        reference=reference,
    )
    return HTMLResponse(render(page, show), status_code=code)


def _known(trouble: HTTPException) -> ShopError:
    if trouble.status_code == 404:
        return ShopError("not_found", "There is nothing at this address.", remedy="Go back.")
    if trouble.status_code == 413:
        return ShopError("too_large", "That is too large to send.", remedy="Send a smaller file.")
    return ShopError("refused", say("{why}", why=str(trouble.detail)), remedy="Go back.")
