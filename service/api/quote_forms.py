"""The forms of a quote: which one is asked for, and how each but JSON is made."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import orjson
from flask import Response, request

from service.api import gates
from service.api.routes import as_page
from service.documents.calendar import CALENDAR, calendar
from service.documents.edition import edition
from service.documents.html import HTML, page
from service.documents.speech import best_language
from service.documents.told import State
from service.documents.view import view
from service.schemas.quote_csv import CSV, quote_csv
from service.schemas.quotes import FORMS
from service.store.quotes import Issued

PDF = "application/pdf"
# What a quote can be made as, by media type; the first is what a caller gets who does not say.
MADE = (gates.JSON, CSV, HTML, PDF, CALENDAR)
# No script at all, and nothing from elsewhere.
POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; object-src 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
FORMS_TOLD = "The quote: JSON, or by `as` or `Accept` CSV, a page, a PDF or a calendar of purchases."
_MOST = 100_000_000
OTHER_FORMS = {
    200: {
        "content": {
            CSV: {"schema": {"type": "string", "maxLength": _MOST}},
            HTML: {"schema": {"type": "string", "maxLength": _MOST}},
            PDF: {"schema": {"type": "string", "contentMediaType": PDF, "maxLength": _MOST}},
            CALENDAR: {"schema": {"type": "string", "maxLength": _MOST}},
        }
    }
}
# In these the words are in the reader's language.
_SPOKEN = (HTML, PDF, CALENDAR)


def asked_media(query: dict[str, Any], *, pages_first: bool = False) -> str:
    """The media type that `as` names, else the one that 'Accept' likes best.

    With `pages_first` a caller whose 'Accept' names pages gets one, where it likes no other form more.
    """
    if "as" in query:
        return MADE[FORMS.index(query["as"])]
    accept = request.headers.get("Accept", "")
    made = (HTML, *MADE) if pages_first and HTML in accept.lower() else MADE
    return gates.preferred(made)


def asked_language(query: dict[str, Any]) -> str:
    """The language that the query names, else the one that 'Accept-Language' likes best."""
    named: str | None = query.get("language")
    return named or best_language(request.headers.get("Accept-Language"))


def made_as(issued: Issued, media: str, language: str) -> Response:
    """A quote in any form but JSON. Names of files say nothing of users' texts."""
    document = orjson.loads(issued.document)
    if media == CSV:
        return _file(quote_csv(document["costing"]), f"{CSV}; charset=utf-8", "quote.csv")
    if media == CALENDAR:
        made = calendar(document, language, issued.digest)
        answer = _file(made, f"{CALENDAR}; charset=utf-8", "quote.ics")
    else:
        state = State(issued.digest, has_expired(issued), issued.superseded_by is not None)
        shown = view(document, language, state)
        if media == PDF:
            # Taking the typesetter in costs time that no other form should pay.
            from service.documents.pdf import pdf

            answer = _file(pdf(shown, document["issued_at"]), PDF, "quote.pdf")
        else:
            answer = as_page(page(shown), POLICY)
            answer.headers["Cross-Origin-Opener-Policy"] = "same-origin"
            answer.headers["X-Robots-Tag"] = "noindex, nofollow"
    answer.headers["Content-Language"] = language
    return answer


def tag_of(issued: Issued, media: str, language: str = "") -> str:
    """A tag that changes with what is said beside the document too, and with how it is made."""
    state = f"{issued.superseded_by or 0}.{int(has_expired(issued))}.{media.rpartition('/')[2]}"
    spoken = f".{language}.{edition()}" if media in _SPOKEN else ""
    return f'"{issued.digest[:32]}.{state}{spoken}"'


def has_expired(issued: Issued) -> bool:
    """Whether the day has come on which a quote no longer holds, in UTC."""
    return is_past(issued.valid_until)


def is_past(valid_until: str) -> bool:
    """Whether a day has come, in UTC."""
    return str(datetime.now(UTC).date()) >= valid_until


def _file(body: bytes | str, content_type: str, name: str) -> Response:
    answer = Response(body, content_type=content_type)
    answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer
