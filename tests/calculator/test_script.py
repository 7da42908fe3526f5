"""The script: small, addressed by its content, and without what could run a text or keep a trace."""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
import shutil
import subprocess
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from service import documents
from service.documents.calculator.script import scripts, version_of
from service.documents.chart import COLOURS

FILE = Path(documents.__file__).parent / "static" / "calculator.js"
TEXT = FILE.read_text(encoding="utf-8")
NODE = shutil.which("node")
MOST_BYTES = 10 * 1024
# Ways to run a text, to write HTML, to remember somebody or to reach further than the one address.
FORBIDDEN = (
    "innerHTML", "outerHTML", "insertAdjacent", "document.write", "DOMParser", "srcdoc", "createContextual",
    "eval", "Function(", "import(", "cookie", "localStorage", "sessionStorage", "indexedDB", "XMLHttpRequest",
    "sendBeacon", "WebSocket", "EventSource", "postMessage", "Worker(", "javascript:", ".style", "onclick",
    "console.", "debugger", "http:", "https:",
)  # fmt: skip


def test_the_script_is_small():
    assert len(gzip.compress(FILE.read_bytes(), 9, mtime=0)) <= MOST_BYTES


@pytest.mark.parametrize("word", FORBIDDEN)
def test_the_script_has_none_of(word: str):
    # The name of the drawing language is an address that nobody asks.
    assert word not in TEXT.replace('"http://www.w3.org/2000/svg"', "")


def test_the_script_asks_once_and_sends_no_cookie():
    assert TEXT.count("fetch(") == 2 and TEXT.count('credentials: "omit"') == 1
    assert "options.fetch(" in TEXT


def test_colours_are_those_of_the_other_charts():
    found = dict(
        re.findall(r'(\w+): "(#[0-9a-f]{6})"', TEXT.partition("const COLOURS")[2].partition("};")[0])
    )
    assert found == COLOURS


def test_the_digest_is_that_of_the_bytes_at_the_address(client: FlaskClient):
    told = client.get("/embed").json["calculator"]
    answer = client.get(told["src"])
    assert answer.status_code == 200 and answer.data == FILE.read_bytes()
    digest = base64.b64encode(hashlib.sha384(answer.data).digest()).decode()
    assert told["integrity"] == f"sha384-{digest}"
    assert told["src"] == f"/embed/{hashlib.sha256(answer.data).hexdigest()[:16]}/calculator.js"
    assert told["integrity"] in told["example"] and told["src"] in told["example"]
    assert f"<{told['element']} " in told["example"] and f'"{told["element"]}"' in TEXT


def test_the_script_is_kept_for_ever_and_can_be_read_by_any_page(client: FlaskClient):
    answer = client.get(client.get("/embed").json["calculator"]["src"])
    assert answer.headers["Content-Type"] == "text/javascript; charset=utf-8"
    assert answer.headers["Cache-Control"] == "public, max-age=31536000, immutable"
    assert answer.headers["Cross-Origin-Resource-Policy"] == "cross-origin"
    assert answer.headers["Access-Control-Allow-Origin"] == "*"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Credentials" not in answer.headers


def test_every_script_that_is_answered_has_the_version_of_its_bytes(client: FlaskClient):
    for version, content in scripts().items():
        assert version == version_of(content)
        assert client.get(f"/embed/{version}/calculator.js").data == content
    for other in ("0" * 16, "x", version_of(b""), version_of(FILE.read_bytes()).upper()):
        assert client.get(f"/embed/{other}/calculator.js").status_code == 404


def test_the_page_loads_the_same_script(client: FlaskClient):
    src = client.get("/embed").json["calculator"]["src"]
    assert f'<script src="{src}" defer></script>' in client.get("/calculator").text


def ran(expression: str) -> Any:
    """What an expression of the script's own functions comes to."""
    assert NODE
    code = (
        "globalThis.document = {currentScript: null}; globalThis.location = {origin: 'x'};"
        "globalThis.HTMLElement = class {};"
        f"const s = require({json.dumps(str(FILE))}); console.log(JSON.stringify({expression}));"
    )
    done = subprocess.run([NODE, "-e", code], capture_output=True, text=True, check=True, timeout=30)
    return json.loads(done.stdout)


@pytest.mark.skipif(NODE is None, reason="no node here to read the script with")
class TestInNode:
    """Functions that draw nothing, run as they are."""

    def test_its_syntax_is_right(self):
        assert NODE
        subprocess.run([NODE, "--check", str(FILE)], check=True, timeout=30)

    @pytest.mark.parametrize(
        ("highest", "last", "step"),
        [(40, 40, 10), (41, 60, 20), (0.9, 1, 0.5), (99, 100, 50), (1000, 1000, 500), (7, 8, 2), (0, 1, 0.5)],
    )
    def test_a_scale_has_round_steps_up_to_the_highest(self, highest: float, last: float, step: float):
        found = ran(f"s.scale({highest})")
        assert found[0] == 0 and found[-1] >= highest and 3 <= len(found) <= 7
        assert found[-1] == pytest.approx(last) and found[1] == pytest.approx(step)

    def test_bars_lie_on_each_other_and_are_as_high_as_their_amounts(self):
        chart = {
            "labels": ["Jan", "Feb"],
            "series": [
                {"key": "energy", "name": "E", "amounts": ["10.00", "20.00"], "texts": ["a", "b"]},
                {"key": "salt", "name": "S", "amounts": ["0.00", "0.00"], "texts": ["c", "d"]},
                {"key": "water", "name": "W", "amounts": ["30.00", "0.00"], "texts": ["e", "f"]},
            ],
        }
        # From 0 to 200 across, 100 high, zero at 100: the highest month is 40.
        found = ran(f"s.bars({json.dumps(chart)}, 0, 200, 100, 100)")
        assert [one["key"] for one in found["series"]] == ["energy", "water"]
        parts = [(part["key"], part["y"], part["height"], part["text"]) for part in found["parts"]]
        assert parts == [
            ("energy", 75, 24, "E, Jan: a"), ("water", 0, 74, "W, Jan: e"), ("energy", 50, 49, "E, Feb: b"),
        ]  # fmt: skip
        assert {part["width"] for part in found["parts"]} == {72}
        assert [part["x"] for part in found["parts"]] == [14, 14, 114]

    def test_what_a_variant_leaves_empty_is_not_sent(self):
        found = ran("s.typed([['a', ''], ['b_a', ''], ['b_c', '1'], ['d', 'x &']]).toString()")
        assert found == "a=&b_c=1&d=x+%26"

    def test_the_amounts_are_told_as_they_came(self):
        texts = [str(Decimal(n) / 100) for n in range(1, 13)]
        series = [{"key": "food", "name": "F", "amounts": texts, "texts": texts}]
        chart = {"labels": [str(n) for n in range(12)], "series": series}
        found = ran(f"s.bars({json.dumps(chart)}, 0, 600, 100, 100)")
        assert [part["text"].rpartition(" ")[2] for part in found["parts"]] == texts
