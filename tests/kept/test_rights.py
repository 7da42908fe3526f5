"""Who may do what: every route with every kind of key, as a table says."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from service.store.accounts import PUBLISHABLE, SECRET, revoke
from tests.kept.route_table import BY_NAME, ROWS, Row, World, in_map, named, stocked
from tests.kept.shop import ORIGIN
from tests.kept.watched import Watched, watched

ELSEWHERE = "https://club.example.evil.example"
# Rows: what is sent. Columns: what the route needs. Cells: the status of a refusal, or that it is let in.
RIGHTS = ("open", "compute", "read", "manage")
CELLS = {
    # sent                        open   compute  read   manage
    "no key, open service":      ("in", "in",    "401", "401"),
    "no key":                    ("in", "401",   "401", "401"),
    "an unknown key":            ("in", "401",   "401", "401"),
    "a key with another secret": ("in", "401",   "401", "401"),
    "a revoked key":             ("in", "401",   "401", "401"),
    "a secret called public":    ("in", "401",   "401", "401"),
    "another scheme":            ("in", "401",   "401", "401"),
    "a key without a scheme":    ("in", "401",   "401", "401"),
    "an empty header":           ("in", "401",   "401", "401"),
    "publishable, no origin":    ("in", "403",   "403", "403"),
    "publishable, elsewhere":    ("in", "403",   "403", "403"),
    "publishable, at home":      ("in", "in",    "in",  "403"),
    "secret":                    ("in", "in",    "in",  "in"),
    "secret, from a page":       ("in", "in",    "in",  "in"),
}  # fmt: skip


class Doors:
    """An open and a closed service on one database, and headers for each row of the table."""

    def __init__(self, url: str) -> None:
        self.closed, self.open = watched(url, anybody=False), watched(url)
        self.world = stocked(self.closed, "zqrights")
        account = self.closed.account(f"Account {self.world.mark}")
        publishable = self.closed.new_key(account, PUBLISHABLE, (ORIGIN,))
        ended = self.closed.new_key(account, SECRET)
        key_id = ended.partition("_")[2].partition(".")[0]
        self.closed.database.write_within(account, lambda scope: revoke(scope, key_id))
        secret = self.world.key
        bearer = {name: {"Authorization": f"Bearer {key}"} for name, key in {
            "an unknown key": "lws_key_00000000000000000000000000." + "A" * 43,
            "a key with another secret": secret.partition(".")[0] + "." + "A" * 43,
            "a revoked key": ended, "a secret called public": secret.replace("lws_", "lwp_"),
            "publishable, no origin": publishable, "publishable, elsewhere": publishable,
            "publishable, at home": publishable, "secret": secret, "secret, from a page": secret,
        }.items()}  # fmt: skip
        self.sent = {name: dict[str, str]() for name in CELLS} | bearer
        self.sent["another scheme"] = {"Authorization": f"Basic {secret}"}
        self.sent["a key without a scheme"] = {"Authorization": secret}
        self.sent["an empty header"] = {"Authorization": ""}
        self.sent["publishable, elsewhere"] |= {"Origin": ELSEWHERE}
        for name in ("publishable, at home", "secret, from a page"):
            self.sent[name] = self.sent[name] | {"Origin": ORIGIN}

    def shop(self, sent: str) -> Watched:
        return self.open if sent.endswith("open service") else self.closed


@pytest.fixture(scope="module")
def doors(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Doors]:
    path = tmp_path_factory.mktemp("rights") / "kept.db"
    shutil.copyfile(migrated_file, path)
    found = Doors(f"sqlite:///{path}")
    yield found
    found.closed.close()
    found.open.close()


def address(world: World, row: Row) -> str:
    """Where the row's things are; of what would be deleted, something else of the same form."""
    path = world.path(row)
    if row.method == "DELETE":
        path = path[:-1] + ("0" if path[-1] != "0" else "1")
    query = world.query(row)
    return f"{path}?{query}" if query else path


