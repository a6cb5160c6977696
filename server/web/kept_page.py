"""Rendered pages kept by the versions of what they show: pure results need no second rendering."""

import gzip
from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock

from starlette.responses import Response

MOST_PAGES = 64
COMPRESSION = 5


class KeptPages:
    """The pages used last, each as it is sent; a page is made anew when a version in its key grew."""

    def __init__(self) -> None:
        self._pages: OrderedDict[Hashable, tuple[bytes, bytes]] = OrderedDict()
        self._lock = Lock()

    def answer(self, key: Hashable, make: Callable[[], str], *, packed: bool) -> Response:
        """The page under a key, made when it is not there."""
        with self._lock:
            found = self._pages.get(key)
        if found is None:
            plain = make().encode()
            found = (plain, gzip.compress(plain, COMPRESSION, mtime=0))
            with self._lock:
                self._pages[key] = found
                while len(self._pages) > MOST_PAGES:
                    self._pages.popitem(last=False)
        headers = {"vary": "accept-encoding", "cache-control": "no-cache"}
        if packed:
            headers["content-encoding"] = "gzip"
        return Response(found[packed], media_type="text/html", headers=headers)
