"""No rule without a use: what the engine can work out, some request can ask for.

A name counts as used where it is reached from the layers above the engine, or from what runs
as a module of the engine is read; a rule that only another unused rule calls is not used.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "service"
ENGINE = sorted((PACKAGE / "engine").glob("*.py"))
# The inverse of a conversion: the closed table of units is checked both ways.
KEPT = {"units.from_base"}


def imports(tree: ast.Module) -> dict[str, str]:
    """What names of a file stand for: a module of the engine, or a member of one as `module.member`."""
    found: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("service.engine"):
            module = (node.module or "").removeprefix("service.engine").lstrip(".")
            for name in node.names:
                found[name.asname or name.name] = f"{module}.{name.name}" if module else name.name
    return found


def inputs(node: ast.AST) -> set[str]:
    """Names that a function gives its inputs, which then mean no rule of that name."""
    return {inner.arg for inner in ast.walk(node) if isinstance(inner, ast.arg)}


def mentioned(node: ast.AST, known: dict[str, str]) -> Iterator[str]:
    """Members of the engine that a piece of a file mentions."""
    for inner in ast.walk(node):
        if isinstance(inner, ast.Attribute) and isinstance(inner.value, ast.Name):
            yield f"{known.get(inner.value.id, '')}.{inner.attr}"
        elif isinstance(inner, ast.Name):
            yield known.get(inner.id, "")


def members() -> tuple[dict[str, set[str]], set[str]]:
    """What each function or class of the engine mentions, and what is mentioned as a module is read."""
    calls: dict[str, set[str]] = {}
    at_once: set[str] = set()
    for path in ENGINE:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        defined = [node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
        known = imports(tree) | {node.name: f"{path.stem}.{node.name}" for node in defined}
        for node in tree.body:
            if isinstance(node, ast.FunctionDef | ast.ClassDef):
                own = {name: what for name, what in known.items() if name not in inputs(node)}
                calls[f"{path.stem}.{node.name}"] = set(mentioned(node, own))
            else:
                at_once.update(mentioned(node, known))
    return calls, at_once


def asked_from_above() -> set[str]:
    """Members of the engine that the layers above it mention."""
    found: set[str] = set()
    for path in PACKAGE.rglob("*.py"):
        if path not in ENGINE:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found.update(mentioned(tree, imports(tree)))
    return found


def unused() -> list[str]:
    calls, at_once = members()
    reached: set[str] = set()
    open_ = [name for name in (*at_once, *asked_from_above(), *KEPT) if name in calls]
    while open_:
        name = open_.pop()
        if name not in reached:
            reached.add(name)
            open_ += [one for one in calls[name] if one in calls]
    return sorted(set(calls) - reached)


def test_every_function_of_the_engine_serves_a_request() -> None:
    assert unused() == []


@pytest.mark.parametrize("name", sorted(KEPT))
def test_what_is_kept_without_a_use_is_there(name: str) -> None:
    assert name in members()[0]
    assert name not in asked_from_above()


if __name__ == "__main__":
    print(*unused(), sep="\n", end="")
