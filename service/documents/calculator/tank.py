"""The tank of a form: its vessel, its room and habits, its devices."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from service.documents.calculator.asking import Asking
from service.documents.calculator.fields import DEVICES, NO

# Taken where a pane is not stated, by height, both in millimetres; for the estimate alone.
_PANES = ((450, "6"), (600, "10"))
_THICK_PANE = "12"
_FULL_SHARE = "0.9"
_PLACES = 3
_MM = {"cm": 10.0, "[in_i]": 25.4}
# What is usual, as in parameters/defaults.yaml: things in the water, what is changed of it in a week.
USUAL_INSIDE, USUAL_CHANGE = "10", {"fresh": "25", "marine": "10", "brackish": "10"}
USUAL_EVERY = "7"


class TankAsking(Asking):
    """Puts the setup together."""

    def _vessel(self) -> None:
        at = "#/setups/0/vessel"
        self.found.places[at] = "length"
        outside = {
            name: self.quantity(name, self.unit, f"{at}/outside/{name}") or {}
            for name in ("length", "width", "height")
        }
        height = float(outside["height"].get("amount", "0"))
        narrow = min(float(outside[name].get("amount", "0")) for name in ("length", "width"))
        pane = self.quantity("pane", "mm", f"{at}/pane")
        if pane is None:
            tall = height * _MM[self.unit]
            thick = next((mm for most, mm in _PANES if tall <= most), _THICK_PANE)
            pane = {"amount": thick, "unit": "mm"}
            self._assume("pane", amount=self.typed.speech.quantity(thick, "mm"))
        elif 2 * float(pane["amount"]) >= narrow * _MM[self.unit] > 0:
            self.typed.fault("pane", "pane", got=self.typed.values["pane"])
        depth = self.quantity("depth", self.unit, f"{at}/water_depth")
        if depth is None:
            # Of the typed digits themselves, so that nothing of a binary float is in it.
            full = _short(outside["height"].get("amount", "0"))
            depth = {"amount": full, "unit": self.unit}
            self._assume("depth", amount=self.typed.speech.quantity(full, self.unit))
        elif float(depth["amount"]) > height > 0:
            self.typed.fault("depth", "depth", got=self.typed.values["depth"])
        inside = self.quantity("inside", "%", f"{at}/displaced")
        if inside is None:
            inside = {"amount": USUAL_INSIDE, "unit": "%"}
            self._assume("inside", amount=USUAL_INSIDE)
        vessel: dict[str, Any] = {"shape": "box", "outside": outside, "pane": pane, "water_depth": depth}
        vessel |= {"material": self.typed.choice("material"), "displaced": inside}
        sump = self.quantity("sump", "L", f"{at}/sump_water")
        self.setup["vessel"] = vessel | ({"sump_water": sump} if sump else {})

    def _habits(self) -> None:
        at = "#/setups/0"
        room: dict[str, Any] = {}
        for name, key, unit in (("room", "temperature", "Cel"), ("humidity", "humidity", "%")):
            found = self.quantity(name, unit, f"{at}/room/{key}")
            room |= {key: found} if found else {}
        stated: dict[str, Any] = {
            "water_temperature": self.quantity("temp", "Cel", f"{at}/water_temperature"),
            "room": room,
            "cover": self.typed.choice("cover"),
            "surface": self.typed.choice("surface"),
            "salinity": self.quantity("salinity", "g/kg", f"{at}/salinity"),
            "water_change": self._change(),
            "source_water": self._source(),
            "heating": self._heating(),
            "cooling": self._cooling(),
        }
        self.setup |= {key: value for key, value in stated.items() if value}
        every = self.typed.whole("teste")
        if every is not None:
            self.setup["testing"] = {"every": f"P{every}D"}

    def _change(self) -> dict[str, Any]:
        portion = self.quantity("portion", "%", "#/setups/0/water_change/portion")
        every = self.typed.whole("every")
        if portion is None:
            portion = {"amount": USUAL_CHANGE[self.water], "unit": "%"}
            self._assume("portion", amount=USUAL_CHANGE[self.water])
        if every is None:
            self._assume("every", amount=USUAL_EVERY)
        return {"portion": portion, "every": f"P{every or USUAL_EVERY}D"}

    def _source(self) -> dict[str, Any]:
        ratio = self.typed.number("reject")
        self.found.places["#/setups/0/source_water/reject_ratio"] = "reject"
        if not self.purified:
            return {"purified": False}
        return {"purified": True} | ({"reject_ratio": ratio} if ratio is not None else {})

    def _heating(self) -> dict[str, Any]:
        rating = self.quantity("heater", "W", "#/setups/0/heating/rating")
        if self.typed.choice("heating") == NO:
            return {"mode": "none"}
        return {"mode": "modelled"} | ({"rating": rating} if rating else {})

    def _cooling(self) -> dict[str, Any]:
        mode = self.typed.choice("cooling") or NO
        power = self.quantity("fan", "W", "#/setups/0/cooling/power")
        if mode == "fan" and power is None:
            self.typed.fault("fan", "beside")
        if mode == "fan":
            return {"mode": "fan", "power": power or {}}
        return {"mode": "none" if mode == NO else mode}

    def _devices(self) -> None:
        devices: list[dict[str, Any]] = []
        pump = self.typed.number("pump")
        if pump:
            devices.append(self._device("pump", self.say("device_pump"), pump, "24", "in_water"))
        lamp, lit = self.typed.number("lamp"), self.typed.number("lit")
        if lamp and lit is None:
            self.typed.fault("lit", "beside")
        if lamp:
            devices.append(self._device("lamp", self.say("device_lamp"), lamp, lit or "0", "above"))
        for name in DEVICES:
            power, hours = self.typed.number(f"{name}w"), self.typed.number(f"{name}h")
            if power:
                called = self.typed.text(f"{name}n") or self.say("device_other", number=name[1])
                devices.append(self._device(name, called, power, hours or "24", ""))
                if hours is None:
                    self._assume("hours", device=called)
        self.setup["devices"] = devices
        if not devices:
            self.found.left_out.append("devices")

    def _device(self, ref: str, name: str, power: str, hours: str, placed: str) -> dict[str, Any]:
        watts = {"amount": power, "unit": "W"}
        found: dict[str, Any] = {"ref": ref, "name": name, "power": watts, "hours_per_day": hours}
        return found | ({"placed": placed} if placed else {})


def _short(height: str) -> str:
    """Nine tenths of a typed height, to a thousandth."""
    full = (Decimal(height) * Decimal(_FULL_SHARE)).quantize(Decimal(1).scaleb(-_PLACES))
    return f"{full.normalize():f}"
