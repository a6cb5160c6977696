"""The door: which side of the shop, and the reader's own unit and name."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import Response

from server.web.house import Typed, Visiting
from server.web.pages.page import Frame, Page
from server.web.security import PERSON_COOKIE, UNIT_COOKIE

router = APIRouter(include_in_schema=False)
A_YEAR_S = 31_536_000


@dataclass(frozen=True)
class DoorPage(Page):
    """Two doors: office and brake side."""

    template: ClassVar[str] = "door/show.html"
    frame: Frame


@router.get("/")
def door(visit: Visiting) -> Response:
    """Choose a side."""
    return visit.answer(DoorPage(frame=visit.frame("Bendwright", "door")))


@router.post("/reader")
def choose(visit: Visiting, typed: Typed) -> Response:
    """Keep this device's unit and the name of whoever works at it."""
    response = visit.go_to(_own_path(typed.get("back", "/")))
    if typed.get("unit") in ("mm", "in"):
        response.set_cookie(UNIT_COOKIE, typed["unit"], max_age=A_YEAR_S, samesite="lax")
    if "person" in typed:
        name = " ".join(typed["person"].split())[:40]
        response.set_cookie(PERSON_COOKIE, name, max_age=A_YEAR_S, samesite="lax", httponly=True)
    return response


@router.get("/health")
def health(visit: Visiting) -> dict[str, str]:
    """Whether the server and its database answer."""
    with visit.database.reading() as session:
        session.connection().exec_driver_sql("SELECT 1")
    return {"state": "up"}


def _own_path(path: str) -> str:
    """Only an address of this server; never an open door to another site."""
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"
