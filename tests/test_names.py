"""Units live in names, by the closed table of DEVELOPERS.md."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

from service.engine import vessel
from service.engine.drivers import DRIVERS
from service.engine.units import UNITS

TABLE = (Path(__file__).parent.parent / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Names")[1]
ENDINGS = tuple(re.findall(r"`(_[a-z0-9_]+)`", TABLE.split("\n\n")[2]))


def test_the_table_lists_endings() -> None:
    assert {"_l", "_kwh", "_cm", "_days", "_share"} <= set(ENDINGS)


def test_every_driver_but_days_ends_in_its_unit() -> None:
    units = {"L": "_l", "kW.h": "_kwh"}
    for name, (unit, _) in DRIVERS.items():
        assert unit in UNITS
        assert name == "days" or name.endswith(units[unit]), name


def test_a_rule_of_the_vessel_and_its_inputs_name_their_units() -> None:
    rules = [f for _, f in inspect.getmembers(vessel, inspect.isfunction) if f.__module__ == vessel.__name__]
    assert rules
    for rule in rules:
        for name in (rule.__name__, *inspect.signature(rule).parameters):
            assert name.endswith(ENDINGS), f"{rule.__name__}: {name}"


def test_the_last_line_of_a_rule_of_the_vessel_is_its_formula() -> None:
    rules = [f for _, f in inspect.getmembers(vessel, inspect.isfunction) if f.__module__ == vessel.__name__]
    for rule in rules:
        last = inspect.getsource(rule).rstrip().splitlines()[-1].strip()
        assert last.startswith("return ") or last == ")", rule.__name__
