"""A small answer in the contract's shape, so that the layout is tested without the engine."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from itertools import pairwise
from typing import Any

CATEGORIES = ("energy", "salt", "food")


def months(first: str, count: int) -> list[dict[str, Any]]:
    """Whole months from the first of one."""
    start = date.fromisoformat(first)
    firsts = [
        date(start.year + (start.month - 1 + k) // 12, (start.month - 1 + k) % 12 + 1, 1)
        for k in range(count + 1)
    ]
    return [
        {"from": a.isoformat(), "until": b.isoformat(), "days": (b - a).days} for a, b in pairwise(firsts)
    ]


def total(amounts: list[str]) -> str:
    return str(sum(map(Decimal, amounts), Decimal("0.00")))


def line(ref: str, name: str, category: str, cells: list[str]) -> dict[str, Any]:
    return {
        "ref": ref, "name": name, "category": category, "used": {"amount": "1.000", "unit": "g"},
        "packs": "1.000", "months": cells, "total": total(cells),
    }  # fmt: skip


def setup(ref: str, name: str, count: int, step: int = 1) -> dict[str, Any]:
    """Four lines in three categories; the salt costs nothing in every third month."""
    lines = [
        line("electricity:pump", "Pump", "energy", [f"{3 + k * step}.07" for k in range(count)]),
        line("electricity:lamp", "Lamp", "energy", [f"{11 + k}.50" for k in range(count)]),
        line("salt", "Salt mix", "salt", ["0.00" if k % 3 == 2 else "16.45" for k in range(count)]),
        line("net", "Shared food", "food", ["2.10"] * count),
    ]
    categories = []
    for category in CATEGORIES:
        rows = [x["months"] for x in lines if x["category"] == category]
        cells = [total(list(column)) for column in zip(*rows, strict=True)]
        categories.append({"category": category, "months": cells, "total": total(cells)})
    before = [total(list(column)) for column in zip(*(c["months"] for c in categories), strict=True)]
    reserve = ["1.25"] * count
    cells = [total([a, b]) for a, b in zip(before, reserve, strict=True)]
    return {
        "ref": ref, "name": name, "facts": {"net_volume": {"amount": "316.177", "unit": "L"}},
        "drivers": {"water_changed_l": ["140.022"] * count, "electricity_kwh": ["12.500"] * count},
        "lines": lines, "categories": categories, "subtotal": total(before), "reserve": total(reserve),
        "total": total(cells), "months": cells, "month_average": "33.33",
    }  # fmt: skip


def answer(count: int = 12, setups: int = 2, first: str = "2027-01-01") -> dict[str, Any]:
    """A whole answer of so many months and setups."""
    made = [setup(f"tank{i}", f"Tank number {i}", count, i + 1) for i in range(setups)]
    spans = months(first, count)
    cells = [total(list(column)) for column in zip(*(s["months"] for s in made), strict=True)]
    return {
        "document_kind": "estimate",
        "period": {
            "from": spans[0]["from"], "until": spans[-1]["until"],
            "days": sum(m["days"] for m in spans), "months": spans,
        },
        "currency": "GBP", "setups": made,
        "shared": [
            {
                "ref": "net", "by": "fixed", "total": "50.40",
                "parts": {s["ref"]: s["lines"][3]["total"] for s in made},
            }
        ],
        "total": total(cells), "months": cells, "month_average": "66.66",
        "purchases": [
            {"on": f"2027-{k + 1:02d}-15", "ref": ref, "setup": owner, "packs": packs, "cost": "8.47"}
            for k in range(8)
            for ref, owner, packs in (("salt", "tank0", 1), ("net", None, 3))
        ],
        "assumptions": [
            {"about": "Heating", "value": "not counted yet", "low": None, "high": None, "source": None},
            {"about": "Dimming", "value": "1", "low": "0.5", "high": "1", "source": "as entered"},
        ],
        "cautions": [{"code": "mains_near_water", "text": "Mains power and water are near each other."}],
        "rates_used": [{"from": "EUR", "to": "GBP", "rate": "0.8640", "on": "2026-11-20"}],
        "tax": {
            "basis": "gross",
            "rates": [{"code": "standard", "rate": "20", "net": "10.00", "tax": "2.00", "gross": "12.00"}],
            "net": "10.00", "tax": "2.00", "gross": "12.00",
        },
        "standing_charges": [{"tariff": "electricity", "total": "219.95", "charged": False}],
        "notice": "This is an estimate.", "engine": {"version": "0"},
    }  # fmt: skip


def estimated(count: int = 12, setups: int = 2) -> dict[str, Any]:
    """The same with what an answer has where use was modelled and a range and scenarios were asked for.

    The keys of reviewed values are real, for their names come from the service's own data.
    """
    made = answer(count, setups)
    for setup in made["setups"]:
        setup["facts"] |= {
            "open_surface": {"amount": "0.566", "unit": "m2"},
            "filled_mass": {"amount": "462.148", "unit": "kg"},
            "floor_load": {"amount": "770.247", "unit": "kg/m2"},
        }
        setup["drivers"] |= {
            "evaporated_l": ["91.250"] * count,
            "feed_water_l": ["0.000"] * count,
            "heating_kwh": ["8.000"] * count,
            "devices_kwh": ["4.500"] * count,
        }
        setup["range"] = spread(setup["total"], "0.40")
    made["range"] = spread(made["total"], "0.60")
    made["setups"][0]["measured"] = [
        {
            "what": "evaporation",
            "days": 30,
            "reading": {"amount": "97.500", "unit": "L"},
            "estimate": {"amount": "99.067", "unit": "L"},
            "factor": "0.984",
        }
    ]
    made["scenarios"] = [
        scenario(made, "dear", "Dear power", "12.30"),
        scenario(made, "lid", "A lid", "-4.50"),
    ]
    made["notes"] = [
        {"code": "room", "pointer": f"#/setups/{s}", "text": "The room is warmed."} for s in range(setups)
    ] + [{"code": "may_overheat", "pointer": "#/setups/0", "text": "It gets too warm."}]
    made["assumptions"] = [
        {"about": "tariffs.water", "value": "not charged", "low": None, "high": None, "source": "request"},
        *(granted(f"setups.tank{s}.cover", "open, since none was given") for s in range(setups)),
        taken("heat.outside_up_m2k_w", "0.10", "0.10", "0.10", "m2.K/W", "iso-6946"),
        taken("room.humidity", "0.50", "0.40", "0.60", "1"),
        taken("room.temperature.heated", HEATED, "17.5, 18", "21.5, 25.5", "Cel"),
        taken("usual.membrane", "P3Y", "P1Y", "P5Y", "d"),
        taken("usual.membrane", "P3Y", "P1Y", "P5Y", "d"),
    ]
    return made


HEATED = "19.5, 19.5, 20, 20.5, 21, 22.5, 23.5, 23.5, 22, 20.5, 20, 19.5"


def spread(amount: str, largest: str) -> dict[str, Any]:
    """A range of ten each way in which the room makes so much, and the membrane a tenth."""
    whole = int(Decimal(amount))
    return {
        "low": f"{whole - 10}.00", "high": f"{whole + 10}.00", "coverage": "0.95", "draws": 2000,
        "drivers_of_range": [
            {"input": "room.temperature.heated", "share": largest},
            {"input": "usual.membrane", "share": "0.10"},
            {"input": "room.humidity", "share": "0.04"},
        ],
    }  # fmt: skip


def scenario(made: dict[str, Any], ref: str, name: str, difference: str) -> dict[str, Any]:
    """A scenario that changes the lamp by half of it, the salt by a tenth, the pump by nothing."""
    half, tenth = (f"{Decimal(difference) * Decimal(by):.2f}" for by in ("0.5", "0.1"))
    lines = [
        {"ref": "electricity:pump", "total": "1.00", "difference": "0.00"},
        {"ref": "salt", "total": "1.00", "difference": tenth},
        {"ref": "electricity:lamp", "total": "1.00", "difference": half},
    ]
    return {
        "ref": ref, "name": name, "total": str(Decimal(made["total"]) + Decimal(difference)),
        "difference": difference,
        "setups": [
            {"ref": s["ref"], "total": "1.00", "difference": difference, "lines": lines}
            for s in made["setups"][:1]
        ],
    }  # fmt: skip


def granted(about: str, value: str) -> dict[str, Any]:
    return {"about": about, "value": value, "low": None, "high": None, "source": "default"}


def taken(
    key: str, value: str, low: str, high: str, unit: str, source: str = "common-practice"
) -> dict[str, Any]:
    return {
        "about": key, "value": value, "low": low, "high": high, "unit": unit, "source": source,
        "setups": ["tank0"],
    }  # fmt: skip
