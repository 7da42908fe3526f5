"""/.well-known/security.txt as RFC 9116 has it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from service.api import create_app
from service.api.environment import Environment


def test_it_names_the_contact_and_ends_within_a_year():
    contact = "https://quillmere.example/report"
    answer = create_app(Environment(security_contact=contact)).test_client().get("/.well-known/security.txt")
    assert (answer.status_code, answer.headers["Content-Type"]) == (200, "text/plain; charset=utf-8")
    # RFC 9116 2.2: fields by line, each line ended. 2.5.5: Expires once, as in RFC 3339.
    assert answer.text.endswith("\n")
    fields = dict(line.split(": ", 1) for line in answer.text.splitlines())
    assert fields.keys() == {"Contact", "Expires"}
    assert fields["Contact"] == contact
    left = datetime.strptime(fields["Expires"], "%Y-%m-%dT%H:%M:%S%z") - datetime.now(UTC)
    assert timedelta(days=30) < left < timedelta(days=365)


def test_without_a_contact_there_is_nothing():
    answer = create_app().test_client().get("/.well-known/security.txt")
    assert (answer.status_code, answer.headers["Content-Type"]) == (404, "application/problem+json")


def test_it_is_text_alone(client):
    assert client.get("/.well-known/security.txt", headers={"Accept": "text/plain"}).status_code == 200
    assert client.get("/.well-known/security.txt", headers={"Accept": "text/html"}).status_code == 406
