"""A small request that is good, for the documentation and the tests."""

from __future__ import annotations

from typing import Any

SMALL: dict[str, Any] = {
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currency": "GBP",
    "setups": [
        {
            "ref": "window",
            "name": "Window tank",
            "water_change": {"volume": {"amount": "20", "unit": "L"}, "every": "P7D"},
            "devices": [{"ref": "filter", "power": {"amount": "8", "unit": "W"}, "hours_per_day": "24"}],
            "lines": [
                {
                    "ref": "food",
                    "name": "Flake food",
                    "category": "food",
                    "usage": {"kind": "rate", "amount": {"amount": "0.5", "unit": "g"}, "every": "P1D"},
                    "pack": {"amount": "100", "unit": "g"},
                    "price": {"amount": "6.40", "currency": "GBP"},
                    "shelf_life": "P6M",
                }
            ],
        }
    ],
    "tariffs": {"electricity": {"currency": "GBP", "versions": [{"from": "2026-10-01", "price": "0.2703"}]}},
    "reserve": {"amount": "10", "unit": "%"},
}
