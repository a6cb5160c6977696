"""Guards at the door: who may write, what a browser may load, which hosts we answer to.

Accounts come later; `person_of` is the one place that says who is acting.
"""

import ipaddress
from collections.abc import Iterable, Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from server.settings import own_host_names

LARGEST_BODY_BYTES = 20_000_000
LARGEST_FIELD_BYTES = 2_000_000
MOST_FIELDS = 3000
MOST_FILES = 20
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})

POLICY = (
    "default-src 'none'; "
    "script-src 'self'; "
    "style-src 'self'; "
    "img-src 'self' data: blob:; "
    "font-src 'self'; "
    "connect-src 'self'; "
    "manifest-src 'self'; "
    "worker-src 'self'; "
    "form-action 'self'; "
    "base-uri 'none'; "
    "frame-ancestors 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "geolocation=(), microphone=(), payment=()",
}
PERSON_COOKIE = "person"
UNIT_COOKIE = "unit"


class Guard:
    """Refuses foreign hosts and cross-site writes, and adds the security headers."""

    def __init__(self, app: ASGIApp, host_names: Iterable[str] = ()) -> None:
        self.app = app
        self.host_names = own_host_names() | {name.lower() for name in host_names}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer 400 or 403."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        answer = self._refusal(scope["method"], scope["path"], headers) or self.app

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                answered = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    answered.setdefault(name, value)
            await send(message)

        await answer(scope, receive, send_guarded)

    def _refusal(self, method: str, path: str, headers: Headers) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if not self.knows_host(host):
            return PlainTextResponse(
                "This server does not answer to that name. Use its address.", status_code=400
            )
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length[:12]) > LARGEST_BODY_BYTES:
            return PlainTextResponse(
                f"That is too large to send: at most {LARGEST_BODY_BYTES // 1_000_000} MB. "
                "Send a smaller file.",
                status_code=413,
            )
        if method in SAFE_METHODS or path.startswith("/api/calc/"):
            return None
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return _cross_site()
        origin = headers.get("origin")
        if origin is None or urlsplit(origin).netloc.lower() != host.lower():
            return _cross_site()
        return None

    def knows_host(self, host: str) -> bool:
        """Whether a Host header names this machine: an address, localhost, or one of its names."""
        name = urlsplit(f"//{host}").hostname
        if name is None:
            return False
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return name.lower() in self.host_names
        return True


NOBODY = ("brake side", "office")
"""What stands for a person on a device where nobody gave a name."""


def person_of(request: Request) -> str:
    """Who is acting: the name chosen on this device, or the side of the shop it stands on."""
    named = request.cookies.get(PERSON_COOKIE, "").strip()[:40]
    if named:
        return named
    return NOBODY[0] if is_brake_side(request) else NOBODY[1]


def is_brake_side(request: Request) -> bool:
    """Whether a page is one of the tablet's."""
    return request.url.path.startswith(("/brake", "/practice"))


def _cross_site() -> PlainTextResponse:
    return PlainTextResponse(
        "This change came from another site and was refused. Open the page again and repeat it.",
        status_code=403,
    )
