"""Setups a second on one core: the engine on 1, 100 and 10,000 setups against a plain Decimal loop.

Run: python -m tests.bench.bench_engine [--smoke]. First the plain costing, then the full model
with every driver estimated, beside the same loop, which estimates nothing. For the plain costing both
sides start from typed values (columns, records) and end with whole minor units by line and month, months
of the setup and its reserve; the loop's figures are compared with the engine's before anything is timed.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from decimal import Decimal

from service.engine.costing import work_out
from service.engine.electricity import month_prices
from tests.bench import decimal_loop
from tests.bench.body import full_body
from tests.bench.columns import cases


def best(work: Callable[[], object], rounds: int) -> float:
    """The least time of some rounds, in seconds of this process."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    smoke = parser.parse_args().smoke
    sample = cases(20 if smoke else 200)[0]
    prices, scale = month_prices(sample.rates, sample.habits.shapes[1], sample.period)
    tariff = [Decimal(price) / scale for price in prices]
    records = decimal_loop.records(sample)

    def loop() -> list:
        return [decimal_loop.cost(record, sample, tariff) for record in records]

    result = work_out(sample)
    wrong, most = decimal_loop.apart(sample, result, loop())
    assert most <= 1 and wrong < result.run.cells.size / 100, "the loop and the engine do different jobs"
    print(f"cells where the Decimal loop misses an exact half by one: {wrong} of {result.run.cells.size:,}")
    floor = len(records) / best(loop, 2 if smoke else 5)
    print(f"Decimal loop: {floor:,.0f} setups/s")
    for name, document in (("plain", None), ("full", full_body())):
        for count in (1, 100, 500) if smoke else (1, 100, 10_000):
            chunks = cases(count, document)
            repeat = max(1, 200 // count)

            def engine(chunks: list = chunks, repeat: int = repeat) -> None:
                for _ in range(repeat):
                    for chunk in chunks:
                        work_out(chunk)

            rate = count * repeat / best(engine, 2 if smoke else 5)
            print(f"{name}, {count:>6,} setups: {rate:>9,.0f} setups/s, {rate / floor:.2f} times the loop")


if __name__ == "__main__":
    main()
