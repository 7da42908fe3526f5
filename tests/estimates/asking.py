"""Asking for estimates: setups in a keeper's words, and the figures of an answer as numbers."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np

from service.engine.costing import Result, work_out
from service.quoting import cost
from service.quoting.request import Reading, read_request
from tests.pieces import TODAY, Document, device, electricity, quantity, request

POWER = electricity({"price": "0.30"})
WATER = {
    "water": {
        "currency": "GBP",
        "versions": [{"from": "2026-04-01", "supply_per_m3": "2.11", "sewerage_per_m3": "1.48"}],
    }
}
MAINS = POWER | WATER
MEAN_MONTH_DAYS = 365.25 / 12


def celsius(degrees: Any) -> Document:
    return quantity(str(degrees), "Cel")


def per_cent(share: Any) -> Document:
    return quantity(str(share), "%")


def watts(power: Any) -> Document:
    return quantity(str(power), "W")


def room(degrees: Any, humidity: Any = 50) -> Document:
    return {"temperature": celsius(degrees), "humidity": per_cent(humidity)}


def box(length: str = "120", width: str = "50", height: str = "60", depth: str = "53") -> Document:
    """A box of 10 mm glass, in centimetres."""
    outside = {
        "length": quantity(length, "cm"),
        "width": quantity(width, "cm"),
        "height": quantity(height, "cm"),
    }
    return {
        "shape": "box",
        "outside": outside,
        "pane": quantity("10", "mm"),
        "water_depth": quantity(depth, "cm"),
    }


def pump(ref: str = "pump", power: Any = 30, placed: str | None = "in_water") -> Document:
    one = device(ref, power=watts(power))
    return one if placed is None else one | {"placed": placed}


def lamp(power: Any = 150, hours: str = "10", placed: str = "above") -> Document:
    return device("lamp", power=watts(power), hours_per_day=hours, placed=placed)


def changed(document: Document, **members: Any) -> Document:
    """A setup with some members in place of its own; None leaves one out."""
    found = copy.deepcopy(document) | members
    return {name: value for name, value in found.items() if value is not None}


def reef(ref: str = "den", **members: Any) -> Document:
    """The first worked example: an open marine tank of 300 litres, every figure of it stated."""
    stated = {
        "ref": ref,
        "water": "marine",
        "vessel": box(),
        "water_temperature": celsius("25.5"),
        "room": room(21),
        "cover": "open",
        "surface": "rippled",
        "salinity": quantity("35.165", "g/kg"),
        "water_change": {"volume": quantity("30", "L"), "every": "P7D"},
        "source_water": {"purified": True, "reject_ratio": "3", "temperature": celsius(15)},
        "heating": {"mode": "modelled", "rating": watts(300)},
        "devices": [pump("return", 30), pump("outside", 20, "outside"), lamp()],
        "lines": [],
    }
    return changed(stated, **members)


def planted(ref: str = "desk", **members: Any) -> Document:
    """A covered freshwater tank of 60 litres, every figure of it stated."""
    stated = {
        "ref": ref,
        "water": "fresh",
        "vessel": box("60", "30", "38", "35") | {"pane": quantity("5", "mm")},
        "water_temperature": celsius(25),
        "room": room(20),
        "cover": {"open_share": per_cent(5)},
        "surface": "still",
        "water_change": {"volume": quantity("15", "L"), "every": "P7D"},
        "source_water": {"purified": False, "temperature": celsius(20)},
        "heating": {"mode": "modelled", "rating": watts(50)},
        "devices": [pump("filter", 5), lamp(12, "8", "hood")],
        "lines": [],
    }
    return changed(stated, **members)


def asked(*setups: Document, **more: Any) -> Document:
    """A year of some setups under tariffs of electricity and water."""
    return request(setups=list(setups), **({"tariffs": MAINS} | more))


def answered(*setups: Document, **more: Any) -> Document:
    return cost(asked(*setups, **more), TODAY)


def amounts(answer: Document, driver: str, setup: int = 0) -> list[float]:
    """A driver by month."""
    return [float(amount) for amount in answer["setups"][setup]["drivers"][driver]]


def whole(answer: Document, driver: str, setup: int = 0) -> float:
    return sum(amounts(answer, driver, setup))


def per_day(answer: Document, driver: str, setup: int = 0) -> list[float]:
    """A driver on a day of each month."""
    days = [month["days"] for month in answer["period"]["months"]]
    return [a / d for a, d in zip(amounts(answer, driver, setup), days, strict=True)]


def line_totals(answer: Document, setup: int = 0) -> dict[str, float]:
    return {line["ref"]: float(line["total"]) for line in answer["setups"][setup]["lines"]}


def codes(answer: Document) -> list[str]:
    """What the notes of an answer are about."""
    return [note["code"] for note in answer["notes"]]


def text_of(answer: Document, code: str) -> str:
    """The one note of a kind."""
    texts = [note["text"] for note in answer["notes"] if note["code"] == code]
    assert len(texts) == 1, (code, answer["notes"])
    return str(texts[0])


def worked_out(document: Document) -> tuple[Reading, Result]:
    """A request read and costed, with the columns behind the answer."""
    reading = read_request(document, TODAY)
    return reading, work_out(reading.case)


def column(value: Any) -> Any:
    """A figure as a column of one setup."""
    return np.full((1, 1), float(value))
