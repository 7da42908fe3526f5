"""What the strict reader takes, what it refuses, and where it points."""

from __future__ import annotations

from decimal import Decimal

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import NotJson
from service.schemas.body import read_json
from service.schemas.exact import read_exactly
from tests.api.good import GOOD
from tests.requests_at_random import to_json


def refused(raw: bytes) -> list[tuple[str, str]]:
    with pytest.raises(NotJson) as caught:
        read_json(raw)
    return [(fault.pointer, fault.detail) for fault in caught.value.faults]


NOT_JSON = {
    "nothing": b"",
    "blank": b"  \n",
    "half": b'{"a": ',
    "two documents": b"{} {}",
    "single quotes": b"{'a': 1}",
    "a comment": b'{"a": 1} // one',
    "trailing comma": b'{"a": [1, 2,]}',
    "leading zero": b'{"a": 01}',
    "plus sign": b'{"a": +1}',
    "bare point": b'{"a": .5}',
    "hexadecimal": b'{"a": 0x1f}',
    "line feed in a string": b'{"a": "b\nc"}',
    "bad escape": b'{"a": "\\x41"}',
    "NUL outside": b'{"a": 1}\x00',
    "utf-16": '{"a": 1}'.encode("utf-16"),
    "bad utf-8": b'{"a": "\xff"}',
    "overlong utf-8": b'{"a": "\xc0\xaf"}',
    "surrogate in utf-8": b'{"a": "\xed\xa0\x80"}',
    "byte order mark": b'\xef\xbb\xbf{"a": 1}',
    "half a pair": b'{"a": "\\ud800"}',
    "half a pair in a name": b'{"\\udc00": 1}',
    "NUL in a string": b'{"a": "\\u0000"}',
    "NUL in a name": b'{"\\u0000": 1}',
    "NaN": b'{"a": NaN}',
    "Infinity": b'{"a": Infinity}',
    "-Infinity": b'{"a": [-Infinity]}',
    "1e400": b'{"a": 1e400}',
    "-1e400": b'{"a": -1e400}',
    "1e-400": b'{"a": 1e-400}',
    "huge exponent": b'{"a": 1e999999999999999999}',
    "21 digits": b'{"a": 123456789012345678901}',
    "5,000 digits": b'{"a": ' + b"9" * 5000 + b"}",
    "33 characters": b'{"a": 1.' + b"1" * 31 + b"}",
    "17 levels": b"[" * 17 + b"]" * 17,
    "17 levels of objects": b'{"a":' * 17 + b"1" + b"}" * 17,
    "100,000 brackets": b"[" * 100_000 + b"]" * 100_000,
    "100,000 open brackets": b"[" * 100_000,
    "50,000 braces": b'{"a":' * 50_000,
    "deep in a member": b'{"a": ' + b"[" * 16 + b"]" * 16 + b"}",
    "a doubled key": b'{"a": 1, "a": 1}',
    "a doubled key, escaped": b'{"a": 1, "\\u0061": 2}',
    "a doubled key with a colon": b'{"a:": 1, "a\\u003a": 2, "a\\u003A": 3}',
    "a doubled key that evens out": b'{"a": ":", "a": "::", "b": ""}',
}


@pytest.mark.parametrize("raw", NOT_JSON.values(), ids=NOT_JSON)
def test_hostile_text_is_refused_with_a_sentence(raw: bytes):
    for pointer, detail in refused(raw):
        assert pointer.startswith("#")
        assert detail.endswith(".") and "must" in detail


@pytest.mark.parametrize("raw", NOT_JSON.values(), ids=NOT_JSON)
def test_hostile_text_is_answered_with_400(send, raw: bytes):
    answer = send(raw)
    assert answer.status_code == 400
    assert answer.json["type"] == "http://localhost/problems/not-json"
    assert answer.json["errors"]


