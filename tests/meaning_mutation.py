"""Good requests whose values are changed to others of the right shape: what they mean may be nonsense."""

from __future__ import annotations

import copy
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from service.engine.drivers import NAMES
from service.engine.units import CANDIDATES, UNITS
from tests.requests_at_random import requests

LEAST, MOST = "0.000001", "999999999999.999999"
AMOUNTS = ("0", "0.000", LEAST, "1", "0.5", "24", "100", MOST, "999999999999", 0, 7, Decimal("0.1"))
TEXT_AMOUNTS = tuple(a for a in AMOUNTS if isinstance(a, str))
DAYS = ("2000-01-01", "2024-02-29", "2026-11-25", "2027-01-01", "2027-06-15", "2028-02-29", "2100-12-31")
DURATIONS = ("P1D", "P99999D", "P9999W", "P1M", "P999M", "P30Y", "P31Y", "P29Y11M", "P365D")
REFS = ("den", "desk", "a-0", "b-0", "shared-0", "water_supply", "d0", "Z", "standard")
CURRENCIES = ("GBP", "EUR", "JPY", "KWD", "CLF", "XAU", "HRK", "XXX", "ZZZ")
ZONES = (
    "UTC",
    "Asia/Tokyo",
    "Pacific/Apia",
    "America/Sao_Paulo",
    "Australia/Lord_Howe",
    "Nowhere/Land",
    "a/..",
)
CLOCKS = ("00:00", "00:30", "02:30", "09:00", "23:59")
UNIT_CODES = (*UNITS, "kWh", *(code for code in CANDIDATES if code), "parsec")

# What each member may hold instead, by its name.
POOLS: dict[str, tuple[Any, ...]] = {
    **dict.fromkeys(("hours_per_day", "load", "dimmed", "reject_ratio"), TEXT_AMOUNTS),
    **dict.fromkeys(("supply_per_m3", "sewerage_per_m3", "standing_per_day", "price", "rate"), TEXT_AMOUNTS),
    **dict.fromkeys(("as_of", "on"), DAYS),
    **dict.fromkeys(("every", "lasts", "shelf_life"), DURATIONS),
    **dict.fromkeys(("ref", "tax_code"), REFS),
    **dict.fromkeys(("currency", "to"), CURRENCIES),
    "unit": UNIT_CODES,
    "driver": NAMES,
    "time_zone": ZONES,
    "name": ("otherwise", "rest", "band 0", ""),
    "otherwise": ("otherwise", "rest", "band 0"),
    "detail": ("totals", "lines", "workings"),
    "basis": ("gross", "net"),
    "tax_included": (True, False),
    "purified": (True, False),
    "allow_stale_rates": (True, False),
}
DROPPABLE = ("until", "time_zone", "as_of", "otherwise", "exchange_rates", "vessel", "devices",
             "water_change",
             "other_use", "tax", "tariffs", "shared_lines", "lines", "reserve", "tax_code", "portion",
             "shelf_life", "reject_ratio", "allow_stale_rates", "days")  # fmt: skip


def pool(holder: Any, key: Any, value: Any) -> tuple[Any, ...]:
    """Other values of the right shape for a member."""
    if isinstance(value, (dict, list)):
        return ()
    if key in ("from", "until"):
        if isinstance(value, str) and ":" in value:
            return CLOCKS
        return CURRENCIES if "rate" in holder else DAYS
    if key == "amount":
        return TEXT_AMOUNTS if "currency" in holder else AMOUNTS
    if isinstance(key, int):
        return CLOCKS if ":" in str(value) else DAYS if str(value)[:2] == "20" else ()
    if isinstance(holder, dict) and key not in POOLS and isinstance(value, str) and value[:1].isdigit():
        return (*TEXT_AMOUNTS, "2/7")[: -1 if "." in value else None]
    return POOLS.get(key, ())


def places(node: Any) -> list[tuple[Any, Any]]:
    """Every (holder, key) of a document."""
    found: list[tuple[Any, Any]] = []
    for key in list(node) if isinstance(node, dict) else range(len(node)):
        found.append((node, key))
        if isinstance(node[key], (dict, list)):
            found += places(node[key])
    return found


@st.composite
def odd_requests(draw: Any) -> dict[str, Any]:
    """A good request with one to six values changed, members dropped or items doubled."""
    document = copy.deepcopy(draw(requests()))
    for _ in range(draw(st.integers(1, 6))):
        choices = places(document)
        holder, key = choices[draw(st.integers(0, len(choices) - 1))]
        value = holder[key]
        if isinstance(value, list) and value and isinstance(value[0], dict) and draw(st.booleans()):
            value.append(copy.deepcopy(value[draw(st.integers(0, len(value) - 1))]))
        elif (
            key in DROPPABLE
            and isinstance(holder, dict)
            and (isinstance(value, (dict, list)) or draw(st.booleans()))
        ):
            del holder[key]
        elif options := pool(holder, key, value):
            holder[key] = draw(st.sampled_from(options))
    return document
