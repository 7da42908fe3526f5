"""Strict fields: each takes one JSON type as it stands and says what it wanted.

The stock fields of marshmallow take "yes" for true, 1.9 for 1, "1_000" for 1000
and 20260101 for a date. These change nothing, and their JSON Schema says the same.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from typing import Any

from marshmallow import ValidationError, fields

from service.schemas import limits, patterns
from service.schemas.wording import got, listed


class Strict(fields.Field[Any]):
    """A field that hands its value on unchanged, or says what it must be."""

    wanted = "a value"
    todo = ""

    def __init__(
        self,
        says: str,
        *,
        key: str | None = None,
        required: bool = False,
        nullable: bool = False,
        wanted: str = "",
        todo: str = "",
    ) -> None:
        super().__init__(required=required, allow_none=nullable, data_key=key, metadata={"description": says})
        self.wanted = wanted or self.wanted
        self.todo = todo or self.todo
        # marshmallow fills its messages in with str.format, so braces are doubled.
        shown = self.wanted.replace("{", "{{").replace("}", "}}")
        self.error_messages = {
            "required": f"is missing; give {shown}.",
            "null": f"must be {shown} (got null); give one or leave it out.",
        }

    def json_schema(self, convert: Any) -> dict[str, Any]:
        """What the field takes, as JSON Schema; `convert` is apispec's converter."""
        return {}

    def accepts(self, value: object) -> bool:
        """Whether the value is right as it stands; any is, unless a kind of field says otherwise."""
        return True

    def refusal(self, value: object) -> str:
        """The rest of the sentence that begins with the field's name."""
        return f"must be {self.wanted} (got {got(value)}){'; ' + self.todo if self.todo else ''}."

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Any:
        if not self.accepts(value):
            raise ValidationError([self.refusal(value)])
        return value


class Text(Strict):
    """A text with a pattern and a greatest length."""

    def __init__(
        self,
        says: str,
        *,
        pattern: str = patterns.TEXT,
        longest: int = limits.TEXT_CHARS,
        wanted: str = "",
        **more: Any,
    ) -> None:
        plain = f"a text of at most {longest} characters without control characters"
        super().__init__(says, wanted=wanted or plain, **more)
        self.pattern = pattern
        self.longest = longest
        self._whole = re.compile(pattern)

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest, "pattern": self.pattern}

    def accepts(self, value: object) -> bool:
        return isinstance(value, str) and len(value) <= self.longest and bool(self._whole.fullmatch(value))


class Day(Text):
    """A civil date that exists."""

    def __init__(self, says: str, **more: Any) -> None:
        super().__init__(
            says,
            pattern=patterns.DAY,
            longest=10,
            wanted="a date such as 2027-01-31",
            todo="give a day that exists, from 2000-01-01 to 2100-12-31",
            **more,
        )

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {**super().json_schema(convert), "format": "date"}


class Anything(Strict):
    """An object of any members, in answers only."""

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"type": "object"}

    def accepts(self, value: object) -> bool:
        return isinstance(value, dict)


class Word(Strict):
    """One word of a closed list."""

    def __init__(self, says: str, *words: str, **more: Any) -> None:
        super().__init__(says, wanted=listed(words), **more)
        self.words = words

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"type": "string", "enum": list(self.words)}

    def accepts(self, value: object) -> bool:
        return isinstance(value, str) and value in self.words


class Flag(Strict):
    """True or false, and nothing that looks like it."""

    wanted = "true or false"

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"type": "boolean"}

    def accepts(self, value: object) -> bool:
        return isinstance(value, bool)


class Count(Strict):
    """A whole number in a range."""

    def __init__(self, says: str, *, least: int, most: int, **more: Any) -> None:
        super().__init__(says, wanted=f"a whole number from {least} to {most}", **more)
        self.least, self.most = least, most

    def json_schema(self, convert: Any) -> dict[str, Any]:
        return {"type": "integer", "minimum": self.least, "maximum": self.most}

    def accepts(self, value: object) -> bool:
        # JSON Schema calls 2.0 an integer, and so does this.
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            return False
        return self.least <= value <= self.most and Fraction(value).denominator == 1


class DecimalText(Text):
    """A decimal as text only, for money: a JSON number is told to put on quotes."""

    def __init__(
        self, says: str, *, pattern: str = patterns.UNSIGNED, example: str = "12.34", **more: Any
    ) -> None:
        more.setdefault("todo", "give digits with a point, no sign, blanks or exponent")
        super().__init__(
            says, pattern=pattern, longest=26, wanted=f'a decimal as text, such as "{example}"', **more
        )

    def refusal(self, value: object) -> str:
        if isinstance(value, int | Decimal) and not isinstance(value, bool):
            return f"must be {self.wanted} (got {got(value)}); put it in quotes, so that it stays exact."
        return super().refusal(value)


class Number(Text):
    """A decimal as text, or as a JSON number that is read exactly from its text."""

    def __init__(
        self,
        says: str,
        *,
        pattern: str = patterns.UNSIGNED,
        example: str = "1.5",
        wanted: str = "",
        **more: Any,
    ) -> None:
        self.signed = pattern == patterns.SIGNED
        sign = "" if self.signed else ", not negative"
        super().__init__(
            says,
            pattern=pattern,
            longest=26,
            wanted=wanted or f'a decimal such as "{example}"{sign}',
            **more,
        )
        if not self.todo:
            self.todo = "give at most 12 digits before the point and 6 after it"

    def json_schema(self, convert: Any) -> dict[str, Any]:
        least = {"exclusiveMinimum": -(10**12)} if self.signed else {"minimum": 0}
        return {
            **super().json_schema(convert),
            "type": ["string", "number"],
            **least,
            "exclusiveMaximum": 10**12,
            "multipleOf": 0.000001,
        }

    def accepts(self, value: object) -> bool:
        if isinstance(value, bool) or not isinstance(value, int | Decimal):
            return super().accepts(value)
        least_met = value > -(10**12) if self.signed else value >= 0
        return least_met and value < 10**12 and (Fraction(value) * 10**6).denominator == 1
