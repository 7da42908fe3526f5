"""Every operation of the service as rows for people: method, address, what it does, which key it needs."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

import orjson
from flask import Flask

from service.api.callers import COMPUTE, MANAGE, OPEN, READ, needed

KEYS = {
    OPEN: "none",
    COMPUTE: "none on an open service, else any",
    READ: "any; a publishable one sees what is public",
    MANAGE: "a secret one",
}
_PARAMETER = re.compile("<(?:[^<>]*:)?([a-z_]+)>")


class Operation(NamedTuple):
    """One operation."""

    method: str
    path: str
    summary: str
    key: str


def operations(app: Flask) -> list[tuple[str, str, list[Operation]]]:
    """All operations by their groups: its name, what it is about, and its rows."""
    document: dict[str, Any] = orjson.loads(app.extensions["openapi"]())
    rights = {
        (_PARAMETER.sub(r"{\1}", rule.rule), method): needed(rule.endpoint)
        for rule in app.url_map.iter_rules()
        for method in rule.methods or ()
    }
    groups: dict[str, list[Operation]] = {tag["name"]: [] for tag in document["tags"]}
    for path, item in document["paths"].items():
        for name, operation in item.items():
            if name == "parameters":
                continue
            right = rights[path, name.upper()]
            row = Operation(name.upper(), path, operation["summary"], KEYS[right])
            groups[operation["tags"][0]].append(row)
    about = {tag["name"]: tag.get("description", "") for tag in document["tags"]}
    return [(_name(tag), _plain(about[tag]), rows) for tag, rows in groups.items() if rows]


def _name(tag: str) -> str:
    return tag.replace("_", " ").replace("-", " ").capitalize()


def _plain(text: str) -> str:
    """A description without its links, of which the page has its own."""
    return re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", text)
