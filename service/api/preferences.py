"""What a caller would rather have (RFC 7240): an answer at once, or one that waits a while."""

from __future__ import annotations

import re
from dataclasses import dataclass

from flask import Response, request

from service.api.conditions import vary

_ITEM = re.compile(r'\s*([A-Za-z-]+)\s*(?:=\s*"?([0-9]{1,6})"?)?\s*(?:;.*)?')


@dataclass(frozen=True, slots=True)
class Preferences:
    """Those that are heeded here."""

    respond_async: bool
    # Seconds; None where nothing is said of it.
    wait: int | None

    def applied(self, answer: Response) -> Response:
        """The answer, which says which of them were heeded, and that it hangs on them."""
        told = ["respond-async"] if self.respond_async else []
        told += [f"wait={self.wait}"] if self.wait is not None else []
        if told:
            answer.headers["Preference-Applied"] = ", ".join(told)
        vary(answer, "Prefer")
        return answer


def preferences(longest_wait: int) -> Preferences:
    """The request's preferences; of each the first counts, and what is not known is passed over."""
    said: dict[str, str | None] = {}
    for item in ",".join(request.headers.getlist("Prefer")).split(","):
        found = _ITEM.fullmatch(item)
        if found:
            said.setdefault(found[1].lower(), found[2])
    wait = said.get("wait")
    return Preferences(
        said.get("respond-async", "") is None, None if wait is None else min(int(wait), longest_wait)
    )
