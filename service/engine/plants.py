"""Nutrients for plants: what is weighed out to give an amount of each, as pure salts.

Rules on float64 columns. A salt that brings two nutrients is counted by the one it is dosed for; the other
comes with it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from service.engine import masses as mass

Floats = NDArray[np.float64]

NITRATE_IN_POTASSIUM_NITRATE = float(mass.NITRATE / mass.POTASSIUM_NITRATE)
POTASSIUM_IN_POTASSIUM_NITRATE = float(mass.POTASSIUM / mass.POTASSIUM_NITRATE)
PHOSPHATE_IN_MONOPOTASSIUM_PHOSPHATE = float(mass.PHOSPHATE / mass.MONOPOTASSIUM_PHOSPHATE)
POTASSIUM_IN_MONOPOTASSIUM_PHOSPHATE = float(mass.POTASSIUM / mass.MONOPOTASSIUM_PHOSPHATE)
POTASSIUM_IN_POTASSIUM_SULFATE = float(2 * mass.POTASSIUM / mass.POTASSIUM_SULFATE)


def potassium_nitrate_g(nitrate_g: Floats) -> Floats:
    """Potassium nitrate for an amount of nitrate. Source: iupac-masses."""
    return nitrate_g / NITRATE_IN_POTASSIUM_NITRATE


def monopotassium_phosphate_g(phosphate_g: Floats) -> Floats:
    """Monopotassium phosphate for an amount of phosphate. Source: iupac-masses."""
    return phosphate_g / PHOSPHATE_IN_MONOPOTASSIUM_PHOSPHATE


def potassium_with_g(nitrate_g: Floats, phosphate_g: Floats) -> Floats:
    """Potassium that comes with nitrate and phosphate dosed as potassium salts. Source: iupac-masses."""
    with_nitrate_g = potassium_nitrate_g(nitrate_g) * POTASSIUM_IN_POTASSIUM_NITRATE
    return with_nitrate_g + monopotassium_phosphate_g(phosphate_g) * POTASSIUM_IN_MONOPOTASSIUM_PHOSPHATE


def potassium_sulfate_g(potassium_g: Floats, with_g: Floats) -> Floats:
    """Potassium sulfate for what an amount of potassium lacks beside what comes with other salts.

    Source: iupac-masses.
    """
    return np.maximum(potassium_g - with_g, 0.0) / POTASSIUM_IN_POTASSIUM_SULFATE
