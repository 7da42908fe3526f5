"""Good requests that between them use every field; an invented shop's tanks."""

from __future__ import annotations

import copy
from typing import Any

from service.schemas.examples import SMALL

Document = dict[str, Any]


def quantity(amount: Any, unit: str) -> Document:
    return {"amount": amount, "unit": unit}


def money(amount: str, currency: str = "GBP") -> Document:
    return {"amount": amount, "currency": currency}


def line(ref: str, **more: Any) -> Document:
    usage = {"kind": "rate", "amount": quantity("2", "1"), "every": "P1D"}
    return {
        "ref": ref,
        "name": f"Line {ref}",
        "category": "food",
        "usage": usage,
        "pack": quantity("30", "1"),
        "price": money("3.20"),
    } | more


def without(document: Document, key: str) -> Document:
    return {name: value for name, value in document.items() if name != key}


DEN: Document = {
    "ref": "den",
    "name": "Den reef",
    "water": "marine",
    "vessel": {
        "shape": "box",
        "outside": {
            "length": quantity("120", "cm"),
            "width": quantity("50", "cm"),
            "height": quantity("60", "cm"),
        },
        "pane": quantity("10", "mm"),
        "material": "glass",
        "water_depth": quantity("53", "cm"),
        "displaced": quantity("8", "%"),
        "sump_water": quantity("40", "L"),
        "sump_surface": quantity("0.15", "m2"),
        "contents_mass": quantity("35", "kg"),
        "stand_mass": quantity("60", "kg"),
    },
    "water_temperature": quantity("25.5", "Cel"),
    "room": {"temperature": quantity("21", "Cel"), "humidity": quantity("50", "%")},
    "cover": "open",
    "surface": "rippled",
    "salinity": quantity("35", "g/kg"),
    "water_change": {"portion": quantity("10", "%"), "every": "P7D"},
    "salt_mix": {"per_litre": quantity("38", "g/L"), "of": "finished"},
    "source_water": {
        "purified": True,
        "reject_ratio": "3",
        "temperature": quantity("8", "Cel"),
        "dissolved": quantity("410", "uS/cm"),
        "carbon_dioxide": quantity("5", "mg/L"),
    },
    "livestock": {"corals": "mixed", "fish": [{"count": 7, "length": quantity("8", "cm")}]},
    "alkalinity": {
        "tests": [
            {"on": "2026-10-01", "reading": quantity("8.6", "dKH")},
            {"on": "2026-10-08", "reading": quantity("7.9", "dKH")},
        ],
        "dosed": quantity("0.4", "meq/L"),
    },
    "limewater": True,
    "feeding": {"times_per_day": "2"},
    "testing": {"every": "P1W"},
    "heating": {"mode": "modelled", "rating": quantity("300", "W")},
    "cooling": {"mode": "chiller", "cop": "3"},
    "devices": [
        {
            "ref": "return",
            "power": quantity(30, "W"),
            "hours_per_day": "24",
            "placed": "in_water",
            "standby": quantity("0.5", "W"),
            "load": "0.8",
            "dimmed": 1,
            "speed": "0.7",
            "least_power": quantity("4", "W"),
        },
        {
            "ref": "lamp",
            "name": "Lamp",
            "power": quantity("150", "W"),
            "on": ["09:00", "19:00"],
            "ramp_up": quantity("45", "min"),
            "ramp_down": quantity("1", "h"),
        },
        {"ref": "air", "power": quantity("3", "W"), "hours_per_day": "24", "air": quantity("120", "L/h")},
    ],
    "measured": [
        {"what": "heating", "amount": quantity("60", "kW.h"), "from": "2026-09-01", "until": "2026-10-01"},
        {"what": "evaporation", "amount": quantity("80", "L"), "from": "2026-09-01", "until": "2026-10-01"},
        {
            "what": "purified_water",
            "amount": quantity("280", "L"),
            "from": "2026-09-01",
            "until": "2026-10-01",
        },
    ],
    "lines": [
        line(
            "salt",
            category="salt",
            usage={
                "kind": "follows",
                "driver": "water_changed_l",
                "amount": quantity("38.2", "g"),
                "per": quantity("1", "L"),
            },
            pack=quantity("20", "kg"),
            price=money("61.50"),
        ),
        line(
            "roll", category="filtration", usage={"kind": "life", "lasts": "P6W"}, price=money("9.80", "EUR")
        ),
        without(line("food", shelf_life="P6M", portion=quantity("2", "1")), "price")
        | {
            "prices": [
                money("3.20") | {"from": "2026-01-01"},
                money("3.45") | {"from": "2027-07-01", "until": "2029-01-01"},
            ]
        },
        without(line("membrane-2", usual="membrane", pack=quantity("1", "1")), "usage"),
        without(line("carbon", usual="activated-carbon", pack=quantity("1", "kg")), "usage"),
    ],
}

