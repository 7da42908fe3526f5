"""/v1/quotes: costings that are issued, and then never change."""

from __future__ import annotations

import base64
import hashlib
from datetime import UTC, date, datetime
from typing import Any

import orjson
from flask import Response

from service.api import gates
from service.api.callers import MANAGE, caller, database, reads
from service.api.conditions import vary, with_tag
from service.api.costings import written_out
from service.api.errors import Refusal
from service.api.kept import FAILURES
from service.api.leads import leads, to
from service.api.listing import as_page_of, asked_page
from service.api.once import Made, create, sent_before
from service.api.quote_forms import (
    FORMS_TOLD,
    MADE,
    OTHER_FORMS,
    asked_language,
    asked_media,
    has_expired,
    is_past,
    made_as,
    tag_of,
)
from service.api.routes import Blueprint, as_json
from service.errors import Fault, NotComputable, pointer
from service.quoting.issuing import Draft, Terms, draft, end_of, engine, recomputed, sealed
from service.quoting.reader import obj
from service.quoting.resolve import day_or
from service.quoting.sealing import verify
from service.schemas.examples import SMALL
from service.schemas.faults import faults_of
from service.schemas.headers import SurelyOnce
from service.schemas.quotes import NewQuote, Quote, QuoteFormQuery, QuoteList, QuoteQuery, Recomputed
from service.store.counters import following
from service.store.ids import new_id, stamp
from service.store.quotes import Issued, Summary, add_quote, get_quote, may_supersede, quote_known, quote_page
from service.store.scope import Scope
from service.store.text import composed, like

HELD_DAYS = "P30D"
# Where an issued quote leads.
LEADS = ("read_quote", "recompute_quote", "share_quote", "list_quote_links")
EXAMPLE = {"request": SMALL, "buyer_reference": "A-1017", "valid_for": "P30D"}
_REQUEST = "#/request"

blp = Blueprint("quotes", __name__, url_prefix="/v1/quotes", description="Costings that never change.")
gates.OTHERS["quotes.one"] = MADE


@blp.route("", methods=["POST"])
@blp.doc(operationId="issue_quote")
@blp.needs(MANAGE, policy="issues")
@blp.arguments(SurelyOnce, location="headers")
@blp.arguments(NewQuote, example=EXAMPLE, description="The request, and what is agreed besides.")
@blp.response(201, Quote, description="It is issued.")
@leads(201, *(to(operation) for operation in LEADS), tagged=True)
@blp.fails(*FAILURES, 409, 413, 415, 422)
def issue(document: object) -> Response:
    """Issue a quote.

    Costs the request and freezes it with all that it was worked out from. Needs an `Idempotency-Key`,
    so that a request that is sent twice issues one quote.
    """
    before = sent_before(document, key_needed=True)
    if before is not None:
        return before
    terms, costed = _agreed(document, datetime.now(UTC).date())
    return create(document, lambda scope: _issued(scope, terms, costed), key_needed=True)


@blp.route("", methods=["GET"])
@blp.doc(operationId="list_quotes")
@blp.needs(MANAGE)
@blp.arguments(QuoteQuery, location="query")
@blp.response(200, QuoteList, description="One page.")
@blp.fails(*FAILURES)
def listing(query: dict[str, Any]) -> Response:
    """The quotes of the account, in the order in which they were issued."""
    page, words = asked_page(query), like(query["q"]) if query.get("q") else ""
    asked = ("buyer_reference", "number", "issued_from", "issued_until")
    equal = {name: composed(query[name]) for name in asked if name in query}
    found = reads().read_within(
        caller().account_id, lambda scope: quote_page(scope, words=words, **page, **equal)
    )
    return as_page_of(query, found.items, _listed, earlier=found.earlier, later=found.later)


@blp.route("/<id>", methods=["GET"])
@blp.doc(operationId="read_quote")
@blp.needs(MANAGE)
@blp.arguments(QuoteFormQuery, location="query")
@blp.response(200, Quote, description=FORMS_TOLD)
@blp.doc(responses=OTHER_FORMS)
@blp.fails(*FAILURES, 404)
def one(query: dict[str, Any], id: str) -> Response:
    """One quote, to the byte as it was issued, or as a page, a PDF, a table or a calendar."""
    issued = _read(id)
    media, language = asked_media(query), asked_language(query)
    answer = as_json(_spliced(issued)) if media == gates.JSON else made_as(issued, media, language)
    answer.headers["Repr-Digest"] = repr_digest(answer.get_data())
    answer = with_tag(answer, tag_of(issued, media, language))
    vary(answer, "Accept-Language")
    return answer


