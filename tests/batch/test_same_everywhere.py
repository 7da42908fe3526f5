"""A small catalogue comes to the same in every way that it can be costed."""

from __future__ import annotations

from pathlib import Path

from tests.batch.same_everywhere import compared


def test_files_cluster_databases_and_single_costings_agree(tmp_path: Path):
    assert len(compared(tmp_path, 300, 8)) == 8
