"""How what a setup takes up can be given: each usual way with its amount over the whole period.

Worked out from the drivers as they are shown. Salts are weighed as they are usually sold, by
`salts.purity_share`; which other defaults went in is told beside the entries.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from service.engine import carbon_dioxide, chemistry, freshwater, plants
from service.engine.chemistry import Floats
from service.engine.costing import Result
from service.parameters.defaults import defaults
from service.quoting.facts import in_thousandths
from service.quoting.request import Reading
from service.quoting.specification import Specification

CAUSTIC = "It is caustic: see the caution 'caustic'."
FILL_KG = 2
NOTHING = np.zeros(1)


@dataclass(slots=True)
class Given:
    """The entries of one setup, the defaults that they rest on, and whether one of them is caustic."""

    entries: list[dict[str, Any]] = field(default_factory=list)
    used: list[str] = field(default_factory=list)
    caustic: bool = False


class _Doses:
    """Gathers the entries of one setup; sums are its drivers over the period."""

    def __init__(self, model: Specification, sums: dict[str, Floats], days: int, water: Any) -> None:
        self.model, self.sums, self.days, self.water = model, sums, days, water
        self.given = Given()
        self.driver = ""

    def usual(self, key: str) -> Floats:
        """The value of a default, noted as used."""
        if key not in self.given.used:
            self.given.used.append(key)
        return np.array([float(defaults()[key].mid)])

    @property
    def purity(self) -> Floats:
        return self.usual("salts.purity_share")

    def sum_of(self, driver: str) -> Floats:
        return self.sums.get(driver, NOTHING)

    def add(self, what: str, amount: Floats, *also: str, unit: str = "g") -> None:
        """An entry; none where nothing is to be given."""
        if not amount[0] > 0:
            return
        entry: dict[str, Any] = {
            "for": self.driver,
            "as": what,
            "amount": {"amount": in_thousandths(float(amount[0])), "unit": unit},
        }
        if also:
            entry["also"] = " ".join(also)
        self.given.caustic |= CAUSTIC in also
        self.given.entries.append(entry)

    def weigh(self, what: str, pure_g: Floats, *also: str) -> None:
        """An entry of a salt, by its pure mass."""
        self.add(what, chemistry.weighed_g(pure_g, self.purity), *also)

    def alkalinity(self, meq: Floats) -> None:
        purity = self.purity
        left = (
            f"With calcium chloride for the calcium, {_grams(chemistry.table_salt_g(meq))} of sodium "
            "chloride stay in the water, and salinity creeps up by it."
        )
        self.add("sodium bicarbonate", chemistry.sodium_bicarbonate_g(meq, purity), left)
        self.add("sodium carbonate", chemistry.sodium_carbonate_g(meq, purity), left, CAUSTIC)
        if self.water not in ("marine", "brackish"):
            self.weigh(
                "potassium bicarbonate", freshwater.potassium_bicarbonate_g(meq), "Potassium comes with it."
            )
        self.weigh("calcium hydroxide", chemistry.limewater_g(meq), "Its calcium comes with it.", CAUSTIC)
        self.add(
            "calcium carbonate in a reactor",
            chemistry.reactor_media_g(meq, purity),
            "Its calcium comes with it, and it takes carbon dioxide.",
        )
        self.add(
            "carbon dioxide for a reactor",
            chemistry.reactor_gas_g(meq, self.usual("calcium_reactor.excess_ratio")),
            "It goes with the calcium carbonate; the part that escapes must not gather in a closed room.",
        )

    def limewater(self, grams: Floats) -> None:
        warm = max(self.model.room_c)
        most = in_thousandths(float(chemistry.limewater_g_per_l(np.array([warm]))[0]))
        self.weigh(
            "calcium hydroxide in the water that is topped up",
            grams,
            f"At {warm:g} degrees a litre dissolves {most} g of it and no more.",
            CAUSTIC,
        )

    def calcium(self, grams: Floats) -> None:
        self.add(
            "calcium chloride dihydrate",
            chemistry.calcium_chloride_g(grams, self.purity),
            "Not needed where alkalinity is given as calcium hydroxide or by a reactor; both bring it along.",
        )

    def magnesium(self, grams: Floats) -> None:
        purity = self.purity
        self.add("magnesium chloride hexahydrate", chemistry.magnesium_chloride_g(grams, purity))
        self.add("magnesium sulfate heptahydrate", chemistry.magnesium_sulfate_g(grams, purity))

    def nitrate(self, grams: Floats) -> None:
        along = _grams(plants.potassium_with_g(grams, NOTHING))
        self.weigh("potassium nitrate", plants.potassium_nitrate_g(grams), f"It brings {along} of potassium.")

    def phosphate(self, grams: Floats) -> None:
        along = _grams(plants.potassium_with_g(NOTHING, grams))
        pure = plants.monopotassium_phosphate_g(grams)
        self.weigh("monopotassium phosphate", pure, f"It brings {along} of potassium.")

    def potassium(self, grams: Floats) -> None:
        along = plants.potassium_with_g(self.sum_of("nitrate_g"), self.sum_of("phosphate_g"))
        self.weigh(
            "potassium sulfate",
            plants.potassium_sulfate_g(grams, along),
            f"Beside the {_grams(along)} of potassium that potassium nitrate and phosphate bring.",
        )

    def chlorine(self, grams: Floats) -> None:
        freed = (
            f"Where the chlorine is chloramine, {_grams(freshwater.ammonia_g(grams))} of ammonia are set "
            "free, which the filter has to take up."
        )
        each = self.usual("chlorine.thiosulfate_ratio")
        self.weigh("sodium thiosulfate pentahydrate", freshwater.thiosulfate_g(grams, each), freed)
        self.weigh("ascorbic acid", freshwater.ascorbic_acid_g(grams), freed)

    def hardness(self, mmol: Floats) -> None:
        share = self.usual("hardness.calcium_share")

        def beside(other: str) -> str:
            return f"Together with {other}."

        self.weigh(
            "calcium sulfate dihydrate",
            freshwater.gypsum_g(mmol, share),
            beside("magnesium sulfate heptahydrate"),
        )
        self.weigh(
            "magnesium sulfate heptahydrate",
            freshwater.magnesium_sulfate_g(mmol, share),
            beside("calcium sulfate dihydrate"),
        )
        self.weigh(
            "calcium chloride dihydrate",
            freshwater.calcium_chloride_g(mmol, share),
            beside("magnesium chloride hexahydrate"),
        )
        self.weigh(
            "magnesium chloride hexahydrate",
            freshwater.magnesium_chloride_g(mmol, share),
            beside("calcium chloride dihydrate"),
        )

    def gas(self, grams: Floats) -> None:
        share = self.usual("co2.bottle_use_share")
        lasts = carbon_dioxide.bottle_days(np.array([1000.0 * FILL_KG]), share, grams / self.days)
        self.add(
            f"carbon dioxide of one fill of {FILL_KG} kg",
            lasts,
            "The days are how long one fill lasts.",
            unit="d",
        )


# What is given for each driver, in the order of the drivers.
_WAYS = {
    "alkalinity_meq": _Doses.alkalinity,
    "calcium_g": _Doses.calcium,
    "magnesium_g": _Doses.magnesium,
    "limewater_g": _Doses.limewater,
    "nitrate_g": _Doses.nitrate,
    "phosphate_g": _Doses.phosphate,
    "potassium_g": _Doses.potassium,
    "co2_g": _Doses.gas,
    "chlorine_g": _Doses.chlorine,
    "hardness_mmol": _Doses.hardness,
}
WAYS = tuple(_WAYS)
# No driver has more ways than alkalinity in fresh water.
MOST_WAYS = 6


def doses(reading: Reading, result: Result, s: int) -> Given:
    """The ways for one setup; what it does not take up, or is not known to, has none."""
    model = reading.setups.models[s]
    sums = {
        driver: np.array([sum(result.drivers[driver][s].tolist()) / 1000])
        for driver in WAYS
        if driver in model.known
    }
    found = _Doses(model, sums, reading.case.period.days, reading.document["setups"][s].get("water"))
    for driver, grams in sums.items():
        if grams[0] > 0:
            found.driver = driver
            _WAYS[driver](found, grams)
    return found.given


def _grams(amount: Floats) -> str:
    return f"{in_thousandths(float(amount[0]))} g"
