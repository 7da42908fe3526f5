"""Where the project's data files lie."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]


def shared(name: str) -> Path:
    """A data file of `shared/`: inside the package when installed, beside it in the source tree."""
    inside = PACKAGE / "shared" / name
    return inside if inside.is_file() else PACKAGE.parent / "shared" / name
