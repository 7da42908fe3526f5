"""Quotes that were issued come out the same to the byte, from nothing but what they froze.

This pins that figures are reproduced, not that they are right: that is for the tests whose figures
come from outside. When a rule is changed on purpose, the rule of the day goes on giving these.
"""

from __future__ import annotations

import orjson
import pytest

from service.quoting.issuing import recomputed
from service.quoting.sealing import canonical, verify
from service.schemas import check
from tests.kept.make_golden import FOLDER, digests

DIGESTS = digests()
MOST_BYTES = 3_000_000


def test_there_are_enough_and_none_is_missing():
    assert {path.stem for path in FOLDER.glob("*.json")} == set(DIGESTS)
    assert len(DIGESTS) >= 50
    assert sum(path.stat().st_size for path in FOLDER.iterdir()) < MOST_BYTES


@pytest.mark.parametrize("name", DIGESTS)
def test_a_golden_quote_comes_out_to_the_byte(name: str):
    text = (FOLDER / f"{name}.json").read_bytes()
    assert verify(text, DIGESTS[name])
    document = orjson.loads(text)
    again, differ = recomputed(document)
    assert differ == []
    assert again == text == canonical(document)
    assert check(document["request"]) == []
