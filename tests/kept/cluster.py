"""A PostgreSQL server of a test's own, which may be stopped in the middle of anything."""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.bench.bench_http import free_port
from tests.kept.postgres import NEEDS


class OwnServer:
    """A server in a folder that goes with it."""

    def __init__(self, programs: Path, folder: Path) -> None:
        self.programs, self.folder, self.port = programs, folder, free_port()
        self.address = f"postgresql://postgres@127.0.0.1:{self.port}/postgres"

    def begin(self) -> None:
        # It refuses to run as root.
        if os.geteuid() == 0:
            owner = pwd.getpwnam("postgres")
            os.chown(self.folder, owner.pw_uid, owner.pw_gid)
        self._run("initdb", "--username=postgres", "--auth=trust", "--no-sync")
        settings = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories="
        self._run("pg_ctl", "start", "--wait", "--silent", "-o", settings, "-l", f"{self.folder}/log")

    def stop(self, mode: str) -> None:
        """Stop it: `fast` ends the connections, `immediate` is as if the machine went down."""
        self._run("pg_ctl", "stop", "--wait", "--silent", "-m", mode)

    def restart(self) -> None:
        """Stop it as if the machine went down, and start it with what it left."""
        self._run("pg_ctl", "restart", "--wait", "--silent", "-m", "immediate", "-l", f"{self.folder}/log")

    def _run(self, program: str, *arguments: str) -> None:
        command = [str(self.programs / program), "-D", str(self.folder / "data"), *arguments]
        if os.geteuid() == 0:
            command = ["runuser", "-u", "postgres", "--", *command]
        # What it prints goes to files: a server that lives on would keep a pipe open.
        with (self.folder / "said").open("ab") as said:
            done = subprocess.run(command, cwd=self.folder, stdout=said, stderr=said, timeout=90)
        assert done.returncode == 0, (self.folder / "said").read_text() + _log(self.folder)


@contextmanager
def own_server() -> Iterator[OwnServer]:
    """A server of one's own; a skipped test where none is installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/pg_ctl")) or [
        Path(path) for path in (shutil.which("pg_ctl"),) if path
    ]
    if not found:
        missing = "The programs of a PostgreSQL server are not installed, so none can be stopped and started."
        if "postgresql" in os.environ.get(NEEDS, ""):
            pytest.fail(missing, pytrace=False)
        pytest.skip(missing)
    folder = Path(tempfile.mkdtemp(prefix="litrewise-server-"))
    server = OwnServer(found[-1].parent, folder)
    try:
        server.begin()
        yield server
    finally:
        server.stop("immediate")
        shutil.rmtree(folder)


def _log(folder: Path) -> str:
    log = folder / "log"
    return log.read_text()[-2000:] if log.exists() else ""
