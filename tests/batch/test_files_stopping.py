"""A run that is stopped, at whatever moment and for whatever reason, goes on and gives the same bytes."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from service.batch import files
from service.batch.files import Job, run_job
from service.batch.writing import Part, part_of, state_path
from service.errors import NotComputable
from tests.batch.catalogue_files import (
    COMMAND,
    ENVIRONMENT,
    SETTINGS,
    batch,
    csv_file,
    ndjson_file,
    rows,
    settings_file,
)

TODAY, LATER = date(2026, 11, 25), date(2026, 11, 26)


class Killed(BaseException):
    """Nothing catches it, so no more is done than where a process is killed."""


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "disk"
    folder.mkdir()
    made = subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", folder], capture_output=True)
    if made.returncode:
        pytest.skip("only root can make a small disk")
    yield folder
    subprocess.run(["umount", folder], check=True)


def job(folder: Path, file: Path, settings: dict[str, Any] = SETTINGS, **more: Any) -> Job:
    out = folder / "out"
    return Job([str(file)], settings, out, folder / "rejects", **{"rows_a_block": 2, **more})


def whole(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.parametrize("form", ["ndjson", "csv"])
def test_a_run_killed_before_any_of_its_steps_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, form: str
):
    monkeypatch.setattr(files, "KEEP_BLOCKS", 2)
    file = csv_file(tmp_path / "a.csv", rows(10, bad=3))
    (tmp_path / "right").mkdir()
    run_job(job(tmp_path / "right", file, form=form), TODAY)
    right = whole(tmp_path / "right")
    assert sorted(right) == ["out", "rejects"]
    steps, at = 0, 0

    def step(call: Callable[..., Any], half: bool = False) -> Callable[..., Any]:
        def stepped(*arguments: Any, **named: Any) -> Any:
            nonlocal steps
            steps += 1
            if steps == at:
                if half:
                    # A write that was cut short leaves its first part.
                    call(arguments[0], arguments[1][: len(arguments[1]) // 2])
                raise Killed
            return call(*arguments, **named)

        return stepped

    monkeypatch.setattr(os, "fsync", step(os.fsync))
    monkeypatch.setattr(os, "write", step(os.write, half=True))
    monkeypatch.setattr(Path, "replace", step(Path.replace))
    monkeypatch.setattr(Path, "unlink", step(Path.unlink))
    killed = 0
    while True:
        folder = tmp_path / str(at)
        folder.mkdir()
        steps, at = 0, at + 1
        try:
            run_job(job(folder, file, form=form), TODAY)
        except Killed:
            killed += 1
        else:
            break
        at, reached = 0, at
        run_job(job(folder, file, form=form, resume=True), LATER)
        at = reached
        assert whole(folder) == right, f"killed at step {at}"
    assert killed > 20


def test_a_process_killed_at_random_moments_goes_on(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(1200, bad=50))
    named = [str(file), "--settings", str(settings_file(tmp_path)), "--chunk", "5", "--resume"]
    (tmp_path / "right").mkdir()
    assert batch(*named, "--out", tmp_path / "right" / "out").returncode == 1
    (tmp_path / "here").mkdir()
    out, chance, begun = tmp_path / "here" / "out", random.Random(5), []
    for _ in range(4):
        run = subprocess.Popen(
            [*COMMAND, *named, "--out", str(out)], env=ENVIRONMENT, stderr=subprocess.DEVNULL
        )
        wait_for(lambda: part_of(out).exists() and part_of(out).stat().st_size > 0, run)
        time.sleep(chance.uniform(0, 0.15))
        run.kill()
        run.wait()
        if state_path(out).exists():
            begun.append(json.loads(state_path(out).read_bytes())["line"])
    assert begun == sorted(begun) and begun[-1] > 0
    assert batch(*named, "--out", out).returncode == 1
    assert whole(tmp_path / "here") == whole(tmp_path / "right")


def wait_for(ready: Callable[[], bool], run: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + 60
    while not ready() and run.poll() is None:
        assert time.monotonic() < end
        time.sleep(0.002)


def test_a_run_that_is_asked_to_end_says_how_to_go_on(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(20_000))
    named = [*COMMAND, str(file), "--settings", str(settings_file(tmp_path)), "--out", str(tmp_path / "out")]
    run = subprocess.Popen([*named, "--chunk", "5"], env=ENVIRONMENT, stderr=subprocess.PIPE)
    wait_for(state_path(tmp_path / "out").exists, run)
    run.send_signal(signal.SIGTERM)
    told = run.communicate(timeout=60)[1]
    assert (run.returncode, told) == (
        3, b"litrewise: stopped (interrupted); the same command with --resume goes on.\n",
    )  # fmt: skip


def test_a_full_disk_stops_a_run_and_more_room_lets_it_go_on(tmp_path: Path, small_disk: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(400))
    named = [file, "--settings", settings_file(tmp_path), "--chunk", "5"]
    assert batch(*named, "--out", tmp_path / "right").returncode == 0
    full = batch(*named, "--out", small_disk / "out")
    assert (full.returncode, full.stderr) == (
        3, b"litrewise: stopped ([Errno 28] No space left on device); "
        b"the same command with --resume goes on.\n",
    )  # fmt: skip
    assert batch(*named, "--out", small_disk / "out", "--resume").returncode == 3
    subprocess.run(["mount", "-o", "remount,size=4m", small_disk], check=True)
    assert batch(*named, "--out", small_disk / "out", "--resume").returncode == 0
    assert (small_disk / "out").read_bytes() == (tmp_path / "right").read_bytes()
    assert sorted(path.name for path in small_disk.iterdir()) == ["out"]


def stopped(
    folder: Path, file: Path, monkeypatch: pytest.MonkeyPatch, settings: dict[str, Any] = SETTINGS
) -> None:
    """A run that was killed behind its first lines."""
    written = Part.write
    left = iter(range(4))

    def write(part: Part, data: bytes) -> None:
        if next(left, None) is None:
            raise Killed
        written(part, data)

    with monkeypatch.context() as patch:
        patch.setattr(files, "KEEP_BLOCKS", 1)
        patch.setattr(Part, "write", write)
        with pytest.raises(Killed):
            run_job(job(folder, file, settings), TODAY)


def told(asked: Job) -> list[tuple[str, str]]:
    with pytest.raises(NotComputable) as error:
        run_job(asked, TODAY)
    return [(fault.pointer, fault.detail) for fault in error.value.faults]


def test_what_another_run_left_is_not_lost_unasked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    file = ndjson_file(tmp_path / "a.ndjson", rows(20))
    stopped(tmp_path, file, monkeypatch)
    assert told(job(tmp_path, file)) == [(
        str(state_path(tmp_path / "out")),
        "holds what a run left that did not end; add --resume to go on, or delete it to begin anew.",
    )]  # fmt: skip
    state_path(tmp_path / "out").unlink()
    assert run_job(job(tmp_path, file), TODAY).counts == {"costed": 20, "failed": 0}


def test_a_run_goes_on_only_with_what_it_began_with(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    file = ndjson_file(tmp_path / "a.ndjson", rows(20))
    stopped(tmp_path, file, monkeypatch)
    way_out = "give what it began with, or delete its .part.state to begin anew."
    ndjson_file(file, rows(21))
    assert told(job(tmp_path, file, {**SETTINGS, "currency": "GBP", "reserve": {"amount": "10", "unit": "%"}},
                    resume=True, form="csv")) == [
        ("--resume", f"the files have changed since the run began, or are others; {way_out}"),
        ("--resume", f"the settings have changed since the run began; {way_out}"),
        ("--resume", f"the run began with --format ndjson; {way_out}"),
    ]  # fmt: skip


def test_the_day_of_a_run_stays_that_of_its_beginning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    file = ndjson_file(tmp_path / "a.ndjson", rows(20))
    settings = {key: value for key, value in SETTINGS.items() if key != "as_of"}
    stopped(tmp_path, file, monkeypatch, settings)
    run_job(job(tmp_path, file, settings, resume=True), LATER)
    assert not state_path(tmp_path / "out").exists()


def test_two_runs_do_not_write_one_file(tmp_path: Path):
    file = ndjson_file(tmp_path / "a.ndjson", rows(2))
    other = Part(tmp_path / "out", 0)
    try:
        assert told(job(tmp_path, file)) == [(
            str(part_of(tmp_path / "out")),
            "is being written by another run; wait for it, or give another --out.",
        )]  # fmt: skip
    finally:
        other.close()
