"""Devices of a setup: when they are on, what they draw, and where their heat goes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from service.engine.tariff import Shape
from service.quoting.bounds import within_exactly
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.values import Pair, minute_of

ALL_DAY = Shape(True)
EVEN = Shape(False)
NOTHING: Pair = (0, 1)


@dataclass(slots=True)
class Device:
    """One device as read. watts hold load, dimming, speed and ramps."""

    setup: int
    ref: str
    name: str
    watts: Pair
    standby: Pair
    hours: Pair
    shape: Shape
    placed: str | None
    air_l_per_day: float
    where: Where

    @property
    def mean_w(self) -> float:
        """Power over the whole day."""
        hours = self.hours[0] / self.hours[1]
        on = self.watts[0] / self.watts[1] * hours
        return (on + self.standby[0] / self.standby[1] * (24 - hours)) / 24


def read_devices(reader: Reader, setup: int, rows: list[Any], where: Where) -> list[Device]:
    """Devices of one setup; one with a fault is left out."""
    found = []
    for i, row in enumerate(rows):
        device = _read(reader, setup, obj(row), (*where, i))
        if device is not None:
            found.append(device)
    return found


def _read(reader: Reader, setup: int, row: dict[str, Any], at: Where) -> Device | None:
    power = within_exactly(reader, row.get("power"), (*at, "power"), "power")
    standby: Fraction | None = Fraction(0)
    if row.get("standby") is not None:
        standby = within_exactly(reader, row["standby"], (*at, "standby"), "power")
    hours = reader.number(row.get("hours_per_day"))
    if hours is not None and not 0 <= Fraction(*hours) <= 24:
        reader.fault(
            (*at, "hours_per_day"), f"'hours_per_day' must be from 0 to 24 (got {row['hours_per_day']})."
        )
        hours = None
    share = Fraction(1)
    for key in ("load", "dimmed"):
        share *= _share(reader, row, key, at)
    shape, hours = _shape(reader, row, at, hours)
    if power is not None and "speed" in row:
        power = _slowed(reader, row, at, power)
    if hours is not None:
        share *= _ramped(reader, row, at, Fraction(*hours))
    air = 0.0
    if row.get("air") is not None:
        air = float(within_exactly(reader, row["air"], (*at, "air"), "air flow") or 0)
    if power is None or standby is None or hours is None or shape is None:
        return None
    ref = str(row.get("ref", ""))
    placed = row.get("placed")
    return Device(
        setup, ref, str(row.get("name") or ref), (power * share).as_integer_ratio(),
        standby.as_integer_ratio(), hours, shape, placed if isinstance(placed, str) else None, air, at,
    )  # fmt: skip


def _share(reader: Reader, row: dict[str, Any], key: str, at: Where) -> Fraction:
    """A plain share of a device; one where it is not given."""
    value = reader.number(row.get(key))
    if value is None:
        return Fraction(1)
    if not 0 <= Fraction(*value) <= 1:
        reader.fault((*at, key), f"'{key}' must be from 0 to 1 (got {row[key]}).")
    return Fraction(*value)


def _slowed(reader: Reader, row: dict[str, Any], at: Where, power: Fraction) -> Fraction | None:
    """Power of a pump at part of its speed: what it draws at any speed, and the rest by the cube.

    An estimate only: a height to be lifted breaks the law. Source: pump-affinity.
    """
    speed = _share(reader, row, "speed", at)
    least: Fraction | None = Fraction(0)
    if row.get("least_power") is not None:
        least = within_exactly(reader, row["least_power"], (*at, "least_power"), "power")
    if least is None:
        return None
    if least > power:
        reader.fault(
            (*at, "least_power"),
            f"'least_power' must not be over 'power' (got {float(least):g} W of {float(power):g} W).",
        )
        return None
    return least + (power - least) * speed**3


def _ramped(reader: Reader, row: dict[str, Any], at: Where, hours: Fraction) -> Fraction:
    """What is left of the power of a lamp that rises and falls: half of each ramp counts."""
    ramps = Fraction(0)
    for key in ("ramp_up", "ramp_down"):
        if row.get(key) is not None:
            ramps += 24 * (within_exactly(reader, row[key], (*at, key), "ramp") or 0)
    if not ramps:
        return Fraction(1)
    if ramps > hours:
        reader.fault(
            (*at, "ramp_up" if row.get("ramp_up") is not None else "ramp_down"),
            f"ramps must not be longer than the hours a day (got {float(ramps):g} of {float(hours):g} h).",
        )
        return Fraction(1)
    return 1 - ramps / 2 / hours


def _shape(
    reader: Reader, row: dict[str, Any], at: Where, hours: Pair | None
) -> tuple[Shape | None, Pair | None]:
    """When a device is on, and for how long: the length of `on` where no hours are given."""
    on = seq(row.get("on"))
    times = [minute_of(t) for t in on if isinstance(t, str)]
    if len(times) != 2:
        if hours is None:
            return None, None
        return (ALL_DAY if hours == (24, 1) else EVEN), hours
    start, end = times
    if start == end:
        reader.fault((*at, "on"), f"'on' must not begin and end at the same time (got {on[0]} twice).")
        return None, None
    length = (end - start) % 1440
    if hours is None and row.get("hours_per_day") is None:
        hours = Fraction(length, 60).as_integer_ratio()
    if hours is not None and Fraction(*hours) * 60 > length:
        reader.fault(
            (*at, "hours_per_day"),
            f"'hours_per_day' must not be over the time from {on[0]} to {on[1]} "
            f"(got {row['hours_per_day']} for {length / 60:g} hours).",
        )
        return None, None
    spans = ((start, end),) if start < end else ((0, end), (start, 1440))
    return Shape(False, tuple(s for s in spans if s[0] < s[1])), hours
