"""What a batch costs: the end to end rate against its floor, memory, growth, two workers, the service.

Run: python -m tests.bench.bench_batch [--smoke]. The floor parses the same rows with orjson, checks their
shape with the compiled schema and writes them again. Needs PostgreSQL for the service.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from datetime import date, datetime
from pathlib import Path

import orjson

from service.batch.plan import plan_of
from service.schemas.batch import BatchRow
from service.schemas.compiled import compiled_of
from tests.batch.catalogue import settings, write_ndjson
from tests.batch.same_everywhere import on_postgres

ROOT = Path(__file__).resolve().parents[2]
# Costs a file in a process of its own, and says how long it took and the most memory that it held.
CHILD = """import json, resource, sys, time
from service.cli import main
began = time.perf_counter()
code = main(sys.argv[1:])
most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([code, time.perf_counter() - began, most]))
"""


class Bench:
    """A folder with catalogues, and what is done to them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "settings.json").write_text(json.dumps(settings()))

    def catalogue(self, rows: int) -> Path:
        path = self.folder / f"{rows}.ndjson"
        if not path.exists():
            write_ndjson(path, rows)
        return path

    def floor_s(self, rows: int) -> float:
        """Seconds of the floor."""
        began = time.perf_counter()
        compiled = compiled_of(BatchRow)
        with self.catalogue(rows).open("rb") as file, (self.folder / "floor").open("wb") as out:
            for line in file:
                document = orjson.loads(line)
                compiled.is_valid(document)
                out.write(orjson.dumps(document) + b"\n")
        return time.perf_counter() - began

    def file_s(self, rows: int, *more: str) -> tuple[float, float]:
        """Seconds of a file run and its peak memory in MB."""
        out = self.folder / "results.ndjson"
        command = [sys.executable, "-c", CHILD, "batch", str(self.catalogue(rows)), "--quiet"]
        command += ["--settings", str(self.folder / "settings.json"), "--out", str(out), *more]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        code, seconds, most = json.loads(done.stdout.splitlines()[-1])
        if code not in (0, 1):
            raise SystemExit(done.stderr)
        return seconds, most


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    few, many, most = (200, 1000, 0) if smoke else (10_000, 100_000, 1_000_000)
    with tempfile.TemporaryDirectory() as where:
        bench = Bench(Path(where))
        for rows in filter(None, (few, many, most)):
            bench.catalogue(rows)
        size = bench.catalogue(many).stat().st_size / many
        floor = bench.floor_s(many)
        small, small_mb = bench.file_s(few)
        whole, _ = bench.file_s(many)
        out = (bench.folder / "results.ndjson").stat().st_size / many
        print(f"floor            {many / floor:>9,.0f}/s")
        print(f"file, one        {many / whole:>9,.0f}/s  {whole / floor:.2f} times the floor (goal: 3)")
        print(f"growth           {whole / small:>9.2f} times for {many // few} times the rows")
        print(f"bytes a row      {size:>9,.0f} in, {out:,.0f} out")
        two, _ = bench.file_s(many, "--workers", "2")
        print(f"file, two        {many / two:>9,.0f}/s  {whole / two:.2f} times one (goal: at least 1.7)")
        # From its first chunk to its digest, as the batch itself says; rows are made before that.
        _, batch = on_postgres(plan_of(settings(), date(2026, 11, 25)), many, 2)
        begun, over = (datetime.fromisoformat(str(at)) for at in (batch.started_at, batch.finished_at))
        served = (over - begun).total_seconds()
        print(f"service, two     {many / served:>9,.0f}/s  {two / served:.2f} of the file run of two")
        if most:
            _, large_mb = bench.file_s(most)
            print(f"memory           {large_mb:>9,.0f} MB  {large_mb / small_mb:.2f} times {few:,} rows")
        else:
            print(f"memory           {small_mb:>9,.0f} MB")


if __name__ == "__main__":
    main()
