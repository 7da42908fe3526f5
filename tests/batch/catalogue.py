"""A shop's catalogue of any length from a seed: bare tanks in flat columns, one in a hundred of them bad.

Tanks come in families, as they do in a shop: those of one family are described alike, and their figures
differ. All is said in the columns of a catalogue, so that a row is the same document in every format.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

import orjson

from service.schemas.columns import FLAG
from service.schemas.import_columns import DEVICES, SETUP_COLUMNS
from tests.batch.families import Cells, Family, spoilt

ROUTINES = Path(__file__).resolve().parents[2] / "shared" / "routines"
SEED, FAMILIES = 2027, 60
GROUP = 10_000
Document = dict[str, Any]
# Which tanks follow which of the three demo routines.
_FRESH = {"fact": "water", "is": "fresh"}
_SALTY = {"fact": "water", "one_of": ["marine", "brackish"]}
FOLLOWED = {
    "planted-freshwater": [_FRESH],
    "reef": [_SALTY, {"fact": "lamps", "at_least": "1"}],
    "fish-only-marine": [_SALTY, {"fact": "lamps", "under": "1"}],
}


class Tank(NamedTuple):
    """One row: its line, its cells by column, and whether it was made bad on purpose."""

    line: int
    cells: Cells
    bad: bool


def settings(**more: Any) -> Document:
    """What the catalogue is costed with: the three routines as one, and tariffs of two prices each."""
    electricity = [
        {"from": "2026-10-01", "standing_per_day": "0.58", "price": "0.2650"},
        {"from": "2027-04-01", "standing_per_day": "0.61", "price": "0.2815"},
    ]
    water = [
        {"from": "2026-04-01", "supply_per_m3": "2.11", "sewerage_per_m3": "1.48"},
        {"from": "2027-04-01", "supply_per_m3": "2.24", "sewerage_per_m3": "1.56"},
    ]
    return {
        "period": {"from": "2027-01-01", "until": "2028-01-01"},
        "currency": "GBP",
        "as_of": "2026-11-25",
        "routine": joined_routine(),
        "tariffs": {
            "electricity": {"currency": "GBP", "versions": electricity},
            "water": {"currency": "GBP", "versions": water},
        },
        "reserve": {"amount": "10", "unit": "%"},
    } | more


def joined_routine() -> Document:
    """The three demo routines as one; the rules of each ask first whether the tank is one of theirs."""
    rules = []
    for name, first in FOLLOWED.items():
        for rule in demo_routine(name)["rules"]:
            rules.append(rule | {"ref": f"{name}.{rule['ref']}", "when": [*first, *rule["when"]]})
    return {"ref": "catalogue", "from": "2026-01-01", "rules": rules}


def demo_routine(name: str) -> Document:
    """One of the routines that come with the program."""
    found: Document = json.loads((ROUTINES / f"{name}.json").read_text(encoding="utf-8"))
    return found


def tanks(rows: int, seed: int = SEED, families: int = FAMILIES) -> Iterator[Tank]:
    """So many tanks; the first of a long catalogue are those of a short one with the same seed."""
    random = Random(seed)
    known = [Family(Random(f"{seed} {i}")) for i in range(families)]
    for line in range(1, rows + 1):
        cells = random.choice(known).cells(line, random)
        bad = random.random() < 0.01
        if bad:
            spoilt(cells, random)
        yield Tank(line, cells, bad)


def document_of(cells: Cells) -> Document:
    """The setup that a row of cells stands for."""
    document: Document = {}
    for name, cell in cells.items():
        column = SETUP_COLUMNS[name]
        node = document
        for key in column.path[:-1]:
            node = node.setdefault(key, {})
        value: Any = cell == "true" if column.kind == FLAG else cell
        node[column.path[-1]] = {"amount": value, "unit": column.unit} if column.unit else value
    if "devices" in document:
        parts = document["devices"]
        document["devices"] = [{"ref": ref, **DEVICES[ref], **parts[ref]} for ref in parts]
    return document


def documents(
    rows: int, seed: int = SEED, families: int = FAMILIES, own_routines: float = 0
) -> Iterator[Document]:
    """The tanks as setups; a share of them with a demo routine of their own."""
    random = Random(seed + 1)
    for tank in tanks(rows, seed, families):
        document = document_of(tank.cells)
        if own_routines and random.random() < own_routines and "routine" not in document:
            document["routine"] = demo_routine(random.choice(tuple(FOLLOWED)))
        yield document


def write_ndjson(path: Path, rows: int, seed: int = SEED, own_routines: float = 0) -> None:
    """The catalogue, one document a line."""
    with path.open("wb") as file:
        for document in documents(rows, seed, own_routines=own_routines):
            file.write(orjson.dumps(document) + b"\n")


def write_csv(path: Path, rows: int, seed: int = SEED) -> None:
    """The catalogue as comma-separated text."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(SETUP_COLUMNS)
        writer.writerows([tank.cells.get(name, "") for name in SETUP_COLUMNS] for tank in tanks(rows, seed))


def write_parquet(path: Path, rows: int, seed: int = SEED) -> None:
    """The catalogue as Parquet, in groups of rows; empty cells are nulls."""
    import pyarrow
    from pyarrow import parquet

    schema = pyarrow.schema([(name, pyarrow.string()) for name in SETUP_COLUMNS])
    with parquet.ParquetWriter(path, schema) as writer:
        group: list[Cells] = []
        for tank in tanks(rows, seed):
            group.append(tank.cells)
            if len(group) == GROUP or tank.line == rows:
                writer.write_table(pyarrow.Table.from_pylist(group, schema))
                group = []


WRITERS: dict[str, Callable[[Path, int], None]] = {
    "ndjson": write_ndjson,
    "csv": write_csv,
    "parquet": write_parquet,
}
