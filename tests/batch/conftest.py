"""The databases of the tests of kept things, and batches in them."""

from __future__ import annotations

import pytest

from service.store.database import Database
from tests.batch.kept import Kept
from tests.kept.conftest import (  # noqa: F401 - fixtures
    database,
    database_url,
    kind,
    migrated_file,
    migrated_name,
    postgres_database,
)


@pytest.fixture
def kept(database: Database) -> Kept:  # noqa: F811 - the fixture above
    """A fresh database with one account, and what tests ask of its batches."""
    return Kept(database)
