"""Where two documents differ, place by place."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice
from typing import Any

from service.errors import pointer
from service.quoting.reader import Where

MOST = 100
_NONE = object()


def differences(was: Any, now: Any, most: int = MOST) -> list[dict[str, Any]]:
    """At most so many places with what was there and what is; a side without the place has no member."""
    return list(islice(_differences(was, now, ()), most))


def _differences(was: Any, now: Any, at: Where) -> Iterator[dict[str, Any]]:
    if isinstance(was, dict) and isinstance(now, dict):
        for key in sorted(was.keys() | now.keys()):
            yield from _differences(was.get(key, _NONE), now.get(key, _NONE), (*at, key))
    elif isinstance(was, list) and isinstance(now, list):
        for i in range(max(len(was), len(now))):
            yield from _differences(_item(was, i), _item(now, i), (*at, i))
    elif type(was) is not type(now) or was != now:
        found = {"pointer": pointer(*at), "was": was, "now": now}
        yield {key: value for key, value in found.items() if value is not _NONE}


def _item(items: list[Any], i: int) -> Any:
    return items[i] if i < len(items) else _NONE
