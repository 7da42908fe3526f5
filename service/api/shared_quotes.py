"""Links to quotes: made and taken back by the shop, opened by whoever has the address."""

from __future__ import annotations

import hmac
import secrets
from datetime import UTC, datetime
from typing import Any

import orjson
from flask import Response, request

from service.api import gates
from service.api.callers import MANAGE, OPEN, caller, database, reads
from service.api.conditions import vary
from service.api.errors import Refusal
from service.api.kept import FAILURES
from service.api.leads import ID, leads, to
from service.api.once import Made, create, note, sent_key
from service.api.quote_forms import (
    FORMS_TOLD,
    MADE,
    OTHER_FORMS,
    asked_language,
    asked_media,
    has_expired,
    made_as,
)
from service.api.routes import Blueprint, as_json, checked, no_content
from service.errors import Fault, NotComputable, pointer
from service.quoting.issuing import end_of
from service.schemas.headers import Once
from service.schemas.quotes import Link, LinkList, NewLink, QuoteFormQuery, SharedQuote
from service.store.ids import stamp
from service.store.quote_links import add_link, links_of, quote_behind, revoke_link
from service.store.quotes import Issued, get_quote
from service.store.scope import Scope

OPEN_FOR = "P30D"
# What a buyer sees of the frozen document: nothing that names kept things or is the shop's own.
SHOWN = ("number", "account", "buyer_reference", "issued_at", "valid_until", "costing", "wording")
HEADERS = {"Cache-Control": "private, no-store", "X-Robots-Tag": "noindex, nofollow"}
NOTHING = "There is nothing behind this address: it may have been mistyped, have ended or been taken back."

blp = Blueprint("shared_quotes", __name__, description="Quotes that are shown to buyers.")
gates.OTHERS["shared_quotes.opened"] = MADE


@blp.route("/v1/quotes/<id>/links", methods=["POST"])
@blp.doc(operationId="share_quote")
@blp.needs(MANAGE)
@blp.arguments(Once, location="headers")
@blp.arguments(NewLink, example={"expires_in": OPEN_FOR}, description="How long it opens.")
@blp.response(201, Link, description="It is made. The token is shown this once.")
@leads(
    201,
    to("unshare_quote", id="$request.path.id", link=ID),
    to("read_shared_quote", token="$response.body#/token"),  # noqa: S106 - where it stands in the answer
)
@blp.fails(*FAILURES, 404, 409, 413, 415, 422)
def share(document: object, id: str) -> Response:
    """Make a link to a quote. Whoever has its address can read the quote, but not the shop's note."""

    def work(scope: Scope) -> Made:
        get_quote(scope, id)
        link = add_link(scope, id, token, _expires_at(checked(document, NewLink)))
        return Made("quotes.share", f"{id} {link['id']}", link)

    token = _token()
    # The token is not kept with the answer, so another key of the account cannot get the answer again.
    answer = create({"by": caller().key_id, "body": document}, work)
    answer.set_data(orjson.dumps(orjson.loads(answer.get_data()) | {"token": token, "url": f"/q/{token}"}))
    return answer


@blp.route("/v1/quotes/<id>/links", methods=["GET"])
@blp.doc(operationId="list_quote_links")
@blp.needs(MANAGE)
@blp.response(200, LinkList, description="All its links.")
@blp.fails(*FAILURES, 404)
def links(id: str) -> Response:
    """The links of a quote, also those that have ended, without what opens them."""

    def work(scope: Scope) -> list[dict[str, Any]]:
        get_quote(scope, id)
        return links_of(scope, id)

    answer = as_json({"items": reads().read_within(caller().account_id, work)})
    answer.headers["Cache-Control"] = "private, no-store"
    return answer


@blp.route("/v1/quotes/<id>/links/<link>", methods=["DELETE"])
@blp.doc(operationId="unshare_quote")
@blp.needs(MANAGE)
@blp.response(204, description="It no longer opens anything.")
@blp.fails(*FAILURES, 404)
def take_back(id: str, link: str) -> Response:
    """Take a link back, for good and at once."""

    def work(scope: Scope) -> None:
        revoke_link(scope, id, link)
        note(scope, "quotes.unshare", f"{id} {link}")

    database().write_within(caller().account_id, work)
    return no_content()


@blp.route("/q/<token>", methods=["GET"])
@blp.doc(operationId="read_shared_quote")
@blp.needs(OPEN, policy="reads")
@blp.arguments(QuoteFormQuery, location="query")
@blp.response(200, SharedQuote, description=FORMS_TOLD)
@blp.doc(responses=OTHER_FORMS)
@blp.fails(400, 404, 406, 429, 500, 503)
def opened(query: dict[str, Any], token: str) -> Response:
    """What a buyer sees of a quote that was shared; for a browser a page."""
    issued = database().read(lambda connection: quote_behind(connection, token))
    if issued is None:
        raise Refusal("not-found", NOTHING, headers=HEADERS)
    media = asked_media(query, pages_first=True)
    if media == gates.JSON:
        answer = as_json(_public(issued))
    else:
        answer = made_as(issued, media, asked_language(query))
    answer.headers.update(HEADERS)
    vary(answer, "Accept, Accept-Language")
    return answer


def _public(issued: Issued) -> dict[str, Any]:
    document = orjson.loads(issued.document)
    return {
        "expired": has_expired(issued),
        "superseded": issued.superseded_by is not None,
        "digest": issued.digest,
        "document": {name: document[name] for name in SHOWN},
    }


def _token() -> str:
    """What opens a link: 256 bits, random unless the request may be sent again.

    Then they follow from the caller's secret key and the Idempotency-Key, so that the same
    request gets the same token although it is not kept.
    """
    sent = sent_key()
    if not sent:
        return secrets.token_hex(32)
    key = request.headers["Authorization"].partition(" ")[2].strip(" ")
    return hmac.digest(key.encode(), f"link {request.path} {sent}".encode(), "sha256").hex()


def _expires_at(document: dict[str, Any]) -> str:
    now, span = datetime.now(UTC), document.get("expires_in", OPEN_FOR)
    end = end_of(now.date(), span)
    if end is None:
        detail = f"'expires_in' must end by 2100-12-31 and last at most thirty years (got {span})."
        raise NotComputable([Fault(pointer("expires_in"), detail)])
    return stamp(datetime.combine(end, now.timetz()))
