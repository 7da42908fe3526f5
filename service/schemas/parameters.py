"""The shapes of the lists of facts, of defaults and of usual consumption."""

from __future__ import annotations

from typing import Any

from service.quoting.facts_list import TESTS, TESTS_OF
from service.schemas import patterns
from service.schemas.fields import Flag, Text, Word
from service.schemas.nesting import ByType, Items, Obj, Shape, Tagged

_NAME = "^[a-z][a-z0-9_]{0,63}$"
_KEY = "^[a-z][a-z0-9_.-]{0,63}$"
_DECIMAL = r"^-?[0-9]+(?:\.[0-9]+)?$"
_EXACT = r"^[0-9]+(?:[./][0-9]+)?$"


def _text(says: str, longest: int = 200, **more: Any) -> Text:
    return Text(says, longest=longest, required=True, **more)


def _one_or_twelve(says: str) -> ByType:
    one = _text("The value, a decimal.", 32, pattern=_DECIMAL)
    month = _text("The value of a month, a decimal.", 32, pattern=_DECIMAL)
    twelve = Items("The values by month, January first.", month, least=12, most=12)
    return ByType(says, {str: one, list: twelve}, required=True)


class FactEntry(Shape):
    """What is known of a setup from the setup alone, and how conditions of rules ask for it."""

    name = _text("Name of the fact.", 64, pattern=_NAME)
    unit = _text("Its unit, in UCUM syntax; null for a word or a flag.", 20, nullable=True)
    text = _text("What it is.")
    kind = Word("What a condition compares it with.", *TESTS_OF, required=True)
    words = Items("The words it can be, of a word.", _text("A word.", 64), most=20)
    conditions = Items(
        "Members of a condition that may ask for it.", Word("A member.", *TESTS), most=6, required=True
    )
    needs = _text("What a setup must say for it to be known.")
    stated = Flag("Whether it is only stated, and so not among the facts of an answer.", required=True)


class FactList(Shape):
    """All facts."""

    facts = Items("The facts.", Obj("A fact.", FactEntry), most=100, required=True)


class ParameterEntry(Shape):
    """A reviewed default."""

    key = _text("Name of the default.", 64, pattern=_KEY)
    value = _one_or_twelve("What is taken where a request says nothing.")
    low = _one_or_twelve("Low end of its range.")
    high = _one_or_twelve("High end of its range.")
    unit = _text("Its unit, in UCUM syntax but for dKH; 1 for a share or a ratio.", 32)
    source = _text("Key of its source.", 64)
    source_title = _text("Its source in words.", 300)
    about = _text("What it is.")


class AmountSpread(Shape):
    """A low, a typical and a high amount."""

    low = _text("Low amount, a decimal or a fraction.", 32, pattern=_EXACT)
    typical = _text("Typical amount, a decimal or a fraction.", 32, pattern=_EXACT)
    high = _text("High amount, a decimal or a fraction.", 32, pattern=_EXACT)


class DurationSpread(Shape):
    """A short, a typical and a long duration."""

    low = _text("Short duration, ISO 8601.", 8, pattern=patterns.DURATION)
    typical = _text("Typical duration, ISO 8601.", 8, pattern=patterns.DURATION)
    high = _text("Long duration, ISO 8601.", 8, pattern=patterns.DURATION)


class UsualGood(Shape):
    """How much of a good is usually used."""

    key = _text("Name of the good.", 64, pattern=_KEY)
    category = _text("What kind of cost it is; see /v1/categories.", 64)
    source = _text("Key of its source.", 64)
    source_title = _text("Its source in words.", 300)
    about = _text("What it is.")


class UsualLife(UsualGood):
    """A good that wears out: one piece lasts so long."""

    kind = Word("How use is stated.", "life", required=True)
    lasts = Obj("How long one piece lasts.", DurationSpread, required=True)


class UsualFollows(UsualGood):
    """A good of which so much is used for one unit of a driver."""

    kind = Word("How use is stated.", "follows", required=True)
    driver = _text("What it follows; see /v1/drivers.", 64, pattern=_NAME)
    amount = Obj("Amount for one unit of the driver.", AmountSpread, required=True)
    unit = _text("Unit of the amount.", 20)
    shelf_life = Obj("How long a pack keeps once it is opened.", DurationSpread)


class UsualRate(UsualGood):
    """A good of which so much is used in every so much time."""

    kind = Word("How use is stated.", "rate", required=True)
    amount = Obj("Amount that is used each time.", AmountSpread, required=True)
    unit = _text("Unit of the amount.", 20)
    every = _text("Time from one use to the next, ISO 8601.", 8, pattern=patterns.DURATION)
    shelf_life = Obj("How long a pack keeps once it is opened.", DurationSpread)


class UsualByVolume(UsualRate):
    """A good of which so much for each litre of water is used in every so much time."""

    kind = Word("How use is stated.", "by_volume", required=True)
    amount = Obj(
        "Amount for each litre of the setup's water that is used each time.", AmountSpread, required=True
    )


_USUAL: dict[str, type[Shape]] = {
    "life": UsualLife,
    "follows": UsualFollows,
    "rate": UsualRate,
    "by_volume": UsualByVolume,
}


class Parameters(Shape):
    """All reviewed defaults, and the usual consumption of goods."""

    parameters = Items("The defaults.", Obj("A default.", ParameterEntry), most=500, required=True)
    usual = Items("The goods.", Tagged("A good.", "kind", _USUAL), most=500, required=True)
