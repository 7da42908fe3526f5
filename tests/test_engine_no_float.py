"""Money is never a float: neither in what comes out nor in the code that makes it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

import service.engine
from service.cli import main
from service.quoting import cost
from tests.pieces import TODAY, line, quantity, rate, request
from tests.requests_at_random import requests, to_json

ENGINE = Path(service.engine.__file__).parent
QUOTING = ENGINE.parent / "quoting"

# Where a float may be used, and how often.
ALLOWED = {
    # The column of sums is a filter: near a half, and beyond what a float holds, the exact sum decides.
    ("money.py", "literal", "FLOAT_DOUBT"): 1,
    ("money.py", "literal", "FLOAT_WHOLE"): 1,
    ("money.py", "literal", "cells_of_sums"): 4,
    ("money.py", "float64", "cells_of_long"): 1,
    # Sizes are compared with the limit of 64 bits; nothing is made of them.
    ("ratio.py", "literal", "checked"): 1,
    ("ratio.py", "float64", "checked"): 1,
}
MAKERS = {"float", "round", "float64", "double", "float32"}


def uses(path: Path) -> Iterator[tuple[str, str, str]]:
    """(file, kind, innermost function or name assigned) of each use of a float in a file."""

    def walk(node: ast.AST, inside: str) -> Iterator[tuple[str, str, str]]:
        if isinstance(node, ast.FunctionDef):
            inside = node.name
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and not inside:
            inside = node.targets[0].id
        if isinstance(node, ast.Constant) and isinstance(node.value, (float, complex)):
            yield path.name, "literal", inside
        if isinstance(node, (ast.Name, ast.Attribute)):
            name = node.id if isinstance(node, ast.Name) else node.attr
            if name in MAKERS:
                yield path.name, name, inside
        if isinstance(node, (ast.Import, ast.ImportFrom)) and "math" in ast.dump(node):
            yield path.name, "math", inside
        for child in ast.iter_child_nodes(node):
            # What stands in annotations only names a type.
            if child in annotations:
                continue
            yield from walk(child, inside)

    tree = ast.parse(path.read_text(encoding="utf-8"))
    annotations = {
        note
        for node in ast.walk(tree)
        for note in (getattr(node, "annotation", None), getattr(node, "returns", None))
        if note is not None
    }
    yield from walk(tree, "")


@pytest.mark.parametrize("name", ["money.py", "ratio.py", "price.py"])
def test_the_code_of_money_has_no_float_but_those_with_a_reason(name: str) -> None:
    found: dict[tuple[str, str, str], int] = {}
    for use in uses(ENGINE / name):
        found[use] = found.get(use, 0) + 1
    assert found == {use: n for use, n in ALLOWED.items() if use[0] == name}


def test_the_guard_finds_what_it_looks_for(tmp_path: Path) -> None:
    bad = tmp_path / "bad.py"
    bad.write_text(
        "import math\nHALF = 0.5\n\ndef f(a: float) -> float:\n"
        "    return round(float(a)) + 1j + a.astype(np.float64)\n"
    )
    assert list(uses(bad)) == [
        ("bad.py", "math", ""),
        ("bad.py", "literal", "HALF"),
        ("bad.py", "round", "f"),
        ("bad.py", "float", "f"),
        ("bad.py", "literal", "f"),
        ("bad.py", "float64", "f"),
    ]


def leaves(node: Any, at: str = "#") -> Iterator[tuple[str, Any]]:
    """Every value of a document that holds no others, with its place."""
    if isinstance(node, (dict, list)):
        for key, value in node.items() if isinstance(node, dict) else enumerate(node):
            yield from leaves(value, f"{at}/{key}")
    else:
        yield at, node


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(requests())
def test_no_float_and_no_other_surprise_is_in_an_answer(document: dict[str, Any]) -> None:
    answer = cost({**document, "detail": "workings"}, TODAY)
    for place, value in leaves(answer):
        # A number sent as a JSON number is shown among the inputs of the workings as it was sent.
        plain = (str, int, bool, type(None)) + ((Decimal,) if "/inputs/" in place else ())
        assert type(value) in plain, (place, value)
    for place, value in leaves({key: answer[key] for key in ("setups", "shared", "total", "months")}):
        # Days are counted.
        counts = "/inputs/" in place or ("/measured/" in place and place.endswith("/days"))
        assert isinstance(value, str) or value is None or counts, (place, value)


def test_the_command_line_writes_workings_of_a_number_as_it_was_sent(tmp_path: Path, capsys: Any) -> None:
    document = request(
        line(usage=rate(Decimal("1.50")), pack=quantity(Decimal("30.5"), "1")), detail="workings"
    )
    file = tmp_path / "request.json"
    file.write_bytes(to_json(document))
    assert main(["cost", str(file), "--json"]) in (0, None)
    written = capsys.readouterr().out
    assert '"amount": 1.50' in written or '"amount": 1.5' in written
    assert "30.5" in written
