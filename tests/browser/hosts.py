"""Web sites of other people: pages that a test writes, each site at an address of its own."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

STYLE = "/site.css"
# The colours of the user's scheme, said so that they can be read from the page.
_OF_SITE = ":root { background: Canvas; color: CanvasText; } a { color: LinkText; }"


@dataclass
class Site:
    """A web site on this machine; `pages` maps a path to the page and its content security policy."""

    origin: str
    pages: dict[str, tuple[str, str | None]] = field(default_factory=lambda: {STYLE: (_OF_SITE, None)})

    @property
    def host(self) -> str:
        """Its host and port."""
        return self.origin.removeprefix("http://")

    def put(self, path: str, page: str, policy: str | None = None) -> str:
        """Serve a page; where it is."""
        self.pages[path] = (page, policy)
        return self.origin + path


@contextmanager
def site() -> Iterator[Site]:
    """A site on a free port, gone afterwards."""
    server = _Server(("127.0.0.1", 0), _Handler)
    server.site = Site(f"http://127.0.0.1:{server.server_address[1]}")
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05})
    thread.start()
    try:
        yield server.site
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


class _Server(ThreadingHTTPServer):
    site: Site


class _Handler(BaseHTTPRequestHandler):
    server: _Server

    def do_GET(self) -> None:
        found = self.server.site.pages.get(self.path)
        page, policy = found or ("", None)
        kind = "text/css" if self.path.endswith(".css") else "text/html"
        body = page.encode()
        self.send_response(200 if found else 404)
        self.send_header("Content-Type", f"{kind}; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        if policy is not None:
            self.send_header("Content-Security-Policy", policy)
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *args: object) -> None:
        """Nothing: what is asked is seen by the tests."""
