"""Alkalinity, calcium and magnesium: what a stocked tank uses, and what is dosed for it.

Rules on float64 columns. A purity is the part of what is weighed that is the pure chemical.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine import masses as mass

Floats = NDArray[np.float64]

MEQ_PER_EQ = 1000
_BICARBONATE_G_PER_MEQ = float(mass.SODIUM_BICARBONATE) / MEQ_PER_EQ
_CARBONATE_G_PER_MEQ = float(mass.SODIUM_CARBONATE) / 2 / MEQ_PER_EQ
_HYDROXIDE_G_PER_MEQ = float(mass.CALCIUM_HYDROXIDE) / 2 / MEQ_PER_EQ
_CALCIUM_G_PER_MEQ = float(mass.CALCIUM) / 2 / MEQ_PER_EQ
_TABLE_SALT_G_PER_MEQ = float(mass.SODIUM_CHLORIDE) / MEQ_PER_EQ
_GAS_G_PER_MEQ = float(mass.CARBON_DIOXIDE) / 2 / MEQ_PER_EQ
_MEDIA_G_PER_MEQ = float(mass.CALCIUM_CARBONATE) / 2 / MEQ_PER_EQ
_CHLORIDE_PER_CALCIUM = float(mass.CALCIUM_CHLORIDE_DIHYDRATE / mass.CALCIUM)
_CHLORIDE_PER_MAGNESIUM = float(mass.MAGNESIUM_CHLORIDE_HEXAHYDRATE / mass.MAGNESIUM)
_SULFATE_PER_MAGNESIUM = float(mass.MAGNESIUM_SULFATE_HEPTAHYDRATE / mass.MAGNESIUM)

# Saturated limewater at 25 degrees: 0.0203 moles a litre.
LIMEWATER_G_PER_L = 1.504
# The heat of solution of calcium hydroxide, -16.7 kJ to the mole, over three times the gas constant.
LIMEWATER_SLOPE_K = 671.0
ZERO_C_IN_K = 273.15


def weighed_g(pure_g: Floats, purity_share: Floats) -> Floats:
    """What is weighed of a salt that is not all itself. Source: common-practice."""
    return pure_g / purity_share


def sodium_bicarbonate_g(alkalinity_meq: Floats, purity_share: Floats) -> Floats:
    """Sodium bicarbonate for an amount of alkalinity. Source: iupac-masses."""
    return alkalinity_meq * _BICARBONATE_G_PER_MEQ / purity_share


def sodium_carbonate_g(alkalinity_meq: Floats, purity_share: Floats) -> Floats:
    """Sodium carbonate without water for an amount of alkalinity. Source: iupac-masses."""
    return alkalinity_meq * _CARBONATE_G_PER_MEQ / purity_share


def limewater_g(alkalinity_meq: Floats) -> Floats:
    """Calcium hydroxide for an amount of alkalinity; its calcium comes with it. Source: iupac-masses."""
    return alkalinity_meq * _HYDROXIDE_G_PER_MEQ


def limewater_powder_g(limewater_g: Floats, lost_share: Floats) -> Floats:
    """Powder for limewater: what arrives, and what settles as powder or chalk. Source: common-practice."""
    return limewater_g / (1 - lost_share)


def calcium_g(alkalinity_meq: Floats) -> Floats:
    """Calcium laid down with an amount of alkalinity. Source: calcification-stoichiometry."""
    return alkalinity_meq * _CALCIUM_G_PER_MEQ


def calcium_chloride_g(calcium_g: Floats, purity_share: Floats) -> Floats:
    """Calcium chloride dihydrate for an amount of calcium. Source: iupac-masses."""
    return calcium_g * _CHLORIDE_PER_CALCIUM / purity_share


def magnesium_g(calcium_g: Floats, magnesium_g_per_g: Floats) -> Floats:
    """Magnesium laid down with calcium, a tenth of it at most. Source: common-practice."""
    return calcium_g * magnesium_g_per_g


def magnesium_chloride_g(magnesium_g: Floats, purity_share: Floats) -> Floats:
    """Magnesium chloride hexahydrate for an amount of magnesium. Source: iupac-masses."""
    return magnesium_g * _CHLORIDE_PER_MAGNESIUM / purity_share


def magnesium_sulfate_g(magnesium_g: Floats, purity_share: Floats) -> Floats:
    """Magnesium sulfate heptahydrate for an amount of magnesium. Source: iupac-masses."""
    return magnesium_g * _SULFATE_PER_MAGNESIUM / purity_share


def table_salt_g(alkalinity_meq: Floats) -> Floats:
    """Sodium chloride that stays in the water after a sodium and a chloride dose; salinity creeps up by it.

    Source: calcification-stoichiometry.
    """
    return alkalinity_meq * _TABLE_SALT_G_PER_MEQ


def limewater_g_per_l(limewater_c: Floats) -> Floats:
    """Calcium hydroxide in a litre of saturated limewater; warm water holds less.

    Holds from 0 to 40 degrees; tables print up to a tenth more. The slope is from memory.
    Source: bates-1956; handbook-values.
    """
    cooler_per_k = 1 / (limewater_c + ZERO_C_IN_K) - 1 / (25 + ZERO_C_IN_K)
    return LIMEWATER_G_PER_L * np.exp(LIMEWATER_SLOPE_K * cooler_per_k)


def limewater_meq(topped_up_l: Floats, strength_g_per_l: Floats) -> Floats:
    """The most alkalinity that limewater can bring when it is all of the top-up. Source: iupac-masses."""
    return topped_up_l * strength_g_per_l / _HYDROXIDE_G_PER_MEQ


def reactor_gas_g(alkalinity_meq: Floats, excess_ratio: Floats) -> Floats:
    """Carbon dioxide that a calcium reactor takes, with the part of it that escapes unused.

    Source: calcification-stoichiometry.
    """
    return alkalinity_meq * _GAS_G_PER_MEQ * excess_ratio


def reactor_media_g(alkalinity_meq: Floats, purity_share: Floats) -> Floats:
    """Calcium carbonate that a calcium reactor dissolves. Source: calcification-stoichiometry."""
    return alkalinity_meq * _MEDIA_G_PER_MEQ / purity_share
