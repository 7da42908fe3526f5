"""Good requests made bad at random: members dropped, added, doubled, retyped, made hostile."""

from __future__ import annotations

import copy
from decimal import Decimal
from random import Random
from typing import Any

from tests.api.good import GOOD

HOSTILE: tuple[Any, ...] = (
    *(None, True, False, 0, -1, 1, 12, 24, 10**12 - 1, 10**12, 10**15, 10**19),
    *(Decimal(text) for text in ("1.5", "1.0", "-0.5", "0.000001", "0.0000001", "999999999999.999999")),
    *("", " ", " 1", "1 ", "+1", "-1", "-0", "0", "00", "01", "1.", ".5", "1.5", "1e5", "1e400", "1E+999999"),
    *("NaN", "sNaN", "inf", "-Infinity", "0x1", "1_000", "1,5", "１２", "١٢", "1.1234567", "1.123456", "1\n"),
    *("999999999999", "1000000000000", "0." + "1" * 12, "1/3", "0/3", "1/0", "1/3/5", "true", "null"),
    *("GBP", "gbp", "GB", "EURO", "L", "kWh", "gal", "%", "Cel", "x" * 20, "x" * 21, "x" * 64, "x" * 65),
    *(
        "x" * 200,
        "x" * 201,
        "\U0001f41f" * 200,
        "\U0001f41f" * 201,
        "é",
        "a b",
        "a/b",
        "~",
        "a\tb",
        "a\u202eb",
    ),
    *("a\u0085b", "\u2028", "den", "otherwise", "mon", "box", "rate", "life", "fixed", "none", "days"),
    *("2027-01-01", "2027-02-29", "2028-02-29", "2100-02-29", "2100-12-31", "2101-01-01", "1999-12-31"),
    *(
        "2027-13-01",
        "2027-00-10",
        "2027-04-31",
        "20270101",
        "2027-1-1",
        "2027-01-01T00:00:00Z",
        "2027-01-01\n",
    ),
    *(
        "P1D",
        "P0D",
        "P7D",
        "P2W",
        "P1M",
        "P1Y6M",
        "P1M2D",
        "P1Y0M",
        "P",
        "PT1H",
        "p1d",
        "P99999D",
        "P100000D",
    ),
    *("00:00", "23:59", "24:00", "9:00", "09:60", "09:00:00", "Europe/London", "../etc", "GB", "gross"),
    *([], {}, [[]], [{}], [None], {"amount": "1", "unit": "L"}, {"amount": 1, "currency": "GBP"}),
    *(
        {"open_share": {"amount": "1", "unit": "%"}},
        ["09:00", "10:00"],
        [{"amount": "1", "unit": "Cel"}] * 12,
    ),
    *({"den": "1"}, {"a b": "1"}, {"": "1"}, {"x" * 65: "1"}, {"kind": "life", "lasts": "P1D"}, {"kind": []}),
)
NAMES = (
    *("price", "prices", "bands", "blocks", "portion", "volume", "hours_per_day", "on", "kind", "share"),
    *(
        "name",
        "until",
        "tax_code",
        "total",
        "id",
        "",
        "_schema",
        "a/b",
        "a~b",
        "a b",
        "%41",
        "é",
        "0",
        "x" * 300,
    ),
)


def places(document: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) of a document."""
    found: list[tuple[Any, Any]] = []
    todo = [document]
    for node in todo:
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        for key in keys:
            found.append((node, key))
            if isinstance(node[key], dict | list):
                todo.append(node[key])
    return found


def levels(node: Any) -> int:
    """How deep a value is nested; a scalar is 0 deep."""
    inner = node.values() if isinstance(node, dict) else node if isinstance(node, list) else ()
    return 1 + max(map(levels, inner), default=0) if isinstance(node, dict | list) else 0


def mutated(random: Random) -> Any:
    """A good request with none to three things changed."""
    document = copy.deepcopy(random.choice(GOOD))
    for _ in range(random.choice((0, 1, 1, 1, 2, 3))):
        node, key = random.choice(places(document))
        way = random.randrange(6)
        if way == 0 and isinstance(node, dict):
            del node[key]
        elif way == 1 and isinstance(node, dict):
            node[random.choice(NAMES)] = copy.deepcopy(random.choice(HOSTILE))
        elif way == 2 and isinstance(node, list):
            node.insert(key, copy.deepcopy(node[key]))
        elif way == 3:
            other, name = random.choice(places(document))
            node[key] = copy.deepcopy(other[name] if levels(other[name]) <= 3 else random.choice(HOSTILE))
        else:
            node[key] = copy.deepcopy(random.choice(HOSTILE))
    return document


def resolved(document: Any, pointer: str) -> Any:
    """What a JSON Pointer fragment (RFC 6901, section 6) leads to; an error where it leads nowhere."""
    from urllib.parse import unquote

    assert pointer[0] == "#"
    node = document
    for part in unquote(pointer[1:]).split("/")[1:]:
        key = part.replace("~1", "/").replace("~0", "~")
        node = node[int(key)] if isinstance(node, list) else node[key]
    return node
