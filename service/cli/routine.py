"""What the rules of a routine did to each setup, as people read it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.cli.text import item, listed, plain, title

Answer = dict[str, Any]


def rules(answer: Answer, width: int) -> Iterator[str]:
    """The rules that held with what they did, then those that did not with the reason."""
    setups = [setup for setup in answer["setups"] if setup.get("routine")]
    if not setups:
        return
    yield from title("What the rules gave")
    for setup in setups:
        routine = setup["routine"]
        yield ""
        yield plain(f"{routine['name']} ({setup['ref']})")
        for rule in routine["fired"]:
            yield from item(f"{rule['name']}: {_did(rule)}", width)
        for rule in routine["not_fired"]:
            yield from item(f"not {rule['name']}: {rule['because']}", width)


def _did(rule: Answer) -> str:
    """What a rule did, in one sentence."""
    changed = [f"{one['line']} ({one['how']})" for one in rule["changed"]]
    parts = [
        f"{words} {listed(refs)}"
        for words, refs in (
            ("added", rule["added"]),
            ("changed", changed),
            ("left as stated", rule["kept"]),
            ("found no line", rule["no_line"]),
        )
        if refs
    ]
    return "; ".join(parts) or "nothing to do"
