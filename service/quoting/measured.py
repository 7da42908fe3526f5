"""What was read of a setup beside what was estimated."""

from __future__ import annotations

from typing import Any

from service.engine import money
from service.engine.costing import Result
from service.engine.money import rounded_fraction
from service.engine.tank import Checked
from service.quoting.facts import THOUSANDTHS, in_thousandths
from service.quoting.request import Reading


def measured(reading: Reading, result: Result, s: int) -> list[dict[str, Any]]:
    """Each reading beside the estimate for the same days, and the factor that then holds for all months."""
    model, estimate = reading.setups.models[s], result.driven.estimate
    checks: dict[str, tuple[str, Checked | None]] = {
        "electricity": ("kW.h", None),
        "heating": ("kW.h", estimate.heating_kwh if estimate else None),
        "evaporation": ("L", estimate.evaporated_l if estimate else None),
        "purified_water": ("L", estimate.used_l if estimate else None),
    }
    found = []
    for what, metered in model.readings.items():
        unit, check = checks[what]
        entry: dict[str, Any] = {
            "what": what,
            "days": metered.days,
            "reading": {
                "amount": money.text(rounded_fraction(metered.amount * 1000), THOUSANDTHS),
                "unit": unit,
            },
        }
        modelled = float(check.model[s, 0]) if check is not None else 0.0
        if what == "electricity":
            entry["estimate"] = _electricity(reading, result, s, metered.days)
        elif check is not None and modelled > 0:
            entry["estimate"] = {"amount": in_thousandths(modelled), "unit": unit}
            entry["factor"] = in_thousandths(float(check.ratio[s, 0]))
        found.append(entry)
    return found


def _electricity(reading: Reading, result: Result, s: int, days: int) -> dict[str, str]:
    """What devices, heating and cooling would use in as many mean days of the period."""
    kwh = sum(sum(result.drivers[name][s].tolist()) for name in ("devices_kwh", "heating_kwh", "cooling_kwh"))
    return {"amount": in_thousandths(kwh / 1000 * days / reading.case.period.days), "unit": "kW.h"}
