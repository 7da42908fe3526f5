"""What tests of a running service keep and ask for."""

from __future__ import annotations

from typing import Any

PRODUCT = {"name": "Salt mix, 20 kg", "category": "salt", "pack": {"amount": "20", "unit": "kg"}}
# One a day of a pack of a hundred at 9.50.
REQUEST: dict[str, Any] = {
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currency": "GBP",
    "detail": "totals",
    "setups": [{"ref": "den", "name": "Den", "lines": [
        {"ref": "food", "name": "Flakes", "category": "food", "pack": {"amount": "100", "unit": "1"},
         "price": {"amount": "9.50", "currency": "GBP"},
         "usage": {"kind": "rate", "amount": {"amount": "1", "unit": "1"}, "every": "P1D"}}]}],
}  # fmt: skip


def product(number: int) -> dict[str, Any]:
    """A product that no other is."""
    return PRODUCT | {"name": f"Salt mix {number}"}


def once(what: str, number: int) -> str:
    """An Idempotency-Key."""
    return f"{what}-of-the-tests-{number:06}"