HALL: Document = {
    "ref": "hall",
    "water": "fresh",
    "vessel": {
        "shape": "cylinder",
        "outside": {"diameter": quantity("50", "cm")},
        "pane": quantity("6", "mm"),
        "water_depth": quantity("60", "cm"),
    },
    "room": {
        "temperature": [quantity(str(12 + month), "Cel") for month in range(12)],
        "altitude": quantity("500", "m"),
    },
    "cover": {"open_share": quantity("25", "%")},
    "surface": "still",
    "water_change": {"volume": quantity("20", "L"), "every": "P2W"},
    "source_water": {
        "purified": False,
        "chlorine": quantity("0.5", "mg/L"),
        "hardness": quantity("3", "dGH"),
    },
    "plants": "typical",
    "co2": {"mode": "bubbles", "per_second": "1.5", "hours_per_day": "10", "bubble": quantity("0.08", "mL")},
    "hardness": {"target": quantity("6", "dGH")},
    "heating": {"mode": "none"},
    "cooling": {"mode": "fan", "power": quantity("4", "W"), "air_speed": quantity("1.5", "m/s")},
    "measured": [
        {
            "what": "electricity",
            "amount": quantity("30", "kWh"),
            "from": "2026-09-01",
            "until": "2026-10-01",
        }
    ],
    "lines": [line("flakes", tax_code="reduced", price=money("3.20") | {"tax_included": True})],
}

FULL: Document = {
    "period": {"from": "2027-01-15", "until": "2028-02-29"},
    "currency": "GBP",
    "as_of": "2026-11-25",
    "setups": [DEN, HALL],
    "shared_lines": [
        line("membrane", category="water", share={"by": "fixed", "parts": {"den": "2", "hall": "1/3"}}),
        line("kit", category="testing", share={"by": "equal"}),
        line("sock", category="wear", share={"by": "driver", "driver": "days"}),
    ],
    "tariffs": {
        "electricity": {
            "currency": "GBP",
            "time_zone": "Europe/London",
            "holidays": ["2027-12-27"],
            "tax_code": "reduced",
            "tax_included": True,
            "versions": [
                {"from": "2026-10-01", "price": "0.2703", "standing_per_day": "0.53"},
                {
                    "from": "2027-04-01",
                    "bands": [
                        {"name": "night", "price": "0.11", "from": "00:30", "until": "05:30"},
                        {"name": "otherwise", "price": "0.31"},
                    ],
                },
            ],
        },
        "water": {
            "currency": "GBP",
            "versions": [
                {
                    "from": "2026-04-01",
                    "supply_per_m3": "2.11",
                    "sewerage_per_m3": "1.48",
                    "returned": quantity("95", "%"),
                }
            ],
        },
    },
    "exchange_rates": [
        {"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20", "source": "central bank"}
    ],
    "allow_stale_rates": False,
    "tax": {"basis": "gross", "rates": {"standard": "20", "reduced": 5}, "country": "GB"},
    "reserve": quantity("10", "%"),
    "range": {"draws": 2000},
    "detail": "workings",
}

BLOCKS: Document = {
    "period": {"from": "2027-01-01"},
    "currency": "JPY",
    "setups": [
        {
            "ref": "bay",
            "vessel": {
                "shape": "bow",
                "outside": {
                    "length": quantity("100", "cm"),
                    "width": quantity("40", "cm"),
                    "bow": quantity("10", "cm"),
                },
                "pane": quantity("1", "cm"),
                "water_depth": quantity("50", "cm"),
                "sand_depth": quantity("4", "cm"),
                "sand": "quartz",
                "rock_mass": quantity("6", "kg"),
            },
            "water": "brackish",
            "room": {"kind": "unheated", "hemisphere": "south"},
            "salinity": {
                "specific_gravity": "1.0105",
                "at": quantity("24", "Cel"),
                "reference": quantity("20", "Cel"),
            },
            "alkalinity": {"per_day": quantity("0.1", "meq/L")},
            "co2": {"mode": "surface", "target": quantity("20", "mg/L"), "hours_per_day": "9"},
            "devices": [{"ref": "pump", "power": quantity("20", "W"), "hours_per_day": 24}],
        },
        {
            "ref": "pond",
            "vessel": {
                "shape": "other",
                "water": quantity("1.2", "m3"),
                "open_surface": quantity("2", "m2"),
                "pane_area": quantity("3", "m2"),
                "pane": quantity("15", "mm"),
                "base_area": quantity("2.1", "m2"),
            },
            "co2": {
                "mode": "weighed",
                "amount": quantity("310", "g"),
                "from": "2026-08-01",
                "until": "2026-10-01",
            },
            "cooling": {"mode": "none"},
            "lines": [],
        },
    ],
    "shared_lines": [
        line("hose", price=money("900", "JPY"), share={"by": "standalone"}),
        line("pads", price=money("300", "JPY"), share={"by": "added"}),
    ],
    "tariffs": {
        "electricity": {
            "currency": "JPY",
            "versions": [
                {
                    "from": "2026-01-01",
                    "blocks": [
                        {"up_to": quantity("120", "kW.h"), "price": "29.8"},
                        {"up_to": None, "price": "36.4"},
                    ],
                    "other_use": quantity("250", "kW.h"),
                }
            ],
        }
    },
    "detail": "totals",
}

GOOD = (SMALL, FULL, BLOCKS)


def good(index: int = 1) -> Document:
    """A fresh copy of a good request."""
    return copy.deepcopy(GOOD[index])


def at(document: Any, *parts: str | int) -> Any:
    """What lies at a place of a document."""
    for part in parts:
        document = document[part]
    return document