TAKEN = {
    b'{"a": 1}': {"a": 1},
    b" [ ] \r\n\t": [],
    b'"\\ud83d\\udc1f"': "\U0001f41f",
    b'{"a": "1e400 NaN [[[[[[[[[[[[[[[[[[ :: \\" 12, 13"}': {"a": '1e400 NaN [[[[[[[[[[[[[[[[[[ :: " 12, 13'},
    b'{"a": "\\\\u0000 \\\\"}': {"a": "\\u0000 \\"},
    b"[" * 16 + b"]" * 16: [[[[[[[[[[[[[[[[]]]]]]]]]]]]]]]],
    b'{"a": {"a": 1}, "b": [{"a": 1}, {"a": 2}]}': {"a": {"a": 1}, "b": [{"a": 1}, {"a": 2}]},
    b'{"a": 12345678901234567890}': {"a": 12345678901234567890},
    b'{"a": -1234567890123456789}': {"a": -1234567890123456789},
    b'{"a": 1.10}': {"a": Decimal("1.10")},
    b"1.5": Decimal("1.5"),
    b"-0.1": Decimal("-0.1"),
    b"[1, 2.5]": [1, Decimal("2.5")],
    b'{"a": 0.1000000000000000055511151231}': {"a": Decimal("0.1000000000000000055511151231")},
    b'{"a": 18446744073709551616}': {"a": 18446744073709551616},
    b'{"a": 1e2, "b": 1.5E-5}': {"a": Decimal("100"), "b": Decimal("0.000015")},
    b'{"a,1": 0, "b[2": "c:3"}': {"a,1": 0, "b[2": "c:3"},
}


@pytest.mark.parametrize("raw", TAKEN)
def test_good_text_is_read_exactly(raw: bytes):
    read = read_json(raw)
    assert read == TAKEN[raw]
    assert repr(read) == repr(TAKEN[raw])
    assert repr(read_exactly(raw)) == repr(read)


def test_each_fault_is_found_at_its_place():
    raw = b'{"a": NaN, "b": [1, {"c": 1e400, "c": 2}], "d~/": "\\u0000", "e": 123456789012345678901}'
    assert refused(raw) == [
        ("#/a", "'a' must be a JSON value (got NaN); give a number or leave it out."),
        (
            "#/b/1/c",
            "'c' must be a number of at most 32 digits (got 1e400); write it out in full.",
        ),
        ("#/b/1/c", "'c' must be given once (got it more than once); keep one."),
        ("#/d~0~1", "'d~/' must be text (it holds a NUL or half a surrogate pair); take that out."),
        ("#/e", "'e' must be a number of at most 20 characters (got 21); shorten it."),
    ]


def test_text_that_is_no_json_is_told_where():
    assert refused(b'{"a": 1,\n "b" 2}') == [
        (
            "#",
            "The body must be one JSON document (line 2, column 6: Expecting ':' delimiter); "
            "send well-formed JSON.",
        )
    ]
    assert refused(b'{"a": "\xff"}') == [("#", "The body must be UTF-8 (byte 8 is not); send it as UTF-8.")]


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**18), 10**18)
    | st.decimals(-(10**12), 10**12, allow_nan=False, allow_infinity=False, places=6)
    | st.text(alphabet=st.characters(codec="utf-8", exclude_characters="\x00"), max_size=12)
    | st.sampled_from(['":1', ",1.5", "[1", "]", "}{", '\\"', "\\", "a:b"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.text(alphabet='ab:",[0\\é', max_size=4), inner, max_size=4)
    ),
    max_leaves=20,
)


@settings(max_examples=1000, deadline=None)
@given(JSON_VALUES)
def test_the_fast_and_the_slow_reader_agree(value):
    raw = to_json(value)
    assert repr(read_json(raw)) == repr(read_exactly(raw))


@settings(max_examples=500, deadline=None)
@given(st.sampled_from(GOOD), st.randoms(use_true_random=False))
def test_a_doubled_key_is_found_wherever_it_is(document, random):
    raw = orjson.dumps(document, default=str)
    # Write one member of one object a second time.
    starts = [i for i, byte in enumerate(raw) if byte == ord("{") and raw[i + 1] == ord('"')]
    start = random.choice(starts)
    name = raw[start + 1 : raw.index(b'"', start + 2) + 1]
    doubled = raw[: start + 1] + name + b":null," + raw[start + 1 :]
    [(pointer, _)] = refused(doubled)
    assert pointer.endswith("/" + name.strip(b'"').decode())


def test_reading_a_good_body_changes_nothing():
    for document in GOOD:
        assert read_json(to_json(document)) == document
