"""The same request gives the same bytes, whatever the process, its hash seed, clock, language or threads."""

from __future__ import annotations

import copy
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from decimal import ROUND_DOWN, getcontext
from pathlib import Path
from typing import Any

import orjson
import pytest
from hypothesis import HealthCheck, given, seed, settings

from service.quoting import cost
from tests.api.good import GOOD
from tests.pieces import TODAY
from tests.requests_at_random import requests, to_json

ROOT = Path(__file__).parents[1]
PROGRAM = """
import sys
from datetime import date
import orjson
from service.quoting import cost
from service.schemas import check
from service.schemas.body import read_json
for line in sys.stdin.buffer:
    document = read_json(line)
    answer = cost(document, date(2026, 11, 25), check(document))
    sys.stdout.buffer.write(orjson.dumps(answer, default=str) + b"\\n")
"""


@pytest.fixture(scope="module")
def documents() -> list[dict[str, Any]]:
    """Requests that between them use every field, and some at random, the same in every run."""
    found = [copy.deepcopy(document) for document in GOOD]

    @seed(7)
    @settings(max_examples=40, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(requests())
    def collect(document: dict[str, Any]) -> None:
        found.append(document)

    collect()
    return [document | {"detail": "workings"} for document in found]


@pytest.fixture(scope="module")
def here(documents: list[dict[str, Any]]) -> bytes:
    return b"".join(answered(document) + b"\n" for document in documents)


def answered(document: dict[str, Any]) -> bytes:
    return orjson.dumps(cost(document, TODAY), default=str)


@pytest.mark.parametrize(
    "surroundings",
    [
        *({"PYTHONHASHSEED": str(seed)} for seed in range(8)),
        {"TZ": "America/New_York"},
        {"TZ": "Pacific/Kiritimati", "PYTHONTZPATH": str(ROOT / "tests")},
        {"LC_ALL": "C"},
        {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8"},
        {"PYTHONUTF8": "0", "LC_ALL": "POSIX"},
        {"PYTHONOPTIMIZE": "2"},
        {"OMP_NUM_THREADS": "1", "NPY_DISABLE_CPU_FEATURES": "AVX2 FMA3 AVX512F"},
        {"PYTHONINTMAXSTRDIGITS": "640"},
    ],
    ids=lambda surroundings: " ".join(f"{k}={v.rpartition('/')[2]}" for k, v in surroundings.items()),
)
def test_another_process_gives_the_same_bytes(
    surroundings: dict[str, str], documents: list[dict[str, Any]], here: bytes
) -> None:
    sent = b"".join(to_json(document) + b"\n" for document in documents)
    environment = {"PATH": os.environ["PATH"]} | surroundings
    found = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", PROGRAM], input=sent, cwd=ROOT, env=environment,
        capture_output=True, check=True, timeout=120,
    )  # fmt: skip
    assert found.stdout == here


def test_threads_with_hostile_decimal_settings_give_the_same_bytes(
    documents: list[dict[str, Any]], here: bytes
) -> None:
    def hostile(_: int) -> bytes:
        context = getcontext()
        context.prec, context.rounding = 2, ROUND_DOWN
        return b"".join(answered(document) + b"\n" for document in documents)

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(hostile, range(24))) == {here}


def test_what_was_costed_before_changes_nothing(documents: list[dict[str, Any]], here: bytes) -> None:
    for document in (*documents, *reversed(documents)):
        cost(document | {"detail": "totals"}, TODAY)
    assert b"".join(answered(document) + b"\n" for document in documents) == here
