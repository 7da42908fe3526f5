"""The commands of whoever runs the service, as the command line takes them."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import Any

Options = argparse.Namespace

DATABASE = "The database is the one that LITREWISE_DATABASE names, or sqlite:///litrewise.db."


def add_operators(commands: Any) -> None:
    """Add them to the commands of a parser."""

    def command(name: str, says: str) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = commands.add_parser(
            name, help=says, description=f"{says}. {DATABASE}"
        )
        return made

    migrate = command("migrate", "make the tables of the database, or bring them up to date")
    migrate.add_argument(
        "--to", default="head", metavar="REVISION", help="revision to go to (default: the newest)"
    )
    migrate.add_argument("--down", action="store_true", help="also where that drops what is kept")

    _add_key(command("key", "make, list or end API keys"))

    backup = command("backup", "write everything that is kept into one SQLite file, while the service runs")
    backup.add_argument("file", metavar="FILE", help="name of a new file")
    restore = command("restore", "bring a backup into an empty database, once it is known to be whole")
    restore.add_argument("file", metavar="FILE", help="what `litrewise backup` wrote")
    restore.add_argument(
        "--replace", action="store_true", help="SQLite only: put it in the place of what is there"
    )
    copy = command("copy-to", "copy everything into another, empty database, SQLite or PostgreSQL")
    copy.add_argument("address", metavar="URL", help="such as postgresql://user@host/name")
    worker = command("worker", "work on batches until stopped; on as many machines as wanted with PostgreSQL")
    worker.add_argument(
        "--concurrency", type=int, choices=range(1, 65), metavar="N",
        help="processes, each with one chunk at a time (default: one a core; on SQLite there is one)",
    )  # fmt: skip
    # One of those processes; its standard input ends with whoever started it.
    worker.add_argument("--part", action="store_true", help=argparse.SUPPRESS)
    command("verify", "say whether quotes and audit trail are as they were written")


def _add_key(key: argparse.ArgumentParser) -> None:
    parts = key.add_subparsers(dest="part", required=True, metavar="PART")
    new = parts.add_parser("new", help="make a key and print it, the only time that it is shown")
    new.add_argument(
        "--account", required=True, metavar="NAME", help="opened where there is none of the name"
    )
    new.add_argument("--name", default="from the command line", metavar="TEXT", help="what the key is for")
    new.add_argument("--publishable", action="store_true", help="a key for pages, which sees what is public")
    new.add_argument(
        "--origin", action="append", default=[], metavar="ORIGIN",
        help="a page's origin, such as https://shop.example; may be given more than once",
    )  # fmt: skip
    listing = parts.add_parser("list", help="print the keys of an account, without what opens anything")
    listing.add_argument("--account", required=True, metavar="NAME")
    revoke = parts.add_parser("revoke", help="end a key at once")
    revoke.add_argument("id", metavar="ID", help="such as key_..., as the list shows it")


def _migrate(options: Options) -> int:
    from service.cli.migrate import run

    return run(options.to, down=options.down)


def _key(options: Options) -> int:
    from service.cli import key

    if options.part == "new":
        return key.new(options.account, options.name, publishable=options.publishable, origins=options.origin)
    return key.list_(options.account) if options.part == "list" else key.revoke(options.id)


def _backup(options: Options) -> int:
    from service.cli.backup import backup

    return backup(options.file)


def _restore(options: Options) -> int:
    from service.cli.backup import restore

    return restore(options.file, replace=options.replace)


def _copy_to(options: Options) -> int:
    from service.cli.backup import copy_to

    return copy_to(options.address)


def _verify(options: Options) -> int:
    from service.cli.backup import verify

    return verify()


def _worker(options: Options) -> int:
    from service.cli import worker

    return worker.part() if options.part else worker.run(options.concurrency)


OPERATORS: dict[str, Callable[[Options], int]] = {
    "migrate": _migrate,
    "key": _key,
    "backup": _backup,
    "restore": _restore,
    "copy-to": _copy_to,
    "verify": _verify,
    "worker": _worker,
}
