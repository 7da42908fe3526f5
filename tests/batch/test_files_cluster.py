"""Several processes give the bytes of one, also where a row kills each of them that takes it."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from tests.batch.catalogue_files import (
    COMMAND,
    ENVIRONMENT,
    ROOT,
    batch,
    lines_of,
    ndjson_file,
    rows,
    settings_file,
)

# Workers read this at their start; a row of the name then kills the process that costs it.
POISON = """
import os, signal, sys
if any("multiprocessing.forkserver" in word for word in sys.orig_argv):
    from service.batch import blocks
    right = blocks.cost_rows
    def cost_rows(plan, rows):
        if any(b"PK-13" in row.raw for row in rows):
            os.kill(os.getpid(), signal.SIGKILL)
        return right(plan, rows)
    blocks.cost_rows = cost_rows
"""


def test_two_processes_give_the_bytes_of_one(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(60, bad=7))
    named = [file, "--settings", settings_file(tmp_path), "--chunk", "4", "--out"]
    assert batch(*named, tmp_path / "one").returncode == 1
    two = batch(*named, tmp_path / "two", "--workers", "2")
    assert two.returncode == 1
    assert two.stderr.splitlines()[0].startswith(b"60 lines: 52 costed, 8 failed;")
    assert len(two.stderr.splitlines()) == 3
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()


def test_a_row_that_kills_its_process_fails_alone(tmp_path: Path):
    (tmp_path / "sitecustomize.py").write_text(POISON)
    file = ndjson_file(tmp_path / "a.ndjson", rows(15)[12:])
    out = tmp_path / "out"
    done = subprocess.run(
        [*COMMAND, str(file), "--settings", str(settings_file(tmp_path)), "--workers", "2",
         "--out", str(out)],
        env={**ENVIRONMENT, "PYTHONPATH": f"{tmp_path}{os.pathsep}{ROOT}"},
        capture_output=True, timeout=300,
    )  # fmt: skip
    assert done.returncode == 1, done.stderr.decode()
    *lines, last = lines_of(out)
    assert (last["lines"], last["costed"], last["failed"]) == (3, 2, 1)
    assert [line["line"] for line in lines if "problem" in line] == [2]
    assert "three workers died at it" in lines[1]["problem"]["detail"]
