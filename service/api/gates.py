"""What a request must be before a view sees it: its types and its query.

The earliest gate answers: 404 and 405 (the router), 415, 406, 400, then 413 and 400
when the body is read, then 422.
"""

from __future__ import annotations

import re
from functools import lru_cache
from urllib.parse import parse_qsl

from flask import request

from service.api.errors import Refusal

JSON = "application/json"

# What an endpoint makes where it is not JSON.
OTHERS: dict[str, tuple[str, ...]] = {
    "documentation.page": ("text/html",),
    "documentation.asset": ("text/css", "text/javascript"),
}

_NAME = r"[A-Za-z0-9!#$%&'*+.^_`|~-]+"
_RANGE = re.compile(rf"({_NAME})/({_NAME})")
_QUALITY = re.compile(r"0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?")
_JSON_TYPE = re.compile(r'application/json[ \t]*(?:;[ \t]*charset="?utf-8"?[ \t]*)?', re.IGNORECASE)
_NO_BODY = ("GET", "HEAD")


def gate() -> None:
    """Refuse what no view could answer; runs before every view."""
    if request.url_rule is None or request.method == "OPTIONS":
        return
    if request.method not in _NO_BODY:
        _body_is_json()
    accept = request.headers.get("Accept")
    if accept is not None and accept != "*/*":
        _is_acceptable(accept, OTHERS.get(request.endpoint or "", (JSON,)))
    if request.query_string:
        _has_no_query()


def _body_is_json() -> None:
    encoding = request.headers.get("Content-Encoding")
    if encoding is not None and encoding.strip().lower() != "identity":
        raise Refusal(
            "unsupported-type",
            "The body must not be compressed; send it without 'Content-Encoding'.",
            [{"header": "Content-Encoding", "detail": "'Content-Encoding' must be left out."}],
            {"Accept-Encoding": "identity"},
        )
    content_type = request.headers.get("Content-Type", "")
    if not _JSON_TYPE.fullmatch(content_type):
        raise Refusal(
            "unsupported-type",
            f"The body must be JSON in UTF-8; send it with 'Content-Type: {JSON}'.",
            [{"header": "Content-Type", "detail": f"'Content-Type' must be {JSON}."}],
            {"Accept": JSON},
        )


def _is_acceptable(accept: str, made: tuple[str, ...]) -> None:
    if any(accepts(accept, media) for media in made):
        return
    raise Refusal(
        "not-acceptable",
        f"The answer is made as {' or '.join(made)} only; name it in 'Accept' or leave that out.",
        [{"header": "Accept", "detail": f"'Accept' must allow {' or '.join(made)}."}],
    )


def _has_no_query() -> None:
    names = dict.fromkeys(
        name for name, _ in parse_qsl(request.query_string.decode("latin-1"), keep_blank_values=True)
    )
    raise Refusal(
        "bad-request",
        "This address takes no query; leave out everything from the question mark on.",
        [
            {"parameter": name, "detail": f"'{name}' is not a parameter of this address; leave it out."}
            for name in names
        ],
    )


@lru_cache(maxsize=1024)
def accepts(header: str, media: str) -> bool:
    """Whether an Accept header lets a media type through.

    The most specific range that fits decides. Ranges that are not well formed are
    passed over, and a header without a well-formed one says nothing.
    """
    kind, _, name = media.partition("/")
    found = {(kind, name): 3, (kind, "*"): 2, ("*", "*"): 1}
    best, allowed, said_something = 0, False, False
    for item in header.lower().split(","):
        part, *parameters = (piece.strip(" \t") for piece in item.split(";"))
        fits = _RANGE.fullmatch(part)
        quality = next((p[2:].strip(" \t") for p in parameters if p.startswith("q=")), "1")
        if fits is None or not _QUALITY.fullmatch(quality):
            continue
        said_something = True
        weight = found.get((fits[1], fits[2]), 0)
        if weight > best:
            best, allowed = weight, float(quality) > 0
    return allowed or not said_something
