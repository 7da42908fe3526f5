"""A small catalogue in each kind of file, and the command that costs it."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from decimal import Decimal
from pathlib import Path
from typing import Any

from service.batch.flat import Former

ROOT = Path(__file__).resolve().parents[2]
COMMAND = [sys.executable, "-m", "service.cli", "batch"]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT)}
COLUMNS = (
    "sku", "name", "public", "water", "shape", "length_cm", "width_cm", "pane_mm", "water_depth_cm",
    "displaced_percent", "cover", "heating", "heating_w", "pump_w", "lamp_w", "lamp_hours_per_day",
)  # fmt: skip
SETTINGS: dict[str, Any] = {
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currency": "GBP",
    "as_of": "2026-11-20",
    "tariffs": {
        "electricity": {
            "currency": "GBP",
            "time_zone": "Europe/London",
            "versions": [{"from": "2026-10-01", "price": "0.2703"}],
        }
    },
}

Cells = list[str | None]


def rows(count: int, bad: int = 0) -> list[Cells]:
    """Setups that differ; with `bad`, each of so many has a cover that there is not."""
    return [
        [
            f"PK-{i}", f"Tank, {i}", "true" if i % 2 else None, "fresh", "box", str(60 + i % 90), "40", "8",
            "38.5", "8", "lid" if bad and i % bad == bad - 1 else "glazed", "modelled", "200",
            str(10 + i % 5) if i % 3 else None, f"{20 + i % 7}", "8.5",
        ]
        for i in range(count)
    ]  # fmt: skip


def ndjson_file(path: Path, cells: list[Cells], settings: bool = False) -> Path:
    """The documents of the rows, below a line of settings where that is wanted."""
    former = Former(COLUMNS)
    head = [json.dumps({"settings": SETTINGS}).encode()] if settings else []
    path.write_bytes(b"".join(line + b"\n" for line in [*head, *map(former.document, cells)]))
    return path


def csv_file(path: Path, cells: list[Cells]) -> Path:
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(COLUMNS)
        writer.writerows(cells)
    return path


def parquet_file(path: Path, cells: list[Cells]) -> Path:
    """Numbers as floats, halves as floats of 32 bits, widths as whole numbers, panes as decimals."""
    import pyarrow as pa
    from pyarrow import parquet

    def made(name: str, texts: list[str | None]) -> pa.Array:
        if name == "public":
            return pa.array([None if t is None else t == "true" for t in texts])
        if name == "width_cm":
            return pa.array([None if t is None else int(t) for t in texts], pa.int32())
        if name == "pane_mm":
            return pa.array([None if t is None else Decimal(t) for t in texts], pa.decimal128(9, 3))
        if name in ("water_depth_cm", "lamp_hours_per_day"):
            return pa.array([None if t is None else float(t) for t in texts], pa.float32())
        if name.endswith(("_cm", "_w")):
            return pa.array([None if t is None else float(t) for t in texts])
        if name == "water":
            return pa.array(texts).dictionary_encode()
        return pa.array(texts)

    columns = [list(column) for column in zip(*cells, strict=True)]
    table = pa.table({name: made(name, texts) for name, texts in zip(COLUMNS, columns, strict=True)})
    parquet.write_table(table, path, row_group_size=7)
    return path


def settings_file(folder: Path) -> Path:
    path = folder / "settings.json"
    path.write_text(json.dumps(SETTINGS))
    return path


def batch(*arguments: object, stdin: bytes = b"") -> subprocess.CompletedProcess[bytes]:
    """Run the command to its end."""
    return subprocess.run(
        [*COMMAND, *map(str, arguments)], input=stdin, capture_output=True, timeout=100, env=ENVIRONMENT
    )


def lines_of(path: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in path.read_bytes().splitlines()]
