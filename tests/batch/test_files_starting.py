"""What stands against a run is told at once, all of it, before anything is written."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from service.batch.files import Job, run_job
from service.errors import NotComputable
from tests.batch.catalogue_files import SETTINGS, batch, csv_file, ndjson_file, parquet_file, rows


def told(files: list[str], settings: Any = SETTINGS, **more: Any) -> list[tuple[str, str]]:
    job = Job(**{"files": files, "settings": settings, "out": None, "rejects": None, **more})
    with pytest.raises(NotComputable) as error:
        run_job(job, date(2026, 11, 25))
    return [(fault.pointer, fault.detail) for fault in error.value.faults]


def test_every_file_that_cannot_be_read_is_named(tmp_path: Path):
    (tmp_path / "bad.parquet").write_bytes(b"no")
    (tmp_path / "empty.csv").write_bytes(b"\n")
    (tmp_path / "head.csv").write_text("sku,colour\n")
    names = [
        str(tmp_path / name) for name in ("none.ndjson", "a.txt", "bad.parquet", "empty.csv", "head.csv")
    ]
    found = told([*names, "-", "-"])
    assert [place for place, _ in found] == [*names, "-"]
    assert [detail for _, detail in found[:4]] == [
        "cannot be read (No such file or directory).",
        "the name must end in .ndjson, .jsonl, .csv or .parquet, which tells what the file holds; - is "
        "NDJSON.",
        "The file is no Parquet; write it again.",
        "The file is empty; give a header and rows below it.",
    ]
    assert found[4][1].startswith('column "colour" is none that is read here; leave it out')
    assert found[5][1] == "standard input can be read once; name it once."


def test_columns_of_parquet_must_hold_what_can_be_a_cell(tmp_path: Path):
    import pyarrow as pa
    from pyarrow import parquet

    parquet.write_table(pa.table({"sku": ["a"], "name": [["a", "b"]]}), tmp_path / "a.parquet")
    found = told([str(tmp_path / "a.parquet")])
    assert [detail.split(" (got")[0] for _, detail in found] == [
        "column 'name' must hold texts, numbers or flags",
    ]


def test_a_run_never_writes_over_what_it_reads(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(1))
    assert told([str(file)], out=file, rejects=tmp_path / "none" / "r") == [
        ("--out", f"{file} is read by this run, or written twice; give another name."),
        ("--rejects", f"there is no folder {tmp_path / 'none'}; make it first."),
    ]
    assert file.stat().st_size > 0


def test_settings_are_told_with_every_fault_and_nothing_is_written(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(1))
    bad = tmp_path / "bad.json"
    bad.write_text('{"period": {"from": "2027-13-01"}, "currency": "gbp"}')
    done = batch(file, "--settings", bad, "--out", tmp_path / "out")
    assert done.returncode == 2
    places = [line.split(b": ")[1] for line in done.stderr.splitlines()]
    assert places == [b"settings #/period/from", b"settings #/currency"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.ndjson", "bad.json"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (None, "cannot be read (No such file or directory)."),
        ("{", "#: "),
    ],
)
def test_settings_that_cannot_be_read(tmp_path: Path, text: str | None, says: str):
    file, settings = ndjson_file(tmp_path / "a.ndjson", rows(1)), tmp_path / "s.json"
    if text is not None:
        settings.write_text(text)
    done = batch(file, "--settings", settings)
    assert done.returncode == 2 and says in done.stderr.decode()


def test_there_must_be_settings(tmp_path: Path):
    assert told([str(csv_file(tmp_path / "a.csv", rows(1)))], None) == [(
        "--settings", 'there are no settings; give --settings, or a first line {"settings": {...}}.',
    )]  # fmt: skip


def test_standard_input_cannot_be_gone_on_with(tmp_path: Path):
    assert told(["-"], resume=True) == [
        ("--resume", "needs --out, the file that a run left unfinished."),
        ("--resume", "cannot read standard input again; write the rows to a file."),
    ]


def test_a_bad_option_means_that_nothing_began(tmp_path: Path):
    done = batch("-", "--chunk", "0")
    assert (done.returncode, done.stderr.splitlines()[-1]) == (
        2, b"litrewise batch: argument --chunk: must be a number of rows from 1 to 100000 (got 0)",
    )  # fmt: skip


def test_without_pyarrow_it_is_said_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    file = parquet_file(tmp_path / "a.parquet", rows(1))
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    assert told([str(file)]) == [(
        str(file),
        "Parquet is read with pyarrow, which is not installed; install it with "
        "`pip install 'litrewise[parquet]'`.",
    )]  # fmt: skip


def test_without_dask_it_is_said_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    file = ndjson_file(tmp_path / "a.ndjson", rows(1))
    monkeypatch.setitem(sys.modules, "dask", None)
    assert told([str(file)], workers=2) == [(
        "--workers",
        "needs dask, which is not installed; install it with `pip install 'litrewise[cluster]'`.",
    )]  # fmt: skip
