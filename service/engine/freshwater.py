"""Tap water made fit: chlorine taken out and hardness put in, with pure salts.

Rules on float64 columns. Hardness is calcium and magnesium together.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine import masses as mass

Floats = NDArray[np.float64]

MMOL_PER_MOL = 1000
_ASCORBIC_PER_CHLORINE = float(mass.ASCORBIC_ACID / mass.CHLORINE_GAS)
_AMMONIA_PER_CHLORINE = float(mass.AMMONIA / mass.CHLORINE_GAS)
_GYPSUM_G_PER_MMOL = float(mass.CALCIUM_SULFATE_DIHYDRATE) / MMOL_PER_MOL
_CALCIUM_CHLORIDE_G_PER_MMOL = float(mass.CALCIUM_CHLORIDE_DIHYDRATE) / MMOL_PER_MOL
_MAGNESIUM_SULFATE_G_PER_MMOL = float(mass.MAGNESIUM_SULFATE_HEPTAHYDRATE) / MMOL_PER_MOL
_MAGNESIUM_CHLORIDE_G_PER_MMOL = float(mass.MAGNESIUM_CHLORIDE_HEXAHYDRATE) / MMOL_PER_MOL
_POTASSIUM_BICARBONATE_G_PER_MEQ = float(mass.POTASSIUM_BICARBONATE) / MMOL_PER_MOL


def thiosulfate_g(chlorine_g: Floats, thiosulfate_g_per_g: Floats) -> Floats:
    """Sodium thiosulfate pentahydrate that takes chlorine out of water. Source: thiosulfate-note."""
    return chlorine_g * thiosulfate_g_per_g


def ascorbic_acid_g(chlorine_g: Floats) -> Floats:
    """Ascorbic acid that takes chlorine out of water, mole for mole. Source: iupac-masses."""
    return chlorine_g * _ASCORBIC_PER_CHLORINE


def ammonia_g(chlorine_g: Floats) -> Floats:
    """Ammonia that is set free where the chlorine was chloramine. Source: iupac-masses."""
    return chlorine_g * _AMMONIA_PER_CHLORINE


def lacking_mmol_per_l(target_mmol_per_l: Floats, feed_mmol_per_l: Floats) -> Floats:
    """Hardness that water lacks until it is as hard as wished; none where it is already.

    Source: common-practice.
    """
    return np.maximum(target_mmol_per_l - feed_mmol_per_l, 0.0)


def gypsum_g(hardness_mmol: Floats, calcium_share: Floats) -> Floats:
    """Calcium sulfate dihydrate for the calcium part of a hardness. Source: iupac-masses."""
    return hardness_mmol * calcium_share * _GYPSUM_G_PER_MMOL


def calcium_chloride_g(hardness_mmol: Floats, calcium_share: Floats) -> Floats:
    """Calcium chloride dihydrate for the calcium part of a hardness. Source: iupac-masses."""
    return hardness_mmol * calcium_share * _CALCIUM_CHLORIDE_G_PER_MMOL


def magnesium_sulfate_g(hardness_mmol: Floats, calcium_share: Floats) -> Floats:
    """Magnesium sulfate heptahydrate for what of a hardness is not calcium. Source: iupac-masses."""
    return hardness_mmol * (1 - calcium_share) * _MAGNESIUM_SULFATE_G_PER_MMOL


def magnesium_chloride_g(hardness_mmol: Floats, calcium_share: Floats) -> Floats:
    """Magnesium chloride hexahydrate for what of a hardness is not calcium. Source: iupac-masses."""
    return hardness_mmol * (1 - calcium_share) * _MAGNESIUM_CHLORIDE_G_PER_MMOL


def potassium_bicarbonate_g(alkalinity_meq: Floats) -> Floats:
    """Potassium bicarbonate for an amount of alkalinity, as planted tanks take it. Source: iupac-masses."""
    return alkalinity_meq * _POTASSIUM_BICARBONATE_G_PER_MEQ
