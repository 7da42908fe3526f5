"""Purified water: what is left in it behind the membrane, and what the resin takes up.

Rules on float64 columns.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine.masses import CALCIUM_CARBONATE, CARBON_DIOXIDE, SILICA

Floats = NDArray[np.float64]

MG_PER_G = 1000
# Solids counted as calcium carbonate: milligrams in an equivalent of two charges.
CARBONATE_MG_PER_EQ = float(CALCIUM_CARBONATE) * MG_PER_G / 2
# Carbon dioxide and silica each take one charge of the resin.
CARBON_DIOXIDE_MG_PER_EQ = float(CARBON_DIOXIDE) * MG_PER_G
SILICA_MG_PER_EQ = float(SILICA) * MG_PER_G


def permeate_mg_per_l(feed_mg_per_l: Floats, rejection_share: Floats) -> Floats:
    """Dissolved solids that the membrane lets through. Source: common-practice."""
    return feed_mg_per_l * (1 - rejection_share)


def resin_load_eq_per_l(
    solids_mg_per_l: Floats, carbon_dioxide_mg_per_l: Floats, silica_mg_per_l: Floats
) -> Floats:
    """Charge that a mixed bed must take out of each litre; solids are counted as calcium carbonate.

    A membrane lets carbon dioxide through, so it may be most of the load. Source: iupac-masses.
    """
    gas_eq_per_l = carbon_dioxide_mg_per_l / CARBON_DIOXIDE_MG_PER_EQ
    return solids_mg_per_l / CARBONATE_MG_PER_EQ + gas_eq_per_l + silica_mg_per_l / SILICA_MG_PER_EQ
