"""What warms, cools and dries a setup: room, surface, panes, devices, heater, chiller and fan."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import air, heat
from service.quoting.asking import Asking
from service.quoting.bounds import plain
from service.quoting.devices import Device
from service.quoting.reader import obj
from service.quoting.specification import Uncertain

CM_PER_M = 100
# Days of the year in the middle of each calendar month.
MID_MONTH = (15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5)


class HeatReader(Asking):
    """Reads the terms of the heat balance."""

    devices: list[Device]

    def room(self) -> None:
        """Temperatures by calendar month, humidity, and the pressure of the air."""
        found, tank = self.found, self.found.tank
        room = obj(self.setup.get("room"))
        node = room.get("temperature")
        if isinstance(node, list):
            each = [self.quantity(one, "room", "room", "temperature", i) for i, one in enumerate(node)]
            if len(each) == 12 and None not in each:
                found.room_c = tuple(each)  # type: ignore[arg-type]
        elif node is not None:
            found.room_c = (self.quantity(node, "room", "room", "temperature") or 0.0,)
        else:
            found.room_c = self.usual_room(
                str(room.get("kind") or "heated"), room.get("hemisphere") == "south"
            )
        humidity = self.quantity(room.get("humidity"), "humidity", "room", "humidity")
        if room.get("humidity") is None:
            found.take(tank, "humidity_share", "room.humidity")
        else:
            tank["humidity_share"] = humidity or 0.0
        altitude = self.quantity(room.get("altitude"), "altitude", "room", "altitude")
        if altitude:
            tank["pressure_pa"] = float(air.pressure_pa(np.array([altitude / CM_PER_M]))[0])

    def usual_room(self, kind: str, south: bool) -> tuple[float, ...]:
        """The usual pattern of a room; the south has its year half a year later."""
        found = self.found
        if kind == "conditioned":
            found.uncertain.append(Uncertain("room_shift_c", "room.temperature.conditioned", departs=True))
            return (float(found.default("room.temperature.conditioned").mid),)
        if kind == "unheated":
            mean, swing = found.default("room.unheated_mean"), found.default("room.unheated_swing")
            warmest = found.default("room.warmest_day_south" if south else "room.warmest_day")
            found.uncertain.append(Uncertain("room_shift_c", mean.key, departs=True))
            usual_c, swing_c, day = (np.array([float(d.mid)]) for d in (mean, swing, warmest))
            by_month = heat.season_c(usual_c, swing_c, np.array(MID_MONTH), day)
            return tuple(by_month.tolist())
        pattern = found.default("room.temperature.heated")
        found.uncertain.append(Uncertain("room_shift_c", pattern.key, departs=True))
        months: tuple[float, ...] = tuple(pattern.mid.tolist())
        return months[6:] + months[:6] if south else months

    def surface(self) -> None:
        """The open surface, its cover, and how it moves."""
        found, tank = self.found, self.found.tank
        tank["surface_m2"] = found.vessel.surface_m2 or 0.0
        tank["sump_m2"] = found.vessel.sump_m2
        cover = self.setup.get("cover")
        if isinstance(cover, dict):
            stated = self.quantity(cover.get("open_share"), "share", "cover", "open_share")
            tank["open_share"] = 1.0 if stated is None else stated
        elif cover in ("mesh", "glazed"):
            found.take(tank, "open_share", f"cover.open_share.{cover}")
        elif cover is None:
            found.assumed.append(("cover", "open, since no cover was given"))
        if cover is not None and cover != "open":
            found.take(tank, "leak_share", "evaporation.leak_share")
        moves = self.setup.get("surface")
        if moves is None:
            found.assumed.append(("surface", "rippled, since nothing was said of it"))
        found.take(tank, "activity_ratio", f"evaporation.activity.{moves or 'rippled'}")
        found.take(tank, "correlation_ratio", "evaporation.correlation_share")
        tank["air_m3_per_h"] = sum(device.air_l_per_day for device in self.devices) / 24_000

    def panes(self, wanted: str | None) -> None:
        """Panes, base and lid; a fault where a balance is wanted and the vessel does not say enough."""
        found, tank, vessel = self.found, self.found.tank, self.found.vessel
        if vessel.surface_m2 is None or vessel.pane_area_m2 is None:
            given = obj(self.setup.get("vessel"))
            if wanted is not None and given.get("shape") == "other":
                lacks = [key for key in ("open_surface", "pane_area") if given.get(key) is None]
                if lacks:
                    self.fault(f"'{wanted}' is modelled, which needs '{lacks[0]}' of the vessel.", "vessel")
            elif wanted is not None and not given:
                self.fault(f"'{wanted}' is modelled, which needs 'vessel' to know its panes.", wanted)
            return
        tank["pane_m2"] = vessel.pane_area_m2
        tank["base_m2"] = vessel.surface_m2 if vessel.base_m2 is None else vessel.base_m2
        if vessel.pane_m is None:
            found.assumed.append(("vessel.pane", "10 mm, since it was not given"))
        tank["pane_m"] = 0.01 if vessel.pane_m is None else vessel.pane_m
        found.take(tank, "pane_w_mk", f"heat.{vessel.material}_w_mk")
        for name in ("inside_w_m2k", "side_m2k_w", "down_m2k_w", "up_m2k_w"):
            key = name if name == "inside_w_m2k" else f"outside_{name}"
            found.take(tank, name, f"heat.{key}")
        value = {
            k: float(found.default(f"heat.{k}").mid) for k in ("board_m", "board_w_mk", "foam_m", "foam_w_mk")
        }
        tank["under_m2k_w"] = value["board_m"] / value["board_w_mk"] + value["foam_m"] / value["foam_w_mk"]
        if tank["open_share"] < 1:
            glass = float(found.default("heat.glass_w_mk").mid)
            tank["lid_m2k_w"] = float(found.default("heat.lid_m").mid) / glass
            found.take(tank, "gap_m2k_w", "heat.lid_gap_m2k_w")
        source = obj(self.setup.get("source_water")).get("temperature")
        if tank["changed_l_per_day"]:
            stated = self.quantity(source, "source", "source_water", "temperature")
            if source is None:
                found.take(tank, "source_c", "source_water.temperature")
            else:
                tank["source_c"] = 25.0 if stated is None else stated

    def gains(self) -> None:
        """Heat of the devices by where they are; what is above the water goes by the lamps' hours."""
        found, tank = self.found, self.found.tank
        for device in self.devices:
            place = device.placed or "unplaced"
            tank[f"{place}_w"] += device.mean_w
            if place in ("above", "hood"):
                tank["lit_share"] = max(tank["lit_share"], device.hours[0] / device.hours[1] / 24)
        for place in ("in_water", "outside", "above", "hood"):
            if tank[f"{place}_w"]:
                found.take(tank, f"{place}_share", f"gain.{place}")
        if tank["unplaced_w"]:
            found.take(tank, "unplaced_share", "gain.unplaced")

    def heating(self, node: dict[str, Any]) -> None:
        tank = self.found.tank
        tank["heated"] = 1.0
        rating = self.quantity(node.get("rating"), "power", "heating", "rating")
        if node.get("rating") is None:
            self.found.assumed.append(
                ("heating.rating", "the heater always suffices, since no rating was given")
            )
        elif rating is not None:
            tank["rating_w"] = rating

    def cooling(self, node: dict[str, Any]) -> None:
        found, tank = self.found, self.found.tank
        found.cooled = True
        found.known.add("cooling_kwh")
        if node.get("mode") == "chiller":
            tank["chilled"] = 1.0
            cop = plain(
                self.reader, node.get("cop"), (*self.where, "cooling", "cop"),
                Fraction(1, 2), Fraction(10), "from 0.5 to 10",
            )  # fmt: skip
            self.stated_or(
                "performance_ratio", None if node.get("cop") is None else float(cop or 1), "chiller.cop"
            )
            return
        power = self.quantity(node.get("power"), "power", "cooling", "power")
        if node.get("power") is None:
            self.fault("'cooling' by a fan needs its 'power'.", "cooling")
        tank["fan_w"] = power or 0.0
        speed = self.quantity(node.get("air_speed"), "air speed", "cooling", "air_speed")
        self.stated_or("air_m_per_s", speed, "fan.air_speed")
