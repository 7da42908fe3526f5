"""What is unusual about a setup or its figures: worth a second look, but no fault."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from service.engine.costing import Result
from service.engine.drivers import DRIVERS
from service.engine.tank import EVAPORATION_BOUNDS, HEATING_BOUNDS, Checked, Estimate, Tank, reached_c
from service.quoting.request import Reading
from service.quoting.specification import Specification

MONTHS = ("January", "February", "March", "April", "May", "June", "July",
          "August", "September", "October", "November", "December")  # fmt: skip
# Ranges within which the correlation was verified. Source: shah-2002.
SHAH_WATER_C, SHAH_ROOM_C, SHAH_HUMIDITY = (7.0, 94.0), (6.0, 35.0), (0.28, 0.95)
# Share of the water lost in a day, and mean power of a heater for a litre. Source: common-practice.
USUAL_EVAPORATION = (0.00005, 0.04)
USUAL_HEATER_W_PER_L = (0.02, 2.0)
MOST_OF_RATING = 0.8

Note = dict[str, str]


def notes(reading: Reading, result: Result) -> list[Note]:
    """All notes of an answer, by setup."""
    found: list[Note] = []
    models, estimate = reading.case.habits.models, result.driven.estimate
    for s, model in enumerate(reading.setups.models):
        pointer = f"#/setups/{s}"
        told = list(_stated(model, reading.document["setups"][s].get("water")))
        if models is not None and models.tank is not None and estimate is not None:
            tank = Tank(*(column[s : s + 1] for column in models.tank))
            told += [
                *_estimated(model, tank, estimate, s),
                *_read(model, estimate, s),
                *_limewater(model, result, s),
            ]
        found += [{"code": code, "pointer": pointer, "text": text} for code, text in told]
    return found


def _stated(model: Specification, water: object) -> Iterator[tuple[str, str]]:
    """What was stated and is possible, but unusual."""
    tank = model.tank
    salinity, warm = tank["salinity_g_per_kg"], tank["water_c"]
    if "evaporated_l" in model.known and not model.tank["floating"] and not 18 <= warm <= 30:
        yield (
            "unusual_temperature",
            f"Water of {warm:g} degrees is unusual for an aquarium; check the figure.",
        )
    if water == "marine" and not 30 <= salinity <= 38:
        yield (
            "unusual_salinity",
            f"A salinity of {salinity:.1f} g/kg is unusual for a marine aquarium; check the figure.",
        )
    if water == "fresh" and salinity > 2:
        yield (
            "unusual_salinity",
            f"Fresh water with {salinity:.1f} g/kg of salt is unusual; check 'water' and 'salinity'.",
        )
    if salinity > 42:
        yield (
            "beyond_model",
            "The density of sea water is published up to 42 g/kg; beyond it is an extrapolation.",
        )


def _estimated(model: Specification, tank: Tank, estimate: Estimate, s: int) -> Iterator[tuple[str, str]]:
    """What came out of the models and is unusual, or lies beyond what they were checked for."""
    if model.vessel.surface_m2 is None:
        return
    room_c = tank.room_c + tank.room_shift_c
    water_c = np.broadcast_to(estimate.water_c[s : s + 1], room_c.shape)
    beyond = [
        name
        for name, values, (low, high) in (
            ("the water's temperature", water_c, SHAH_WATER_C),
            ("the room's temperature", room_c, SHAH_ROOM_C),
            ("the humidity", tank.humidity_share, SHAH_HUMIDITY),
        )
        if bool((values < low).any() or (values > high).any())
    ]
    if beyond:
        yield (
            "beyond_model",
            "The formula for evaporation was checked on measurements within certain ranges; "
            f"{' and '.join(beyond)} of this setup lies outside them, so the estimate is less certain.",
        )
    volume = float(tank.water_l[0, 0])
    share = float(np.mean(estimate.evaporated_l.per_day[s])) / volume if volume else 0.0
    if volume and not USUAL_EVAPORATION[0] <= share <= USUAL_EVAPORATION[1]:
        yield (
            "unusual_evaporation",
            f"An evaporation of {100 * share:.3g} % of the water a day is unusual; check cover, surface "
            "and room.",
        )
    if tank.floating.any():
        yield (
            "unheated",
            f"Without heating the water is estimated at {float(water_c.min()):.1f} to "
            f"{float(water_c.max()):.1f} degrees over the year; check that the animals can bear it.",
        )
        return
    yield from _heater(model, tank, estimate, s, volume)


def _heater(
    model: Specification, tank: Tank, estimate: Estimate, s: int, volume: float
) -> Iterator[tuple[str, str]]:
    """Heaters that do not suffice or look odd, and water that gets too warm."""
    heater_w = estimate.heater_w[s]
    rating_w = float(tank.rating_w[0, 0])
    most_w = float(heater_w.max())
    if tank.heated.any() and np.isfinite(rating_w) and most_w >= MOST_OF_RATING * rating_w:
        reached = reached_c(tank, np.full_like(tank.water_c, rating_w))[0]
        short = reached < float(tank.water_c[0, 0]) - 0.05
        if bool(short.any()):
            yield (
                "heater_too_small",
                f"The heater's {rating_w:g} W cannot hold the temperature in {_months(short)}; the water "
                f"would fall to about {float(reached.min()):.1f} degrees. Its energy is counted at full "
                "power there.",
            )
        elif most_w:
            yield (
                "heater_at_limit",
                f"The heater would run at up to {100 * most_w / rating_w:.0f} % of its rating; a larger one "
                "is usual.",
            )
    per_litre = float(heater_w.mean()) / volume if volume else 0.0
    if tank.heated.any() and volume and not USUAL_HEATER_W_PER_L[0] <= per_litre <= USUAL_HEATER_W_PER_L[1]:
        yield (
            "unusual_heating",
            f"A mean heater power of {per_litre:.2g} W a litre is unusual; check temperatures, cover and "
            "devices.",
        )
    warm = np.broadcast_to(estimate.cooling_w[s] > 1.0, estimate.cooling_w[s].shape)
    if model.heated and not model.cooled and bool(warm.any()):
        highest = reached_c(tank, np.zeros_like(tank.water_c))[0]
        yield (
            "may_overheat",
            f"Nothing cools the water, which is estimated to be warmer than it is kept in {_months(warm)}, "
            f"up to about {float(highest.max()):.1f} degrees.",
        )
    if model.heated or model.cooled:
        yield (
            "room",
            "Heat and vapour that the aquarium gives off warm and moisten the room; what that saves or costs "
            "there is not in the figures.",
        )


def _read(model: Specification, estimate: Estimate, s: int) -> Iterator[tuple[str, str]]:
    """Readings so far from the estimate that an input is likely wrong."""
    checks: tuple[tuple[str, Checked, tuple[float, float]], ...] = (
        ("evaporation", estimate.evaporated_l, EVAPORATION_BOUNDS),
        ("heating", estimate.heating_kwh, HEATING_BOUNDS),
        ("purified_water", estimate.used_l, EVAPORATION_BOUNDS),
    )
    for what, check, bounds in checks:
        metered = model.readings.get(what)
        modelled = float(check.model[s, 0])
        if metered is None or modelled <= 0:
            continue
        raw = float(metered.amount) / modelled
        if not bounds[0] <= raw <= bounds[1]:
            yield (
                "reading_far_off",
                f"The reading of {what.replace('_', ' ')} is {raw:.3g} times the estimate, which tells of a "
                "wrong input (units, gallons, lid, salinity); the estimate was changed by no more than "
                f"{bounds[0]:g} to {bounds[1]:g} times.",
            )


def _limewater(model: Specification, result: Result, s: int) -> Iterator[tuple[str, str]]:
    """Limewater that cannot carry all that is used."""
    if "limewater_g" in model.known and bool((result.drivers["alkalinity_meq"][s] > 0).any()):
        yield (
            "limewater_ceiling",
            "Topping up cannot carry all the alkalinity as limewater; what is left is under 'alkalinity_meq' "
            f"({DRIVERS['alkalinity_meq'][1]}) and needs another source.",
        )


def _months(which: object) -> str:
    marked = np.asarray(which)
    if marked.size == 1 or bool(marked.all()):
        return "every month"
    return ", ".join(name for name, on in zip(MONTHS, marked.tolist(), strict=True) if on)
