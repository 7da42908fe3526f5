"""What a run writes: results and rejects beside their names until they are whole."""

from __future__ import annotations

import fcntl
import hashlib
import os
import sys
from pathlib import Path
from typing import Any

import orjson

from service.batch.blocks import Block, Costed
from service.batch.resume import State, cut_back, digest_so_far, sync_folder
from service.errors import Fault, NotComputable


class Part:
    """A file that has `.part` behind its name until it is whole. It is locked, so one run writes it."""

    def __init__(self, path: Path, size: int) -> None:
        self.path, self.part = path, part_of(path)
        self.descriptor = os.open(self.part, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            fcntl.flock(self.descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
            cut_back(self.descriptor, str(self.part), size)
        except BlockingIOError:
            self.close()
            says = "is being written by another run; wait for it, or give another --out."
            raise NotComputable([Fault(str(self.part), says)]) from None
        except BaseException:
            self.close()
            raise

    def write(self, data: bytes) -> None:
        """All of the data, or OSError."""
        view = memoryview(data)
        while view:
            view = view[os.write(self.descriptor, view) :]

    def close(self) -> None:
        """Leave it as it is."""
        if self.descriptor >= 0:
            os.close(self.descriptor)
            self.descriptor = -1


class Results:
    """The results of a run, in a file or on standard output, and the rejects beside them."""

    def __init__(self, out: Path | None, rejects: Path | None, state: State) -> None:
        self.state, self.digest = state, hashlib.sha256()
        self.rejects_path = rejects
        self.state_path = state_path(out) if out else None
        self.out: Part | None = None
        self.rejects: Part | None = None
        try:
            self._open(out, rejects)
        except BaseException:
            self.close()
            raise

    def _open(self, out: Path | None, rejects: Path | None) -> None:
        if out:
            self.out = Part(out, self.state.out_bytes)
            if self.state.out_bytes:
                self.digest = digest_so_far(self.out.part)
        if rejects and self.state.rejects_bytes:
            self.rejects = Part(rejects, self.state.rejects_bytes)
        elif rejects:
            # What a run left there that was given up must not be taken for this one's.
            part_of(rejects).unlink(missing_ok=True)

    def write(self, data: bytes) -> None:
        """One more piece of the results."""
        self.digest.update(data)
        if self.out:
            self.out.write(data)
            self.state.out_bytes += len(data)
        else:
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()

    def take(self, block: Block, costed: Costed) -> None:
        """What came of a block."""
        self.write(costed.data)
        if costed.failed and self.rejects_path:
            self.rejects = self.rejects or Part(self.rejects_path, 0)
            texts = block.texts_of([one.line for one in costed.failed])
            data = b"".join(_reject(one.body, texts[one.line]) for one in costed.failed)
            self.rejects.write(data)
            self.state.rejects_bytes += len(data)
        self.state.line = block.last
        self.state.counts["costed"] += costed.costed
        self.state.counts["failed"] += len(costed.failed)

    def keep(self) -> None:
        """Have all so far on the disk, and then the word of it."""
        if not self.out or not self.state_path:
            return
        for part in (self.rejects, self.out):
            if part:
                os.fsync(part.descriptor)
        self.state.keep(self.state_path)

    def end(self) -> None:
        """Give the files their names; a run that is killed in here is ended by the next one."""
        self.state.ended = True
        self.keep()
        self.close()
        settle(self.out.path if self.out else None, self.rejects_path, self.state)

    def close(self) -> None:
        """Leave the files as they are."""
        for part in (self.out, self.rejects):
            if part:
                part.close()


def settle(out: Path | None, rejects: Path | None, state: State) -> None:
    """Whole files under their own names. Rejects of an earlier run do not stay beside new results."""
    for path in (rejects, out):
        if path is None:
            continue
        if part_of(path).exists():
            part_of(path).replace(path)
        elif path == rejects and not state.counts["failed"]:
            path.unlink(missing_ok=True)
        sync_folder(path.parent)
    if out is not None:
        state_path(out).unlink(missing_ok=True)


def part_of(path: Path) -> Path:
    """Where a file is written until it is whole."""
    return path.with_name(path.name + ".part")


def state_path(out: Path) -> Path:
    """Where the state of a run lies."""
    return out.with_name(out.name + ".part.state")


def _reject(body: bytes, text: bytes) -> bytes:
    line: dict[str, Any] = orjson.loads(body)
    told = {"line": line["line"], "problem": line["problem"], "row": text.decode("utf-8", "replace")}
    return orjson.dumps(told) + b"\n"
