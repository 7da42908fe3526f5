"""Libraries that others wrote, asked beside our rules: EOS-80, IAPWS and the handbook's psychrometrics."""

from __future__ import annotations

import math
import warnings
from functools import lru_cache

import gsw
import iapws
import psychrolib

with warnings.catch_warnings():
    # It says on import that TEOS-10 has replaced it, which is why it is a second opinion here.
    warnings.simplefilter("ignore")
    import seawater

__all__ = ["gsw", "iapws", "psychrolib", "seawater"]

psychrolib.SetUnitSystem(psychrolib.SI)

# Gas constant of water; TEOS-10 gives its potentials by the gram.
WATER_J_PER_GK = 0.46151805


def if97_saturation_pa(kelvin: float) -> float:
    """Saturation pressure by the industrial formulation of 1997."""
    return 1e6 * float(iapws.iapws97._PSat_T(kelvin))


@lru_cache
def iapws95_saturation_pa(air_c: float) -> float:
    """Saturation pressure by the scientific formulation of 1995, another equation of state."""
    return 1e6 * float(iapws.IAPWS95(T=air_c + 273.15, x=0).P)


@lru_cache
def latent_j_per_kg(water_c: float) -> float:
    """Latent heat of pure water as the difference of two enthalpies."""
    vapour, liquid = (iapws.IAPWS97(T=water_c + 273.15, x=x).h for x in (1, 0))
    return 1e3 * float(vapour - liquid)


def water_activity(salinity_g_per_kg: float, water_c: float) -> float:
    """Activity of water from the chemical potentials of TEOS-10."""
    salt, pure = (gsw.chem_potential_water_t_exact(s, water_c, 0) for s in (salinity_g_per_kg, 0))
    return math.exp((salt - pure) / (WATER_J_PER_GK * (water_c + 273.15)))
