"""Running the command as a user does: its own process, plain pipes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMMAND = [sys.executable, "-m", "service.cli"]
# A terminal's width or a colour wish of the machine must not reach the tests.
ENVIRONMENT = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")} | {
    "PYTHONPATH": str(ROOT)
}

Finished = subprocess.CompletedProcess[str]


@pytest.fixture(scope="session")
def litrewise() -> Callable[..., Finished]:
    """Run one command to its end."""

    def run(*arguments: str, text: str = "", **environment: str) -> Finished:
        return subprocess.run(
            [*COMMAND, *arguments],
            input=text,
            capture_output=True,
            encoding="utf-8",
            timeout=120,
            env=ENVIRONMENT | environment,
        )

    return run


@pytest.fixture(scope="session")
def demo_file() -> Path:
    return ROOT / "shared" / "demo_shop.json"
