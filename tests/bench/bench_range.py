"""A range of 2,000 draws for one setup against the costing of that setup without one.

Run: python -m tests.bench.bench_range [--smoke]. Both start from the same document and end with an
answer; the floor is the costing, and the goal is at most 40 times its time.
"""

from __future__ import annotations

import argparse
from datetime import date

from service.quoting.costing import cost
from tests.bench.bench_engine import best
from tests.bench.body import full_body

TODAY = date(2026, 11, 25)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    plain = full_body()
    ranged = plain | {"range": {"draws": 2000}}
    repeat = 2 if smoke else 20

    def several(document: dict) -> None:
        for _ in range(repeat):
            cost(document, TODAY)

    several(ranged)
    floor = best(lambda: several(plain), 2 if smoke else 7) / repeat
    found = best(lambda: several(ranged), 2 if smoke else 7) / repeat
    print(f"one costing: {floor * 1e3:.2f} ms")
    print(f"with a range of 2,000 draws: {found * 1e3:.2f} ms, {found / floor:.1f} times")


if __name__ == "__main__":
    main()
