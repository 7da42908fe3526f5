"""The plain list of operations has all of them, each with its summary and the key that it needs."""

from __future__ import annotations

import html
import re

from flask.testing import FlaskClient

from tests.kept.route_table import ROWS

KEYS = {
    "open": "none",
    "compute": "none on an open service, else any",
    "read": "any; a publishable one sees what is public",
    "manage": "a secret one",
}
ROW = re.compile("<tr><td><code>([A-Z]+ [^<]+)</code></td><td>([^<]+)</td><td>([^<]+)</td></tr>")


def rows(client: FlaskClient) -> list[tuple[str, str, str]]:
    found = ROW.findall(client.get("/docs/api").text)
    return [
        (html.unescape(operation), html.unescape(says), html.unescape(key)) for operation, says, key in found
    ]


def test_every_operation_is_listed_once_with_the_key_that_the_table_of_routes_says(client: FlaskClient):
    listed = sorted((operation, key) for operation, _, key in rows(client))
    wanted = sorted(
        (f"{row.method} {row.rule.replace('<', '{').replace('>', '}')}", KEYS[row.right]) for row in ROWS
    )
    assert listed == wanted


def test_every_operation_says_what_it_does_in_the_words_of_the_document(client: FlaskClient):
    paths = client.get("/openapi.json").json["paths"]
    for operation, says, _ in rows(client):
        method, path = operation.split(" ")
        assert says == paths[path][method.lower()]["summary"], operation


def test_every_group_of_the_document_has_a_heading(client: FlaskClient):
    page = client.get("/docs/api").text
    tags = [tag["name"].replace("_", " ").capitalize() for tag in client.get("/openapi.json").json["tags"]]
    assert re.findall('<h3 id="[a-z-]+">([^<]+)</h3>', page) == tags
