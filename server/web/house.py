"""What routes share: the database, the reader's unit and name, and answering with a page."""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, cast

from fastapi import Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import HTMLResponse, RedirectResponse, Response

from server.errors import ShopError
from server.files.photo import LARGEST_BYTES
from server.settings import ShopSettings
from server.storage.database import Database
from server.storage.queries.setting import get_shop_settings
from server.units.length import LengthUnit
from server.web.display import Display
from server.web.kept_page import KeptPages
from server.web.live import Live
from server.web.pages.page import Frame, Page, render
from server.web.practice import Practices
from server.web.security import MOST_FIELDS, MOST_FILES, NOBODY, UNIT_COOKIE, person_of


@dataclass
class House:
    """What the running server holds; a practice is a house of its own."""

    database: Database
    settings: ShopSettings
    pages: KeptPages = field(default_factory=KeptPages)
    live: Live = field(init=False)
    practices: "Practices[House]" = field(init=False)

    def __post_init__(self) -> None:
        self.live = Live(self.database)
        self.practices = Practices(lambda copy: House(copy, self.settings))

    @property
    def photo_folder(self) -> Path:
        """Where photos from the tablets are kept, beside the database."""
        return self.database.path.parent / "photo"

    @property
    def certificate_folder(self) -> Path:
        """Where the shop's own certificates are, where it has any."""
        return self.database.path.parent / "tls"

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
    def practice(self) -> str:
        """The name of the practice this page belongs to, empty in the real shop."""
        return str(self.request.path_params.get("practice", ""))

    @property
    def brake(self) -> str:
        """Where the brake side is, real or practised."""
        return brake_path(self.request)

    @property
    def named(self) -> bool:
        """Whether somebody gave a name on this device."""
        return self.person not in NOBODY

    def signer(self) -> str:
        """The name that stands beside a tick or a signature.

        Raises: ShopError `name_missing`.
        """
        if not self.named:
            raise ShopError(
                "name_missing",
                "Nobody is named on this device.",
                remedy="Type your name first: it stands beside what you tick, measure and sign.",
            )
        return self.person

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
        whole = (key, self.show, self.person, self.house.settings, self.request.url.scheme)
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
        brake=brake_path(request),
        practice="practice" in request.path_params,
        secure=request.url.scheme == "https",
    )


def brake_path(request: Request) -> str:
    """Where the brake side is for this page: a practice has its own."""
    practice = request.path_params.get("practice", "")
    return f"/practice/{practice}/brake" if practice else "/brake"


def visit(request: Request) -> Visit:
    """The request as a visit."""
    house = house_of(request)
    practice = request.path_params.get("practice", "")
    if practice:
        house = house.practices.get(practice)
    return Visit(request, house, display_of(request), person_of(request))


async def typed_form(request: Request) -> Mapping[str, str]:
    """The posted form's texts; files are read where a route asks for them."""
    form = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES)
    return {name: value for name, value in form.multi_items() if isinstance(value, str)}


async def posted_photo(request: Request) -> bytes:
    """The photo of a posted form, empty without one; one byte too many is enough to refuse it."""
    form = await request.form(max_fields=MOST_FIELDS, max_files=MOST_FILES)
    photo = form.get("photo")
    data = await photo.read(LARGEST_BYTES + 1) if isinstance(photo, UploadFile) else b""
    await form.close()
    return data


Visiting = Annotated[Visit, Depends(visit)]
Typed = Annotated[Mapping[str, str], Depends(typed_form)]
Photo = Annotated[bytes, Depends(posted_photo)]
