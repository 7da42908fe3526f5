"""The `litrewise` command.

Each command imports what it needs when it runs: costing a file must not wait
for the web service, and nothing but `serve` and `demo` needs sockets.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from typing import Any, NoReturn

from service import __version__
from service.cli.operators import OPERATORS, add_operators

EXIT_OK, EXIT_FAILED, EXIT_FAULTS = 0, 1, 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; its exit code: 0 well, 2 faults in the file or the settings, 1 anything else."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        # A name that the terminal's encoding lacks must not end the run.
        stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        code = _RUN[options.command](options)
        sys.stdout.flush()
    except Stopped as error:
        print(f"litrewise: {error}", file=sys.stderr)
        return EXIT_FAILED
    except OSError as error:
        # A reader that has gone, as `head` does, is nothing to report; a full disk is.
        if not isinstance(error, BrokenPipeError):
            print(f"litrewise: {error}", file=sys.stderr)
        # What could not be written must not be tried again at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_FAILED
    except KeyboardInterrupt:
        return EXIT_FAILED
    return code


class Stopped(Exception):
    """A command that cannot go on; the text says why and what to do."""


class _Parser(argparse.ArgumentParser):
    """argparse leaves with 2 on a bad option, which here means faults in a file."""

    code_of_errors = EXIT_FAILED

    def error(self, message: str) -> NoReturn:
        self.print_usage(sys.stderr)
        self.exit(self.code_of_errors, f"{self.prog}: {message}\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="litrewise", description="What an aquarium costs to keep running, and why.")
    parser.add_argument("--version", action="version", version=f"litrewise {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    cost = commands.add_parser("cost", help="cost a request from a file, offline")
    cost.add_argument(
        "file",
        metavar="FILE.json",
        help="a request as POST /v1/costings takes it; - reads it from standard input",
    )
    cost.add_argument("--json", action="store_true", help="print the answer as JSON instead of a table")
    cost.add_argument(
        "--detail",
        choices=("totals", "lines", "workings"),
        help="how much the answer says, whatever the file asks for",
    )

    serve = commands.add_parser("serve", help="start the service")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (default: %(default)s)")
    serve.add_argument("--port", type=_port, default=8000, help="port to listen on (default: %(default)s)")
    serve.add_argument("--workers", type=_workers, default=2, help="worker processes (default: %(default)s)")
    serve.add_argument(
        "--open", action="store_true", help="let anybody who reaches the address ask, without a key"
    )

    demo = commands.add_parser("demo", help="start the service, ask it for the demo shop's costing, print it")
    demo.add_argument("--port", type=_port, help="port to use (default: a free one)")
    demo.add_argument("--stay", action="store_true", help="keep the service running until Ctrl-C")

    _add_batch(commands)

    openapi = commands.add_parser("openapi", help="print the service's OpenAPI document")
    openapi.add_argument(
        "--write", action="store_true", help="write it, and the schema made from it, into the source tree"
    )
    add_operators(commands)
    return parser


def _add_batch(commands: Any) -> None:
    batch = commands.add_parser(
        "batch",
        help="cost a catalogue in files, offline",
        description="Cost a catalogue: NDJSON, CSV or Parquet in, a line of results for each line. Lines of "
        "several files are numbered on through all of them. Exit code: 0 all costed, 1 some lines failed, "
        "2 cannot begin, 3 stopped.",
    )
    # One failed line means 1, so what stops a run before its first must not.
    batch.code_of_errors = EXIT_FAULTS
    batch.add_argument(
        "files", nargs="+", metavar="FILE", help="ends in .ndjson, .jsonl, .csv or .parquet; - is NDJSON"
    )
    batch.add_argument(
        "--settings", metavar="FILE.json",
        help='what all are costed with; else the first line of NDJSON is {"settings": {...}}',
    )  # fmt: skip
    batch.add_argument("--out", metavar="FILE", help="the results (default: standard output)")
    batch.add_argument("--rejects", metavar="FILE", help="failed lines (default: --out with .rejects.ndjson)")
    batch.add_argument("--format", choices=("ndjson", "csv"), default="ndjson", help="of the results")
    batch.add_argument("--resume", action="store_true", help="go on where a run was stopped")
    batch.add_argument(
        "--chunk", type=_rows, default=2_000, metavar="N", help="rows costed together (default: %(default)s)"
    )
    batch.add_argument("--quiet", action="store_true", help="no progress and no summary")
    where = batch.add_mutually_exclusive_group()
    where.add_argument(
        "--workers", type=_workers, default=1, metavar="N", help="processes of this machine (default: 1)"
    )
    where.add_argument("--scheduler", metavar="ADDRESS", help="of a dask cluster, such as tcp://host:8786")


def _rows(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 100_000:
        raise argparse.ArgumentTypeError(f"must be a number of rows from 1 to 100000 (got {text})")
    return int(text)


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"must be a port from 1 to 65535 (got {text})")
    return int(text)


def _workers(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 1 <= int(text) <= 64:
        raise argparse.ArgumentTypeError(f"must be a number of processes from 1 to 64 (got {text})")
    return int(text)


def _cost(options: argparse.Namespace) -> int:
    from service.cli.cost import run

    return run(options.file, as_json=options.json, detail=options.detail)


def _serve(options: argparse.Namespace) -> int:
    from service.cli.serve import run

    return run(options.host, options.port, options.workers, anybody=options.open)


def _demo(options: argparse.Namespace) -> int:
    from service.cli.demo import run

    return run(options.port, stay=options.stay)


def _batch(options: argparse.Namespace) -> int:
    from service.cli.batch import run

    return run(options)


def _openapi(options: argparse.Namespace) -> int:
    from service.cli.openapi import run

    return run(write=options.write)


_RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "cost": _cost,
    "serve": _serve,
    "demo": _demo,
    "batch": _batch,
    "openapi": _openapi,
    **OPERATORS,
}
