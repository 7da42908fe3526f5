"""Routes that will go: the answer says since when, until when, and where it is explained.

RFC 9745 (Deprecation) and RFC 8594 (Sunset). Until the last day a route answers as it always did.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time

from flask import Response, current_app, request
from werkzeug.http import http_date

from service.api.routes import View


def deprecated(since: date, sunset: date, about: str) -> Callable[[View], View]:
    """Mark a view: deprecated since a day, gone on another; `about` is the address that explains it."""
    if sunset < since:
        raise ValueError(f"a route cannot go ({sunset}) before it is deprecated ({since})")

    def decorator(view: View) -> View:
        view.going = {  # type: ignore[attr-defined]
            "Deprecation": f"@{int(_midnight(since).timestamp())}",
            "Sunset": http_date(_midnight(sunset)),
            "Link": f'<{about}>; rel="deprecation"; type="text/html"',
        }
        return view

    return decorator


def going(answer: Response) -> Response:
    """The answer with what is said of a route that will go."""
    view = current_app.view_functions.get(request.endpoint or "")
    for name, value in getattr(view, "going", {}).items():
        answer.headers.add(name, value)
    return answer


def _midnight(day: date) -> datetime:
    return datetime.combine(day, time(), UTC)
