"""Settings of a batch with all that they name written out, and the exchange rates that it needs."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from typing import Any

import orjson

from service.batch.plan import Plan, plan_of
from service.errors import Fault, NotComputable, pointer
from service.quoting.origins import Resolved
from service.quoting.reader import seq
from service.quoting.resolve import resolve
from service.quoting.stock import Stock
from service.schemas.batch import BatchSettings
from service.schemas.body import as_sent
from service.schemas.compiled import shape_faults

_CURRENCY = re.compile(rb'"currency":"([A-Z]{3})"')
_OF_PERIOD = ("period", "as_of")
_TARIFFS = "#/tariffs"


class Settings:
    """Settings as they were sent, on their way to a plan. NotComputable with every fault of their shape."""

    def __init__(self, sent: dict[str, Any], stock: Stock, today: date) -> None:
        faults = shape_faults(sent, BatchSettings)
        if faults:
            raise NotComputable(faults)
        self._stock, self._today = stock, today
        self._period = {key: sent[key] for key in _OF_PERIOD if key in sent}
        named = {key: sent[key] for key in ("routine", "tariffs") if key in sent}
        self._whole = resolve({**self._period, **named}, today, stock)
        self._sets = [
            resolve({**self._period, "tariffs": {k: v for k, v in one.items() if k != "ref"}}, today, stock)
            for one in seq(sent.get("tariff_sets"))
        ]
        self._document = {
            **{key: value for key, value in sent.items() if key not in named}, **self._whole.document
        }  # fmt: skip
        if self._sets:
            self._document["tariff_sets"] = [
                {"ref": one["ref"], **found.document["tariffs"]}
                for one, found in zip(sent["tariff_sets"], self._sets, strict=True)
            ]
        self._used = {
            code.decode()
            for code in _CURRENCY.findall(orjson.dumps(self._document, default=as_sent))
        }  # fmt: skip

    def plan(self, currencies: Iterable[str]) -> Plan:
        """The plan, with the account's rates for the currencies of the settings and these besides.

        NotComputable with every fault, each at its place in what was sent.
        """
        faults = list(self._whole.faults)
        for i, found in enumerate(self._sets):
            faults += [_moved(fault, _TARIFFS, pointer("tariff_sets", i)) for fault in found.faults]
        try:
            plan = plan_of(self._with_rates(self._used.union(currencies)), self._today)
        except NotComputable as error:
            raise NotComputable([*faults, *map(self._told, error.faults)]) from None
        if faults:
            raise NotComputable(faults)
        return plan

    def _with_rates(self, used: set[str]) -> dict[str, Any]:
        """The settings with the rates that a costing of its own would find for these currencies."""
        document = self._document
        target = document["currency"] if "currency" in document else document["currencies"][0]
        foreign = sorted({*used, *seq(document.get("currencies"))} - {target})
        if not foreign:
            return document
        rates = {key: document[key] for key in ("exchange_rates", "allow_stale_rates") if key in document}
        asking = {"lines": [{"price": {"currency": code}} for code in foreign]}
        asked = {**self._period, **rates, "currency": target, "setups": [asking]}
        found: Resolved = resolve(asked, self._today, self._stock)
        known = found.document.get("exchange_rates")
        return document | {"exchange_rates": known} if known else document

    def _told(self, fault: Fault) -> Fault:
        """A fault of the written-out settings at its place in what was sent."""
        for i, found in enumerate(self._sets):
            place = pointer("tariff_sets", i)
            if fault.pointer.startswith(f"{place}/"):
                (told,) = found.told([_moved(fault, place, _TARIFFS)])
                return _moved(told, _TARIFFS, place)
        (told,) = self._whole.told([fault])
        return told


def _moved(fault: Fault, place: str, to: str) -> Fault:
    """A fault as seen from elsewhere."""
    return Fault(to + fault.pointer[len(place) :], fault.detail, fault.holder)
