"""How a fault names its place and shows what it got."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from decimal import Decimal

_SHOWN_CHARS = 40
# Control characters and signs that turn the direction of writing are shown by their number.
_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069]")


def place(parts: Sequence[str | int]) -> str:
    """A place as people write it, from the last list item on: 'vessel.pane', 'lines[2]'."""
    start = 0
    for i, part in enumerate(parts[:-1]):
        if isinstance(part, int):
            start = i + 1
    if parts and isinstance(parts[-1], int):
        start = max(len(parts) - 2, 0)
    name = ""
    for part in parts[start:]:
        name += f"[{part}]" if isinstance(part, int) else f".{part}" if name else part
    return f"'{_short(name, 80)}'" if parts else "The request"


def got(value: object) -> str:
    """A value as a fault shows it: scalars as JSON, cut short; containers by kind."""
    if isinstance(value, dict):
        return "an object" if value else "an empty object"
    if isinstance(value, list):
        return f"a list of {len(value)}" if value else "an empty list"
    if isinstance(value, Decimal):
        return f"the number {value:f}"
    if isinstance(value, str):
        return _short(json.dumps(value, ensure_ascii=False), _SHOWN_CHARS)
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    return f"the number {value}"


def listed(words: Sequence[str]) -> str:
    """Words as a list with 'or' before the last."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _short(text: str, limit: int) -> str:
    shown = text if len(text) <= limit else text[: limit - 1] + "…"
    return visible(shown)


def visible(text: str) -> str:
    """A text with each sign that cannot be seen shown by its number."""
    return _UNSEEN.sub(lambda found: f"\\u{ord(found[0]):04x}", text)
