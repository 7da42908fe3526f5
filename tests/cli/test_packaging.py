"""What the package says that it needs is what it needs."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
# Needed without an import: zoneinfo reads its tables where the system has none, SQLAlchemy loads its
# driver by name.
NOT_IMPORTED = {"tzdata", "psycopg"}
# Imported, and declared through the package that needs the very same version of it.
COMES_WITH = {"dask"}
# Packages whose module has another name.
PACKAGE_OF = {"yaml": "pyyaml", "markdown_it": "markdown-it-py"}


def imported() -> set[str]:
    """Top-level packages that any module of the service imports, wherever in the module."""
    names = set()
    for file in (ROOT / "service").rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                names.add(str(node.module).split(".")[0])
    others = names - set(sys.stdlib_module_names) - {"service"}
    return {PACKAGE_OF.get(name, name.replace("_", "-")) for name in others}


def declared(requirements: list[str]) -> set[str]:
    return {re.split(r"[^A-Za-z0-9._-]", text)[0].lower() for text in requirements}


def test_every_import_is_declared_and_every_declaration_is_used():
    extras = PROJECT["project"]["optional-dependencies"]
    wanted = declared([*PROJECT["project"]["dependencies"], *extras["cluster"], *extras["parquet"]])
    assert wanted - NOT_IMPORTED == imported() - COMES_WITH


def test_every_declared_package_is_pinned():
    extras = PROJECT["project"]["optional-dependencies"].values()
    wanted = declared([*PROJECT["project"]["dependencies"], *(text for extra in extras for text in extra)])
    pins = (ROOT / "constraints.txt").read_text(encoding="utf-8").lower().replace("_", "-")
    assert wanted <= set(re.findall(r"^([a-z0-9.-]+)==", pins, re.MULTILINE))


def test_every_declared_package_has_a_reason_in_the_text_for_developers():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    extras = PROJECT["project"]["optional-dependencies"].values()
    wanted = declared([*PROJECT["project"]["dependencies"], *(entry for extra in extras for entry in extra)])
    assert not {
        name for name in wanted if not re.search(rf"^\|.*\b{re.escape(name)}\b.*\|", text, re.MULTILINE)
    }
