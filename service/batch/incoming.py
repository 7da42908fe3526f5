"""Where the rows of a kept batch come from: kept setups, or a file that was sent."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from itertools import chain
from typing import Any

import orjson

from service.batch.comma import CsvFile
from service.batch.entries import Entry, Place
from service.batch.ndjson import ndjson_entries
from service.batch.rows import FAULTY, Row, faulty
from service.errors import Fault, NotComputable, pointer
from service.schemas.body import read_json
from service.store import kept
from service.store.kept import Kept
from service.store.scope import Scope
from service.store.text import folded

_AT_ONCE = 500
_SETTINGS = re.compile(rb'\s*\{\s*"settings"\s*:')
_NOT_JSON = [{"pointer": "#", "detail": "the row must be one JSON object; it begins with a character NUL."}]


def kept_rows(scope: Scope, asked: Any, *, missing_told: bool = False) -> Iterator[Row]:
    """The kept setups that are asked for, numbered from 1; NotComputable where one of them is not there.

    With `missing_told` a setup that is not there is a row that tells so instead.
    """
    every = asked == "all"
    if every or "routine" in asked:
        wanted = None if every else asked["routine"]
        if wanted is not None and not kept.routines.many(scope, [wanted]):
            raise NotComputable([_unknown("routine", ("routine",), wanted)])
        found = (one for one in _all(scope) if every or one.body.get("routine") == wanted)
        yield from (_row(line, one) for line, one in enumerate(found, 1))
        return
    name = "ids" if "ids" in asked else "skus"
    setups = _named(scope, name, asked[name])
    missing = [i for i, one in enumerate(setups) if one is None]
    if missing and not missing_told:
        raise NotComputable([_unknown("setup", (name, i), asked[name][i]) for i in missing])
    for line, one in enumerate(setups, 1):
        if one is None:
            gone = _unknown("setup", (name, line - 1), asked[name][line - 1])
            yield faulty(line, [{"pointer": "#", "detail": gone.detail}])
        else:
            yield _row(line, one)


def settings_and_rows(raw: bytes, *, lines: bool) -> tuple[Any, Iterator[Row]]:
    """The rows of NDJSON or CSV, and the settings of a first line `{"settings": {...}}`; else None."""
    stream = io.BytesIO(raw)
    if not lines:
        return None, map(_of_entry, CsvFile(stream, Place()).entries())
    entries = ndjson_entries(stream, Place())
    first = next(entries, None)
    if first is None:
        return None, iter(())
    if first.row is not None and _SETTINGS.match(first.row.raw):
        document = read_json(first.row.raw)
        if isinstance(document, dict) and list(document) == ["settings"]:
            return document["settings"], map(_of_entry, entries)
    return None, map(_of_entry, chain([first], entries))


def _of_entry(entry: Entry) -> Row:
    if entry.row is None:
        told = orjson.loads(entry.spoiled.body)["problem"]["errors"] if entry.spoiled else []
        return faulty(entry.line, told)
    # Nobody else may say what begins like ours.
    return faulty(entry.line, _NOT_JSON) if entry.row.raw.startswith(FAULTY[:1]) else entry.row


def _all(scope: Scope) -> Iterator[Kept]:
    after = ""
    while True:
        page = kept.setups.page(scope, _AT_ONCE, after=after)
        yield from page.items
        if not page.later:
            return
        after = page.items[-1].id


def _named(scope: Scope, name: str, wanted: list[str]) -> list[Kept | None]:
    found: list[Kept | None] = []
    for start in range(0, len(wanted), _AT_ONCE):
        part = wanted[start : start + _AT_ONCE]
        if name == "ids":
            by_id = kept.setups.many(scope, part)
            found += [by_id.get(one) for one in part]
        else:
            by_sku = kept.setups.named(scope, "folded_sku", map(folded, part))
            found += [next(iter(by_sku.get(folded(one), ())), None) for one in part]
    return found


def _row(line: int, one: Kept) -> Row:
    return Row(line, orjson.dumps({name: value for name, value in one.body.items() if name != "public"}))


def _unknown(noun: str, place: tuple[str | int, ...], got: str) -> Fault:
    what = "sku" if place[0] == "skus" else "id"
    return Fault(
        pointer("setups", *place),
        f"'{place[0]}' must name the {what} of a {noun} of this account (got '{got}'); "
        f"GET /v1/{noun}s lists them.",
    )
