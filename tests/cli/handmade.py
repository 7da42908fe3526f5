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
