"""Shared lines of a request: the line once for all, and how it is split."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine.costing import SHARED
from service.engine.drivers import NAMES
from service.engine.joint import Joint
from service.engine.share import MOST_ADDED, MOST_GROUP_MONTHS
from service.quoting.lines import Label, LineReader
from service.quoting.reader import Where, obj
from service.quoting.usage import NEEDED


class JointReader:
    """Reads shared lines into the table of lines."""

    def __init__(self, lines: LineReader, refs: list[str], known: list[set[str]]) -> None:
        self.lines, self.reader, self.refs, self.known = lines, lines.reader, refs, known
        self.found: list[Joint] = []
        self.labels: list[Label] = []
        self.by_driver: list[tuple[str, Where]] = []
        self.group_months = 0

    def read(self, line: dict[str, Any], where: Where) -> None:
        """One shared line, with the rows that stand for it where some setups are away."""
        label = self.lines.read(line, where, SHARED)
        share, at = obj(line.get("share")), (*where, "share")
        way = share.get("by")
        weights = self._parts(share, at) if way == "fixed" else ()
        driver = self._driver(share, at) if way == "driver" else ""
        count = len(self.refs)
        if label is None or not isinstance(way, str) or weights is None or driver is None:
            return
        groups: tuple[tuple[int, int], ...] = ()
        follows = self.lines.table.use[label.row].driver
        if follows != "days" and not self._anyone_knows(follows, where):
            return
        if follows != "days":
            self.lines.table.follow_setups(label.row, follows, range(count))
            if way == "added" and count > MOST_ADDED:
                self.reader.fault(
                    (*at, "by"),
                    f"'added' averages every order of joining, for at most {MOST_ADDED} setups "
                    f"(got {count}); use 'driver'.",
                )
                return
            if way == "added":
                self.group_months += (1 << count) * self.lines.period.months
            if self.group_months > MOST_GROUP_MONTHS:
                self.reader.fault(
                    (*at, "by"),
                    f"'added' for so many lines, setups ({count}) and months ({self.lines.period.months}) is "
                    f"more than one request may ask for; use 'driver', or ask for fewer at a time.",
                )
                return
            members = {"standalone": [1 << s for s in range(count)], "added": range(1, 1 << count)}
            groups = tuple((g, self._variant(label.row, follows, g)) for g in members.get(way, ()))
        self.found.append(Joint(label.row, way, count, weights, driver, groups))
        self.labels.append(label)

    def _anyone_knows(self, driver: str, where: Where) -> bool:
        """Setups that do not know a driver have none of it; but one of them must know it."""
        if any(driver in known for known in self.known):
            return True
        self.reader.fault(where, f"'{driver}' is not known of any setup; it needs {NEEDED[driver]}.")
        return False

    def _variant(self, row: int, driver: str, group: int) -> int:
        """The same line as it would be for a group of setups."""
        again = self.lines.table.repeat(row)
        members = [s for s in range(len(self.refs)) if group >> s & 1]
        self.lines.table.follow_setups(again, driver, members)
        return again

    def _driver(self, share: dict[str, Any], at: Where) -> str | None:
        driver = share.get("driver")
        if isinstance(driver, str) and driver in NAMES:
            self.by_driver.append((driver, (*at, "driver")))
            return driver
        if isinstance(driver, str):
            self.reader.fault(
                (*at, "driver"),
                f"'driver' must be one that this version works out: {', '.join(NAMES)} (got '{driver}').",
            )
        return None

    def _parts(self, share: dict[str, Any], at: Where) -> tuple[Fraction, ...] | None:
        given = obj(share.get("parts"))
        weights = dict.fromkeys(self.refs, Fraction(0))
        sound = True
        for ref, part in given.items():
            where = (*at, "parts", ref)
            if ref not in weights:
                self.reader.fault(
                    where,
                    f"'parts' must name setups of this request: {', '.join(self.refs)} (got '{ref}').",
                )
                sound = False
            elif isinstance(part, str) and "/" in part and not int(part.split("/")[1]):
                self.reader.fault(where, f"a part must not be divided by zero (got '{part}').")
                sound = False
            elif part is not None:
                weights[ref] = Fraction(str(part))
        if sound and given and not sum(weights.values()):
            self.reader.fault(
                (*at, "parts"), "the parts must not all be zero; give at least one setup a part."
            )
            sound = False
        return tuple(weights[ref] for ref in self.refs) if sound and given else None
