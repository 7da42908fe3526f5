"""Trace ids: the caller's by W3C Trace Context, or a new one, in the problem and in the log.

The vectors are worked by hand from the recommendation, 3.2 and 3.2.4: what a header of
version 00 is, what is forbidden, and how one of a later version is read.
"""

from __future__ import annotations

import re

import pytest

from service.api import create_app
from service.api.tracing import trace_of

TRACE, PARENT = "4bf92f3577b34da6a3ce929d0e0e4736", "00f067aa0ba902b7"
GOOD = f"00-{TRACE}-{PARENT}-01"

VECTORS = {
    "sampled": (GOOD, True),
    "not sampled": (f"00-{TRACE}-{PARENT}-00", True),
    "flags that are not known yet": (f"00-{TRACE}-{PARENT}-ff", True),
    "a trace id of one bit, and a parent too": (f"00-{'0' * 31}1-{'0' * 15}1-01", True),
    "space around it, which is not of the value": (f" \t{GOOD} ", True),
    "a later version of the same length": (f"01-{TRACE}-{PARENT}-01", True),
    "a later version with more": (f"cc-{TRACE}-{PARENT}-01-what-comes", True),
    "a later version with an empty rest": (f"cc-{TRACE}-{PARENT}-01-", True),
    "the last version that is allowed": (f"fe-{TRACE}-{PARENT}-01", True),
    "nothing": ("", False),
    "a forbidden version": (f"ff-{TRACE}-{PARENT}-01", False),
    "a forbidden version with more": (f"ff-{TRACE}-{PARENT}-01-x", False),
    "version 00 with more": (f"{GOOD}-x", False),
    "version 00 with a hyphen more": (f"{GOOD}-", False),
    "version 00 with a full stop more": (f"{GOOD}.", False),
    "a later version whose rest has no hyphen": (f"cc-{TRACE}-{PARENT}-01.x", False),
    "a later version too short": (f"cc-{TRACE}-{PARENT}", False),
    "a version of one digit": (f"0-{TRACE}-{PARENT}-01", False),
    "a version of three digits": (f"000-{TRACE}-{PARENT}-01", False),
    "a version that is no number": (f".0-{TRACE}-{PARENT}-01", False),
    "a version in capitals": (f"CC-{TRACE}-{PARENT}-01", False),
    "a trace id of zeros": (f"00-{'0' * 32}-{PARENT}-01", False),
    "a trace id in capitals": (f"00-{TRACE.upper()}-{PARENT}-01", False),
    "a trace id with one letter in capitals": (f"00-{TRACE[:-4]}473A-{PARENT}-01", False),
    "a trace id too short": (f"00-{TRACE[:-1]}-{PARENT}-01", False),
    "a trace id too long": (f"00-{TRACE}0-{PARENT}-01", False),
    "a trace id with another letter": (f"00-{TRACE[:-1]}g-{PARENT}-01", False),
    "a trace id with a digit of another script": (f"00-{TRACE[:-1]}٣-{PARENT}-01", False),
    "a parent of zeros": (f"00-{TRACE}-{'0' * 16}-01", False),
    "a parent in capitals": (f"00-{TRACE}-{PARENT.upper()}-01", False),
    "a parent too short": (f"00-{TRACE}-{PARENT[:-1]}-01", False),
    "a parent too long": (f"00-{TRACE}-{PARENT}0-01", False),
    "no flags": (f"00-{TRACE}-{PARENT}", False),
    "flags of one digit": (f"00-{TRACE}-{PARENT}-1", False),
    "flags that are no number": (f"00-{TRACE}-{PARENT}-.0", False),
    "flags in capitals": (f"00-{TRACE}-{PARENT}-0A", False),
    "other separators": (GOOD.replace("-", "_"), False),
    "two headers as one": (f"{GOOD},{GOOD}", False),
    "two headers of a later version as one": (f"01{GOOD[2:]},01{GOOD[2:]}", False),
    "a line end": (f"{GOOD}\n", False),
    "quotes": (f'"{GOOD}"', False),
}


@pytest.mark.parametrize(("header", "sound"), VECTORS.values(), ids=VECTORS)
def test_a_sound_header_gives_its_trace_id_and_any_other_none(header: str, sound: bool):
    assert trace_of(header) == (header.strip().split("-")[1] if sound else None)


@pytest.mark.parametrize(("header", "sound"), VECTORS.values(), ids=VECTORS)
def test_no_header_makes_a_request_fail(header: str, sound: bool):
    # Straight into the environment: a client would refuse to send some of these.
    client = create_app().test_client()
    answer = client.get("/livez", environ_overrides={"HTTP_TRACEPARENT": header})
    assert answer.status_code == 200
    missing = client.get("/nope", environ_overrides={"HTTP_TRACEPARENT": header})
    assert missing.status_code == 404
    same = missing.json["instance"] == f"urn:trace:{header.strip().split('-')[1] if sound else None}"
    assert same is sound


def test_without_a_header_each_request_has_an_id_of_its_own(client):
    found = {client.get("/nope").json["instance"] for _ in range(50)}
    assert len(found) == 50
    assert all(re.fullmatch("urn:trace:(?!0{32})[0-9a-f]{32}", instance) for instance in found)
