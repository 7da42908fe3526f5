"""What turns a stated price into minor units of the costing: exchange rate, tax and digits."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import Any

from service.engine.exchange import Conversion, Rate, RateProblem, conversion
from service.parameters import currencies
from service.quoting.reader import Reader, Where, obj, seq
from service.quoting.values import Pair, exact, written


class Purse:
    """The costing's currency with the rates and taxes that lead to it."""

    def __init__(self, reader: Reader, document: dict[str, Any], as_of: date) -> None:
        self.reader = reader
        self.as_of = as_of
        self.allow_stale = document.get("allow_stale_rates") is True
        self.currency = self._target(document.get("currency"))
        self.digits = currencies()[self.currency].digits if self.currency else 2
        self.rates = self._rates(seq(document.get("exchange_rates")))
        self.conversions: dict[str, Conversion] = {}
        self._factors: dict[tuple[str, str | None, bool | None], Pair | None] = {}
        tax = document.get("tax")
        self.taxed = isinstance(tax, dict)
        self.basis: str = obj(tax).get("basis", "gross")
        self.tax_rates = {
            code: exact(str(rate)) for code, rate in obj(obj(tax).get("rates")).items() if rate is not None
        }
        for code, rate in self.tax_rates.items():
            if rate > 100:
                reader.fault(
                    ("tax", "rates", code), f"a tax rate must not be over 100 per cent (got {written(rate)})."
                )

    def _target(self, code: Any) -> str | None:
        if not isinstance(code, str) or not self.known(code, ("currency",)):
            return None
        until = currencies()[code].valid_until
        if until is not None and until <= self.as_of:
            self.reader.fault(("currency",), f"'{code}' ended on {until}; quote in its successor.")
            return None
        return code

    def known(self, code: str, where: Where) -> bool:
        """Whether a currency can carry a price; a fault when not."""
        if code in currencies():
            return True
        self.reader.fault(
            where,
            f"'{code}' is not a currency with minor units in ISO 4217; GET /v1/currencies lists them.",
        )
        return False

    def _rates(self, rows: list[Any]) -> list[Rate]:
        found: list[Rate] = []
        seen: set[tuple[str, str, date]] = set()
        for index, row in enumerate(rows):
            row = obj(row)
            where: Where = ("exchange_rates", index)
            source, target, rate = str(row.get("from", "")), str(row.get("to", "")), row.get("rate")
            on = self.reader.day(row.get("on"))
            names = [
                key in row and self.known(code, (*where, key))
                for key, code in (("from", source), ("to", target))
            ]
            if not all(names) or rate is None or on is None:
                continue
            if source == target:
                self.reader.fault(
                    (*where, "to"), f"'to' must be another currency than 'from' (got {target} twice)."
                )
                continue
            if not exact(rate):
                self.reader.fault((*where, "rate"), "'rate' must be above zero (got 0).")
                continue
            key = (source, target, on)
            if key in seen:
                self.reader.fault(
                    (*where, "on"),
                    f"there are two rates from {source} to {target} of {on}; keep one.",
                )
                continue
            seen.add(key)
            found.append(Rate(source, target, exact(rate), on, row.get("source")))
        return found

    def factor(self, code: Any, tax_code: str | None, included: bool | None, where: Where) -> Pair | None:
        """Minor units of the costing for one unit of a currency, unrounded; None after a fault."""
        if not isinstance(code, str):
            return None
        key = (code, tax_code, included)
        if key in self._factors and self._factors[key] is not None:
            return self._factors[key]
        self._factors[key] = found = self._work_out(code, tax_code, included, where)
        return found

    def _work_out(self, code: str, tax_code: str | None, included: bool | None, where: Where) -> Pair | None:
        if not self.known(code, (*where, "currency")) or self.currency is None:
            return None
        value = Fraction(10**self.digits)
        try:
            found = conversion(code, str(self.currency), self.rates, self.as_of, self.allow_stale)
        except RateProblem as problem:
            since = self.as_of - timedelta(days=7)
            self.reader.fault(
                (*where, "currency"),
                f"{problem}; add one to 'exchange_rates' with 'on' from {since} to {self.as_of}"
                + (", or set 'allow_stale_rates'." if "more than" in str(problem) else "."),
            )
            return None
        if found is not None:
            self.conversions[code] = found
            value *= found.factor
        if included is not None and self.taxed:
            rate = self.tax_rates.get(tax_code or "", Fraction(0))
            if self.basis == "gross" and not included:
                value *= (100 + rate) / 100
            elif self.basis == "net" and included:
                value *= 100 / (100 + rate)
        return value.as_integer_ratio()

    def tax_code(self, given: Any, where: Where) -> str | None:
        """The tax code of a line: as given, else the only one, else `standard`."""
        if not self.taxed:
            if given is not None:
                self.reader.fault(
                    (*where, "tax_code"), "'tax_code' needs 'tax' with its rates in the request."
                )
            return None
        if isinstance(given, str):
            if given in self.tax_rates:
                return given
            self.reader.fault(
                (*where, "tax_code"),
                f"'tax_code' must be one of {', '.join(sorted(self.tax_rates))} (got '{given}').",
            )
            return None
        if len(self.tax_rates) == 1:
            return next(iter(self.tax_rates))
        if "standard" in self.tax_rates:
            return "standard"
        if self.tax_rates:
            self.reader.fault(
                where, "'tax_code' is needed, since 'tax' has several rates and none named 'standard'."
            )
        return None
