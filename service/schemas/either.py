"""A kept thing by its id, or the same written out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.schemas import patterns
from service.schemas.fields import Strict, Text
from service.schemas.nesting import Shape


def an_id(says: str, *, key: str | None = None, required: bool = False) -> Text:
    """The id of a kept thing."""
    return Text(
        says,
        key=key,
        required=required,
        pattern=patterns.REF,
        longest=64,
        wanted="the id of a kept thing, as the service gave it",
    )


class Either(Strict):
    """An object that names what is kept by one member, or else one of the whole shape."""

    def __init__(self, says: str, key: str, named: type[Shape], whole: Strict, **more: Any) -> None:
        super().__init__(says, wanted=whole.wanted, **more)
        self.key, self.named, self.whole = key, named(), whole

    def json_schema(self, convert: Any) -> dict[str, Any]:
        whole = convert.field2property(self.whole)
        whole.pop("description", None)
        return {"oneOf": [convert.resolve_nested_schema(self.named), whole]}

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict)

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        if self.key in value:
            self.named.load(value)
            return value
        return self.whole.deserialize(value)
