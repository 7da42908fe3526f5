"""`litrewise cost`: one request, offline."""

from __future__ import annotations

import sys
from datetime import UTC, date, datetime
from pathlib import Path

from service.cli import EXIT_FAILED, EXIT_FAULTS, EXIT_OK
from service.cli.report import print_report
from service.cli.text import plain
from service.errors import Faulty, NotComputable
from service.quoting import cost
from service.schemas import check
from service.schemas.body import as_sent, read_json


def run(file: str, *, as_json: bool, detail: str | None) -> int:
    """Print the costing of a file; every fault goes to standard error, one a line."""
    try:
        raw = sys.stdin.buffer.read() if file == "-" else Path(file).read_bytes()
    except OSError as error:
        print(f"litrewise: {plain(file)} cannot be read ({error.strerror})", file=sys.stderr)
        return EXIT_FAILED
    try:
        document = read_json(raw)
        if detail is not None and isinstance(document, dict):
            document["detail"] = detail
        faults = check(document)
        if not isinstance(document, dict):
            raise NotComputable(faults)
        answer = cost(document, _today(), faults)
    except Faulty as error:
        for fault in error.faults:
            print(f"{plain(fault.pointer)}: {plain(fault.detail)}", file=sys.stderr)
        return EXIT_FAULTS
    if as_json:
        import orjson

        text = orjson.dumps(answer, default=as_sent, option=orjson.OPT_INDENT_2)
        sys.stdout.write(text.decode() + "\n")
    else:
        print_report(answer)
    return EXIT_OK


def _today() -> date:
    """The day on the user's own calendar; a file with `as_of` does not need it."""
    return datetime.now(UTC).astimezone().date()
