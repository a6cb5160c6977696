"""Putting the brake side on a tablet's home screen: what to trust, the manifest, the worker."""

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter
from starlette.responses import FileResponse, JSONResponse, Response

from server.errors import ShopError
from server.files.authority import authority_fingerprint, certificates_in
from server.settings import house_folder
from server.web.house import Visit, Visiting
from server.web.pages.page import Frame, Page, static_address

router = APIRouter(include_in_schema=False)
INK, PAPER = "#141d28", "#f5f2ea"


@dataclass(frozen=True)
class InstallPage(Page):
    """How a tablet gets the app: with the shop's own authority, or without."""

    template: ClassVar[str] = "install/show.html"
    frame: Frame
    fingerprint: str
    secure: bool


@router.get("/install")
def install(visit: Visiting) -> Response:
    """What to do on the tablet."""
    path = certificates_in(visit.house.certificate_folder).authority
    page = InstallPage(
        frame=visit.frame("On the home screen", "brake", side="brake", styles=("run", "panel")),
        fingerprint=authority_fingerprint(path) if path.exists() else "",
        secure=visit.request.url.scheme == "https",
    )
    return visit.answer(page)


@router.get("/authority.crt")
def authority(visit: Visiting) -> Response:
    """The certificate to trust; its key stays where it is."""
    path = _authority(visit)
    return FileResponse(path, media_type="application/x-x509-ca-cert", filename="bendwright.crt")


@router.get("/manifest.webmanifest")
def manifest(visit: Visiting) -> Response:
    """What the installed app is called and how it opens."""
    icon = {"src": static_address("icon/mark.svg"), "sizes": "any", "type": "image/svg+xml"}
    told = {
        "name": f"Bendwright {visit.house.settings.shop_name}",
        "short_name": "Bendwright",
        "id": "/brake",
        "start_url": "/brake",
        "scope": "/",
        "display": "standalone",
        "background_color": PAPER,
        "theme_color": INK,
        "icons": [icon],
    }
    return JSONResponse(told, media_type="application/manifest+json")


@router.get("/favicon.ico")
def icon() -> Response:
    """What a browser asks for by itself where no page names an icon: beside a PDF, say."""
    return FileResponse(house_folder("static") / "icon" / "mark.svg", media_type="image/svg+xml")


@router.get("/worker.js")
def worker() -> Response:
    """The worker stands at the root, because it serves the whole brake side."""
    path = house_folder("static") / "js" / "worker.js"
    return FileResponse(path, media_type="text/javascript", headers={"cache-control": "no-cache"})


def _authority(visit: Visit) -> str:
    path = certificates_in(visit.house.certificate_folder).authority
    if not path.exists():
        raise ShopError(
            "not_found",
            "This shop has no certificate authority yet.",
            remedy="Start the server with --tls on the office PC.",
        )
    return str(path)
