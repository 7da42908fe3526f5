"""Results of a batch, streamed from the database in pages, so that memory does not grow with them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

from flask import Response

from service.api import gates
from service.api.batch_shown import done_of, seconds_to_wait
from service.api.conditions import with_tag
from service.api.errors import Refusal
from service.api.routes import CSV, NDJSON
from service.batch.results import csv_header, csv_rows, trailer
from service.store import batches as store
from service.store.batches import KeptBatch
from service.store.database import Database

# What results can be made as; the first is what a caller gets who does not say.
MADE = (NDJSON, CSV)
_PAGE = 500


def answer(one: KeptBatch, database: Database, account_id: str) -> Response:
    """The results as the caller likes them best. Refused while they are not whole, and once they are gone."""
    if one.state == "expired":
        raise Refusal(
            "gone", f"The results of the batch '{one.id}' were kept until {one.expires_at}; make it anew."
        )
    if one.state in store.UNFINISHED:
        raise Refusal(
            "conflict",
            f"The batch is {one.state}: {done_of(one)} of {one.lines} lines are done; ask again later.",
            headers={"Retry-After": str(seconds_to_wait(one))},
        )
    media = gates.preferred(MADE)
    bodies = _bodies(one, database, account_id)
    if media == CSV:
        found = Response(_csv(bodies), content_type=f"{CSV}; charset=utf-8")
        found.headers["Content-Disposition"] = 'attachment; filename="batch.csv"'
    else:
        found = Response(_lines(one, bodies), content_type=NDJSON)
    # They do not change any more, but for going away.
    return with_tag(found, f'"{one.id}.{media.rpartition("/")[2]}"')


def _bodies(one: KeptBatch, database: Database, account_id: str) -> Iterator[str]:
    after = 0
    while True:
        page = _page(one, database, account_id, after)
        for line, body in page:
            after = line
            yield body
        if len(page) < _PAGE:
            return


def _page(one: KeptBatch, database: Database, account_id: str, after: int) -> list[tuple[int, str]]:
    return database.read_within(account_id, lambda scope: store.results(scope, one.id, after, _PAGE))


def _lines(one: KeptBatch, bodies: Iterator[str]) -> Iterator[bytes]:
    """Lines and the trailer. It is left out where lines are missing, since then the stream was cut."""
    digest, count = hashlib.sha256(), 0
    for body in bodies:
        line = body.encode() + b"\n"
        digest.update(line)
        count += 1
        yield line
    if count == done_of(one):
        counts = {"costed": one.costed, "failed": one.failed, "unchanged": one.unchanged}
        yield trailer(counts, digest.hexdigest()) + b"\n"


def _csv(bodies: Iterator[str]) -> Iterator[bytes]:
    yield csv_header().encode()
    for body in bodies:
        yield csv_rows(body.encode()).encode()
