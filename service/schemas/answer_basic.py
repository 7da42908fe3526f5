"""The small shapes that answers are made of: money, amounts, texts; answers are not passed through them."""

from __future__ import annotations

from service.schemas import limits
from service.schemas.fields import Text
from service.schemas.nesting import Items, Shape

MONTHS = 361
LINES = 1_000
AMOUNT = r"^-?[0-9]{1,40}(?:\.[0-9]{1,12})?$"


def money(says: str, *, required: bool = True) -> Text:
    """Money in the currency of the answer, with the digits of that currency."""
    return Text(says, required=required, pattern=AMOUNT, longest=60)


def amount(says: str, *, required: bool = True, nullable: bool = False) -> Text:
    """An amount of something else."""
    return Text(says, required=required, nullable=nullable, pattern=AMOUNT, longest=60)


def months(says: str, *, required: bool = True) -> Items:
    """Money by month of the period."""
    return Items(says, money("Money of the month."), most=MONTHS, required=required)


def words(says: str, *, required: bool = True, nullable: bool = False, key: str | None = None) -> Text:
    """A text for people."""
    return Text(says, required=required, nullable=nullable, key=key, longest=2000)


class AnswerQuantity(Shape):
    """An amount and its unit."""

    amount = amount("The amount, as decimal text.")
    unit = Text("UCUM code.", required=True, longest=limits.UNIT_CHARS)
