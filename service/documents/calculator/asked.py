"""A filled-in form to a request of POST /v1/costings, with all faults at their fields."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.documents.calculator.asking import Asked
from service.documents.calculator.fields import YES
from service.documents.calculator.goods import GoodsAsking
from service.documents.calculator.tank import TankAsking
from service.documents.calculator.typed import Typed
from service.documents.speech import Speech
from service.engine.civil import add_months

_LAST_YEAR = 2100
# Fewer than the service's default, since somebody waits for every change.
_DRAWS = 500


def ask(values: Mapping[str, str], speech: Speech) -> Asked:
    """The request that the values of a form stand for."""
    return _Whole(Typed(values, speech)).whole()


class _Whole(TankAsking, GoodsAsking):
    def whole(self) -> Asked:
        """The whole request, in the order of the contract."""
        period = self._period()
        self.setup["water"] = self.water
        self._vessel()
        self._habits()
        self._devices()
        lines = self._lines()
        if lines:
            self.setup["lines"] = lines
        document: dict[str, Any] = {"period": period, "currency": self.code, "setups": [self.setup]}
        tariffs = self._tariffs(period.get("from", ""))
        if tariffs:
            document["tariffs"] = tariffs
        reserve = self.quantity("reserve", "%", "#/reserve")
        if reserve:
            document["reserve"] = reserve
        if self.typed.choice("range") == YES:
            document["range"] = {"draws": _DRAWS}
        self.found.document = document | {"detail": "workings"}
        return self.found

    def _period(self) -> dict[str, str]:
        start, months = self.typed.day("start"), self.typed.whole("months")
        self.found.places["#/period"] = "start"
        if start is None:
            return {}
        until = add_months(start, months or 12)
        if until.year > _LAST_YEAR:
            self.typed.fault("start", "until", got=self.typed.values["start"])
        return {"from": str(start), "until": str(until)}
