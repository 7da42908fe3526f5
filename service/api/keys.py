"""/v1/keys: the account's own keys.

A new key is told once and kept nowhere, so the answer cannot be repeated for an Idempotency-Key.
Whoever lost it revokes that key and makes another. A key may end itself, as it must where it
fell into wrong hands; the operator's `litrewise key new` makes one for an account without any.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from flask import Response, request

from service.api.callers import MANAGE, caller, database, reads
from service.api.errors import Refusal
from service.api.leads import leads, to
from service.api.listing import as_page_of, asked_page
from service.api.once import note
from service.api.routes import Blueprint, as_json, checked, no_content
from service.schemas.keys import KeyList, MadeKey, a_new_key
from service.schemas.lists import ListQuery
from service.store import accounts
from service.store.accounts import ApiKey
from service.store.scope import Scope

FAILURES = (400, 401, 403, 406, 429, 500, 503)
EXAMPLE = {
    "kind": "publishable",
    "name": "Calculator on the shop's pages",
    "origins": ["https://shop.example"],
}

blp = Blueprint("keys", __name__, url_prefix="/v1/keys", description="API keys of the account.")


@blp.route("", methods=["GET"])
@blp.needs(MANAGE)
@blp.arguments(ListQuery, location="query")
@blp.response(200, KeyList, description="One page.")
@blp.fails(*FAILURES)
def keys(query: dict[str, Any]) -> Response:
    """The keys of the account, oldest first; the keys themselves are not kept and not shown."""
    page = asked_page(query)
    found, earlier, later = reads().read_within(
        caller().account_id, lambda scope: accounts.keys(scope, **page)
    )
    return as_page_of(query, found, shown, earlier=earlier, later=later)


@blp.route("", methods=["POST"])
@blp.needs(MANAGE)
@blp.arguments(a_new_key(), description="The key.", example=EXAMPLE)
@blp.response(201, MadeKey, description="It is made; this is the only time that it is shown whole.")
@leads(201, to("revoke_key"))
@blp.fails(*FAILURES, 413, 415, 422)
def add_key(document: object) -> Response:
    """Make a key. It takes no Idempotency-Key, since its answer is kept nowhere."""
    _is_not_to_be_repeated()
    asked = checked(document, a_new_key())

    def work(scope: Scope) -> tuple[ApiKey, str]:
        made, key = accounts.add_key(scope, asked["kind"], asked["name"], tuple(asked.get("origins", ())))
        note(scope, "keys.add", made)
        return accounts.key_shown(scope, made), key

    made, key = database().write_within(caller().account_id, work)
    answer = as_json(shown(made) | {"key": key})
    answer.status_code = 201
    answer.headers["Cache-Control"] = "no-store"
    return answer


@blp.route("/<id>", methods=["DELETE"])
@blp.doc(operationId="revoke_key")
@blp.needs(MANAGE)
@blp.response(204, description="It opens nothing any more, in any process.")
@blp.fails(*FAILURES, 404)
def delete_key(id: str) -> Response:
    """End a key at once. It stays in the list, since the audit trail names it."""

    def work(scope: Scope) -> None:
        accounts.revoke(scope, id)
        note(scope, "keys.revoke", id)

    database().write_within(caller().account_id, work)
    return no_content()


def shown(key: ApiKey) -> dict[str, Any]:
    """A key as it is answered."""
    return asdict(key) | {"shown_as": key.shown_as}


def _is_not_to_be_repeated() -> None:
    if "Idempotency-Key" in request.headers:
        raise Refusal(
            "bad-request",
            "A key cannot be told twice, so this address takes no 'Idempotency-Key'. Where an answer was "
            "lost, revoke the key that it made and make another.",
            [{"header": "Idempotency-Key", "detail": "'Idempotency-Key' must be left out here."}],
        )
