"""Requests that create something: done once however often they are sent, and noted in the audit trail."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass, field

import orjson
from flask import Response, request

from service.api.callers import caller, database
from service.api.errors import Refusal
from service.api.tracing import trace_id
from service.schemas.body import as_sent
from service.store import events
from service.store.replies import Reply, keep_reply, reply
from service.store.scope import Scope

_KEY = re.compile(r'"([A-Za-z0-9._~-]{16,128})"|([A-Za-z0-9._~-]{16,128})')
_HEADER = "Idempotency-Key"


@dataclass(frozen=True, slots=True)
class Made:
    """What came of a request: its answer, and what the audit trail says."""

    what: str
    subject: str
    body: object
    status: int = 201
    headers: dict[str, str] = field(default_factory=dict)


def create(document: object, work: Callable[[Scope], Made], *, key_needed: bool = False) -> Response:
    """Do a piece of work that writes, with the account to itself; at most once for each Idempotency-Key."""
    asked = _key(key_needed)
    route = f"{request.method} {request.path}"
    fingerprint = _fingerprint(route, document)

    def once(scope: Scope) -> Reply:
        if asked:
            before = reply(scope, route, asked)
            if before is not None:
                return _same(before, fingerprint)
        made = work(scope)
        note(scope, made.what, made.subject)
        body = "" if made.body is None else orjson.dumps(made.body, default=as_sent).decode()
        answer = Reply(fingerprint, made.status, made.headers, body)
        if asked:
            keep_reply(scope, route, asked, answer)
        return answer

    return _answer(database().write_within(caller().account_id, once))


def sent_before(document: object, *, key_needed: bool = False) -> Response | None:
    """The answer to the same request, where it was sent before with the same key.

    For what takes long to get ready before `create`, and might not come out as it did.
    """
    asked, route = _key(key_needed), f"{request.method} {request.path}"
    if not asked:
        return None
    found = database().read_within(caller().account_id, lambda scope: reply(scope, route, asked))
    return _answer(_same(found, _fingerprint(route, document))) if found else None


def sent_key() -> str:
    """The request's Idempotency-Key; empty without one."""
    return _key(needed=False)


def note(scope: Scope, what: str, subject: str) -> None:
    """Put into the audit trail what the caller did."""
    events.note(scope, caller().key_id, what, subject, trace_id())


def _answer(done: Reply) -> Response:
    answer = Response(done.body, done.status, mimetype="application/json" if done.body else None)
    if not done.body:
        answer.headers.remove("Content-Type")
    answer.headers.update(done.headers)
    return answer


def _key(needed: bool) -> str:
    text = request.headers.get(_HEADER)
    if text is None and not needed:
        return ""
    found = _KEY.fullmatch((text or "").strip(" \t"))
    if found is None:
        raise Refusal(
            "bad-request",
            f"'{_HEADER}' must be a text of 16 to 128 letters, digits and . _ ~ - that no other request has, "
            "so that sending this one twice has one effect.",
            [
                {
                    "header": _HEADER,
                    "detail": f"'{_HEADER}' {'is missing' if text is None else 'is not right'}.",
                }
            ],
        )
    return found[1] or found[2]


def _fingerprint(route: str, document: object) -> str:
    """SHA-256 of what is asked, the same however the document is spaced and its members ordered."""
    text = orjson.dumps(document, default=as_sent, option=orjson.OPT_SORT_KEYS)
    return hashlib.sha256(route.encode() + b"\n" + text).hexdigest()


def _same(before: Reply, fingerprint: str) -> Reply:
    if before.fingerprint != fingerprint:
        raise Refusal(
            "idempotency-key-reused",
            f"This '{_HEADER}' was sent before with another request; use a new one.",
            [{"header": _HEADER, "detail": f"'{_HEADER}' must be new for a new request."}],
        )
    return before
