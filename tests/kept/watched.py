"""A shop that looks at every answer: what must hold of each, whoever asked for what."""

from __future__ import annotations

import json
import re
from tempfile import gettempdir
from typing import Any

import jsonschema
from werkzeug.test import TestResponse

from service.api.environment import Environment
from service.store.windows import Limits
from tests.kept.shop import OWN, Shop

UNLIMITED = Limits(costings=0, reads=0, writes=0, issues=0, failures=0)
# RFC 6648: no names of our own that begin so; these two are in use everywhere.
OLD_NAMES = {"x-content-type-options", "x-robots-tag"}
# Text needs a charset; JSON and images have none (RFC 8259, 11).
TYPES = {
    "application/json", "application/problem+json", "image/svg+xml", "application/pdf",
    "application/x-ndjson",
    *(f"text/{kind}; charset=utf-8" for kind in ("html", "css", "javascript", "plain", "csv", "calendar")),
}  # fmt: skip
PROBLEM = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "instance"],
    "additionalProperties": False,
    "properties": {
        "type": {"type": "string", "pattern": "^https?://[^ ]+$"},
        "title": {"type": "string", "minLength": 1},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string", "pattern": r"\.$"},
        "instance": {"type": "string", "pattern": "^urn:trace:[0-9a-f]{32}$"},
        "violated-policies": {"type": "array", "items": {"type": "string"}},
        "difference": {"type": "array"},
        "errors": {
            "type": "array",
            "minItems": 1,
            "items": {
                "type": "object",
                "required": ["detail"],
                "additionalProperties": False,
                "minProperties": 2,
                "maxProperties": 2,
                "properties": {
                    "detail": {"type": "string", "minLength": 1},
                    "pointer": {"type": "string", "pattern": "^#(/.*)?$"},
                    "parameter": {"type": "string"},
                    "header": {"type": "string"},
                },
            },
        },
    },
}
_PROBLEM = jsonschema.Draft202012Validator(PROBLEM)
_INSIDE = re.compile(
    rf"Traceback|SELECT |INSERT |sqlite|psycopg|sqlalchemy|\.py\b|{re.escape(gettempdir())}", re.IGNORECASE
)


class Watched(Shop):
    """A shop whose every answer is checked before a test sees it."""

    def call(
        self, method: str, path: str, body: Any = None, key: str | None = OWN, **headers: str
    ) -> TestResponse:
        answer = super().call(method, path, body, key, **headers)
        _sound(self, method, answer)
        return answer


def watched(address: str, **more: Any) -> Watched:
    """A service without quotas, unless told otherwise, with everything that an address needs."""
    usual: dict[str, Any] = {"limits": UNLIMITED, "security_contact": "mailto:security@quillmere.example"}
    return Watched(address, Environment(database=address, **(usual | more)))


def without_trace(answer: TestResponse, **stand_ins: str) -> str:
    """The answer as text but for the trace id, each of the texts replaced by the name it is given."""
    text = re.sub("urn:trace:[0-9a-f]{32}", "urn:trace", answer.get_data(as_text=True))
    for name, found in stand_ins.items():
        text = text.replace(found, name)
    return text


def is_streamed(answer: TestResponse) -> bool:
    """Whether an answer is the results of a batch."""
    disposition = answer.headers.get("Content-Disposition", "")
    return answer.mimetype == "application/x-ndjson" or "batch.csv" in disposition


def _sound(shop: Shop, method: str, answer: TestResponse) -> None:
    names = {name.lower() for name, _ in answer.headers}
    assert {name for name in names if name.startswith("x-")} <= OLD_NAMES
    assert "cache-control" in names and "x-content-type-options" in names
    if answer.status_code in (204, 304):
        assert answer.data == b"" and not names & {"content-type", "content-length"}
    else:
        assert answer.headers["Content-Type"] in TYPES
        # How long results are is not known before they are all read.
        assert is_streamed(answer) == ("content-length" not in names)
        if method != "HEAD" and not is_streamed(answer):
            assert int(answer.headers["Content-Length"]) == len(answer.data)
    if answer.status_code >= 400 and method != "HEAD":
        _is_problem(shop, answer)


def _is_problem(shop: Shop, answer: TestResponse) -> None:
    assert answer.headers["Content-Type"] == "application/problem+json"
    body = json.loads(answer.data)
    _PROBLEM.validate(body)
    assert body["status"] == answer.status_code
    assert not _INSIDE.search(answer.get_data(as_text=True))
    assert answer.status_code != 401 or answer.headers["WWW-Authenticate"].startswith("Bearer realm=")
    if body["type"].startswith("http://localhost/"):
        _has_a_page(shop, body["type"], body["title"])
    else:
        assert body["type"] == "https://iana.org/assignments/http-problem-types#quota-exceeded"


def _has_a_page(shop: Shop, uri: str, title: str) -> None:
    """RFC 9457, 4: a type leads to what describes it. Looked up once each."""
    seen = shop.app.extensions.setdefault("types seen", set())
    if uri not in seen:
        page = shop.client.get(uri.removeprefix("http://localhost"))
        assert page.status_code == 200 and title in page.get_data(as_text=True)
        seen.add(uri)
