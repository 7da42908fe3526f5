"""A whole request to a case of the engine, with every fault of it at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

import numpy as np

from service.engine.civil import Period, add_months, period_of
from service.engine.costing import SHARED, Case, Devices, course_of, course_together, drivers_of
from service.engine.drivers import NAMES
from service.engine.joint import Joint
from service.engine.ratio import Column
from service.engine.share import MOST_ADDED
from service.engine.tariff import Blocks
from service.errors import Fault, NotComputable
from service.quoting.lines import NO_SHELF, NONE, Label, LineReader, Use
from service.quoting.purse import Purse
from service.quoting.reader import Reader, Where, obj, seq, without_faulty
from service.quoting.setups import EVEN, Setups, read_setup
from service.quoting.tariffs import Electricity, Water, read_electricity, read_water

YEARS = 30
ENERGY_PREFIX = "electricity:"
WATER_REF = "water_supply"
CUBIC_METRE = (1000, 1)


@dataclass(slots=True)
class Reading:
    """A request as read: the case, and what the answer needs to name things."""

    document: dict[str, Any]
    as_of: date
    case: Case
    setups: Setups
    labels: list[Label]
    joint: list[Label]
    purse: Purse
    electricity: Electricity
    water: Water | None
    labels_by_row: dict[int, Label] = field(init=False)

    def __post_init__(self) -> None:
        self.labels_by_row = {label.row: label for label in self.labels}


def read_request(document: Any, today: date, shape_faults: Iterable[Fault] = ()) -> Reading:
    """Read a request of known shape. NotComputable with all faults, those of its shape included."""
    shape_faults = list(shape_faults)
    document = obj(without_faulty(document, shape_faults) if shape_faults else document)
    reader = Reader(shape_faults)
    as_of = reader.day(document.get("as_of")) or today
    purse = Purse(reader, document, as_of)
    period = read_period(reader, document.get("period"))
    # The rest is read against some period, so that its other faults are found too.
    reader.period_known = period is not None
    rest = _Rest(reader, purse, document, period or period_of(today, add_months(today, 12)))
    if reader.faults:
        raise NotComputable(reader.faults)
    return rest.reading(document, as_of)


def read_period(reader: Reader, node: Any) -> Period | None:
    """The period; twelve months where no end is given."""
    start, end = reader.day(obj(node).get("from")), reader.day(obj(node).get("until"))
    if start is None:
        return None
    if end is None:
        return period_of(start, add_months(start, 12)) if "until" not in obj(node) else None
    if end <= start:
        reader.fault(
            ("period", "until"),
            f"'until' must come after 'from' (got {end}, from {start}); it is the first day not counted.",
        )
        return None
    if end > add_months(start, 12 * YEARS):
        reader.fault(
            ("period", "until"),
            f"a period must not be longer than {YEARS} years (got {start} to {end}); "
            f"end it by {add_months(start, 12 * YEARS)}.",
        )
        return None
    return period_of(start, end)


class _Rest:
    """The parts of a request below its period and currency."""

    def __init__(self, reader: Reader, purse: Purse, document: dict[str, Any], period: Period) -> None:
        self.reader, self.purse, self.period = reader, purse, period
        self.lines = LineReader(reader, purse, period)
        self.setups = Setups()
        self.courses: list[tuple[int, str, int]] = []
        self.together: list[tuple[int, tuple[int, ...]]] = []
        tariffs = obj(document.get("tariffs"))
        self.electricity = read_electricity(reader, tariffs.get("electricity"), purse, period)
        self.water = read_water(reader, tariffs.get("water"), purse, period)
        share = document.get("reserve")
        self.reserve = reader.share(share, ("reserve",), None) if share is not None else None
        rows = seq(document.get("setups"))
        for s, setup in enumerate(rows):
            read_setup(reader, self.setups, obj(setup), ("setups", s))
        self._unique(rows, ("setups",), "setup")
        for s, setup in enumerate(rows):
            self._setup_lines(s, obj(setup))
        self.shared = seq(document.get("shared_lines"))
        self._unique(self.shared, ("shared_lines",), "shared line")
        self._refs_apart(rows)
        self.joint: list[Joint] = []
        self.joint_labels: list[Label] = []
        for i, line in enumerate(self.shared):
            self._shared_line(obj(line), ("shared_lines", i))
        self._blocks_fit(rows)

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

    def _refs_apart(self, setups: list[Any]) -> None:
        """A shared line shows up among the lines of each setup, so its ref must be free there."""
        taken = {
            obj(line).get("ref"): (s, i)
            for s, setup in enumerate(setups)
            for i, line in enumerate(seq(obj(setup).get("lines")))
        }
        for i, line in enumerate(self.shared):
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
        for i, line in enumerate(seq(setup.get("lines"))):
            where: Where = ("setups", s, "lines", i)
            if obj(line).get("ref") == WATER_REF:
                self._reserved((*where, "ref"))
            label = self.lines.read(obj(line), where, s)
            if label is not None:
                self._place(label, s)
        if self.water is not None and any(self.setups.change_every[s]):
            use = Use("water_changed_l", 0, self.setups.feed[s], (1, 1), "L")
            names = {"ref": WATER_REF, "name": "Mains water and sewerage", "category": "water"}
            label = self.lines.add(
                names, s, use, CUBIC_METRE, NONE, NO_SHELF, self.water.prices, self.water.tax_code
            )
            label.packed = False
            self._place(label, s)

    def _place(self, label: Label, setup: int) -> None:
        use = self.lines.table.use[label.row]
        if not use.window_months:
            self.courses.append((label.row, use.driver, setup))

    def _shared_line(self, line: dict[str, Any], where: Where) -> None:
        label = self.lines.read(line, where, SHARED)
        share = obj(line.get("share"))
        way = share.get("by")
        count = len(self.setups.refs)
        weights = self._parts(share, (*where, "share")) if way == "fixed" else ()
        driver = share.get("driver") if way == "driver" else ""
        if way == "driver" and isinstance(driver, str) and driver not in NAMES:
            self.reader.fault(
                (*where, "share", "driver"),
                f"'driver' must be one that this version works out: {', '.join(NAMES)} (got '{driver}').",
            )
            return
        if label is None or not isinstance(way, str) or weights is None or not isinstance(driver, str):
            return
        use = self.lines.table.use[label.row]
        follows = use.driver != "days"
        groups: tuple[tuple[int, int], ...] = ()
        if follows:
            self._follow(label.row, use.driver, range(count))
            if way == "added" and count > MOST_ADDED:
                self.reader.fault(
                    (*where, "share", "by"),
                    f"'added' averages every order of joining, for at most {MOST_ADDED} setups (got {count}); "
                    f"use 'driver'.",
                )
                return
            members = {"standalone": [1 << s for s in range(count)], "added": range(1, 1 << count)}.get(
                way, ()
            )
            groups = tuple((group, self._variant(label.row, use.driver, group)) for group in members)
        self.joint.append(Joint(label.row, way, count, weights, driver, groups))
        self.joint_labels.append(label)

    def _follow(self, row: int, driver: str, members: Iterable[int]) -> None:
        self.together.append((NAMES.index(driver), tuple(members)))
        self.courses.append((row, "", len(self.together) - 1))

    def _variant(self, row: int, driver: str, group: int) -> int:
        again = self.lines.table.repeat(row, 0)
        self._follow(again, driver, [s for s in range(len(self.setups.refs)) if group >> s & 1])
        return again

    def _parts(self, share: dict[str, Any], where: Where) -> tuple[Fraction, ...] | None:
        given = obj(share.get("parts"))
        refs = self.setups.refs
        weights = dict.fromkeys(refs, Fraction(0))
        sound = True
        for ref, part in given.items():
            if ref not in weights:
                self.reader.fault(
                    (*where, "parts", ref),
                    f"'parts' must name setups of this request: {', '.join(refs)} (got '{ref}').",
                )
                sound = False
            elif isinstance(part, str) and part.endswith(("/0",)) and set(part.split("/")[1]) == {"0"}:
                self.reader.fault(
                    (*where, "parts", ref), f"a part must not be divided by zero (got '{part}')."
                )
                sound = False
            elif part is not None:
                weights[ref] = Fraction(str(part))
        if sound and given and not sum(weights.values()):
            self.reader.fault(
                (*where, "parts"), "the parts must not all be zero; give at least one setup a part."
            )
            sound = False
        return tuple(weights[ref] for ref in refs) if sound and given else None

    def _blocks_fit(self, rows: list[Any]) -> None:
        rates = self.electricity.rates
        powered = {d.setup for d in self.setups.devices} | {s for s, _ in self.setups.metered}
        if rates and any(isinstance(p, Blocks) for p in rates.prices) and len(powered) > MOST_ADDED:
            self.reader.fault(
                ("tariffs", "electricity"),
                f"a tariff with blocks is shared by every order of joining, for at most {MOST_ADDED} setups with "
                f"electricity (got {len(powered)}); cost fewer at a time.",
            )

    def reading(self, document: dict[str, Any], as_of: date) -> Reading:
        setups, table = self.setups, self.lines.table
        count = len(setups.refs)
        for row, driver, index in self.courses:
            if driver:
                table.course[row] = course_of(driver, index, count)
            else:
                table.course[row] = course_together(index, count)
        shapes = list(dict.fromkeys([EVEN, *(d.shape for d in setups.devices)]))
        case = Case(
            period=self.period,
            zone=self.electricity.zone,
            household=np.zeros(count, dtype=np.int64),
            change_l=Column.of(setups.change_l),
            change_days=np.array([e[0] for e in setups.change_every], dtype=np.int64),
            change_months=np.array([e[1] for e in setups.change_every], dtype=np.int64),
            devices=_devices(setups, shapes),
            measured_setup=np.array([s for s, _ in setups.metered], dtype=np.int64),
            measured_kwh_per_day=Column.of([kwh for _, kwh in setups.metered]),
            shapes=tuple(shapes),
            measured_shape=0,
            lines=table.columns(),
            owner=np.array(table.owner, dtype=np.int64),
            prices=table.prices(),
            together=tuple(self.together),
            joint=tuple(self.joint),
            rates=self.electricity.rates,
            reserve=self.reserve or Fraction(0),
        )
        self._drivers_there(case)
        return Reading(
            document, as_of, case, setups, table.labels, self.joint_labels,
            self.purse, self.electricity, self.water,
        )  # fmt: skip

    def _drivers_there(self, case: Case) -> None:
        """A line shared by a driver needs some of it, else there is nothing to share by."""
        if not any(joint.way == "driver" for joint in case.joint):
            return
        drivers, _ = drivers_of(case)
        for i, joint in enumerate(case.joint):
            if joint.way == "driver" and not drivers[joint.driver].any():
                self.reader.fault(
                    ("shared_lines", i, "share", "driver"),
                    f"no setup has any '{joint.driver}' in the period, so there is nothing to share by; "
                    f"use another driver, or 'equal'.",
                )
        if self.reader.faults:
            raise NotComputable(self.reader.faults)


def _devices(setups: Setups, shapes: list[Any]) -> Devices:
    rows = setups.devices
    return Devices(
        np.array([d.setup for d in rows], dtype=np.int64),
        Column.of([d.watts for d in rows]),
        Column.of([d.standby for d in rows]),
        Column.of([d.hours for d in rows]),
        np.array([d.shape.all_day for d in rows], dtype=bool),
        np.array([shapes.index(d.shape) for d in rows], dtype=np.int64),
    )
