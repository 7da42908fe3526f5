"""Keeps the quotes that every later version must reproduce: `python -m tests.kept.make_golden`.

A file holds a frozen document to the byte; `digests.csv` says what each was sealed under. Files that
are there stay as they are: only quotes of new names are added.
"""

from __future__ import annotations

import csv
from pathlib import Path

from tests.kept.golden_requests import golden_requests
from tests.kept.issuing import frozen

FOLDER = Path(__file__).parents[1] / "data" / "golden_quotes"
DIGESTS = FOLDER / "digests.csv"


def digests() -> dict[str, str]:
    """Digests of the kept quotes by their names."""
    if not DIGESTS.exists():
        return {}
    with DIGESTS.open(encoding="utf-8", newline="") as file:
        return {row["name"]: row["sha256"] for row in csv.DictReader(file)}


def main() -> None:
    FOLDER.mkdir(parents=True, exist_ok=True)
    known = digests()
    for number, (name, asked) in enumerate(golden_requests().items(), 1):
        if name not in known:
            text, known[name] = frozen(asked, number=number)
            (FOLDER / f"{name}.json").write_bytes(text.encode())
    with DIGESTS.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([("name", "sha256"), *sorted(known.items())])


if __name__ == "__main__":
    main()
