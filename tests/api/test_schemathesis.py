"""schemathesis over what works without a database: all checks on, in the same process.

What keeps things is asked of the real server in tests/served/test_contract.py.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, settings

from service.api import create_app
from tests.api.good import GOOD
from tests.requests_at_random import to_json

ROOT = Path(__file__).resolve().parents[2]
CONTRACT = schemathesis.openapi.from_wsgi(
    "/openapi.json",
    create_app(),
    config=schemathesis.Config.from_path(ROOT / "schemathesis.toml"),
)


# Operations that keep things, or read what is kept.
KEPT = "^/(?:v1/(?:products|tariffs|exchange-rates|routines|setups|readings|quotes|batches|keys)|q/)"


@CONTRACT.exclude(path_regex=KEPT).parametrize()
@settings(deadline=None, suppress_health_check=list(HealthCheck))
def test_the_service_keeps_its_contract(case: schemathesis.Case):
    case.call_and_validate()


@pytest.mark.parametrize("index", range(len(GOOD)))
def test_a_good_request_passes_all_checks(index: int):
    operation = CONTRACT["/v1/costings"]["POST"]
    case = operation.Case(body=GOOD[index], media_type="application/json")
    answer = case.call(data=to_json(GOOD[index]), headers={"Content-Type": "application/json"})
    assert answer.status_code == 200
    case.validate_response(answer)
