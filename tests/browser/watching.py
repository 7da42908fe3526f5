"""What a page does besides being shown: requests, words on the console, dialogs, breaches of its policy."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Dialog, Page, Request

from tests.browser.chromium import WIDE, Screen, window

_BREACH = "breach of the policy:"
# Said in a page's own words on its console, since a page under a strict policy can call nobody else.
_TELL_BREACHES = f"""
addEventListener("securitypolicyviolation", (event) => {{
  console.error("{_BREACH} " + event.violatedDirective + " " + event.blockedURI);
}});
"""


@dataclass
class Watch:
    """All that was seen in one window."""

    context: BrowserContext
    requests: list[str] = field(default_factory=list)
    complaints: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)

    def page(self) -> Page:
        """A new page in the window."""
        page = self.context.new_page()
        page.on("dialog", self._dialog)
        return page

    def hosts(self) -> set[str]:
        """Whom the pages asked, as host:port; what lies in the page itself asks nobody."""
        split = [urlsplit(url) for url in self.requests]
        return {one.netloc for one in split if one.scheme not in ("data", "blob")}

    def quiet(self) -> None:
        """Fails when anything went wrong on any page."""
        assert not self.complaints, self.complaints
        assert not self.dialogs, self.dialogs

    def _request(self, request: Request) -> None:
        self.requests.append(request.url)

    def _console(self, message: ConsoleMessage) -> None:
        # A browser asks for this by itself; tests of icons see to it.
        if message.type in ("error", "warning"):
            self.complaints.append(f"{message.text} ({message.location['url']})")

    def _dialog(self, dialog: Dialog) -> None:
        self.dialogs.append(dialog.message)
        dialog.dismiss()


@contextmanager
def watched(browser: Browser, screen: Screen = WIDE, **more: object) -> Iterator[Watch]:
    """A window whose pages are watched."""
    with window(browser, screen, **more) as context:
        watch = Watch(context)
        context.add_init_script(_TELL_BREACHES)
        context.on("request", watch._request)
        context.on("console", watch._console)
        context.on("weberror", lambda error: watch.complaints.append(str(error.error)))
        yield watch
