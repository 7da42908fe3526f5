"""Pages of a list: what is asked for, and the links to the pages before and after."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from flask import Response, request

from service.api.callers import caller
from service.api.cursors import cursor, edge_of
from service.api.routes import as_json

USUAL = 20


def asked_page(query: dict[str, Any]) -> dict[str, Any]:
    """`most`, `after` and `before` for the store, of a query."""
    found: dict[str, Any] = {"most": query.get("limit", USUAL), "after": "", "before": ""}
    if "cursor" in query:
        edge, backwards = edge_of(caller(), request.path, query["cursor"])
        found["before" if backwards else "after"] = edge
    return found


def as_page_of(
    query: dict[str, Any], items: list[Any], shown: Callable[[Any], Any], *, earlier: bool, later: bool
) -> Response:
    """One page: its items as shown, the cursor of the next, and links (RFC 8288) to first, prev and next."""
    kept = {name: value for name, value in query.items() if name != "cursor"}
    links = [(kept, "first")]
    following = None
    if items and earlier:
        links.append((kept | {"cursor": _cursor(items[0], backwards=True)}, "prev"))
    if items and later:
        following = _cursor(items[-1])
        links.append((kept | {"cursor": following}, "next"))
    answer = as_json({"items": [shown(item) for item in items], "next": following})
    answer.headers["Link"] = ", ".join(f'<{_target(names)}>; rel="{rel}"' for names, rel in links)
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


def _cursor(item: Any, *, backwards: bool = False) -> str:
    return cursor(caller(), request.path, item.id, backwards=backwards)


def _target(names: dict[str, Any]) -> str:
    return request.path + (f"?{urlencode(names)}" if names else "")
