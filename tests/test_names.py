"""Units live in names, by the closed table of DEVELOPERS.md."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.engine.drivers import DRIVERS
from service.engine.units import UNITS
from tests.rules import RULES

TABLE = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Names")[1]
ENDINGS = tuple(re.findall(r"`(_[a-z0-9_]+)`", TABLE.split("\n\n")[2]))
OF_A_DRIVER = {"L": "_l", "kW.h": "_kwh", "g": "_g", "meq": "_meq", "mmol": "_mmol"}
COUNTS = {"d", "1"}


def named(rule: Callable[..., Any]) -> list[str]:
    """The name of a rule and those of its inputs; a bare `days` has its unit too."""
    return [f"_{name}" for name in (rule.__name__, *inspect.signature(rule).parameters)]


def test_the_table_lists_each_ending_once() -> None:
    assert {"_l", "_kwh", "_cm", "_days", "_share"} <= set(ENDINGS)
    assert len(ENDINGS) == len(set(ENDINGS))


def test_every_driver_but_a_count_ends_in_its_unit() -> None:
    for name, (unit, _) in DRIVERS.items():
        assert unit in UNITS
        assert unit in COUNTS or name.endswith(OF_A_DRIVER[unit]), name


@pytest.mark.parametrize("rule", RULES, ids=RULES.get)
def test_a_rule_and_its_inputs_name_their_units(rule: Callable[..., Any]) -> None:
    for name in named(rule):
        assert name.endswith(ENDINGS), name


def test_every_ending_of_the_table_is_in_use() -> None:
    used = {max((e for e in ENDINGS if name.endswith(e)), key=len) for rule in RULES for name in named(rule)}
    # Tariffs and water changes count minutes and months outside the rules.
    assert set(ENDINGS) - used == {"_minutes", "_months"}


@pytest.mark.parametrize("rule", RULES, ids=RULES.get)
def test_the_last_line_of_a_rule_is_its_formula(rule: Callable[..., Any]) -> None:
    last = inspect.getsource(rule).rstrip().splitlines()[-1].strip()
    assert last.startswith("return ") or last == ")"


@pytest.mark.parametrize("rule", RULES, ids=RULES.get)
def test_a_rule_says_in_under_ten_lines_what_it_is_and_where_it_comes_from(rule: Callable[..., Any]) -> None:
    text = inspect.getdoc(rule) or ""
    assert len(text.splitlines()) < 10
    # Steps on the way to a volume; what they lead to names its source.
    assert "Source: " in text or rule.__name__ in {"segment_cm2", "net_l"}
