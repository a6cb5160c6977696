"""The one search field: a scanned number goes straight there, words give a list."""

from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from server.storage.queries.finder import Found, find_anything
from server.web.house import Visiting
from server.web.pages.page import Frame, Page

router = APIRouter(prefix="/office/find", include_in_schema=False)
ADDRESS = {
    "job": "/office/job/",
    "order": "/office/order/",
    "part": "/office/part/",
    "customer": "/office/customer/",
    "lot": "/office/stock/lot/",
    "material": "/office/material/",
}


@dataclass(frozen=True)
class FinderPage(Page):
    """What was found."""

    template: ClassVar[str] = "finder/list.html"
    frame: Frame
    text: str
    found: list[Found]
    addresses: dict[str, str]


@router.get("")
def find(visit: Visiting, q: str = "") -> Response:
    """Find a number; an exact one opens at once."""
    with visit.database.reading() as session:
        found = find_anything(session, q[:80], nouns=ADDRESS)
    if len(found) == 1 and found[0].exact:
        return visit.go_to(ADDRESS[found[0].noun] + quote(found[0].key))
    page = FinderPage(frame=visit.frame("Search", ""), text=q[:80], found=found, addresses=ADDRESS)
    return visit.answer(page)