def test_the_table_has_a_row_for_every_route_and_no_other(doors: Doors):
    assert in_map(doors.closed.app) == set(BY_NAME)
    assert len(ROWS) == len(BY_NAME)
    assert {row.right for row in ROWS} == set(RIGHTS)


def test_the_documentation_has_every_route_and_no_other(doors: Doors):
    paths = doors.closed.call("GET", "/openapi.json", key=None).json["paths"]
    told = {
        f"{method.upper()} {path.replace('{', '<').replace('}', '>')}"
        for path, methods in paths.items()
        for method in methods
        if method != "parameters"
    }
    # Pages for people, and what they load, are not part of the interface.
    pages = {row.name for row in ROWS if "html" in row.makes[0] or "/assets/" in row.rule}
    assert told | pages == set(BY_NAME)


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_key_opens_what_the_table_says(doors: Doors, row: Row):
    for sent, cells in CELLS.items():
        # Without a body nothing is done; who may not is told before that is seen.
        answer = doors.shop(sent).call(row.method, address(doors.world, row), key=None, **doors.sent[sent])
        cell = cells[RIGHTS.index(row.right)]
        if cell == "in":
            let_in = (200,) if row.method == "GET" else (200, 404, 415, 428)
            assert answer.status_code in let_in, (sent, answer.text)
        else:
            assert answer.status_code == int(cell), (sent, answer.text)
            is_refusal(answer, known="Authorization" in doors.sent[sent])


def is_refusal(answer: TestResponse, *, known: bool) -> None:
    """The right kind of problem, and a challenge where it is not known who asks."""
    kind = answer.json["type"].rpartition("/")[2]
    if answer.status_code == 403:
        assert kind == "key-may-not" and "WWW-Authenticate" not in answer.headers
        return
    why = ', error="invalid_token"' if known else ""
    assert kind == "key-needed"
    assert answer.headers["WWW-Authenticate"] == f'Bearer realm="litrewise"{why}'


KEY = "lws_key_0123456789abcdefghijklmnop.SECRETSECRETSECRETSECRETSECRETSECRETSECRET"
PLACES = ("?key={key}", "?{key}", "?a=1&token={key}", "?key={coded}", "/{key}", "/{coded}")


@pytest.mark.parametrize("row", ROWS, ids=named)
def test_a_key_in_the_address_is_refused_and_not_repeated(doors: Doors, row: Row):
    for place in PLACES:
        path = doors.world.path(row)
        if place.startswith("/"):
            # In the place of the last part, which may be an id.
            path = path.rpartition("/")[0]
        text = place.format(key=KEY, coded=KEY.replace("_", "%5F"))
        answer = doors.closed.call(row.method, path + text, key=doors.world.key)
        # An address that takes no id there is not one of ours.
        statuses = (400, 404, 405) if place.startswith("/") else (400,)
        assert answer.status_code in statuses, (place, answer.text)
        assert answer.status_code == 400 or "<id>" not in row.rule.rpartition("/")[2]
        assert "SECRET" not in answer.get_data(as_text=True) + str(answer.headers)


def test_a_key_in_the_address_is_in_no_log(doors: Doors, capfd: pytest.CaptureFixture[str]):
    shop = watched(doors.closed.address, log="requests")
    try:
        for path in ("/v1/products", "/v1/costings", "/livez", "/q/x", "/nowhere"):
            for place in PLACES:
                text = place.format(key=KEY, coded=KEY.replace("_", "%5F"))
                shop.call("GET", path + text, key=None)
                shop.call("GET", path + text, key=KEY)
                shop.call("GET", path, key=KEY + text.replace("/", "x"), Origin=KEY)
    finally:
        shop.close()
    logged = capfd.readouterr().err
    assert logged.count("request finished") >= 5 * len(PLACES) * 3
    assert "SECRET" not in logged and "lws" not in logged
