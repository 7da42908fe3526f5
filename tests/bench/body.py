"""The request that the benchmarks cost: one setup of 25 lines, as a shop would send it."""

from __future__ import annotations

from typing import Any


def _quantity(amount: str, unit: str) -> dict[str, str]:
    return {"amount": amount, "unit": unit}


def _line(i: int) -> dict[str, Any]:
    line: dict[str, Any] = {"ref": f"line-{i}", "name": f"Consumable number {i}"}
    kind = i % 5
    if kind == 0:
        line |= {
            "category": "salt",
            "usage": {
                "kind": "follows",
                "driver": "water_changed_l",
                "amount": _quantity(f"{30 + i}.2", "g"),
                "per": _quantity("1", "L"),
            },
            "pack": _quantity("20", "kg"),
        }
    elif kind == 1:
        line |= {
            "category": "filtration",
            "usage": {"kind": "life", "lasts": ("P6W", "P45D", "P1Y")[i % 3]},
            "pack": _quantity("1", "1"),
        }
    else:
        line |= {
            "category": ("food", "additives", "testing")[kind - 2],
            "usage": {
                "kind": "rate",
                "amount": _quantity(f"{i}.5", "mL"),
                "every": ("P1D", "P1W", "P3D")[i % 3],
            },
            "pack": _quantity("500", "mL"),
        }
    if kind == 3:
        line["shelf_life"] = "P180D"
    if i % 8 == 2:
        line["prices"] = [
            {"amount": f"{3 + i}.20", "currency": "GBP", "from": "2026-01-01"},
            {"amount": f"{3 + i}.45", "currency": "GBP", "from": "2027-07-01"},
        ]
    else:
        line["price"] = {"amount": f"{4 + i}.95", "currency": "EUR" if i % 7 == 3 else "GBP"}
    return line


def body(lines: int = 25) -> dict[str, Any]:
    """A request with so many lines, three of them electricity of devices."""
    devices = [
        {
            "ref": "return",
            "name": "Return pump",
            "power": _quantity("30", "W"),
            "hours_per_day": "24",
            "placed": "in_water",
        },
        {
            "ref": "skimmer",
            "name": "Skimmer",
            "power": _quantity("12", "W"),
            "hours_per_day": "24",
            "placed": "outside",
        },
        {
            "ref": "lamp",
            "name": "Lamp",
            "power": _quantity("150", "W"),
            "hours_per_day": "10",
            "placed": "above",
            "on": ["09:00", "19:00"],
        },
    ]
    return {
        "period": {"from": "2027-01-01", "until": "2028-01-01"},
        "as_of": "2026-11-25",
        "currency": "GBP",
        "setups": [
            {
                "ref": "den",
                "name": "Den reef",
                "water": "marine",
                "vessel": {
                    "shape": "box",
                    "outside": {
                        "length": _quantity("120", "cm"),
                        "width": _quantity("50", "cm"),
                        "height": _quantity("60", "cm"),
                    },
                    "pane": _quantity("10", "mm"),
                    "material": "glass",
                    "water_depth": _quantity("53", "cm"),
                },
                "water_change": {"portion": _quantity("10", "%"), "every": "P7D"},
                "devices": devices,
                "lines": [_line(i) for i in range(lines - len(devices))],
            }
        ],
        "tariffs": {
            "electricity": {
                "currency": "GBP",
                "time_zone": "Europe/London",
                "versions": [
                    {"from": "2026-10-01", "price": "0.2703"},
                    {"from": "2027-04-01", "price": "0.2810"},
                ],
            }
        },
        "exchange_rates": [{"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20"}],
        "reserve": _quantity("10", "%"),
    }


def _usual(ref: str, category: str, usual: str, pack: tuple[str, str], price: str) -> dict[str, Any]:
    return {
        "ref": ref,
        "category": category,
        "usual": usual,
        "pack": _quantity(*pack),
        "price": {"amount": price, "currency": "GBP"},
    }


USUALS = (
    ("salt", "salt", "salt-mix", ("20", "kg"), "61.50"),
    ("membrane", "water", "membrane", ("1", "1"), "48.00"),
    ("sediment", "water", "sediment-cartridge", ("1", "1"), "7.90"),
    ("carbon-block", "water", "carbon-cartridge", ("1", "1"), "9.40"),
    ("resin", "water", "resin", ("5", "L"), "39.50"),
    ("bicarbonate", "additives", "sodium-bicarbonate", ("1", "kg"), "8.20"),
    ("chloride", "additives", "calcium-chloride", ("1", "kg"), "9.90"),
    ("magnesium", "additives", "magnesium-chloride", ("1", "kg"), "9.10"),
)


def full_body(lines: int = 25) -> dict[str, Any]:
    """The same setup with everything estimated: 25 lines, five of electricity and eight by usual values."""
    document = body(lines - 2)
    setup = document["setups"][0]
    setup |= {
        "water_temperature": _quantity("25.5", "Cel"),
        "room": {"humidity": _quantity("50", "%")},
        "cover": {"open_share": _quantity("40", "%")},
        "surface": "rippled",
        "salinity": _quantity("35", "g/kg"),
        "source_water": {"purified": True, "reject_ratio": "3", "temperature": _quantity("15", "Cel")},
        "heating": {"mode": "modelled", "rating": _quantity("300", "W")},
        "cooling": {"mode": "chiller"},
        "livestock": {"corals": "mixed", "fish": [{"count": "6", "length": _quantity("6", "cm")}]},
        "feeding": {"times_per_day": "2"},
        "testing": {"every": "P1W"},
    }
    setup["lines"][-len(USUALS) :] = [_usual(*usual) for usual in USUALS]
    return document
