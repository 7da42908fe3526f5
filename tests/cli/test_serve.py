"""`litrewise serve` and `litrewise openapi` before anything listens."""

from __future__ import annotations

import json
import socket
from pathlib import Path

import pytest

from service.cli.serve import on_loopback


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.7", "example.org", ""])  # noqa: S104 - refused
def test_others_are_not_served_without_keys_unless_anybody_may_ask(litrewise, host: str):
    done = litrewise("serve", "--host", host)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"litrewise: whoever reaches {host} needs a key, and keys lie in a database: run `litrewise migrate` "
        "and `litrewise key new --account NAME`, or add --open if anybody may ask.\n"
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


@pytest.mark.parametrize(
    ("variables", "wanted"),
    [
        ({"FLASK_DEBUG": "1"}, {"FLASK_DEBUG": "one of 0, false, no (got 1)"}),
        (
            {"LITREWISE_LOG": "loud", "LITREWISE_METRICS": "2"},
            {
                "LITREWISE_LOG": "one of off, errors, requests (got loud)",
                "LITREWISE_METRICS": "one of 0, 1 (got 2)",
            },
        ),
    ],
)
def test_it_does_not_start_with_settings_that_cannot_be_meant(litrewise, variables, wanted):
    done = litrewise("serve", **variables)
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [
        f"litrewise: '{name}' must be {what}; change it or leave it out." for name, what in wanted.items()
    ]


@pytest.mark.parametrize("shared", [False, True], ids=["alone", "as workers share it"])
def test_it_does_not_listen_where_another_program_does(litrewise, shared: bool):
    with socket.socket() as other:
        if shared:
            other.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        done = litrewise("serve", "--port", str(port))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"litrewise: nothing can listen at 127.0.0.1, port {port} (Address already in use); "
        "choose another with --host and --port, or stop what listens there.\n"
    )


def test_it_does_not_start_at_a_name_that_leads_nowhere(litrewise):
    done = litrewise("serve", "--host", "nowhere.invalid", "--open")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("litrewise: nothing can listen at nowhere.invalid, port 8000 (")
