"""Whatever lies within the bounds of the form is costed, or refused in the reader's own words."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from service.documents.calculator.fields import CHOICE, DAY, FIELDS, NUMBER, OTHER, VARIED, Field
from tests.calculator.asking import view_of
from tests.calculator.test_asked import ALL

FORMS = 60
WHOLE = {"every", "months", "teste", "mediaw", "cartl"}


def any_text(field: Field, chance: random.Random) -> str:
    """Something that the field takes by itself, its ends more often than not."""
    if field.kind == CHOICE:
        return chance.choice(field.options or ("EUR", "JPY", "KWD"))
    if field.kind == DAY:
        return chance.choice(("2027-02-28", "2099-01-31", "2000-01-01", "2028-02-29"))
    if field.kind != NUMBER:
        return chance.choice(("", "UV", "Skimmer & Co", "é" * 24))
    least, most = Decimal(field.least), Decimal(field.most)
    between = least + (most - least) * Decimal(chance.random()) ** 4
    places = 0 if field.name in WHOLE else chance.choice((0, 1, 3))
    found = chance.choice((least, most, round(between, places), round(between, places)))
    return f"{max(found, Decimal(1)) if field.name in WHOLE else found:f}".replace(".", ",")


@pytest.mark.parametrize("seed", range(3))
def test_no_form_is_refused_in_another_language(seed: int):
    chance, answered = random.Random(seed), 0
    for _ in range(FORMS):
        given = ALL | {"range": "no"}
        for name in chance.sample(list(FIELDS), 6):
            given[name] = any_text(FIELDS[name], chance)
        for name in chance.sample(VARIED, 2):
            given[OTHER + name] = any_text(FIELDS[name], chance)
        view = view_of("de", **given)
        assert {fault["lang"] for fault in view["faults"]} <= {"de"}, (given, view["faults"])
        assert all(fault["field"] for fault in view["faults"])
        assert (view["answer"] is None) <= bool(view["faults"])
        answered += view["answer"] is not None
    assert answered > FORMS // 3
