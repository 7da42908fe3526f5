"""What a request must be before a view sees it: its types and its query.

The earliest gate answers: 404 and 405 (the router), 401 and 403 (callers.py), 429 (quota.py),
415, 406, 400, then 413 and 400 when the body is read, 404 for what is not kept, 428 and 412, 422
and last 409.
"""

from __future__ import annotations

import re
from functools import lru_cache
from urllib.parse import parse_qsl

from flask import current_app, request

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
_TYPE = re.compile(rf'({_NAME}/{_NAME})[ \t]*(?:;[ \t]*charset="?utf-8"?[ \t]*)?', re.IGNORECASE)
_NO_BODY = ("GET", "HEAD", "DELETE")


def gate() -> None:
    """Refuse what no view could answer; runs before every view."""
    if request.url_rule is None or request.method == "OPTIONS":
        return
    # PostgreSQL holds no NUL in a text. It is read as what is no UTF-8 is, and names nothing.
    request.view_args = {
        name: value.replace("\0", "\ufffd") for name, value in (request.view_args or {}).items()
    }
    view = current_app.view_functions[request.endpoint or ""]
    takes: tuple[str, ...] = getattr(view, "takes", (JSON,))
    if request.method not in _NO_BODY and takes:
        _body_is_one_of(takes)
    accept = request.headers.get("Accept")
    if accept is not None and accept != "*/*":
        _is_acceptable(accept, OTHERS.get(request.endpoint or "", (JSON,)))
    if request.query_string:
        _has_no_other_query(getattr(view, "asked", frozenset()))


def _body_is_one_of(takes: tuple[str, ...]) -> None:
    encoding = request.headers.get("Content-Encoding")
    if encoding is not None and encoding.strip().lower() != "identity":
        raise Refusal(
            "unsupported-type",
            "The body must not be compressed; send it without 'Content-Encoding'.",
            [{"header": "Content-Encoding", "detail": "'Content-Encoding' must be left out."}],
            {"Accept-Encoding": "identity"},
        )
    found = _TYPE.fullmatch(request.headers.get("Content-Type", ""))
    if found is None or found[1].lower() not in takes:
        named = " or ".join(takes)
        raise Refusal(
            "unsupported-type",
            f"The body must be {named} in UTF-8; say which in 'Content-Type'.",
            [{"header": "Content-Type", "detail": f"'Content-Type' must be {named}."}],
            {"Accept": ", ".join(takes)},
        )


def _is_acceptable(accept: str, made: tuple[str, ...]) -> None:
    if any(accepts(accept, media) for media in made):
        return
    raise Refusal(
        "not-acceptable",
        f"The answer is made as {' or '.join(made)} only; name it in 'Accept' or leave that out.",
        [{"header": "Accept", "detail": f"'Accept' must allow {' or '.join(made)}."}],
    )


def _has_no_other_query(asked: frozenset[str]) -> None:
    names = [name for name, _ in parse_qsl(request.query_string.decode("latin-1"), keep_blank_values=True)]
    strange = [name for name in dict.fromkeys(names) if name not in asked]
    twice = [name for name in dict.fromkeys(names) if name in asked and names.count(name) > 1]
    faults = [
        {"parameter": name, "detail": f"'{name}' is not a parameter of this address; leave it out."}
        for name in strange
    ]
    faults += [{"parameter": name, "detail": f"'{name}' must be given once only."} for name in twice]
    # What is not even a name and a value counts as strange too.
    if faults or not names:
        taken = (
            f"The parameters of this address are {', '.join(sorted(asked))}."
            if asked
            else ("This address takes no query; leave out everything from the question mark on.")
        )
        raise Refusal("bad-request", taken, faults)


def preferred(made: tuple[str, ...]) -> str:
    """The media type that the caller likes best; of those liked alike the first."""
    accept = request.headers.get("Accept")
    return made[0] if accept is None else max(made, key=lambda media: liking(accept, media))


def accepts(header: str, media: str) -> bool:
    """Whether an Accept header lets a media type through."""
    return liking(header, media) > 0


@lru_cache(maxsize=1024)
def liking(header: str, media: str) -> float:
    """How much an Accept header likes a media type, from 0 for not at all to 1.

    The most specific range that fits decides. Ranges that are not well formed are
    passed over, and a header without a well-formed one says nothing.
    """
    kind, _, name = media.partition("/")
    found = {(kind, name): 3, (kind, "*"): 2, ("*", "*"): 1}
    best, liked, said_something = 0, 0.0, False
    for item in header.lower().split(","):
        part, *parameters = (piece.strip(" \t") for piece in item.split(";"))
        fits = _RANGE.fullmatch(part)
        quality = next((p[2:].strip(" \t") for p in parameters if p.startswith("q=")), "1")
        if fits is None or not _QUALITY.fullmatch(quality):
            continue
        said_something = True
        weight = found.get((fits[1], fits[2]), 0)
        if weight > best:
            best, liked = weight, float(quality)
    return liked if said_something else 1.0
