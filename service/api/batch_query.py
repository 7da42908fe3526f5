"""Settings of a batch by query, beside a file; and its faults at the parameters that they come from."""

from __future__ import annotations

from typing import Any

from service.api.errors import Refusal
from service.errors import Fault, NotComputable

# Where the faults of settings lie, and the parameter that each comes from; what lies deepest comes first.
_PARAMETERS = {
    "#/period/from": "from",
    "#/period/until": "until",
    "#/period": "from",
    "#/currency": "currency",
    "#/currencies": "currency",
    "#/as_of": "as_of",
    "#/routine": "routine",
    "#/tariffs/water": "water",
    "#/tariffs": "electricity",
    "#/tariff_sets": "electricity",
    "#/reserve": "reserve_percent",
    "#/range": "draws",
    "#/detail": "detail",
    "#/unchanged_since": "unchanged_since",
}
_NEEDED = ("currency", "from")


def settings_of(query: dict[str, Any]) -> dict[str, Any]:
    """The settings that a query stands for. Refused where what they need is missing."""
    missing = [name for name in _NEEDED if name not in query]
    if missing:
        raise Refusal(
            "not-valid",
            "The settings are missing; give them in the query, or NDJSON in its first line.",
            [{"parameter": name, "detail": f"'{name}' is missing."} for name in missing],
        )
    found: dict[str, Any] = {"period": {name: query[name] for name in ("from", "until") if name in query}}
    codes = query["currency"].split(",")
    found |= {"currency": codes[0]} if len(codes) == 1 else {"currencies": codes}
    found |= {name: query[name] for name in ("as_of", "routine", "detail") if name in query}
    found |= _tariffs(query)
    if "reserve_percent" in query:
        found["reserve"] = {"amount": query["reserve_percent"], "unit": "%"}
    if "draws" in query:
        found["range"] = {"draws": int(query["draws"])}
    return found


def at_parameters(error: NotComputable) -> Refusal:
    """Faults of settings that came by query, each at its parameter; others stay where they are."""
    count = len(error.faults)
    return Refusal(
        "not-valid",
        f"The batch is not valid: {count} fault{'s' if count != 1 else ''} found.",
        [_error(fault) for fault in error.faults],
    )


def _tariffs(query: dict[str, Any]) -> dict[str, Any]:
    """One tariff of electricity, or a set for each of several, which has its id for a name."""
    water = {"water": {"ref": query["water"]}} if "water" in query else {}
    ids = query["electricity"].split(",") if "electricity" in query else []
    if len(ids) > 1:
        return {"tariff_sets": [{"ref": one, "electricity": {"ref": one}, **water} for one in ids]}
    tariffs = water | ({"electricity": {"ref": ids[0]}} if ids else {})
    return {"tariffs": tariffs} if tariffs else {}


def _error(fault: Fault) -> dict[str, str]:
    for place, name in _PARAMETERS.items():
        if (fault.pointer + "/").startswith(place + "/"):
            return {"parameter": name, "detail": fault.detail}
    return {"pointer": fault.pointer, "detail": fault.detail}
