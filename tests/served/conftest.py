"""The service on either database, once for all tests of a file."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.served.serving import KINDS, Served, served


@pytest.fixture(scope="module", params=KINDS)
def service(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Two workers on a new database, without quotas."""
    with served(request.param, tmp_path_factory.mktemp("served")) as found:
        yield found
