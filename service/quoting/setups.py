"""Setups of a request: each one's vessel, water changes, devices, readings and models."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from service.quoting.devices import Device, read_devices
from service.quoting.models import read_specification
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.readings import read_readings
from service.quoting.specification import MEAN_MONTH_DAYS, Specification
from service.quoting.usage import read_duration
from service.quoting.values import Pair
from service.quoting.vessel import read_vessel


@dataclass(slots=True)
class Setups:
    """Rows of setups as they are read."""

    refs: list[str] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    net_l: list[Fraction | None] = field(default_factory=list)
    change_l: list[Pair] = field(default_factory=list)
    change_every: list[tuple[int, int]] = field(default_factory=list)
    devices: list[Device] = field(default_factory=list)
    metered: list[tuple[int, Pair]] = field(default_factory=list)
    models: list[Specification] = field(default_factory=list)

    def heated(self) -> list[int]:
        """Setups with a line for heating; a meter of electricity covers it."""
        return [s for s, model in enumerate(self.models) if model.heated]

    def cooled(self) -> list[int]:
        """Setups with a line for cooling."""
        return [s for s, model in enumerate(self.models) if model.cooled]


def read_setup(reader: Reader, into: Setups, setup: dict[str, Any], where: Where) -> None:
    """One setup's facts, devices, readings and models."""
    index = len(into.refs)
    into.refs.append(str(setup.get("ref", "")))
    into.names.append(str(setup.get("name") or setup.get("ref", "")))
    vessel = read_vessel(reader, setup.get("vessel"), (*where, "vessel"), setup.get("water"))
    into.net_l.append(vessel.net_l)
    volume, every = _change(reader, setup, where, vessel.net_l)
    into.change_l.append(volume)
    into.change_every.append(every)
    devices = read_devices(reader, index, seq(setup.get("devices")), (*where, "devices"))
    into.devices += devices
    readings = read_readings(reader, seq(setup.get("measured")), (*where, "measured"))
    if "electricity" in readings:
        into.metered.append((index, readings["electricity"].per_day.as_integer_ratio()))
    days = every[0] + every[1] * MEAN_MONTH_DAYS
    changed_l_per_day = volume[0] / volume[1] / days if days else 0.0
    into.models.append(read_specification(reader, setup, where, vessel, devices, readings, changed_l_per_day))


def _change(
    reader: Reader, setup: dict[str, Any], where: Where, net: Fraction | None
) -> tuple[Pair, tuple[int, int]]:
    """Litres of one water change, and every how many (days, months)."""
    nothing = ((0, 1), (0, 0))
    change = obj(setup.get("water_change"))
    at = (*where, "water_change")
    every = None
    if isinstance(change.get("every"), str):
        every = read_duration(reader, change["every"], (*at, "every"))
    litres: Fraction | None = None
    if change.get("volume") is not None:
        volume = reader.quantity(change["volume"], (*at, "volume"), "volume")
        litres = Fraction(*volume) if volume else None
    elif change.get("portion") is not None:
        portion = reader.share(change["portion"], (*at, "portion"))
        if net is None and not obj(setup.get("vessel")):
            reader.fault(
                (*at, "portion"),
                "'portion' needs 'vessel', to know how much water there is; or give 'volume'.",
            )
        litres = portion * net if portion is not None and net is not None else None
    if every is None or litres is None:
        return nothing
    return litres.as_integer_ratio(), (every.days, every.months)
