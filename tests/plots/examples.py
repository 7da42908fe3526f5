"""The tanks of the worked examples, invented, as requests; a page's figures are worked out from them."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.engine.costing import work_out
from service.engine.tank import Balance, Estimate, Tank, balance, estimate
from service.quoting.costing import cost
from service.quoting.draws import draw, inputs_of
from service.quoting.ranges import evaluate
from service.quoting.request import Reading, read_request

Floats = NDArray[np.float64]

TODAY = date(2026, 11, 25)
YEAR = {"from": "2027-01-01", "until": "2028-01-01"}


def quantity(amount: str, unit: str) -> dict[str, str]:
    return {"amount": amount, "unit": unit}


def reef(**more: Any) -> dict[str, Any]:
    """The reef of 300 litres in a room of 21 degrees, open on top."""
    setup: dict[str, Any] = {
        "ref": "reef",
        "water": "marine",
        "vessel": {
            "shape": "box",
            "outside": {
                "length": quantity("120", "cm"),
                "width": quantity("50", "cm"),
                "height": quantity("60", "cm"),
            },
            "pane": quantity("10", "mm"),
            "water_depth": quantity("53", "cm"),
        },
        "water_temperature": quantity("25.5", "Cel"),
        "room": {"temperature": quantity("21", "Cel"), "humidity": quantity("50", "%")},
        "cover": "open",
        "surface": "rippled",
        "salinity": quantity("35", "1"),
        "water_change": {"volume": quantity("30", "L"), "every": "P7D"},
        "source_water": {"purified": True, "temperature": quantity("15", "Cel")},
        "heating": {"mode": "modelled", "rating": quantity("300", "W")},
        "devices": [
            {"ref": "pump", "power": quantity("30", "W"), "hours_per_day": "24", "placed": "in_water"},
            {"ref": "return", "power": quantity("20", "W"), "hours_per_day": "24", "placed": "outside"},
            {"ref": "lamp", "power": quantity("150", "W"), "hours_per_day": "10", "placed": "above"},
        ],
    }
    return setup | more


def asked(setup: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A request for a year of one setup."""
    return {"period": YEAR, "currency": "GBP", "setups": [setup]} | more


def answered(setup: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The answer to it, of which the first setup is of interest."""
    return cost(asked(setup, **more), TODAY)


def read(setup: dict[str, Any]) -> Reading:
    return read_request(asked(setup), TODAY)


def by_month(setup: dict[str, Any], driver: str) -> list[float]:
    """A driver of a setup by the months of 2027."""
    shown = answered(setup)["setups"][0]["drivers"][driver]
    return [float(amount) for amount in shown]


def tank_of(setup: dict[str, Any]) -> Tank:
    models = read(setup).case.habits.models
    assert models is not None and models.tank is not None
    return models.tank


def estimated(setup: dict[str, Any]) -> Estimate:
    models = read(setup).case.habits.models
    assert models is not None and models.tank is not None
    return estimate(models.tank, models.readings)


def priced() -> dict[str, Any]:
    """The reef in a room of which nothing is said, with what it uses up and invented prices."""

    def bought(usual: str, category: str, pack: str, unit: str, price: str) -> dict[str, Any]:
        amount = {"amount": price, "currency": "GBP"}
        return {
            "ref": usual,
            "usual": usual,
            "category": category,
            "pack": quantity(pack, unit),
            "price": amount,
        }

    lines = [
        bought("salt-mix", "salt", "20", "kg", "60.00"),
        bought("frozen-food", "food", "30", "1", "3.40"),
        bought("membrane", "water", "1", "1", "48.00"),
        bought("resin", "water", "1", "L", "16.00"),
        bought("uv-lamp", "wear", "1", "1", "22.00"),
    ]
    versions = [{"from": "2026-10-01", "price": "0.28"}]
    setup = reef(room={}, feeding={"times_per_day": "2"}, lines=lines)
    return asked(
        setup, tariffs={"electricity": {"currency": "GBP", "versions": versions}}, range={"draws": 2000}
    )


@lru_cache(maxsize=1)
def priced_answer() -> dict[str, Any]:
    return cost(priced(), TODAY)


def costs_of_draws() -> tuple[float, float, float, Floats]:
    """The usual cost of that reef in a year, the ends of its range, and the cost in each draw, in pounds."""
    reading = read_request(priced(), TODAY)
    drawn = evaluate(reading, work_out(reading.case), draw(inputs_of(reading), 2000)).household
    answer = priced_answer()
    total, found = float(answer["total"]), answer["range"]
    return total, float(found["low"]), float(found["high"]), total + (drawn[1:] - drawn[0]) / 100


@lru_cache(maxsize=1)
def reef_balance() -> Balance:
    """All terms of the reef's heat balance."""
    tank = tank_of(reef())
    return balance(tank, tank.water_c, tank.evaporation_ratio)
