"""Whether "not yours" takes as long as "not there": `python -m tests.bench.same_time [pairs]`.

An account asks in turn, in an order drawn anew each time, for ids that another account has and for ids
that nobody has. Printed is Welch's t of the two sets of times; beyond 4.5 they would be told apart.
"""

from __future__ import annotations

import gc
import math
import random
import sys
import tempfile
import time
from pathlib import Path
from statistics import fmean, median, quantiles, variance

from service.store.database import Database
from service.store.revisions import migrate
from tests.kept.route_table import World, stocked
from tests.kept.test_isolation import ids_of, unknown
from tests.kept.watched import watched

PAIRS, LEAK = 10_000, 4.5
PATHS = ("/v1/products", "/v1/setups", "/v1/quotes", "/v1/readings")


def times(world: World, theirs: str, path: str, pairs: int) -> tuple[list[float], list[float]]:
    """Seconds of requests for another's id, and for nobody's."""
    client, headers = world.shop.app.test_client(), {"Authorization": f"Bearer {world.key}"}
    found: tuple[list[float], list[float]] = ([], [])
    # One id of either sort, so that both are as warm in every cache.
    turns = [(0, f"{path}/{theirs}"), (1, f"{path}/{unknown(theirs)}")]
    for _ in range(pairs):
        random.shuffle(turns)
        for which, address in turns:
            start = time.perf_counter()
            answer = client.get(address, headers=headers)
            found[which].append(time.perf_counter() - start)
            assert answer.status_code == 404
    return found


def welch(one: list[float], other: list[float]) -> float:
    """Welch's t, without the slowest hundredth of all, which is the machine's noise."""
    most = quantiles(one + other, n=100)[-1]
    one, other = [t for t in one if t <= most], [t for t in other if t <= most]
    spread = math.sqrt(variance(one) / len(one) + variance(other) / len(other))
    return (fmean(one) - fmean(other)) / spread


def main(pairs: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        address = f"sqlite:///{Path(folder) / 'kept.db'}"
        database = Database(address)
        migrate(database)
        database.close()
        shop = watched(address, log="off")
        ids, asking = ids_of(stocked(shop, "zqalder")), stocked(shop, "zqbirch")
        gc.disable()
        for path in PATHS:
            times(asking, ids[path], path, 200)
            yours, nobodys = times(asking, ids[path], path, pairs)
            told = welch(yours, nobodys)
            middle = [f"{median(one) * 1e6:7.1f}" for one in (yours, nobodys)]
            verdict = "alike" if abs(told) < LEAK else "TOLD APART"
            print(
                f"{path:14} not yours {middle[0]} us   not there {middle[1]} us   t {told:6.2f}   {verdict}"
            )
            gc.collect()
        shop.close()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PAIRS)
