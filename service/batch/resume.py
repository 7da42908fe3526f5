"""How far a run has come, kept beside its results so that it can go on after a crash."""

from __future__ import annotations

import hashlib
import os
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import orjson

from service.errors import Fault, NotComputable

_READ_BYTES = 1024 * 1024


@dataclass(slots=True)
class State:
    """What is safely on the disk: up to which line, and how long the files were then.

    `ended` tells that everything is written and only the names were still to be changed.
    """

    today: str
    plan: str
    digest: str
    form: str
    inputs: list[list[Any]]
    line: int = 0
    out_bytes: int = 0
    rejects_bytes: int = 0
    counts: dict[str, int] = field(default_factory=lambda: {"costed": 0, "failed": 0})
    ended: bool = False
    digest_of_results: str = ""

    def keep(self, path: Path) -> None:
        """Put it in the place of the one before, so that at each moment there is a whole one."""
        new = path.with_name(path.name + ".new")
        with new.open("wb") as stream:
            stream.write(orjson.dumps(asdict(self)))
            stream.flush()
            os.fsync(stream.fileno())
        new.replace(path)
        sync_folder(path.parent)

    def same_work(self, other: State) -> None:
        """NotComputable with everything in which a run that goes on differs from the one that began."""
        faults = []
        if self.inputs != other.inputs:
            faults.append("the files have changed since the run began, or are others")
        if self.plan != other.plan:
            faults.append("the settings have changed since the run began")
        elif self.digest != other.digest:
            faults.append("the program has changed since the run began")
        if self.form != other.form:
            faults.append(f"the run began with --format {self.form}")
        if faults:
            way_out = "give what it began with, or delete its .part.state to begin anew."
            raise NotComputable([Fault("--resume", f"{fault}; {way_out}") for fault in faults])


def state_of(path: Path) -> State | None:
    """The state that a run left, if it left one."""
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return None
    try:
        return State(**orjson.loads(raw))
    except (orjson.JSONDecodeError, TypeError):
        says = "is not what a run leaves behind; delete it and the .part file to begin anew."
        raise NotComputable([Fault(str(path), says)]) from None


def cut_back(descriptor: int, name: str, size: int) -> None:
    """Make a file as long as it was when the state was kept."""
    there = os.fstat(descriptor).st_size
    if there < size:
        says = f"must have at least {size} bytes (got {there}); delete it and its .state file to begin anew."
        raise NotComputable([Fault(name, says)])
    os.ftruncate(descriptor, size)
    os.lseek(descriptor, size, os.SEEK_SET)


def digest_so_far(path: Path) -> Any:
    """The running SHA-256 of what is written already."""
    digest = hashlib.sha256()
    with path.open("rb") as stream:
        while piece := stream.read(_READ_BYTES):
            digest.update(piece)
    return digest


def sync_folder(folder: Path) -> None:
    """Have the names in a folder on the disk, too."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
