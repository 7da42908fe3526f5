"""A catalogue in files: the same results from each kind, bad rows told, nothing lost."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from pathlib import Path

import pytest

from service.batch import blocks
from service.batch.files import Job, run_job
from service.batch.rows import Done, Row
from service.schemas.limits import BATCH_ROW_BYTES
from tests.batch.catalogue_files import (
    COLUMNS,
    SETTINGS,
    batch,
    csv_file,
    lines_of,
    ndjson_file,
    parquet_file,
    rows,
    settings_file,
)

TODAY = date(2026, 11, 25)


def costed(folder: Path, *files: Path, chunk: int = 2_000, form: str = "ndjson") -> bytes:
    out = folder / "out"
    run_job(
        Job([str(f) for f in files], SETTINGS, out, folder / "rejects", form, chunk),  # type: ignore[arg-type]
        TODAY,
    )
    return out.read_bytes()


def test_each_kind_of_file_gives_the_same_bytes(tmp_path: Path):
    cells = rows(23, bad=10)
    found = [
        costed(tmp_path, ndjson_file(tmp_path / "a.ndjson", cells)),
        costed(tmp_path, csv_file(tmp_path / "a.csv", cells)),
        costed(tmp_path, parquet_file(tmp_path / "a.parquet", cells)),
    ]
    assert found[0] == found[1] == found[2]
    assert len(found[0].splitlines()) == 24


def test_how_rows_are_cut_into_blocks_changes_no_byte(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(23, bad=4))
    assert costed(tmp_path, file, chunk=1) == costed(tmp_path, file, chunk=7) == costed(tmp_path, file)


def test_the_last_line_counts_the_others_and_has_their_digest(tmp_path: Path):
    body = costed(tmp_path, ndjson_file(tmp_path / "a.ndjson", rows(10, bad=5)))
    *lines, last = body.splitlines(keepends=True)
    told = json.loads(last)
    assert (told["trailer"], told["lines"], told["costed"], told["failed"], told["unchanged"]) == (
        True, 10, 8, 2, 0,
    )  # fmt: skip
    assert told["digest"] == hashlib.sha256(b"".join(lines)).hexdigest()


def test_lines_are_numbered_on_through_all_files_and_blank_ones_are_counted(tmp_path: Path):
    first, second = tmp_path / "1.ndjson", tmp_path / "2.csv"
    document = ndjson_file(tmp_path / "x.ndjson", rows(1)).read_bytes().strip()
    first.write_bytes(b"\xef\xbb\xbf" + document + b"\r\n  \r\n\n" + document)
    csv_file(second, rows(1))
    second.write_text(second.read_text() + "\n" + ",,,\n" + second.read_text().splitlines()[1] + "\n")
    found = costed(tmp_path, first, second, ndjson_file(tmp_path / "3.ndjson", rows(1)))
    lines = [json.loads(line) for line in found.splitlines()[:-1]]
    assert [(line["line"], "results" in line) for line in lines] == [
        (1, True), (4, True), (5, True), (8, True), (9, True),
    ]  # fmt: skip


def test_settings_may_stand_in_the_first_line(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(3), settings=True)
    done = batch(file)
    assert (done.returncode, done.stderr.splitlines()[0].split(b";")[0]) == (
        0, b"3 lines: 3 costed, 0 failed",
    )  # fmt: skip
    assert [json.loads(line).get("line") for line in done.stdout.splitlines()] == [2, 3, 4, None]
    # The same from a pipe.
    assert batch("-", stdin=file.read_bytes()).stdout == done.stdout
    both = batch(file, "--settings", settings_file(tmp_path))
    assert (both.returncode, both.stderr) == (
        2, b"litrewise: --settings: settings stand in the first line too; leave out one of them.\n",
    )  # fmt: skip


def test_a_bad_row_is_told_and_kept_aside_as_it_stood(tmp_path: Path):
    file = csv_file(tmp_path / "a.csv", rows(2, bad=2))
    width = len(COLUMNS)
    with file.open("ab") as stream:
        stream.write(b'PK-7,one cell too few\r\nPK-8,"quote" wrong\r\n\xff' + b"," * (width - 1) + b"\r\n")
        stream.write(file.read_bytes().splitlines()[1] + b"\r\n")
    done = batch(file, "--settings", settings_file(tmp_path), "--out", tmp_path / "out")
    assert done.returncode == 1
    rejects = lines_of(tmp_path / "out.rejects.ndjson")
    text = file.read_bytes().splitlines()
    assert [(r["line"], r["row"]) for r in rejects] == [
        (n, text[n].decode("utf-8", "replace")) for n in (2, 3, 4, 5)
    ]
    assert [r["problem"]["errors"] for r in rejects] == [
        [{"pointer": "#/cover", "detail": "'cover' must be open, mesh or glazed (got \"lid\")."}],
        [{"pointer": "#", "detail": "the row must have 16 cells as the header has (got 2); put a cell that "
                                    "holds a separator in quotes."}],
        [{"pointer": "#", "detail": "the quotes of the row do not fit together; put the whole cell in quotes "
                                    "and write each quote inside it twice."}],
        [{"pointer": "#", "detail": "the row must be UTF-8 text; save the file as CSV in UTF-8."}],
    ]  # fmt: skip
    assert [line["line"] for line in lines_of(tmp_path / "out")[:-1]] == [1, 2, 3, 4, 5, 6]


@pytest.mark.parametrize("before", [0, 3, 400_000])
def test_a_line_that_is_too_long_fails_alone_wherever_pieces_of_the_file_end(tmp_path: Path, before: int):
    file = ndjson_file(tmp_path / "a.ndjson", rows(1))
    good, long = file.read_bytes(), b"[" * (BATCH_ROW_BYTES * 5) + b"\n"
    file.write_bytes(b" " * before + b"\n" + long + good)
    found = [json.loads(line) for line in costed(tmp_path, file).splitlines()[:-1]]
    failed = [line for line in found if "problem" in line and line["line"] == 2]
    assert failed[0]["problem"]["errors"][0]["detail"] == (
        f"a row must be at most {BATCH_ROW_BYTES} bytes (got {BATCH_ROW_BYTES * 5}); leave some of it out."
    )
    assert "results" in found[-1] and found[-1]["line"] == 3


def test_a_quote_that_is_never_closed_does_not_take_the_rest_into_memory(tmp_path: Path):
    file = csv_file(tmp_path / "a.csv", rows(1))
    row = file.read_bytes().splitlines()[1] + b"\r\n"
    file.write_bytes(file.read_bytes() + b'"open,' + b"x" * 300_000 + b"\r\n" + row)
    found = [json.loads(line) for line in costed(tmp_path, file).splitlines()[:-1]]
    assert [(line["line"], "results" in line) for line in found] == [(1, True), (2, False), (3, True)]
    assert "over 10000 characters" in found[1]["problem"]["errors"][0]["detail"]


def test_a_row_at_which_the_program_fails_fails_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    right = blocks.cost_rows

    def breaks(plan: object, some: list[Row]) -> list[Done]:
        if any(row.line == 3 for row in some):
            raise ZeroDivisionError
        return right(plan, some)  # type: ignore[arg-type]

    monkeypatch.setattr(blocks, "cost_rows", breaks)
    found = costed(tmp_path, ndjson_file(tmp_path / "a.ndjson", rows(5)))
    lines = [json.loads(line) for line in found.splitlines()[:-1]]
    assert ["results" in line for line in lines] == [True, True, False, True, True]
    assert "ZeroDivisionError" in lines[2]["problem"]["detail"]


def test_rejects_of_an_earlier_run_do_not_stay_beside_new_results(tmp_path: Path):
    costed(tmp_path, ndjson_file(tmp_path / "a.ndjson", rows(4, bad=2)))
    assert len(lines_of(tmp_path / "rejects")) == 2
    costed(tmp_path, ndjson_file(tmp_path / "b.ndjson", rows(4)))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.ndjson", "b.ndjson", "out"]


def test_csv_has_a_row_for_each_result_and_no_trailer(tmp_path: Path):
    body = costed(tmp_path, ndjson_file(tmp_path / "a.ndjson", rows(4, bad=4)), form="csv", chunk=2)
    lines = body.decode().split("\r\n")
    assert lines[0].startswith("sku,ref,line,currency,") and lines[-1] == ""
    assert [line.split(",")[0] for line in lines[1:-1]] == ["PK-0", "PK-1", "PK-2", ""]
    assert lines[4].endswith('\'cover\' must be open, mesh or glazed (got ""lid"")."')