@blp.route("/<id>/recompute", methods=["POST"])
@blp.doc(operationId="recompute_quote")
@blp.needs(MANAGE, policy="costings", takes=())
@blp.response(200, Recomputed, description="It comes out the same.")
@blp.fails(*FAILURES, 404, 409)
def recompute(id: str) -> Response:
    """Work a quote out again from what it froze, and compare.

    409 with the places where it comes out different. Nothing is changed either way.
    """
    issued = _read(id)
    if not verify(issued.document, issued.digest):
        raise Refusal("differs", "What is kept of the quote is not what was issued: its digest is another.")
    text, differ = recomputed(orjson.loads(issued.document))
    if not verify(text, issued.digest):
        raise Refusal(
            "differs",
            f"Worked out again by version {engine()['version']}, the quote comes out different.",
            more={"difference": differ},
        )
    return as_json({"digest": issued.digest, "same": True, "engine": engine()})


def repr_digest(body: bytes) -> str:
    """The digest of an answer's bytes (RFC 9530)."""
    return f"sha-256=:{base64.b64encode(hashlib.sha256(body).digest()).decode()}:"


def _read(id: str) -> Issued:
    return reads().read_within(caller().account_id, lambda scope: get_quote(scope, id))


def _agreed(document: object, today: date) -> tuple[Terms, Draft]:
    """What shall be issued; NotComputable with every fault of the terms and of the request."""
    whole, shape = obj(document), faults_of(document, NewQuote)
    inside = [fault for fault in shape if f"{fault.pointer}/".startswith(f"{_REQUEST}/")]
    faults = [fault for fault in shape if fault not in inside]
    terms = _terms(whole, today, faults)
    costed = None
    try:
        if isinstance(whole.get("request"), dict):
            costed = _costed(whole["request"], today, inside)
        else:
            faults += inside
    except NotComputable as error:
        faults += [_moved(fault, _REQUEST) for fault in error.faults]
    if faults or costed is None:
        raise NotComputable(faults)
    return terms, costed


def _costed(request: dict[str, Any], today: date, inside: list[Fault]) -> Draft:
    shape = [Fault(f"#{fault.pointer[len(_REQUEST) :]}", fault.detail, fault.holder) for fault in inside]
    return draft(request, today, shape, written_out(request, today), caller().account_name)


def _moved(fault: Fault, base: str) -> Fault:
    return Fault(base + fault.pointer[1:], fault.detail, fault.holder)


def _terms(whole: dict[str, Any], today: date, faults: list[Fault]) -> Terms:
    """The terms of a quote; the faults of meaning in them are added to those of shape."""
    at_fault = {fault.pointer for fault in faults}

    def fault(name: str, detail: str) -> None:
        if pointer(name) not in at_fault:
            faults.append(Fault(pointer(name), detail))

    end = today
    if "valid_until" in whole and "valid_for" in whole:
        fault("valid_for", "'valid_for' and 'valid_until' must not both be given; keep one.")
    elif "valid_until" in whole:
        end = day_or(whole["valid_until"], today)
        if end <= today:
            fault("valid_until", f"'valid_until' must come after today (got {whole['valid_until']}, today is "
                  f"{today}); it is the first day on which the quote no longer holds.")  # fmt: skip
    else:
        span = whole.get("valid_for", HELD_DAYS)
        ends = end_of(today, span) if isinstance(span, str) else None
        if ends is None:
            fault(
                "valid_for", f"'valid_for' must end by 2100-12-31 and last at most thirty years (got {span})."
            )
        end = ends or today
    replaced = whole.get("supersedes")
    if isinstance(replaced, str) and not database().read_within(
        caller().account_id, lambda scope: quote_known(scope, replaced)
    ):
        fault("supersedes", f"'supersedes' must be the id of a quote of this account (got '{replaced}'); "
              "GET /v1/quotes lists them.")  # fmt: skip
    return Terms(end, composed(whole.get("buyer_reference")), composed(whole.get("note")), replaced)


def _issued(scope: Scope, terms: Terms, costed: Draft) -> Made:
    """Give a costed request its number and keep it for good."""
    if terms.supersedes is not None:
        may_supersede(scope, terms.supersedes)
    id_, number, now = new_id("quo"), following(scope, "quote"), stamp()
    text, digest = sealed(costed, id_, number, now, terms)
    add_quote(scope, {
        "id": id_, "number": number, "buyer_reference": terms.buyer_reference, "issued_at": now,
        "valid_until": str(terms.valid_until), "supersedes": terms.supersedes, "currency": costed.currency,
        "total": costed.total, "engine_version": engine()["version"], "digest": digest, "document": text,
    })  # fmt: skip
    issued = Issued(id_, number, digest, str(terms.valid_until), text, None)
    return Made("quotes.issue", id_, orjson.Fragment(_spliced(issued)),
                headers={"Location": f"/v1/quotes/{id_}", "ETag": tag_of(issued, gates.JSON)})  # fmt: skip


def _spliced(issued: Issued) -> bytes:
    """A quote as JSON, around the bytes of its document as they are kept."""
    head = orjson.dumps({
        "id": issued.id, "number": issued.number, "digest": issued.digest,
        "superseded_by": issued.superseded_by, "expired": has_expired(issued),
    })  # fmt: skip
    return head[:-1] + b',"document":' + issued.document.encode() + b"}"


def _listed(summary: Summary) -> dict[str, Any]:
    return summary.columns | {"expired": is_past(summary.columns["valid_until"])}
