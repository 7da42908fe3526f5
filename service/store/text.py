"""Documents as they are kept, and names as they are compared."""

from __future__ import annotations

import unicodedata
from decimal import Decimal
from typing import Any

import orjson


def dumped(document: object) -> str:
    """A document as JSON text. A number with a fraction becomes the text of its digits, so it stays exact."""
    return orjson.dumps(document, default=_exact).decode()


def loaded(text: str) -> Any:
    """A document that `dumped` made."""
    return orjson.loads(text)


def composed(document: Any) -> Any:
    """A document with its texts in Unicode's composed form (NFC), so that what looks alike is alike."""
    if isinstance(document, str):
        return unicodedata.normalize("NFC", document)
    if isinstance(document, dict):
        return {name: composed(value) for name, value in document.items()}
    if isinstance(document, list):
        return [composed(value) for value in document]
    return document


def folded(*names: str | None) -> str:
    """Names as search compares them: compatible forms made one, case folded, a line each."""
    return "\n".join(unicodedata.normalize("NFKC", name).casefold() for name in names if name)


def like(words: str) -> str:
    """A pattern for LIKE, with escape character \\, that finds the words anywhere as they stand."""
    plain = folded(words)
    for sign in ("\\", "%", "_"):
        plain = plain.replace(sign, "\\" + sign)
    return f"%{plain}%"


def as_plain(row: Any) -> dict[str, Any]:
    """A row by the names of its columns, as plain texts; the library's own kind of text is no JSON key."""
    return {str(name): value for name, value in row._mapping.items()}


def _exact(value: object) -> str:
    if isinstance(value, Decimal):
        return str(value)
    raise TypeError(type(value).__name__)
