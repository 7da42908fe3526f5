"""What a setup is given by the month besides water and heat: salt, additives, food, tests.

Every need is a float64 column [setup, 1]; amounts by month follow from it and from the
drivers of water as they are shown. What a setup does not need is 0.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine import chemistry, livestock, purifier
from service.engine.drivers import shown
from service.engine.ratio import Whole

Floats = NDArray[np.float64]


class Needs(NamedTuple):
    """Needs of a setup: for a day, for a litre of some water, or what such a need follows from.

    None where no setup has such a need. anhydrous_g_per_l is salt in a litre of new water;
    bound_share the bound water of its mix.
    """

    anhydrous_g_per_l: Floats | None = None
    bound_share: Floats | None = None
    mix_lost_share: Floats | None = None
    wet_l_per_day: Floats | None = None
    alkalinity_meq_per_day: Floats | None = None
    magnesium_g_per_g: Floats | None = None
    limewater_g_per_l: Floats | None = None
    limewater_lost_share: Floats | None = None
    nitrate_g_per_day: Floats | None = None
    phosphate_g_per_day: Floats | None = None
    potassium_g_per_day: Floats | None = None
    iron_g_per_day: Floats | None = None
    co2_g_per_day: Floats | None = None
    chlorine_g_per_l: Floats | None = None
    hardness_mmol_per_l: Floats | None = None
    tap_mg_per_l: Floats | None = None
    rejection_share: Floats | None = None
    carbon_dioxide_mg_per_l: Floats | None = None
    fish_cm3: Floats | None = None
    fish_g_per_cm3: Floats | None = None
    food_share_per_day: Floats | None = None
    feedings_per_day: Floats | None = None
    tests_per_day: Floats | None = None


# Needs that are the same on each day, by the driver that they become.
DAILY = {
    "nitrate_g": "nitrate_g_per_day",
    "phosphate_g": "phosphate_g_per_day",
    "potassium_g": "potassium_g_per_day",
    "iron_g": "iron_g_per_day",
    "co2_g": "co2_g_per_day",
    "feedings": "feedings_per_day",
    "tests": "tests_per_day",
}
NONE = np.zeros((1, 1))
NEEDED = (
    "salt_g", "alkalinity_meq", "calcium_g", "magnesium_g", "limewater_g",
    "chlorine_g", "hardness_mmol", "resin_meq", "food_g", *DAILY,
)  # fmt: skip


def needed(
    needs: Needs, days: Floats, changed: Whole, evaporated: Whole, purified: Whole
) -> dict[str, Whole]:
    """Drivers of salt, additives, food and tests by month, in thousandths.

    days [month]; water in thousandths of a litre [setup, month], as it is shown.
    """
    found: dict[str, Whole] = {}
    if needs.anhydrous_g_per_l is not None:
        mix_g_per_l = needs.anhydrous_g_per_l / (1 - _or_none(needs.bound_share))
        water_l = _litres(changed) * (1 + _or_none(needs.mix_lost_share))
        found["salt_g"] = shown(mix_g_per_l * (water_l + _or_none(needs.wet_l_per_day) * days))
    if needs.alkalinity_meq_per_day is not None:
        found |= _alkalinity(needs, needs.alkalinity_meq_per_day * days, _litres(evaporated))
    for driver, need in DAILY.items():
        per_day: Floats | None = getattr(needs, need)
        if per_day is not None:
            found[driver] = shown(per_day * days)
    if needs.fish_cm3 is not None:
        fish_g = needs.fish_cm3 * _or_none(needs.fish_g_per_cm3)
        per_day = livestock.food_g_per_day(fish_g, _or_none(needs.food_share_per_day))
        found["food_g"] = shown(per_day * days)
    if needs.chlorine_g_per_l is not None:
        found["chlorine_g"] = shown(needs.chlorine_g_per_l * (_litres(changed) + _litres(evaporated)))
    if needs.hardness_mmol_per_l is not None:
        found["hardness_mmol"] = shown(needs.hardness_mmol_per_l * _litres(changed))
    if needs.tap_mg_per_l is not None or needs.carbon_dioxide_mg_per_l is not None:
        solids = purifier.permeate_mg_per_l(_or_none(needs.tap_mg_per_l), _or_none(needs.rejection_share))
        load = purifier.resin_load_eq_per_l(solids, _or_none(needs.carbon_dioxide_mg_per_l), NONE)
        found["resin_meq"] = shown(1000 * load * _litres(purified))
    nothing = np.zeros(changed.shape, dtype=np.int64)
    return {driver: _as_rows(found.get(driver, nothing), nothing) for driver in NEEDED}


def _alkalinity(needs: Needs, wanted_meq: Floats, topped_l: Floats) -> dict[str, Whole]:
    """Alkalinity, calcium, magnesium; limewater comes first, as far as topping up carries it."""
    lost_share = _or_none(needs.limewater_lost_share)
    most_meq = chemistry.limewater_meq(topped_l, _or_none(needs.limewater_g_per_l) * (1 - lost_share))
    by_limewater_meq = np.minimum(wanted_meq, most_meq)
    rest_meq = wanted_meq - by_limewater_meq
    lime_g = chemistry.limewater_powder_g(chemistry.limewater_g(by_limewater_meq), lost_share)
    magnesium_g = chemistry.magnesium_g(chemistry.calcium_g(wanted_meq), _or_none(needs.magnesium_g_per_g))
    return {
        "alkalinity_meq": shown(rest_meq),
        "calcium_g": shown(chemistry.calcium_g(rest_meq)),
        "magnesium_g": shown(magnesium_g),
        "limewater_g": shown(lime_g),
    }


def _litres(thousandths: Whole) -> Floats:
    return thousandths.astype(np.float64) / 1000


def _or_none(need: Floats | None) -> Floats:
    return NONE if need is None else need


def _as_rows(found: Whole, like: Whole) -> Whole:
    """The same for every setup; a need that is alike for all comes as one row."""
    return found if found.shape == like.shape else np.broadcast_to(found, like.shape)
