"""`litrewise batch`: a catalogue in files, costed offline."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType
from typing import Any

from service.batch.files import Job, Summary, run_job
from service.batch.memory import steady
from service.batch.sources import STDIN
from service.batch.writing import state_path
from service.cli import EXIT_FAILED, EXIT_FAULTS, EXIT_OK
from service.cli.text import plain
from service.errors import Fault, Faulty, NotComputable
from service.schemas.body import read_json

EXIT_STOPPED = 3


def run(options: argparse.Namespace) -> int:
    """Cost the files; 0 all costed, 1 some lines failed, 2 cannot begin, 3 stopped on the way."""
    out = Path(options.out) if options.out else None
    rejects = options.rejects or (f"{options.out}.rejects.ndjson" if out else None)
    job = Job(
        options.files, options.settings, out, Path(rejects) if rejects else None, options.format,
        options.chunk, options.workers, options.scheduler, options.resume,
        bar=sys.stderr.isatty() and not options.quiet,
    )  # fmt: skip
    steady()
    try:
        with _stopped_in_order():
            job = replace(job, settings=_settings(options.settings))
            done = run_job(job, datetime.now(UTC).astimezone().date())
    except Faulty as error:
        for fault in error.faults:
            print(f"litrewise: {plain(fault.pointer)}: {plain(fault.detail)}", file=sys.stderr)
        return EXIT_FAULTS
    except (OSError, KeyboardInterrupt) as error:
        return _stopped(error, job)
    if not options.quiet:
        print(_told(done, job), file=sys.stderr)
    return EXIT_FAILED if done.counts["failed"] else EXIT_OK


def _settings(name: str | None) -> Any:
    if name is None:
        return None
    try:
        return read_json(Path(name).read_bytes())
    except OSError as error:
        raise NotComputable([Fault(name, f"cannot be read ({error.strerror}).")]) from None
    except Faulty as error:
        raise NotComputable(Fault(f"{name} {one.pointer}", one.detail) for one in error.faults) from None


def _stopped(error: OSError | KeyboardInterrupt, job: Job) -> int:
    """Say why, and how to go on; a reader that has gone, as `head` does, is told nothing."""
    if isinstance(error, BrokenPipeError):
        # What could not be written must not be tried again at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_STOPPED
    why = plain(str(error)) if isinstance(error, OSError) else "interrupted"
    if job.out is None or STDIN in job.files:
        print(f"litrewise: stopped ({why}); what was written is not whole. Begin anew.", file=sys.stderr)
        return EXIT_STOPPED
    if not state_path(job.out).exists():
        print(f"litrewise: cannot begin ({why}).", file=sys.stderr)
        return EXIT_FAULTS
    print(f"litrewise: stopped ({why}); the same command with --resume goes on.", file=sys.stderr)
    return EXIT_STOPPED


def _told(done: Summary, job: Job) -> str:
    counts = done.counts
    rate = f", {done.rows / done.seconds:.0f} lines a second" if done.rows else ""
    told = (
        f"{sum(counts.values())} lines: {counts['costed']} costed, {counts['failed']} failed; "
        f"{done.seconds:.1f} s{rate}.\nSHA-256 of the results: {done.digest}"
    )
    if counts["failed"] and job.rejects:
        told += f"\nThe failed lines are in {plain(str(job.rejects))}."
    return told


@contextmanager
def _stopped_in_order() -> Iterator[None]:
    """Let a request to end do the same as Ctrl-C."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)
