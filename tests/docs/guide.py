"""The guides as tests read them: their files and commands, run in one shell as a reader would."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from typing import Any

from tests.api.running import ROOT, free_port

FOLDER = ROOT / "shared" / "guides"
NAMES = sorted(path.stem for path in FOLDER.glob("*.md") if path.stem != "index")
SERVED = "127.0.0.1:8000"
# A file is named in the sentence before it: "`prices.csv`:".
BLOCK = re.compile(r"(?:`([^`\s]+)`:\n\n)?^```(\w+)\n(.*?)^```$", re.DOTALL | re.MULTILINE)
SECONDS = 300


@dataclass(frozen=True, slots=True)
class Block:
    """One block of a guide; `file` where it is a file that the reader makes."""

    language: str
    text: str
    file: str

    @property
    def is_commands(self) -> bool:
        return self.language == "sh" and not self.file


@dataclass(frozen=True, slots=True)
class Ran:
    """What one block of commands printed, and what the guide shows of that below it."""

    text: str
    code: int
    out: str
    errors: str
    shown: tuple[Block, ...]


def text_of(name: str) -> str:
    return (FOLDER / f"{name}.md").read_text(encoding="utf-8")


def blocks_of(name: str) -> list[Block]:
    return [Block(language, text, file) for file, language, text in BLOCK.findall(text_of(name))]


def run(name: str, folder: Path) -> list[Ran]:
    """All commands of a guide in one shell in this folder, with the files that the guide names.

    The service takes a free port in place of the usual one; whatever was started is stopped at the end.
    """
    work, notes, tools = (folder / part for part in ("work", "notes", "bin"))
    for made in (work, notes, tools):
        made.mkdir(parents=True)
    blocks = blocks_of(name)
    for block in blocks:
        if block.file:
            (work / block.file).write_text(block.text, encoding="utf-8")
    command = tools / "litrewise"
    python = shlex.quote(sys.executable)
    command.write_text(f'#!/bin/sh\nexec {python} -m service.cli "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    port = free_port()
    script = ["set -u", "trap 'kill $(jobs -p) 2>/dev/null; wait' EXIT"]
    for number, block in enumerate(blocks):
        if block.is_commands:
            lines = block.text.replace(SERVED, f"127.0.0.1:{port}")
            lines = lines.replace("litrewise serve", f"litrewise serve --port {port}")
            to = shlex.quote(str(notes / str(number)))
            script.append(f"{{\n{lines}}} >{to}.out 2>{to}.err\necho $? >{to}.code")
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("LITREWISE_", "COLUMNS"))}
    variables = kept | {"PATH": f"{tools}:{kept['PATH']}", "PYTHONPATH": str(ROOT), "HOME": str(folder)}
    subprocess.run(
        ["bash", "-c", "\n".join(script)], cwd=work, env=variables, timeout=SECONDS, check=True,
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    return [_ran(blocks, number, notes) for number, block in enumerate(blocks) if block.is_commands]


def _ran(blocks: list[Block], number: int, notes: Path) -> Ran:
    code, out, errors = (
        (notes / f"{number}.{end}").read_text(encoding="utf-8") for end in ("code", "out", "err")
    )
    after = takewhile(lambda block: not block.is_commands, blocks[number + 1 :])
    shown = tuple(block for block in after if not block.file and block.language in ("json", "text"))
    return Ran(blocks[number].text, int(code), out, errors, shown)


def differs(shown: Any, found: Any, where: str = "#") -> list[str]:
    """Where an answer is not as the guide shows it.

    A guide shows of an object what matters and of a list its first items before "...". Three dots in
    a text stand for anything.
    """
    if isinstance(shown, dict) and isinstance(found, dict):
        missing = [f"{where}/{name}: is not there" for name in shown if name not in found]
        return missing + [
            fault for name in shown if name in found
            for fault in differs(shown[name], found[name], f"{where}/{name}")
        ]  # fmt: skip
    if isinstance(shown, list) and isinstance(found, list):
        first = shown[:-1] if shown and shown[-1] == "..." else shown
        if len(found) < len(first) or (first == shown and len(found) != len(shown)):
            return [f"{where}: {len(found)} items"]
        pairs = enumerate(zip(first, found, strict=False))
        return [fault for at, (one, other) in pairs for fault in differs(one, other, f"{where}/{at}")]
    if isinstance(shown, str) and isinstance(found, str) and fits(shown, found):
        return []
    same = shown == found and type(shown) is type(found)
    return [] if same else [f"{where}: {found!r}, shown as {shown!r}"]


def fits(shown: str, found: str) -> bool:
    """Whether a text is as shown, but for an end of line at its end; three dots stand for anything."""
    wanted = ".*".join(map(re.escape, shown.rstrip("\n").split("...")))
    return re.fullmatch(wanted, found.rstrip("\n"), re.DOTALL) is not None
