"""Of two faults in one request the earlier gate answers, in the order that gates.py tells."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from service.store.accounts import PUBLISHABLE
from service.store.windows import Limits
from tests.kept.route_table import World, once, stocked
from tests.kept.shop import ORIGIN
from tests.kept.watched import Watched, watched

# In order: name, status, and what of a good request it changes.
TAKEN, WRONG = "taken already", {"ref": "desk", "lines": [{"ref": "x"}]}
FAULTS: list[tuple[str, int, dict[str, Any]]] = [
    ("nothing at the address", 404, {"rule": "/v1/nowhere/{}"}),
    ("not its method", 405, {"method": "PATCH"}),
    ("no key", 401, {"key": None}),
    ("a key of another kind", 403, {"key": "publishable"}),
    ("too many requests", 429, {"limits": "spent"}),
    ("not its type", 415, {"type": "text/plain"}),
    ("an answer in no type", 406, {"accept": "image/png"}),
    ("a strange query", 400, {"query": "?surely=1"}),
    ("too long", 413, {"body": b" " * (256 * 1024 + 1)}),
    ("not JSON", 400, {"body": b"["}),
    ("what is named is not there", 404, {"id": "set_00000000000000000000000000"}),
    ("no version", 428, {"if_match": None}),
    ("another version", 412, {"if_match": '"7"'}),
    ("not valid", 422, {"body": json.dumps(WRONG).encode()}),
    ("taken", 409, {"body": json.dumps({"ref": "desk", "sku": TAKEN}).encode()}),
]
KINDS = {
    400: ("bad-request", "not-json"), 401: ("key-needed",), 403: ("key-may-not",), 404: ("not-found",),
    405: ("method-not-allowed",), 406: ("not-acceptable",), 409: ("conflict",), 412: ("changed",),
    413: ("too-large",), 415: ("unsupported-type",), 422: ("not-valid",), 428: ("version-needed",),
    429: ("http-problem-types#quota-exceeded",),
}  # fmt: skip
PAIRS = [(one, other) for one, other in combinations(FAULTS, 2) if not one[2].keys() & other[2].keys()]


class Gates:
    """A setup, a sku that another has, and a service whose quota is spent."""

    def __init__(self, url: str) -> None:
        self.shop = watched(url)
        self.world = stocked(self.shop, "zqorder")
        self.world.made("/v1/setups", {"ref": "first", "sku": TAKEN})
        account = self.shop.account(f"Account {self.world.mark}")
        self.publishable = self.shop.new_key(account, PUBLISHABLE, (ORIGIN,))
        self.spent = watched(url, limits=Limits(costings=1, reads=1, writes=1, issues=1, failures=0))

    def ask(self, *faults: dict[str, Any]) -> Any:
        """A change of the setup that would be done but for the faults."""
        sent: dict[str, Any] = {
            "method": "PUT", "rule": "/v1/setups/{}", "id": self.world.setup, "key": self.world.key,
            "type": "application/json", "accept": "*/*", "query": "", "if_match": "*",
            "body": json.dumps({"ref": "desk"}).encode(), "limits": "",
        }  # fmt: skip
        for fault in faults:
            sent |= fault
        key = self.publishable if sent["key"] == "publishable" else sent["key"]
        headers = {"Content_Type": sent["type"], "Accept": sent["accept"], "Origin": ORIGIN}
        headers |= {"If_Match": sent["if_match"]} if sent["if_match"] else {}
        shop: Watched = self.spent if sent["limits"] else self.shop
        path = sent["rule"].format(sent["id"]) + sent["query"]
        if sent["limits"]:
            self.spend()
        return shop.call(sent["method"], path, sent["body"], key=key, **headers)

    def spend(self) -> None:
        """Ask until there is no more; a new minute may have begun."""
        for _ in range(5):
            if self.spent.call("POST", "/v1/products", key=self.world.key).status_code == 429:
                return
        pytest.fail("the quota does not end")


@pytest.fixture(scope="module")
def gates(migrated_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Gates]:
    path = tmp_path_factory.mktemp("order") / "kept.db"
    shutil.copyfile(migrated_file, path)
    found = Gates(f"sqlite:///{path}")
    yield found
    found.shop.close()
    found.spent.close()


def test_without_a_fault_it_is_done(gates: Gates):
    assert gates.ask().status_code == 200


def is_told(answer: Any, status: int) -> None:
    assert answer.status_code == status, answer.text
    assert answer.json["type"].rpartition("/")[2] in KINDS[status]


@pytest.mark.parametrize("fault", FAULTS, ids=[row[0] for row in FAULTS])
def test_each_fault_is_told_alone(gates: Gates, fault: tuple[str, int, dict[str, Any]]):
    is_told(gates.ask(fault[2]), fault[1])


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=[f"{one[0]}, {other[0]}" for one, other in PAIRS])
def test_the_earlier_of_two_faults_is_told(gates: Gates, one: Any, other: Any):
    is_told(gates.ask(other[2], one[2]), one[1])


def test_the_order_is_the_one_that_is_told():
    from service.api import gates as told

    text = " ".join((told.__doc__ or "").split())
    places = [text.index(str(status)) for _, status, _ in FAULTS if status not in (400, 404)]
    # 413 and 400 come while the body is read, after the 400 of a query.
    assert places == sorted(places)


def test_a_fault_of_the_body_is_told_before_one_that_only_the_store_knows(gates: Gates):
    both = json.dumps({"ref": "desk", "sku": TAKEN, "lines": [{"ref": "x"}]}).encode()
    is_told(gates.ask({"body": both}), 422)


def test_what_needs_an_idempotency_key_says_so_before_it_looks_into_the_body(gates: Gates):
    world: World = gates.world
    assert world.call("POST", "/v1/quotes", {"surely": "wrong"}).status_code == 400
    assert world.call("POST", "/v1/quotes", {"surely": "wrong"}, Idempotency_Key=once()).status_code == 422
    assert world.call("POST", "/v1/quotes", b"[", Content_Type="application/json").status_code == 400
