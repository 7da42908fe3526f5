"""The operator's commands, run in this process as the command line would."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from service.cli import main


@dataclass(frozen=True)
class Done:
    """How a command ended: exit code, standard output and standard error."""

    code: int
    out: str
    err: str


Run = Callable[..., Done]


def runner(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], address: str = ""
) -> Run:
    """Runs commands in a folder, with the database of an address or, without one, the usual one."""
    monkeypatch.chdir(folder)

    def run(*arguments: str, database: str = address) -> Done:
        if database:
            monkeypatch.setenv("LITREWISE_DATABASE", database)
        else:
            monkeypatch.delenv("LITREWISE_DATABASE", raising=False)
        capsys.readouterr()
        code = main(arguments)
        shown = capsys.readouterr()
        return Done(code, shown.out, shown.err)

    return run
