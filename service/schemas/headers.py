"""The headers that requests are sent with."""

from __future__ import annotations

from service.schemas.fields import Text
from service.schemas.nesting import Shape

_KEY = "[A-Za-z0-9._~-]{16,128}"
_TAG = r'(?:W/)?"[\x21\x23-\x7e]{0,200}"'
_ONCE = (
    "A text that no other request has: sent again with the same one within a day, the request gets the same "
    "answer and has no second effect."
)


def _once(*, required: bool = False) -> Text:
    return Text(_ONCE, key="Idempotency-Key", required=required, longest=130,
                pattern=f'^(?:"{_KEY}"|{_KEY})$')  # fmt: skip


class Once(Shape):
    """A request that may be sent again."""

    once = _once()


class SurelyOnce(Shape):
    """A request that may be sent again, and must say so."""

    once = _once(required=True)


class Seen(Shape):
    """A change of what the caller has read."""

    seen = Text("The ETag of what was read, or * for whichever version there is.", key="If-Match",
                required=True, longest=1000, pattern=rf"^(?:\*|{_TAG}(?:, ?{_TAG}){{0,3}})$")  # fmt: skip
