"""The guides do what they say: every command runs, and every answer comes out as it is shown."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from service.api.advice import advice
from service.documents.calculator.script import ELEMENT, script
from service.schemas.costing import CostingRequest
from service.schemas.faults import faults_of
from service.schemas.quotes import NewQuote
from tests.api.running import ROOT
from tests.docs.guide import NAMES, Block, blocks_of, differs, fits, run, text_of
from tests.docs.site import Page

SHOWN = ("sh", "json", "text", "ndjson", "html", "http")


@pytest.mark.parametrize("name", NAMES)
def test_every_command_of_a_guide_runs_and_prints_what_is_shown(name: str, tmp_path: Path):
    ran = run(name, tmp_path)
    for one in ran:
        assert one.code == 0, (one.text, one.out, one.errors)
        for shown in one.shown:
            assert unlike(shown, one.out) == [], (one.text, one.out, one.errors)
    assert len(ran) >= 2 and sum(len(one.shown) for one in ran) > 2


def unlike(shown: Block, printed: str) -> list[str]:
    """Where what was printed is not as shown."""
    if shown.language == "json":
        return differs(json.loads(shown.text), json.loads(printed))
    return [] if fits(shown.text, printed) else [printed]


@pytest.mark.parametrize("name", NAMES)
def test_every_block_is_of_a_kind_that_is_checked_and_every_sample_is_json(name: str):
    for block in blocks_of(name):
        assert block.language in SHOWN
        assert block.language != "html" or not block.file
        if block.language == "json":
            json.loads(block.text)
        if block.language == "ndjson":
            assert all(isinstance(json.loads(line), dict) for line in block.text.splitlines())


@pytest.mark.parametrize("name", NAMES)
def test_every_request_in_a_guide_is_of_the_shape_that_is_documented(name: str):
    files = [block for block in blocks_of(name) if block.language == "json" and block.file]
    for document in (json.loads(file.text) for file in files):
        if "request" in document:
            assert faults_of(document, NewQuote) == []
        elif "setups" in document:
            assert faults_of(document, CostingRequest) == []


@pytest.mark.parametrize(
    ("shown", "found", "fault"),
    [
        ({"a": "1"}, {"a": "1", "b": "2"}, []),
        ({"a": "1"}, {"a": "2"}, ["#/a: '2', shown as '1'"]),
        ({"a": "1"}, {}, ["#/a: is not there"]),
        ({"a": True}, {"a": 1}, ["#/a: 1, shown as True"]),
        ({"a": "quo_..."}, {"a": "quo_1"}, []),
        ({"a": "quo_..."}, {"a": "prd_1"}, ["#/a: 'prd_1', shown as 'quo_...'"]),
        (["1", "..."], ["1", "2"], []),
        (["1"], ["1", "2"], ["#: 2 items"]),
        (["1", "2"], ["1"], ["#: 1 items"]),
    ],
)
def test_what_is_shown_is_compared(shown, found, fault):
    assert differs(shown, found) == fault


def test_every_command_that_a_text_names_is_there():
    said = "".join(map(text_of, (*NAMES, "index"))) + str(advice())
    named = set(
        re.findall(r"litrewise ([a-z-]+)\b", " ".join(re.findall("[`'](litrewise [^`']+)[`']", said)))
    )
    done = subprocess.run(
        [sys.executable, "-m", "service.cli", "--help"], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert named and named <= set(re.findall(r"^    ([a-z-]+) ", done.stdout, re.MULTILINE))


def test_the_guide_to_the_calculator_names_what_its_script_reads_and_its_policy_lets_through():
    page = text_of("embed-the-calculator")
    [element] = [block.text for block in blocks_of("embed-the-calculator") if block.language == "html"]
    tag, attributes = ELEMENT, set(re.findall(r"^\| `([a-z]+)` \|", page, re.MULTILINE))
    assert attributes == set(re.findall(r'this\.[gh]\w+Attribute\("([a-z]+)"\)', script().decode()))
    parsed = dict(Page(element).tags)
    assert set(parsed) == {"script", tag} and set(parsed[tag]) <= attributes
    assert {"src", "integrity", "crossorigin", "defer"} == set(parsed["script"])
    home = "/".join(parsed["script"]["src"].split("/")[:3])
    [policy] = [block.text for block in blocks_of("embed-the-calculator") if block.language == "http"]
    assert policy.split() == ["script-src", f"{home};", "connect-src", home]
