"""What to do about each kind of problem, with an example; the texts lie in advice.yaml."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

# Every scalar stays the text that is written.
_Loader = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


@dataclass(frozen=True, slots=True)
class Advice:
    """For one kind: steps, a request that meets it, and what the answer says besides its kind."""

    steps: tuple[str, ...]
    request: str
    detail: str
    more: dict[str, Any]


@lru_cache(maxsize=1)
def advice() -> dict[str, Advice]:
    """The advice by the names of the kinds."""
    text = (resources.files(__package__) / "advice.yaml").read_text(encoding="utf-8")
    rows: dict[str, dict[str, Any]] = yaml.load(text, Loader=_Loader)  # noqa: S506
    return {
        name: Advice(tuple(row["do"]), row["request"].strip(), row["detail"], row.get("more", {}))
        for name, row in rows.items()
    }
