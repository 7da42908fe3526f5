"""Every source that is cited exists once, and every source is cited."""

from __future__ import annotations

import re
from pathlib import Path

import yaml

from service.parameters.defaults import defaults
from service.parameters.usual import usuals

PACKAGE = Path(__file__).parent.parent / "service"
SOURCES = yaml.safe_load((PACKAGE / "parameters" / "sources.yaml").read_text(encoding="utf-8"))
CITED = re.compile(r"Source: ([a-z0-9-]+(?:; [a-z0-9-]+)*)\.")


def cited() -> set[str]:
    """Keys after "Source:" in docstrings, those of the reviewed data, and those that stand alone as texts."""
    found = {default.source for default in defaults().values()}
    found.update(usual.source for usual in usuals().values())
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        for keys in CITED.findall(text):
            found.update(keys.split("; "))
        found.update(key for key in SOURCES if f'"{key}"' in text)
    return found


def test_every_cited_source_is_listed() -> None:
    assert cited() - set(SOURCES) == set()


def test_every_listed_source_is_cited() -> None:
    assert set(SOURCES) - cited() == set()


def test_every_mention_of_a_source_has_the_form_that_is_checked() -> None:
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert len(re.findall(r"Source: ", text)) == len(CITED.findall(text)), path.name


def test_each_source_says_what_it_is() -> None:
    kinds = {"published", "own rule", "common practice", "from memory", "arithmetic", "library"}
    assert all(set(row) == {"title", "kind"} and row["kind"] in kinds for row in SOURCES.values())
