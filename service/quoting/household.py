"""The setups of a request with their lines, shared lines and tariffs, as one case of the engine."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.civil import Period
from service.engine.costing import Case
from service.engine.habits import Devices, Habits, drivers_of
from service.engine.ratio import Column
from service.engine.share import MOST_ADDED
from service.engine.tariff import Shape
from service.quoting.devices import EVEN
from service.quoting.joint_lines import JointReader
from service.quoting.lines import NO_SHELF, NONE, LineReader
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.routine import Routine
from service.quoting.routines import Routines
from service.quoting.setups import Setups, read_setup
from service.quoting.specification import models_of
from service.quoting.tariffs import read_electricity, read_water
from service.quoting.usage import Use

WATER_REF = "water_supply"
CUBIC_METRE = (1000, 1)


class Household:
    """Reads what a request costs, below its period and currency; its faults go to the reader."""

    def __init__(
        self, reader: Reader, purse: Purse, document: dict[str, Any], period: Period,
        routine: Routine | None = None,
    ) -> None:  # fmt: skip
        self.reader, self.period = reader, period
        self.lines = LineReader(reader, purse, period)
        self.setups = Setups()
        tariffs = obj(document.get("tariffs"))
        self.electricity = read_electricity(reader, tariffs.get("electricity"), purse, period)
        self.water = read_water(reader, tariffs.get("water"), purse, period)
        share = document.get("reserve")
        self.reserve = reader.share(share, ("reserve",), None) if share is not None else None
        rows = seq(document.get("setups"))
        self._unique(rows, ("setups",), "setup")
        before = len(reader.faults)
        for s, setup in enumerate(rows):
            read_setup(reader, self.setups, obj(setup), ("setups", s))
        sound = len(reader.faults) == before and not any("/setups/" in f.pointer for f in reader.faults)
        self.habits = self._habits()
        first = period.day(0) if reader.period_known else None
        self.routines = Routines(reader, document, self.setups, first, routine)
        for s, setup in enumerate(rows):
            self._setup_lines(s, obj(setup))
        self.routines.tell_common()
        shared = seq(document.get("shared_lines"))
        self._unique(shared, ("shared_lines",), "shared line")
        self._refs_apart(rows, shared)
        self.joint = JointReader(self.lines, self.setups.refs, [model.known for model in self.setups.models])
        for i, line in enumerate(shared):
            self.joint.read(obj(line), ("shared_lines", i))
        self._blocks_fit()
        # What a setup does cannot be told to be nothing while some of it is not understood.
        if sound:
            self._drivers_there()

    def _unique(self, rows: list[Any], where: Where, what: str) -> None:
        seen: dict[str, int] = {}
        for i, row in enumerate(rows):
            ref = obj(row).get("ref")
            if not isinstance(ref, str):
                continue
            if ref in seen:
                self.reader.fault(
                    (*where, i, "ref"),
                    f"'ref' must be unique: number {seen[ref] + 1} is a {what} '{ref}' too; rename one.",
                )
            seen.setdefault(ref, i)

    def _refs_apart(self, setups: list[Any], shared: list[Any]) -> None:
        """A shared line shows up among the lines of each setup, so its ref must be free there."""
        if not shared:
            return
        taken = {
            obj(line).get("ref"): (s, i)
            for s, setup in enumerate(setups)
            for i, line in enumerate(seq(obj(setup).get("lines")))
        }
        for i, line in enumerate(shared):
            ref = obj(line).get("ref")
            if isinstance(ref, str) and ref in taken:
                s, at = taken[ref]
                self.reader.fault(
                    ("shared_lines", i, "ref"),
                    f"'ref' '{ref}' is used by line {at + 1} of setup {s + 1} too; rename one.",
                )
            if ref == WATER_REF:
                self._reserved(("shared_lines", i, "ref"))

    def _reserved(self, where: Where) -> None:
        self.reader.fault(where, f"'{WATER_REF}' is the line of the water tariff; choose another 'ref'.")

    def _setup_lines(self, s: int, setup: dict[str, Any]) -> None:
        for key, what in (("lines", "line"), ("devices", "device")):
            self._unique(seq(setup.get(key)), ("setups", s, key), what)
        lines = self.lines
        for line in self.routines.schedules[s].lines:
            before = len(self.reader.faults)
            if line.ref == WATER_REF:
                self._reserved((*line.where, "ref"))
            label = lines.read(line.document, line.where, s, self.setups.models[s], line.scale)
            self.routines.place(line, before, s)
            if label is not None:
                label.made = line.made()
                lines.table.follow_setup(label.row, s)
        model = self.setups.models[s]
        watered = any(self.setups.change_every[s]) or "evaporated_l" in model.known
        if self.water is not None and (watered or "purified_water" in model.readings):
            use = Use("feed_water_l", 0, (1, 1), (1, 1), "L")
            names = {"ref": WATER_REF, "name": "Mains water and sewerage", "category": "water"}
            label = lines.add(
                names, s, use, CUBIC_METRE, NONE, NO_SHELF, self.water.prices, self.water.tax_code
            )
            label.packed = False
            lines.table.follow_setup(label.row, s)

    def _blocks_fit(self) -> None:
        rates = self.electricity.rates
        setups = self.setups
        powered = {d.setup for d in setups.devices} | {s for s, _ in setups.metered}
        powered |= {*setups.heated(), *setups.cooled()}
        if rates and rates.has_blocks and len(powered) > MOST_ADDED:
            self.reader.fault(
                ("tariffs", "electricity"),
                f"a tariff with blocks is shared by every order of joining, for at most {MOST_ADDED} "
                f"setups with electricity (got {len(powered)}); cost fewer at a time.",
            )

    def _habits(self) -> Habits:
        setups = self.setups
        shapes: list[Shape] = list(dict.fromkeys([EVEN, *(d.shape for d in setups.devices)]))
        return Habits(
            period=self.period,
            zone=self.electricity.zone,
            household=np.zeros(len(setups.refs), dtype=np.int64),
            change_l=Column.of(setups.change_l),
            change_days=np.array([days for days, _ in setups.change_every], dtype=np.int64),
            change_months=np.array([months for _, months in setups.change_every], dtype=np.int64),
            purified=np.array([model.purified for model in setups.models], dtype=bool),
            tap_ratio=Column.of([model.tap_ratio.as_integer_ratio() for model in setups.models]),
            devices=_devices(setups, shapes),
            shapes=tuple(shapes),
            measured_setup=np.array([s for s, _ in setups.metered], dtype=np.int64),
            measured_kwh_per_day=Column.of([kwh for _, kwh in setups.metered]),
            heated=np.array(setups.heated(), dtype=np.int64),
            cooled=np.array(setups.cooled(), dtype=np.int64),
            models=models_of(setups.models),
        )

    def _drivers_there(self) -> None:
        """A line shared by a driver needs some of it, else there is nothing to share by."""
        if not self.joint.by_driver:
            return
        drivers = drivers_of(self.habits).drivers
        for driver, where in self.joint.by_driver:
            if driver not in drivers or not drivers[driver].any():
                self.reader.fault(
                    where,
                    f"no setup has any '{driver}' in the period, so there is nothing to share by; "
                    f"use another driver, or 'equal'.",
                )

    def case(self) -> Case:
        """The columns of all that was read without a fault."""
        table = self.lines.table
        table.place(len(self.setups.refs))
        return Case(
            habits=self.habits,
            lines=table.columns(),
            owner=np.array(table.owner, dtype=np.int64),
            prices=table.prices(),
            followed=tuple(table.followed),
            together=tuple(table.together),
            joint=tuple(self.joint.found),
            rates=self.electricity.rates,
            reserve=self.reserve or Fraction(0),
        )


def _devices(setups: Setups, shapes: list[Shape]) -> Devices:
    rows = setups.devices
    return Devices(
        np.array([d.setup for d in rows], dtype=np.int64),
        Column.of([d.watts for d in rows]),
        Column.of([d.standby for d in rows]),
        Column.of([d.hours for d in rows]),
        np.array([d.shape.all_day for d in rows], dtype=bool),
        np.array([shapes.index(d.shape) for d in rows], dtype=np.int64),
    )
