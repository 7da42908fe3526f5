"""Log lines of a test, read back from standard error."""

from __future__ import annotations

import json
from typing import Any


def lines_of(text: str) -> list[dict[str, Any]]:
    """Each line as an object; a line that is not one JSON object in printable ASCII fails the test."""
    found = []
    for line in text.splitlines():
        assert line.isascii() and line.isprintable(), line
        event = json.loads(line)
        assert isinstance(event, dict), line
        found.append(event)
    return found
