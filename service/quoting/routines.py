"""The rules of a request asked of all its setups, and the lines that each setup then has."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from service.engine.routine import ALL_HELD, verdict
from service.errors import Fault, pointer
from service.quoting.conditions import Known, because, columns_of, known_of
from service.quoting.fitted import Fitted
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.routine import Routine, Rule, read_routine
from service.quoting.setups import Setups

# Lines that the routine of a request may give all its setups together: about what a body can hold.
MOST_GIVEN = 5000
COMMON: Where = ("routine",)
NAMED = 5


@dataclass(slots=True)
class Schedule:
    """The lines of one setup, and what its routine did; no routine, nothing told."""

    lines: list[Fitted]
    told: dict[str, Any] | None = None
    by_ref: dict[Any, Fitted] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for line in reversed(self.lines):
            self.by_ref[line.ref] = line

    def add(self, line: Fitted) -> None:
        self.lines.append(line)
        self.by_ref[line.ref] = line

    def drop(self, line: Fitted) -> None:
        self.lines.remove(line)
        del self.by_ref[line.ref]


class Routines:
    """Reads each routine once, asks its rules of its setups, and fits their lines."""

    def __init__(
        self, reader: Reader, document: dict[str, Any], setups: Setups, first: date | None,
        read: Routine | None = None,
    ) -> None:  # fmt: skip
        """`read` is the request's own routine where it was read without a fault before."""
        self.reader, self.refs = reader, setups.refs
        self.shared = {obj(line).get("ref") for line in seq(document.get("shared_lines"))}
        # Faults in the request's own routine, with the setups that each was found for.
        self.common: dict[tuple[str, str], list[str]] = {}
        rows = [obj(setup) for setup in seq(document.get("setups"))]
        self.schedules = [Schedule(_stated(setup, s)) for s, setup in enumerate(rows)]
        everyone: list[int] = []
        for s, setup in enumerate(rows):
            if "routine" not in setup:
                everyone.append(s)
                continue
            where: Where = ("setups", s, "routine")
            own = read_routine(reader, setup["routine"], where, first)
            if own is not None:
                self._ask(own, where, [s], rows, setups)
        self.own = read or read_routine(reader, document.get("routine"), COMMON, first)
        if self.own is not None and everyone:
            self._ask(self.own, COMMON, everyone, rows, setups)

    def _ask(
        self, routine: Routine, where: Where, at: list[int], rows: list[dict[str, Any]], setups: Setups
    ) -> None:
        """One routine's rules of some setups, as columns of these setups."""
        devices: list[list[Any]] = [[] for _ in rows]
        for device in setups.devices:
            devices[device.setup].append(device)
        known = [known_of(setups.models[s], rows[s], devices[s]) for s in at]
        rules = [rule for rule in routine.rules if rule.conditions is not None]
        asked = [[one.condition for one in rule.conditions or ()] for rule in rules]
        columns = columns_of(known, [one for conditions in asked for one in conditions])
        failed = verdict(asked, columns, len(at)).failed
        given = 0
        for column, s in enumerate(at):
            self._fit(routine, rules, failed[:, column].tolist(), known[column], s)
            given += sum(line.rule is not None for line in self.schedules[s].lines)
            if given > MOST_GIVEN:
                self.reader.fault(
                    where,
                    f"a routine may give the setups of a request at most {MOST_GIVEN} lines (got {given} by "
                    f"the time of setup {s + 1}); cost fewer setups at a time.",
                )
                # What is refused for its length is not read any further.
                self.schedules = [Schedule([]) for _ in rows]
                return

    def _fit(self, routine: Routine, rules: list[Rule], failed: list[int], known: Known, s: int) -> None:
        schedule = self.schedules[s]
        told: dict[str, Any] = {"ref": routine.ref, "name": routine.name}
        if routine.since is not None:
            told["from"] = routine.since
        told |= {"fired": [], "not_fired": []}
        for rule, first in zip(rules, failed, strict=True):
            names = {"rule": rule.ref, "name": rule.name} | ({"why": rule.why} if rule.why else {})
            if first == ALL_HELD:
                told["fired"].append(names | self._fire(rule, schedule, s))
            else:
                asked = (rule.conditions or [])[first]
                told["not_fired"].append(names | {"because": because(asked, known.get(asked.condition.fact))})
        schedule.told = told

    def _fire(self, rule: Rule, schedule: Schedule, s: int) -> dict[str, list[Any]]:
        """Add and change lines; what is stated in the setup stays, and a line that is not there is told."""
        done: dict[str, list[Any]] = {"added": [], "changed": [], "kept": [], "no_line": []}
        for line, where in rule.add:
            ref = line.get("ref")
            there = schedule.by_ref.get(ref)
            if ref in self.shared or (there is not None and there.rule is None):
                done["kept"].append(ref)
            elif there is None:
                done["added"].append(ref)
                schedule.add(Fitted(line, where, rule.ref))
            elif there.rule != rule.ref:
                self.tell(
                    Fault(
                        pointer(*where, "ref"),
                        f"'{ref}' is added by rule '{there.rule}' too, which fires for the same setup; "
                        "rename one, or use 'change'.",
                    ),
                    s,
                )
        for change in rule.change:
            found = schedule.by_ref.get(change.line)
            if found is None:
                done["no_line"].append(change.line)
                continue
            done["changed"].append({"line": change.line, "how": change.how})
            if change.drop:
                schedule.drop(found)
                continue
            found.changed.append(rule.ref)
            if change.members:
                found.replace(change.members, change.where)
            else:
                found.scale *= change.scale
        return done

    def tell(self, fault: Fault, s: int) -> None:
        """A fault of one setup's lines; what lies in the request's own routine is told once for all."""
        if fault.pointer.startswith(pointer(*COMMON) + "/"):
            refs = self.common.setdefault((fault.pointer, fault.detail), [])
            if self.refs[s] not in refs:
                refs.append(self.refs[s])
        else:
            self.reader.faults.append(fault)

    def place(self, line: Fitted, before: int, s: int) -> None:
        """Move the faults that were found of a line since to where its members were sent."""
        found = self.reader.faults[before:]
        del self.reader.faults[before:]
        for fault in found:
            self.tell(line.place(fault), s)

    def tell_common(self) -> None:
        """The faults in the request's own routine; those of some setups only name them."""
        for (place, detail), refs in self.common.items():
            of = "" if len(refs) == len(self.refs) else f"for {_named(refs)}: "
            self.reader.faults.append(Fault(place, of + detail))


def _stated(setup: dict[str, Any], s: int) -> list[Fitted]:
    return [Fitted(obj(line), ("setups", s, "lines", i)) for i, line in enumerate(seq(setup.get("lines")))]


def _named(refs: Iterable[str]) -> str:
    """Some setups by name; many are cut short."""
    refs = list(refs)
    shown = ", ".join(f"'{ref}'" for ref in refs[:NAMED])
    more = f" and {len(refs) - NAMED} more" if len(refs) > NAMED else ""
    return f"{'setups' if len(refs) > 1 else 'setup'} {shown}{more}"
