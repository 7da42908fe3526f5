"""The model pages as tests read them: their sections, tables and code."""

from __future__ import annotations

import ast
import operator
import re
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "shared" / "models"
NAMES = sorted(path.stem for path in FOLDER.glob("*.md"))
EXAMPLE = "Worked example"


def text_of(name: str) -> str:
    return (FOLDER / f"{name}.md").read_text(encoding="utf-8")


def sections_of(name: str) -> dict[str, str]:
    """The text under each heading of the second level."""
    parts = re.split(r"^## (.+)$", text_of(name), flags=re.MULTILINE)
    return {heading: text.strip() for heading, text in zip(parts[1::2], parts[2::2], strict=True)}


def rows_of(name: str) -> list[tuple[str, str, str]]:
    """Step, how and result of each row of the worked example."""
    found = re.findall(r"^\| (.+?) \| (.+?) \| (.+?) \|$", sections_of(name)[EXAMPLE], re.MULTILINE)
    return [(step, how, result) for step, how, result in found if step != "step"]


def printed(result: str) -> tuple[float, float]:
    """The figure of a result, and half a unit of its last digit."""
    number = result.split(" ")[0]
    decimals = len(number.partition(".")[2])
    return float(number), 0.5 * 10.0**-decimals


def code_of(name: str) -> set[str]:
    """Everything that stands as code on a page."""
    return set(re.findall(r"`([^`]+)`", text_of(name)))


SIGNS = {"×": "*", "÷": "/", "−": "-", "³": "**3", "²": "**2"}
DOES: dict[type, Any] = {
    ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}  # fmt: skip


def reckoned(how: str) -> float | None:
    """What a pocket calculator makes of the column `how`; None where there are words in it."""
    formula = re.sub(r"(?<=\d) (?=\d{3}\b)", "", how)
    for sign, does in SIGNS.items():
        formula = formula.replace(sign, does)
    formula = re.sub(r"∛([0-9.]+)", r"\1**(1/3)", formula)
    if not re.fullmatch(r"[0-9. */+()-]+", formula):
        return None
    return _value(ast.parse(formula, mode="eval").body)


def _value(node: ast.expr) -> float:
    if isinstance(node, ast.BinOp):
        return float(DOES[type(node.op)](_value(node.left), _value(node.right)))
    assert isinstance(node, ast.Constant) and isinstance(node.value, int | float)
    return float(node.value)
