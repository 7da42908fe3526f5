"""The running service keeps the documented contract, on either database, and every operation can succeed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.served.contract import LARGE, run_contract
from tests.served.serving import KINDS, POSTGRES, SQLITE, served, working

CONTACT = "mailto:security@quillmere.example"
EXAMPLES, WALKS = 2, 12
# What a request is refused for is decided before the database; edge cases need not be asked of both.
EDGES = {SQLITE: "small", POSTGRES: "none"}


@pytest.mark.parametrize("kind", KINDS)
def test_the_running_service_keeps_its_contract(kind: str, tmp_path: Path):
    contact = {"LITREWISE_SECURITY_CONTACT": CONTACT}
    with served(kind, tmp_path, **contact) as service, working(kind, service):
        outcome = run_contract(service, EXAMPLES, WALKS, EDGES[kind])
    print(f"{kind}\n{outcome.table()}")
    left = f"of {', '.join(LARGE)}" if EDGES[kind] == "small" else "of every operation"
    print(
        f"{outcome.links} links followed; left to tests.served.soak: edge cases {left}; more random requests"
    )
    assert outcome.failures == []
    assert outcome.never_well() == []
