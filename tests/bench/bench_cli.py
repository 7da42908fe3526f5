"""How long `litrewise cost` takes on the demo file, against starting Python with numpy and flask.

Both are measured in turn in the same run and the medians are compared, so that the
ratio says something on any machine. Run: python tests/bench/bench_cli.py [--smoke]
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
GOAL = 2.5
RUNS, SMOKE_RUNS = 21, 5


def main() -> int:
    """Print both medians and their ratio; 1 when a full run's ratio is over the goal."""
    parser = argparse.ArgumentParser(description="Start-up and run of `litrewise cost` on the demo file.")
    parser.add_argument("--smoke", action="store_true", help="a few runs only")
    smoke = parser.parse_args().smoke
    runs = SMOKE_RUNS if smoke else RUNS
    floor = [sys.executable, "-c", "import numpy, flask"]
    cost = [*_litrewise(), "cost", str(ROOT / "shared" / "demo_shop.json")]
    for command in (floor, cost):
        _seconds(command)
    pairs = [(_seconds(floor), _seconds(cost)) for _ in range(runs)]
    floor_s, cost_s = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = cost_s / floor_s
    print(f"import numpy, flask   {floor_s * 1000:7.1f} ms  (median of {runs})")
    print(f"litrewise cost, demo  {cost_s * 1000:7.1f} ms  (median of {runs})")
    print(f"ratio                 {ratio:7.2f}     (goal: at most {GOAL})")
    # A few runs on a busy machine prove nothing but that it works.
    return int(ratio > GOAL and not smoke)


def _litrewise() -> list[str]:
    """The installed command where there is one beside this Python, as a user runs it."""
    script = Path(sys.executable).with_name("litrewise")
    return [str(script)] if script.exists() else [sys.executable, "-m", "service.cli"]


def _seconds(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd=ROOT)
    return time.perf_counter() - start


if __name__ == "__main__":
    sys.exit(main())
