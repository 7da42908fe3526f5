"""The slow, exact JSON reader: every number from its text, every fault with its place."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from decimal import Decimal, InvalidOperation

from service.errors import Fault, NotJson, pointer
from service.schemas.limits import JSON_DEPTH, NUMBER_CHARS, WHOLE_NUMBER_CHARS
from service.schemas.wording import place

_BOM = b"\xef\xbb\xbf"
_NOT_TEXT = re.compile("[\x00\ud800-\udfff]")

Parts = tuple[str | int, ...]


class _Number(str):
    """A number as it is written."""


class _Constant(str):
    """NaN or an infinity, which JSON does not have."""


class _Pairs(list[tuple[str, object]]):
    """The members of an object as they are written, duplicates and all."""


def read_exactly(raw: bytes) -> object:
    """The document, numbers as int or Decimal; NotJson with every fault found otherwise."""
    if raw.startswith(_BOM):
        raise _not_json("The body must not begin with a byte order mark; send plain UTF-8.")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _not_json(
            f"The body must be UTF-8 (byte {error.start + 1} is not); send it as UTF-8."
        ) from None
    if _depth(raw) > JSON_DEPTH:
        raise _not_json(
            f"The body must not be nested deeper than {JSON_DEPTH} levels; take out the needless brackets."
        )
    try:
        tree = json.loads(
            text,
            object_pairs_hook=_Pairs,
            parse_int=_Number,
            parse_float=_Number,
            parse_constant=_Constant,
        )
    except json.JSONDecodeError as error:
        raise _not_json(
            f"The body must be one JSON document (line {error.lineno}, column {error.colno}: "
            f"{error.msg}); send well-formed JSON."
        ) from None
    faults: list[Fault] = []
    document = _plain(tree, (), faults)
    if faults:
        raise NotJson(faults)
    return document


def _not_json(detail: str) -> NotJson:
    return NotJson([Fault("#", detail)])


def _depth(raw: bytes) -> int:
    """The deepest nesting outside strings, also of a text that is not JSON after all."""
    clean = raw.replace(b"\\\\", b"").replace(b'\\"', b"")
    now = deepest = 0
    for piece in clean.split(b'"')[::2]:
        for byte in piece:
            if byte in b"[{":
                now += 1
                deepest = max(deepest, now)
            elif byte in b"]}":
                now -= 1
    return deepest


def _plain(node: object, at: Parts, faults: list[Fault]) -> object:
    """The node in plain types, its faults added to the list."""
    if isinstance(node, _Pairs):
        return _object(node, at, faults)
    if isinstance(node, list):
        return [_plain(item, (*at, i), faults) for i, item in enumerate(node)]
    if isinstance(node, _Constant):
        faults.append(
            Fault(
                pointer(*at),
                f"{place(at)} must be a JSON value (got {node}); give a number or leave it out.",
            )
        )
    elif isinstance(node, _Number):
        return _number(node, at, faults)
    elif isinstance(node, str) and _NOT_TEXT.search(node):
        faults.append(
            Fault(
                pointer(*at),
                f"{place(at)} must be text (it holds a NUL or half a surrogate pair); take that out.",
            )
        )
    return node


def _object(pairs: _Pairs, at: Parts, faults: list[Fault]) -> dict[str, object]:
    members: dict[str, object] = {}
    doubled: set[str] = set()
    for key, value in pairs:
        if _NOT_TEXT.search(key):
            faults.append(
                Fault(
                    pointer(*at),
                    f"{place(at)} must have names that are text (one holds a NUL or half a surrogate "
                    "pair); take that out.",
                )
            )
            continue
        if key in members:
            doubled.add(key)
        members[key] = _plain(value, (*at, key), faults)
    for key in sorted(doubled):
        where = (*at, key)
        faults.append(
            Fault(pointer(*where), f"{place(where)} must be given once (got it more than once); keep one.")
        )
    return members


def _number(text: _Number, at: Sequence[str | int], faults: list[Fault]) -> int | Decimal:
    whole = not any(sign in text for sign in ".eE")
    limit = WHOLE_NUMBER_CHARS if whole else NUMBER_CHARS
    if len(text) > limit:
        faults.append(
            Fault(
                pointer(*at),
                f"{place(at)} must be a number of at most {limit} characters (got {len(text)}); shorten it.",
            )
        )
        return 0
    if whole:
        return int(text)
    try:
        number = Decimal(text)
        too_wide = abs(number.adjusted()) > NUMBER_CHARS
    except InvalidOperation:
        too_wide = True
    if too_wide:
        faults.append(
            Fault(
                pointer(*at),
                f"{place(at)} must be a number of at most {NUMBER_CHARS} digits (got {text}); "
                "write it out in full.",
            )
        )
        return 0
    # Written out, so that nobody meets an exponent further on.
    return Decimal(f"{number:f}")
