"""A catalogue in files: read, costed and written as a stream, and gone on with after a crash."""

from __future__ import annotations

import time
from collections.abc import Generator, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from service.batch.blocks import Block, Costed, Format, cost_block
from service.batch.plan import Plan, plan_of
from service.batch.progress import Progress
from service.batch.results import csv_header, trailer
from service.batch.resume import State, state_of
from service.batch.sources import STDIN, Input, sources_of
from service.batch.writing import Results, settle, state_path
from service.errors import Fault, NotComputable

ROWS_A_BLOCK = 2_000
# How often what is done is put safely on the disk.
KEEP_BLOCKS, KEEP_SECONDS = 8, 2.0


@dataclass(frozen=True, slots=True)
class Job:
    """What is asked of a run."""

    files: list[str]
    settings: Any
    out: Path | None
    rejects: Path | None
    form: Format = "ndjson"
    rows_a_block: int = ROWS_A_BLOCK
    workers: int = 1
    scheduler: str | None = None
    resume: bool = False
    bar: bool = False


@dataclass(slots=True)
class Summary:
    """How a run ended."""

    counts: dict[str, int] = field(default_factory=dict)
    digest: str = ""
    seconds: float = 0.0
    # Rows that this run costed; those of one that it went on with are in `counts` alone.
    rows: int = 0


def run_job(job: Job, today: date) -> Summary:
    """Cost all rows of a job; NotComputable with every fault where it cannot begin."""
    began = time.monotonic()
    before = state_of(state_path(job.out)) if job.out else None
    if before and before.line and not job.resume:
        says = "holds what a run left that did not end; add --resume to go on, or delete it to begin anew."
        raise NotComputable([Fault(str(state_path(job.out)), says)])  # type: ignore[arg-type]
    rows, plan, state = _begun(job, before, today)
    if state.ended:
        settle(job.out, job.rejects, state)
        return Summary(state.counts, state.digest_of_results, time.monotonic() - began)
    with closing(Results(job.out, job.rejects, state)) as results:
        if job.form == "csv" and not state.out_bytes:
            results.write(csv_header().encode())
        results.keep()
        done = _cost_all(job, rows, plan, results)
        state.digest_of_results = results.digest.hexdigest()
        if job.form == "ndjson":
            results.write(trailer(state.counts, state.digest_of_results) + b"\n")
        results.end()
    return Summary(state.counts, state.digest_of_results, time.monotonic() - began, done)


def _faults_of_names(job: Job) -> list[Fault]:
    faults = []
    if job.out is None and job.resume:
        faults.append(Fault("--resume", "needs --out, the file that a run left unfinished."))
    if job.resume and STDIN in job.files:
        faults.append(Fault("--resume", "cannot read standard input again; write the rows to a file."))
    taken = [Path(name).resolve() for name in job.files if name != STDIN]
    for option, path in (("--out", job.out), ("--rejects", job.rejects)):
        if path is None:
            continue
        if path.resolve() in taken:
            faults.append(Fault(option, f"{path} is read by this run, or written twice; give another name."))
        if not path.parent.is_dir():
            faults.append(Fault(option, f"there is no folder {path.parent}; make it first."))
        taken.append(path.resolve())
    return faults


def _begun(job: Job, before: State | None, today: date) -> tuple[Input, Plan, State]:
    """The rows, the plan and the state with which a run begins or goes on."""
    faults = _faults_of_names(job)
    try:
        sources = sources_of(job.files)
    except NotComputable as error:
        faults += error.faults
    if faults:
        raise NotComputable(faults)
    rows = Input(sources)
    if rows.settings is not None and job.settings is not None:
        says = "settings stand in the first line too; leave out one of them."
        raise NotComputable([Fault("--settings", says)])
    settings = job.settings if rows.settings is None else rows.settings
    if settings is None:
        says = 'there are no settings; give --settings, or a first line {"settings": {...}}.'
        raise NotComputable([Fault("--settings", says)])
    # The day of a run that goes on is that of its beginning, so that its figures are of one day.
    day = date.fromisoformat(before.today) if before else today
    try:
        plan = plan_of(settings, day)
    except NotComputable as error:
        raise NotComputable(
            Fault(f"settings {fault.pointer}", fault.detail) for fault in error.faults
        ) from None
    inputs: list[list[Any]] = [[source.name, source.size, source.changed] for source in rows.sources]
    state = State(str(day), plan.text(), plan.digest, job.form, inputs)
    if before and job.resume:
        before.same_work(state)
        return rows, plan, before
    return rows, plan, state


def _cost_all(job: Job, rows: Input, plan: Plan, results: Results) -> int:
    """Cost and write what is left; how many lines that were."""
    total = sum(source.size for source in rows.sources)
    blocks = rows.blocks(job.rows_a_block, results.state.line)
    goes_on = results.state.line > 0
    with Progress(total, job.bar, goes_on) as progress, closing(_costed(job, blocks, plan)) as costed:
        kept, since = time.monotonic(), 0
        for block, found in costed:
            results.take(block, found)
            progress.done(found.costed + len(found.failed), block.read)
            since += 1
            if since == KEEP_BLOCKS or time.monotonic() - kept > KEEP_SECONDS:
                results.keep()
                kept, since = time.monotonic(), 0
        return progress.rows


def _costed(job: Job, blocks: Iterator[Block], plan: Plan) -> Generator[tuple[Block, Costed]]:
    text = plan.text()
    if job.workers == 1 and job.scheduler is None:
        for block in blocks:
            yield block, cost_block(text, block.rows, block.spoiled, job.form)
        return
    from service.batch.cluster import Cluster

    with closing(Cluster(job.workers, job.scheduler)) as cluster:
        yield from cluster.costed(blocks, text, job.form)
