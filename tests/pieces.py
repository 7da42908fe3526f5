"""Pieces of small requests, for tests that state a request by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

from service.errors import NotComputable
from service.quoting import cost

TODAY = date(2026, 11, 25)
YEAR_2027 = {"from": "2027-01-01", "until": "2028-01-01"}
Document = dict[str, Any]


def quantity(amount: Any, unit: str) -> Document:
    return {"amount": amount, "unit": unit}


def money(amount: str, currency: str = "GBP", **more: Any) -> Document:
    return {"amount": amount, "currency": currency, **more}


def rate(amount: Any = "1", unit: str = "1", every: str = "P1D") -> Document:
    return {"kind": "rate", "amount": quantity(amount, unit), "every": every}


def life(lasts: str) -> Document:
    return {"kind": "life", "lasts": lasts}


def follows(driver: str, amount: str, unit: str, per: Document) -> Document:
    return {"kind": "follows", "driver": driver, "amount": quantity(amount, unit), "per": per}


def line(ref: str = "food", **more: Any) -> Document:
    """One a day of a pack of a hundred at 9.50, unless told otherwise."""
    usual: Document = {"ref": ref, "category": "food", "usage": rate(), "pack": quantity("100", "1")}
    if "prices" not in more:
        usual["price"] = money("9.50")
    return usual | more


def shared(ref: str = "kit", by: str = "equal", **more: Any) -> Document:
    share = {"by": by} | {key: more.pop(key) for key in ("parts", "driver") if key in more}
    return line(ref, share=share, **more)


def device(ref: str = "pump", **more: Any) -> Document:
    return {"ref": ref, "power": quantity("30", "W"), "hours_per_day": "24"} | more


def setup(ref: str = "den", *lines: Document, **more: Any) -> Document:
    return {"ref": ref, "lines": list(lines), **more}


def request(*lines: Document, **more: Any) -> Document:
    """A year of one setup with these lines; `setups` takes its place, all else is the request's."""
    setups = more.pop("setups", None) or [setup("den", *lines)]
    return {"period": dict(YEAR_2027), "currency": "GBP", "setups": setups, **more}


def electricity(*versions: Document, **more: Any) -> Document:
    """An electricity tariff in pounds; versions begin before the year unless they say when."""
    dated = [{"from": "2026-10-01"} | version for version in versions]
    return {"electricity": {"currency": "GBP", "versions": dated, **more}}


def exchange(source: str, target: str, value: str, on: str = "2026-11-20") -> Document:
    return {"from": source, "to": target, "rate": value, "on": on}


def faults_of(document: Document) -> list[tuple[str, str]]:
    """What is wrong with a request, as (pointer, text); none when it can be costed."""
    try:
        cost(document, TODAY)
    except NotComputable as refusal:
        return [(fault.pointer, fault.detail) for fault in refusal.faults]
    return []
