"""What a form says of prices: tariffs of electricity and water, and things that get used up."""

from __future__ import annotations

from typing import Any

from service.documents.calculator.asking import SALTY, Asking, Quantity
from service.documents.calculator.fields import GOODS


class GoodsAsking(Asking):
    """Puts tariffs and lines together; what has no price is left out, and told."""

    def _tariffs(self, start: str) -> dict[str, Any]:
        tariffs: dict[str, Any] = {}
        price = self.typed.number("price")
        if price is None:
            self.found.left_out.insert(0, "electricity")
        else:
            tariffs["electricity"] = self._tariff(start, price=price)
        tap, sewer = self.typed.number("tap"), self.typed.number("sewer")
        if tap is None and sewer is None:
            self.found.left_out.append("tap")
        else:
            sewerage = {"sewerage_per_m3": sewer} if sewer else {}
            tariffs["water"] = self._tariff(start, supply_per_m3=tap or "0", **sewerage)
        return tariffs

    def _tariff(self, start: str, **prices: str) -> dict[str, Any]:
        return {"currency": self.code, "versions": [{"from": start, **prices}]}

    def _lines(self) -> list[dict[str, Any]]:
        lines: list[dict[str, Any]] = []
        for good, (price_name, beside) in GOODS.items():
            price = self.typed.number(price_name)
            amounts = {name: self.typed.number(name) for name in beside}
            reason = self._needless(good, price)
            if reason:
                self.found.left_out += [reason] if reason != "-" else []
                continue
            if price is None:
                self.found.left_out.append(good)
                continue
            missing = [name for name, amount in amounts.items() if not amount or not float(amount)]
            for name in missing:
                if not any(said.field == name for said in self.found.faults):
                    self.typed.fault(name, "beside")
            if not missing:
                self.found.places[f"#/setups/0/lines/{len(lines)}"] = price_name
                lines.append(self._line(good, price, {n: a for n, a in amounts.items() if a}))
        return lines

    def _needless(self, good: str, price: str | None) -> str:
        """Why a good is not needed here; a dash where nobody asks."""
        needless = (good == "salt" and self.water not in SALTY) or (
            good == "cartridges" and not self.purified
        )
        return (f"{good}_needless" if price is not None else "-") if needless else ""

    def _line(self, good: str, price: str, typed: dict[str, str]) -> dict[str, Any]:
        one = {"amount": "1", "unit": "1"}
        category, pack, use = {
            "salt": lambda: ("salt", _of(typed["saltk"], "kg"), {"usual": "salt-mix"}),
            "food": lambda: ("food", _of(typed["foodg"], "g"), _rate(typed["foodd"], "g", "P1D")),
            "media": lambda: ("filtration", one, self._life("mediaw", "W")),
            "cartridges": lambda: ("water", one, self._life("cartl", "M")),
            "tests": lambda: ("testing", _of(typed["testn"], "1"), {"usual": "test-reagents"}),
            "additives": lambda: ("additives", _of(typed["addm"], "mL"), _rate(typed["addw"], "mL", "P7D")),
        }[good]()
        money = {"amount": price, "currency": self.code}
        named = {"ref": good, "name": self.say(f"good_{good}"), "category": category}
        return {**named, **use, "pack": pack, "price": money}

    def _life(self, name: str, unit: str) -> dict[str, Any]:
        return {"usage": {"kind": "life", "lasts": f"P{self.typed.whole(name) or 1}{unit}"}}


def _of(amount: str, unit: str) -> Quantity:
    return {"amount": amount, "unit": unit}


def _rate(amount: str, unit: str, every: str) -> dict[str, Any]:
    return {"usage": {"kind": "rate", "amount": _of(amount, unit), "every": every}}
