"""`litrewise serve` and `litrewise openapi` before anything listens."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from service.cli.serve import on_loopback


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "example.org", ""])  # noqa: S104 - refused
def test_serving_to_others_is_refused_while_there_are_no_keys(litrewise, host: str):
    done = litrewise("serve", "--host", host)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"litrewise: keys are not built yet, so anybody who reaches {host} could ask; "
        "add --open if that is meant, or listen on 127.0.0.1.\n"
    )


@pytest.mark.parametrize("host", ["127.0.0.1", "127.8.9.1", "::1", "[::1]", "localhost"])
def test_the_loopback_needs_no_word(host: str):
    assert on_loopback(host)


@pytest.mark.parametrize("host", ["localhost.example.org", "127.0.0.1.example.org", "127.1", "2130706433"])
def test_what_only_looks_like_the_loopback_is_not(host: str):
    assert not on_loopback(host)


def test_openapi_prints_the_committed_document(litrewise):
    done = litrewise("openapi")
    committed = Path(__file__).resolve().parents[2] / "openapi" / "openapi.json"
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == committed.read_text(encoding="utf-8")
    assert json.loads(done.stdout)["openapi"].startswith("3.1")
