"""A route that will go says so in three headers, and answers as it always did."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from email.utils import parsedate_to_datetime

import pytest

from service.api import create_app
from service.api.deprecation import deprecated


def test_a_route_that_will_go_says_since_when_until_when_and_why():
    app = create_app()

    @app.get("/old")
    @deprecated(date(2026, 12, 1), date(2027, 6, 1), "/docs/models")
    def old() -> str:
        return "as ever"

    old.right = "open"
    answer = app.test_client().get("/old")
    assert (answer.status_code, answer.text) == (200, "as ever")
    # RFC 9745 2.1: a date of structured fields, seconds since 1970 after an @.
    since = re.fullmatch(r"@(\d+)", answer.headers["Deprecation"])
    assert since is not None
    assert datetime.fromtimestamp(int(since[1]), UTC) == datetime(2026, 12, 1, tzinfo=UTC)
    # RFC 8594 3: an HTTP date, not earlier than the deprecation.
    assert parsedate_to_datetime(answer.headers["Sunset"]) == datetime(2027, 6, 1, tzinfo=UTC)
    assert answer.headers["Link"] == '</docs/models>; rel="deprecation"; type="text/html"'


def test_no_route_says_so_without_being_marked():
    answer = create_app().test_client().get("/livez")
    assert not {"Deprecation", "Sunset"} & set(answer.headers.keys())


def test_a_route_cannot_go_before_it_is_deprecated():
    with pytest.raises(ValueError, match=r"^a route cannot go \(2026-01-01\) before it is deprecated"):
        deprecated(date(2026, 12, 1), date(2026, 1, 1), "/docs")
