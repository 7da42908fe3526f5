"""/calculator: what an aquarium costs to keep, asked with a form; open to all, without a script too."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import partial
from typing import Any, cast

from flask import Response, g, request

from service.api.callers import OPEN
from service.api.conditions import vary
from service.api.costings import written_out
from service.api.gates import OTHERS, preferred
from service.api.routes import Blueprint, as_json, as_page
from service.documents.calculator.fields import OTHER
from service.documents.calculator.form import names
from service.documents.calculator.page import page
from service.documents.calculator.region import territory
from service.documents.calculator.typed import label_of
from service.documents.calculator.view import View
from service.documents.calculator.whole import ADDRESS, Query, calculated
from service.documents.speech import DEFAULT, LANGUAGES, best_language, speech
from service.quoting import cost
from service.schemas import check
from service.schemas.calculator import Calculation
from service.schemas.fields import Text, Word
from service.schemas.nesting import Shape

JSON, HTML = "application/json", "text/html"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
LONGEST = 64
# What is asked besides what is typed.
LANGUAGE, PART, ROUTINE = "language", "part", "routine"


def query_of(name: str, says: str, **more: Text) -> type[Shape]:
    """The shape of a query: every field of the form as it is typed, and how the answer shall be."""
    fields: dict[str, Text | Word] = {
        LANGUAGE: Word("Language of the texts; default as 'Accept-Language' says.", *LANGUAGES),
        PART: Word("What the JSON holds: the form too (default), or the answer alone.", "form", "answer"),
    }
    fields |= {one: Text(_says(one), longest=LONGEST) for one in names()}
    return cast(type[Shape], type(name, (Shape,), {"__doc__": says, **fields, **more}))


def _says(name: str) -> str:
    label = label_of(name.removeprefix(OTHER), speech(DEFAULT))
    return f"{label}, of the variant." if name.startswith(OTHER) else f"{label}."


CalculatorQuery = query_of("CalculatorQuery", "What is typed into the calculator.")

blp = Blueprint("calculator", __name__, description="What an aquarium costs to keep, asked with a form.")
blp.record_once(lambda state: OTHERS.update({"calculator.calculator": (HTML, JSON)}))


@blp.route(ADDRESS)
@blp.needs(OPEN, policy="costings")
@blp.arguments(CalculatorQuery, location="query")
@blp.response(200, {"type": "string"}, content_type=HTML, description="A page.")
@blp.alt_response(200, schema=Calculation, content_type=JSON, description="What the page shows, as data.")
@blp.fails(400, 406, 429, 500, 503)
def calculator(asked: dict[str, Any]) -> Response:
    """The calculator: a form and its answer.

    The address holds all that was typed; nothing is kept. What cannot be taken as it is stands
    at its field, and the answer is 200 all the same.
    """
    if preferred((HTML, JSON)) == JSON:
        found = worked_out(asked)
        answer = as_json(found)
    else:
        found = worked_out(asked | {PART: "form"})
        answer = as_page(page(found), POLICY)
    answer.content_language = (found["language"],)
    return varied(answer, "Accept", "Accept-Language")


def worked_out(asked: dict[str, Any], **more: Any) -> View:
    """The view model of a query; `more` goes into the request beside what was typed."""
    today = datetime.now(UTC).date()
    header = request.headers.get("Accept-Language")
    language = asked.get(LANGUAGE) or best_language(header)
    given = {name: text for name, text in asked.items() if name not in (LANGUAGE, PART, ROUTINE)}
    query = Query(given, speech(language), territory(language, header), today, more)
    return calculated(query, partial(_costed, today), form=asked.get(PART) != "answer")


def varied(answer: Response, *headers: str) -> Response:
    """The answer, which hangs on these headers of the request."""
    for header in headers:
        vary(answer, header)
    return answer


def _costed(today: date, document: dict[str, Any]) -> dict[str, Any]:
    """A costing, as POST /v1/costings makes it."""
    found = cost(document, today, check(document), written_out(document, today))
    # For the metrics.
    g.costings = g.get("costings", 0) + 1
    return found
