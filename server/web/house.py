"""What routes share: the database, the reader's unit and name, and answering with a page."""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, cast

from fastapi import Depends, Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.queries.setting import get_shop_settings
from server.units.length import LengthUnit
from server.web.display import Display
from server.web.kept_page import KeptPages
from server.web.pages.page import Frame, Page, render
from server.web.security import MOST_FIELDS, MOST_FILES, UNIT_COOKIE, person_of


@dataclass
class House:
    """What the running server holds."""

    database: Database
    settings: ShopSettings
    pages: KeptPages = field(default_factory=KeptPages)

    def reload_settings(self) -> None:
        """Use the shop's choices as they are kept now."""
        with self.database.reading() as session:
            self.settings = get_shop_settings(session)


@dataclass(frozen=True)
class Visit:
    """One request: who asks, in which unit, and the house that answers."""

    request: Request
    house: House
    show: Display
    person: str

    @property
    def database(self) -> Database:
        """The shop's database."""
        return self.house.database

    @property
    def unit(self) -> LengthUnit:
        """The reader's unit of length."""
        return self.show.unit

    @property
    def in_page(self) -> bool:
        """Whether a page that is open asks for a fragment."""
        return self.request.headers.get("hx-request") == "true"

    def frame(
        self,
        title: str,
        place: str,
        *,
        side: str = "office",
        styles: tuple[str, ...] = (),
        scripts: tuple[str, ...] = (),
        notice: str = "",
    ) -> Frame:
        """The frame around a full page; the notice stands above its content."""
        frame = frame_for(
            self.request, title=title, place=place, side=side, styles=styles, scripts=scripts
        )
        return replace(frame, notice=notice)

    def answer(self, page: Page, *, status: int = 200) -> HTMLResponse:
        """The page as this reader wants it."""
        return HTMLResponse(render(page, self.show), status_code=status)

    def answer_kept(self, key: Hashable, make: Callable[[], Page]) -> Response:
        """A page that shows only what its key names, kept for the next reader of the same."""
        whole = (key, self.show, self.person, self.house.settings)
        packed = "gzip" in self.request.headers.get("accept-encoding", "")
        return self.house.pages.answer(whole, lambda: render(make(), self.show), packed=packed)

    def go_to(self, path: str) -> Response:
        """Send the reader to another page after a change."""
        if self.in_page:
            return Response(status_code=204, headers={"HX-Redirect": path})
        return RedirectResponse(path, status_code=303)


def house_of(request: Request) -> House:
    """The running server's house."""
    return cast("House", request.app.state.house)


def display_of(request: Request) -> Display:
    """How this reader wants numbers."""
    settings = house_of(request).settings
    chosen = request.cookies.get(UNIT_COOKIE, settings.unit)
    unit: LengthUnit = "in" if chosen == "in" else "mm"
    return Display(unit=unit, currency=settings.currency)


def frame_for(
    request: Request,
    *,
    title: str,
    place: str,
    side: str = "office",
    styles: tuple[str, ...] = (),
    scripts: tuple[str, ...] = (),
) -> Frame:
    """The frame around a full page."""
    return Frame(
        title=title,
        place=place,
        shop_name=house_of(request).settings.shop_name,
        person=person_of(request),
        path=request.url.path,
        side=side,
        styles=styles,
        scripts=scripts,
    )


def visit(request: Request) -> Visit:
    """The request as a visit."""
    return Visit(request, house_of(request), display_of(request), person_of(request))


async def typed_form(request: Request) -> Mapping[str, str]:
    """The posted form's texts; files are read where a route asks for them."""
    form = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES)
    return {name: value for name, value in form.multi_items() if isinstance(value, str)}


Visiting = Annotated[Visit, Depends(visit)]
Typed = Annotated[Mapping[str, str], Depends(typed_form)]
