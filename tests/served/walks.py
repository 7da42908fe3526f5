"""Every documented link followed once with requests that are right, each answer checked by schemathesis.

Random requests seldom get through a door that only exact units, currencies and names open. Each
link here is reached from a thing that was just made, so no walk meets what another has left.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count
from typing import Any

from tests.served.goods import PRODUCT, REQUEST, once

_NUMBERS = count(1)
PRICES = [{"amount": "61.50", "currency": "GBP", "from": "2026-01-01"}]
VERSIONS = [{"from": "2026-10-01", "price": "0.27"}]
TARIFF = {"kind": "electricity", "name": "Home", "currency": "GBP"}
FOOD = REQUEST["setups"][0]["lines"][0]
ROUTINE = {"ref": "weekly", "rules": [{"ref": "food", "when": [], "add": [FOOD]}]}
METER = {"kind": "meter", "what": "electricity", "from": "2026-01-01", "until": "2026-02-01",
         "amount": {"amount": "80", "unit": "kW.h"}}  # fmt: skip
BATCH = {"period": REQUEST["period"], "currency": "GBP"}
# A right body for each operation that takes one; `{n}` in a name is another number each time.
BODIES: dict[str, Any] = {
    "POST /v1/products": PRODUCT | {"name": "Salt {n}"},
    "PUT /v1/products/{id}": PRODUCT | {"name": "Salt {n}"},
    "POST /v1/products/{id}/prices": {"prices": PRICES},
    "POST /v1/tariffs": TARIFF,
    "PUT /v1/tariffs/{id}": TARIFF,
    "POST /v1/tariffs/{id}/versions": {"versions": VERSIONS},
    "POST /v1/routines": ROUTINE,
    "PUT /v1/routines/{id}": ROUTINE,
    "POST /v1/setups": {"ref": "den", "name": "Den {n}"},
    "PUT /v1/setups/{id}": {"ref": "den", "name": "Den {n}"},
    "POST /v1/keys": {"kind": "secret", "name": "Key {n}"},
    "POST /v1/quotes": {"request": REQUEST},
    "POST /v1/quotes/{id}/links": {"expires_in": "P7D"},
    "POST /v1/exchange-rates": {
        "rates": [{"from": "EUR", "to": "GBP", "rate": "0.8338", "on": "2026-10-30"}]
    },
    "POST /v1/costings": REQUEST,
}
QUERIES = {"GET /v1/setups/{id}/comparison": {"currency": "GBP", "from": "2026-01-01", "until": "2026-02-01"}}


@dataclass(frozen=True, slots=True)
class Link:
    """One link of an answer of an operation."""

    source: str
    target: str
    parameters: dict[str, str]


def walk_all(contract: Any, key: str, note: Callable[[str, int], None]) -> int:
    """Ask for all that needs no id and all names of closed lists, then follow every link; their number."""
    walker = _Walker(contract, key, note)
    links = list(_links(contract))
    paths = deque([[link] for link in links if "{" not in link.source])
    plain = [f"GET {path}" for path, item in contract.raw_schema["paths"].items() if "get" in item]
    for name in (*BODIES, *plain):
        if "{" not in name and not any(link.source == name for link in links):
            walker.send(name, {}, {})
    for name, parameter, word in _closed(contract):
        walker.send(name, {parameter: word}, {})
    seen: set[tuple[str, str]] = set()
    while paths:
        path = paths.popleft()
        edge = (path[-1].source, path[-1].target)
        if edge not in seen:
            seen.add(edge)
            walker.walk(path)
            paths += [[*path, link] for link in links if link.source == path[-1].target]
    assert seen == {(link.source, link.target) for link in links}, "a link that nothing leads to"
    return len(seen)


@dataclass
class _Walker:
    contract: Any
    key: str
    note: Callable[[str, int], None]

    def walk(self, path: list[Link]) -> None:
        """From a new thing along the links."""
        sent, answer = self.send(path[0].source, {}, {})
        for link in path:
            values = {name: _value(text, sent, answer) for name, text in link.parameters.items()}
            headers = {name: values.pop(name) for name in ("If-Match",) if name in values}
            sent, answer = self.send(link.target, values, headers)

    def send(self, name: str, values: dict[str, str], headers: dict[str, str]) -> tuple[dict[str, str], Any]:
        """One right request; its path parameters and its answer, which must be 2xx and as documented."""
        number = next(_NUMBERS)
        method, path = name.split(" ")
        body = _numbered(BODIES.get(name), number)
        if name in ("POST /v1/readings", "POST /v1/batches"):
            setup = self.send("POST /v1/setups", {}, {})[1].json()["id"]
            body = METER | {"setup": setup} if "readings" in name else BATCH | {"setups": {"ids": [setup]}}
        sent = headers | {"Authorization": f"Bearer {self.key}"}
        if name == "POST /v1/quotes":
            sent["Idempotency-Key"] = once("walk", number)
        given = {} if body is None else {"body": body, "media_type": "application/json"}
        operation = self.contract[path][method]
        case = operation.Case(path_parameters=values, headers=sent, query=QUERIES.get(name, {}), **given)
        answer = case.call_and_validate()
        self.note(name, answer.status_code)
        assert 200 <= answer.status_code < 300, (name, answer.status_code, answer.text)
        return values, answer


def _closed(contract: Any) -> Iterator[tuple[str, str, str]]:
    """Every word of a closed list that a path takes: the operation, the parameter and the word."""
    for path, item in contract.raw_schema["paths"].items():
        for parameter in item.get("parameters", ()):
            for word in parameter["schema"].get("enum", ()):
                yield f"GET {path}", parameter["name"], word


def _links(contract: Any) -> Iterator[Link]:
    """The links of the document's answers."""
    paths = contract.raw_schema["paths"]
    names = {
        operation["operationId"]: f"{method.upper()} {path}"
        for path, item in paths.items()
        for method, operation in item.items()
        if method != "parameters" and "operationId" in operation
    }
    for path, item in paths.items():
        for method, operation in item.items():
            for answer in operation["responses"].values() if method != "parameters" else ():
                for link in answer.get("links", {}).values():
                    source = f"{method.upper()} {path}"
                    yield Link(source, names[link["operationId"]], link["parameters"])


def _value(text: str, sent: dict[str, str], answer: Any) -> str:
    """What a runtime expression of a link stands for."""
    if text.startswith("$request.path."):
        return sent[text.removeprefix("$request.path.")]
    if text.startswith("$response.header."):
        return str(answer.headers[text.removeprefix("$response.header.").lower()][0])
    return str(answer.json()[text.removeprefix("$response.body#/")])


def _numbered(body: Any, number: int) -> Any:
    if not isinstance(body, dict) or "{n}" not in str(body.get("name")):
        return body
    return body | {"name": body["name"].replace("{n}", str(number))}
