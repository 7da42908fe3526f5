"""A service with two accounts for the documents, on an embedded database of its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from service.store.database import Database
from service.store.revisions import migrate
from tests.kept.shop import Shop


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The service; what one test issues, the others see."""
    address = f"sqlite:///{Path(tmp_path_factory.mktemp('documents')) / 'kept.db'}"
    database = Database(address)
    migrate(database)
    database.close()
    found = Shop(address)
    yield found
    found.close()
