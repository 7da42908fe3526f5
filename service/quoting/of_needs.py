"""What a setup is given: salt, alkalinity, plant food, carbon dioxide, hardness, food and tests."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import numpy as np

from service.engine import carbon_dioxide, freshwater, seawater
from service.engine.masses import MEQ_PER_L_PER_DKH
from service.quoting.asking import Asking
from service.quoting.bounds import plain, within, within_exactly
from service.quoting.reader import obj, seq
from service.quoting.specification import MEAN_MONTH_DAYS
from service.quoting.values import duration

DKH_MEQ_PER_L = float(MEQ_PER_L_PER_DKH)


class NeedsReader(Asking):
    """Reads the needs."""

    def salt(self) -> None:
        """Salt of the water that is changed, by the label of the mix where it is given."""
        found, needs = self.found, self.found.needs
        if self.water not in ("marine", "brackish"):
            return
        found.known.add("salt_g")
        salinity = np.array([found.tank["salinity_g_per_kg"]])
        warm = np.array([25.0])
        label = obj(self.setup.get("salt_mix"))
        if label.get("per_litre") is not None:
            stated = self.reader.quantity(
                label["per_litre"], (*self.where, "salt_mix", "per_litre"), "concentration"
            )
            grams = stated[0] / stated[1] if stated else 0.0
            if label.get("of") == "finished":
                grams *= float(seawater.finished_per_fresh_l_per_l(salinity, warm)[0])
            needs["anhydrous_g_per_l"] = grams
        else:
            dry = seawater.mix_per_fresh_g_per_l(salinity, warm, np.zeros(1))
            needs["anhydrous_g_per_l"] = float(dry[0])
            found.take(needs, "bound_share", "salt.bound_share")
        found.take(needs, "mix_lost_share", "salt.handling_loss_share")
        if self.volume is not None:
            found.take(needs, "wet_l_per_day", "salt.wet_loss_l_per_day_per_l", self.volume)

    def alkalinity(self) -> None:
        """Alkalinity that is used in a day: measured, or what is usual for such corals."""
        found, needs = self.found, self.found.needs
        node, corals = obj(self.setup.get("alkalinity")), obj(self.setup.get("livestock")).get("corals")
        if not node and corals is None:
            if self.setup.get("limewater") is True:
                self.fault(
                    "'limewater' needs 'alkalinity' or 'livestock.corals', to know what is used.", "limewater"
                )
            return
        if not self.needs_volume("alkalinity" if node else "livestock"):
            return
        found.known |= {"alkalinity_meq", "calcium_g", "magnesium_g"}
        volume = self.volume or 0.0
        if node:
            used = self.measured_alkalinity(node)
            needs["alkalinity_meq_per_day"] = (used or 0.0) * volume
        else:
            found.take(needs, "alkalinity_meq_per_day", f"alkalinity.demand.{corals}", DKH_MEQ_PER_L * volume)
        found.take(needs, "magnesium_g_per_g", "magnesium.per_calcium")
        if self.setup.get("limewater") is True:
            found.known.add("limewater_g")
            found.take(needs, "limewater_g_per_l", "limewater.strength_g_per_l")
            found.take(needs, "limewater_lost_share", "limewater.lost_share")

    def measured_alkalinity(self, node: dict[str, Any]) -> float | None:
        """Milliequivalents a litre and day, stated or from two readings."""
        if node.get("per_day") is not None:
            return self.quantity(node["per_day"], "alkalinity", "alkalinity", "per_day")
        rows = [obj(row) for row in seq(node.get("tests"))]
        if len(rows) != 2:
            return None
        read = [
            within_exactly(
                self.reader,
                row.get("reading"),
                (*self.where, "alkalinity", "tests", i, "reading"),
                "alkalinity",
            )
            for i, row in enumerate(rows)
        ]
        dosed: Fraction | None = Fraction(0)
        if node.get("dosed") is not None:
            dosed = within_exactly(
                self.reader, node["dosed"], (*self.where, "alkalinity", "dosed"), "alkalinity"
            )
        first, second = (self.reader.day(row.get("on")) for row in rows)
        if None in read or dosed is None or first is None or second is None:
            return None
        if second <= first:
            self.fault(
                f"the second reading must come after the first (got {second}, first {first}).",
                "alkalinity",
                "tests",
                1,
                "on",
            )
            return None
        used = read[0] - read[1] + dosed  # type: ignore[operator]
        if used < 0:
            self.fault(
                f"the readings rise by more than was dosed ({float(-used):g} meq/L), so nothing was used; "
                "give 'dosed', all that was dosed between them for each litre.",
                "alkalinity",
            )
            return None
        return float(used) / (second - first).days

    def plants(self) -> None:
        kind = self.setup.get("plants")
        if kind is None or not self.needs_volume("plants"):
            return
        for name in ("nitrate", "phosphate", "potassium", "iron"):
            self.found.known.add(f"{name}_g")
            key = f"plants.{name}_mg_per_l_week.{kind}"
            self.found.take(self.found.needs, f"{name}_g_per_day", key, (self.volume or 0.0) / 7000)

    def carbon_dioxide(self) -> None:
        found, needs = self.found, self.found.needs
        node = obj(self.setup.get("co2"))
        mode = node.get("mode")
        if mode is None:
            return
        found.known.add("co2_g")
        if mode == "weighed":
            amount = self.quantity(node.get("amount"), "mass", "co2", "amount")
            first, until = self.reader.day(node.get("from")), self.reader.day(node.get("until"))
            if first is not None and until is not None and until <= first:
                self.fault(f"'until' must come after 'from' (got {until}, from {first}).", "co2", "until")
            elif amount is not None and first is not None and until is not None:
                needs["co2_g_per_day"] = amount / (until - first).days
            return
        hours = plain(
            self.reader, node.get("hours_per_day"), (*self.where, "co2", "hours_per_day"),
            Fraction(0), Fraction(24), "from 0 to 24",
        )  # fmt: skip
        on, one = np.array([float(hours or 0)]), np.ones(1)
        if mode == "bubbles":
            rate = plain(
                self.reader, node.get("per_second"), (*self.where, "co2", "per_second"),
                Fraction(0), Fraction(100), "at most 100",
            )  # fmt: skip
            for_one_ml = carbon_dioxide.bubbled_g_per_day(np.array([float(rate or 0)]), one, on)
            if node.get("bubble") is None:
                found.take(needs, "co2_g_per_day", "co2.bubble_ml", float(for_one_ml[0]))
            else:
                litres = self.quantity(node["bubble"], "volume", "co2", "bubble")
                needs["co2_g_per_day"] = 1000 * (litres or 0.0) * float(for_one_ml[0])
            return
        surface = found.vessel.surface_m2
        if surface is None:
            self.fault("'co2' by the surface needs 'vessel' with its open surface.", "co2")
            return
        target = self.quantity(node.get("target"), "gas", "co2", "target")
        held = (
            float(found.default("co2.target_mg_per_l").mid)
            if node.get("target") is None
            else 1000 * (target or 0)
        )
        balance = float(found.default("co2.balance_mg_per_l").mid)
        each = carbon_dioxide.lost_g_per_day(
            one, np.array([surface]), np.array([held]), np.array([balance]), on
        )
        found.take(needs, "co2_g_per_day", "co2.exchange_m_per_h", float(each[0]))

    def hardness(self) -> None:
        node = obj(self.setup.get("hardness"))
        if not node:
            return
        source = obj(self.setup.get("source_water"))
        target = self.quantity(node.get("target"), "hardness", "hardness", "target")
        had = self.quantity(source.get("hardness"), "hardness", "source_water", "hardness")
        if source.get("hardness") is None and not self.found.purified:
            self.fault("'hardness' needs 'source_water.hardness', unless the water is purified.", "hardness")
            return
        self.found.known.add("hardness_mmol")
        lacking = freshwater.lacking_mmol_per_l(np.array([target or 0.0]), np.array([had or 0.0]))
        self.found.needs["hardness_mmol_per_l"] = float(lacking[0])

    def animals(self) -> None:
        """Food by the mass of the fish, feedings and tests."""
        found, needs = self.found, self.found.needs
        fish = seq(obj(self.setup.get("livestock")).get("fish"))
        for i, row in enumerate(fish):
            at = (*self.where, "livestock", "fish", i)
            count = plain(
                self.reader,
                obj(row).get("count"),
                (*at, "count"),
                Fraction(0),
                Fraction(100_000),
                "at most 100000",
            )
            length = within(self.reader, obj(row).get("length"), (*at, "length"), "length")
            needs["fish_cm3"] += float(count or 0) * (length or 0.0) ** 3
        if fish:
            found.known.add("food_g")
            found.take(needs, "fish_g_per_cm3", "food.fish_g_per_cm3")
            found.take(needs, "food_share_per_day", "food.mass_share_per_day")
        times = obj(self.setup.get("feeding")).get("times_per_day")
        if times is not None:
            found.known.add("feedings")
            stated = plain(
                self.reader, times, (*self.where, "feeding", "times_per_day"),
                Fraction(0), Fraction(1000), "at most 1000",
            )  # fmt: skip
            needs["feedings_per_day"] = float(stated or 0)
        every = obj(self.setup.get("testing")).get("every")
        if isinstance(every, str):
            found.known.add("tests")
            apart = duration(every)
            if apart is None:
                self.fault(
                    f"'every' must be whole days or weeks, or whole months and years (got '{every}').",
                    "testing",
                    "every",
                )
            else:
                needs["tests_per_day"] = 1 / (apart.days + apart.months * MEAN_MONTH_DAYS)
