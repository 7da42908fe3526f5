"""Fields that hold others: lists, objects, named members and choices between shapes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, ClassVar

from marshmallow import RAISE, Schema, ValidationError, validates_schema
from marshmallow.exceptions import SCHEMA

from service.schemas import patterns
from service.schemas.fields import Strict
from service.schemas.wording import got, listed

Data = Mapping[str, Any] | None


class Shape(Schema):
    """An object of known members; unknown ones are refused."""

    class Meta:
        unknown = RAISE

    wanted: ClassVar[str] = "an object"
    # Of each group of members exactly one, or at least one, is given.
    exactly_one: ClassVar[tuple[tuple[str, ...], ...]] = ()
    at_least_one: ClassVar[tuple[tuple[str, ...], ...]] = ()

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        names = [field.data_key or name for name, field in self.fields.items()]
        self.error_messages = {
            **self.error_messages,
            "unknown": f"is not a field here; leave it out (the fields are {', '.join(names)}).",
        }

    @validates_schema(pass_original=True, skip_on_field_errors=False)
    def _groups(self, data: Any, original: Any, **_: Any) -> None:
        faults = []
        for group in self.exactly_one:
            given = [name for name in group if name in original]
            if len(given) != 1:
                faults.append(
                    f"must have exactly one of {listed(group)} "
                    f"(got {' and '.join(given) or 'none'}); {'keep' if given else 'give'} one."
                )
        for group in self.at_least_one:
            if not any(name in original for name in group):
                faults.append(f"must have {listed(group)} (got none); give one.")
        if faults:
            raise ValidationError(faults)


class Obj(Strict):
    """An object of one shape."""

    def __init__(self, says: str, shape: type[Shape], **more: Any) -> None:
        more.setdefault("wanted", shape.wanted)
        super().__init__(says, **more)
        self.shape = shape()

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return dict(convert.resolve_nested_schema(self.shape))

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict)

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        self.shape.load(value)
        return value


class Items(Strict):
    """A list, its items checked by one field."""

    def __init__(self, says: str, item: Strict, *, least: int = 0, most: int, **more: Any) -> None:
        size = f"{least}" if least == most else f"{least} to {most}" if least else f"at most {most}"
        more.setdefault("wanted", f"a list of {size}")
        super().__init__(says, **more)
        self.item, self.least, self.most = item, least, most

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {
            "type": "array",
            "minItems": self.least,
            "maxItems": self.most,
            "items": convert.field2property(self.item),
        }

    def accepts(self, value: object) -> bool:
        return isinstance(value, list) and self.least <= len(value) <= self.most

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        # The length comes first: no work is done for items beyond the limit.
        super()._deserialize(value, attr, data, **kwargs)
        _raise_any(_faults(self.item, dict(enumerate(value))))
        return value


class Names(Strict):
    """An object whose member names are free within a pattern."""

    def __init__(
        self, says: str, item: Strict, *, least: int = 1, most: int, pattern: str = patterns.REF, **more: Any
    ) -> None:
        super().__init__(says, wanted=f"an object of {least} to {most} members", **more)
        self.item, self.least, self.most, self.pattern = item, least, most, pattern
        self._whole = re.compile(pattern)

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {
            "type": "object",
            "propertyNames": {"type": "string", "pattern": self.pattern, "maxLength": 200},
            "additionalProperties": convert.field2property(self.item),
            "minProperties": self.least,
            "maxProperties": self.most,
        }

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict) and self.least <= len(value) <= self.most

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        faults = _faults(self.item, value)
        for name in value:
            if len(name) > 200 or not self._whole.fullmatch(name):
                faults[name] = [
                    "must have a name of 1 to 64 letters, digits, dots, dashes and underscores; rename it."
                ]
        _raise_any(faults)
        return value


class Tagged(Strict):
    """One of several shapes, told apart by the word in one member."""

    def __init__(self, says: str, tag: str, shapes: Mapping[str, type[Shape]], **more: Any) -> None:
        super().__init__(says, wanted=f"an object with '{tag}' {listed(list(shapes))}", **more)
        self.tag = tag
        self.shapes = {word: shape() for word, shape in shapes.items()}

    def json_schema(self, convert: Any) -> dict[str, Any]:
        refs = {word: convert.resolve_nested_schema(shape)["$ref"] for word, shape in self.shapes.items()}
        return {
            "oneOf": [{"$ref": ref} for ref in refs.values()],
            "discriminator": {"propertyName": self.tag, "mapping": refs},
        }

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict)

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        words = listed(list(self.shapes))
        word = value.get(self.tag)
        if isinstance(word, str) and word in self.shapes:
            self.shapes[word].load(value)
            return value
        # The other members are checked as the shape that they fit best, so that all faults are found.
        faults = min((_messages(shape, value) for shape in self.shapes.values()), key=_weight)
        told = f"must be {words} (got {got(word)})." if self.tag in value else f"is missing; give {words}."
        raise ValidationError({self.tag: [told]} | {k: v for k, v in faults.items() if k != self.tag})


class ByKey(Strict):
    """One of several shapes, told apart by the member that only it has."""

    def __init__(self, says: str, shapes: Mapping[str, type[Shape]], **more: Any) -> None:
        super().__init__(says, wanted=f"an object with {listed(list(shapes))}", **more)
        self.shapes = {key: shape() for key, shape in shapes.items()}

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"oneOf": [convert.resolve_nested_schema(shape) for shape in self.shapes.values()]}

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict)

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        keys = list(self.shapes)
        given = [key for key in keys if key in value]
        if len(given) == 1:
            self.shapes[given[0]].load(value)
            return value
        # A shape answers for its own key, and all of them together for the rest.
        found = {key: _messages(self.shapes[key], value) for key in given or keys}
        faults = {key: found[key][key] for key in given if key in found[key]}
        for name, told in next(iter(found.values())).items():
            if name not in keys and all(name in messages for messages in found.values()):
                faults[name] = told
        own = f"must have exactly one of {listed(keys)} (got {' and '.join(given) or 'none'})"
        raise ValidationError(faults | {SCHEMA: [f"{own}; {'keep' if given else 'give'} one."]})


class ByType(Strict):
    """One of several fields, told apart by the JSON type of the value."""

    def __init__(self, says: str, choices: Mapping[type, Strict], **more: Any) -> None:
        # One field may stand for several types, such as a number for texts and JSON numbers.
        self.fields_once = list(dict.fromkeys(choices.values()))
        super().__init__(says, wanted=", or ".join(field.wanted for field in self.fields_once), **more)
        self.choices = choices

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"oneOf": [convert.field2property(field) for field in self.fields_once]}

    def accepts(self, value: object) -> bool:
        return type(value) in self.choices

    def _deserialize(self, value: Any, attr: str | None, data: Data, **kwargs: Any) -> Any:
        super()._deserialize(value, attr, data, **kwargs)
        return self.choices[type(value)].deserialize(value)


def _messages(shape: Schema, value: Any) -> dict[Any, Any]:
    """The faults of a value as one shape, by member."""
    return dict(shape.validate(value))


def _weight(messages: Any) -> int:
    """How many faults a tree of messages holds."""
    return sum(map(_weight, messages.values())) if isinstance(messages, dict) else len(messages)


def _faults(item: Strict, values: Mapping[Any, object]) -> dict[Any, Any]:
    """The faults of every value by its key."""
    faults: dict[Any, Any] = {}
    for key, value in values.items():
        try:
            item.deserialize(value)
        except ValidationError as error:
            faults[key] = error.messages
    return faults


def _raise_any(faults: dict[Any, Any]) -> None:
    if faults:
        raise ValidationError(faults)
