"""Facts of the vessel: how much water it holds, its surfaces, its mass and its load on the floor.

Lengths in cm, volumes in litres. Stated volumes of boxes are exact; round shapes are float64. The rest are
rules on float64 columns, measured from the outside of the vessel as it stands.
"""

from __future__ import annotations

from fractions import Fraction
from math import atan2, pi, sin, sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CM3_PER_L = 1000
CM2_PER_M2 = 10_000
CM_PER_M = 100
# One square metre of water, one centimetre deep.
L_PER_M2_CM = 10
STANDARD_GRAVITY_M_PER_S2 = 9.80665
# Below this angle its sine is too near it for a difference of floats.
FLAT = 0.02


def box_l(length_cm: Fraction, width_cm: Fraction, pane_cm: Fraction, depth_cm: Fraction) -> Fraction:
    """Water in a rectangular vessel, from its outside. Source: solid-geometry."""
    return (length_cm - 2 * pane_cm) * (width_cm - 2 * pane_cm) * depth_cm / CM3_PER_L


def cylinder_l(diameter_cm: float, pane_cm: float, depth_cm: float) -> float:
    """Water in an upright cylinder, from its outside. Source: solid-geometry."""
    return pi / 4 * (diameter_cm - 2 * pane_cm) ** 2 * depth_cm / CM3_PER_L


def bow_l(length_cm: float, width_cm: float, bow_cm: float, pane_cm: float, depth_cm: float) -> float:
    """Water behind a bowed front: chord `length`, side depth `width`, `bow` more in the middle.

    Needs 0 < bow <= length / 2. Source: solid-geometry.
    """
    radius = (length_cm**2 / 4 + bow_cm**2) / (2 * bow_cm)
    chord, inner = length_cm - 2 * pane_cm, radius - pane_cm
    # Written so that nothing large is taken from its like, however flat the bow.
    to_chord = sqrt(max(inner**2 - chord**2 / 4, 0.0))
    rise = chord**2 / 4 / (inner + to_chord)
    side = width_cm + bow_cm - 2 * pane_cm - rise
    return (chord * side + segment_cm2(inner, 2 * atan2(chord / 2, to_chord))) * depth_cm / CM3_PER_L


def segment_cm2(radius_cm: float, angle_rad: float) -> float:
    """Area of a circle's segment over an angle in radians; a flat one by its series."""
    above = angle_rad - sin(angle_rad)
    if angle_rad < FLAT:
        above = angle_rad**3 / 6 - angle_rad**5 / 120 + angle_rad**7 / 5040
    return radius_cm**2 * above / 2


def net_l(inside_l: Fraction, displaced_l: Fraction, sump_l: Fraction) -> Fraction:
    """Water in the system: what is in the vessel less what stands in it, plus the running sump."""
    return inside_l - displaced_l + sump_l


def sand_displaced_l(bed_l: Fraction, pores_share: Fraction) -> Fraction:
    """Water that a bed of sand or gravel takes the place of: its grains, not its pores.

    The bed covers the inside of the base evenly; it is what water of its depth would be.
    Source: solid-geometry.
    """
    return bed_l * (1 - pores_share)


def rock_displaced_l(rock_kg: Fraction, rock_kg_per_l: Fraction) -> Fraction:
    """Water that rock takes the place of; its closed pores count as rock. Source: common-practice."""
    return rock_kg / rock_kg_per_l


def box_surface_m2(length_cm: Floats, width_cm: Floats, pane_cm: Floats) -> Floats:
    """Open surface of the water in a box, which is also the inside of its base. Source: solid-geometry."""
    return (length_cm - 2 * pane_cm) * (width_cm - 2 * pane_cm) / CM2_PER_M2


def cylinder_surface_m2(diameter_cm: Floats, pane_cm: Floats) -> Floats:
    """Open surface of the water in an upright cylinder. Source: solid-geometry."""
    return np.pi / 4 * (diameter_cm - 2 * pane_cm) ** 2 / CM2_PER_M2


def bow_surface_m2(length_cm: Floats, width_cm: Floats, bow_cm: Floats, pane_cm: Floats) -> Floats:
    """Open surface of the water behind a bowed front.

    Needs 0 < bow <= length / 2. Source: solid-geometry.
    """
    chord, inner = length_cm - 2 * pane_cm, bow_radius_cm(length_cm, bow_cm) - pane_cm
    # Written as `bow_l` is, so that nothing large is taken from its like, however flat the bow.
    to_chord = np.sqrt(np.maximum(inner**2 - chord**2 / 4, 0.0))
    side = width_cm + bow_cm - 2 * pane_cm - chord**2 / 4 / (inner + to_chord)
    return (chord * side + bow_segment_cm2(inner, 2 * np.arctan2(chord / 2, to_chord))) / CM2_PER_M2


def bow_segment_cm2(radius_cm: Floats, angle_rad: Floats) -> Floats:
    """Segments of circles over angles; flat ones by their series. Source: solid-geometry."""
    square = angle_rad * angle_rad
    series = angle_rad * square * (1 / 6 - square * (1 / 120 - square / 5040))
    return radius_cm**2 / 2 * np.where(angle_rad < FLAT, series, angle_rad - np.sin(angle_rad))


def bow_radius_cm(length_cm: Floats, bow_cm: Floats) -> Floats:
    """Radius of a bowed front along the outside. Source: solid-geometry."""
    return (length_cm**2 / 4 + bow_cm**2) / (2 * bow_cm)


def bow_front_cm(length_cm: Floats, bow_cm: Floats) -> Floats:
    """Length of a bowed front along the outside; a half circle at most. Source: solid-geometry."""
    # Four times the angle of half the half chord: it stays exact where the bow is flat.
    return 4 * bow_radius_cm(length_cm, bow_cm) * np.arctan(2 * bow_cm / length_cm)


def box_panes_m2(length_cm: Floats, width_cm: Floats, depth_cm: Floats) -> Floats:
    """Wetted panes of a box: its outside all round by the depth of the water. Source: solid-geometry."""
    return 2 * (length_cm + width_cm) * depth_cm / CM2_PER_M2


def cylinder_panes_m2(diameter_cm: Floats, depth_cm: Floats) -> Floats:
    """Wetted wall of an upright cylinder, along the outside. Source: solid-geometry."""
    return np.pi * diameter_cm * depth_cm / CM2_PER_M2


def bow_panes_m2(length_cm: Floats, width_cm: Floats, bow_cm: Floats, depth_cm: Floats) -> Floats:
    """Wetted panes of a vessel with a bowed front, along the outside. Source: solid-geometry."""
    return (length_cm + 2 * width_cm + bow_front_cm(length_cm, bow_cm)) * depth_cm / CM2_PER_M2


def box_base_m2(length_cm: Floats, width_cm: Floats) -> Floats:
    """What a box covers of its stand, from its outside. Source: solid-geometry."""
    return length_cm * width_cm / CM2_PER_M2


def cylinder_base_m2(diameter_cm: Floats) -> Floats:
    """What an upright cylinder covers of its stand, from its outside. Source: solid-geometry."""
    return np.pi / 4 * diameter_cm**2 / CM2_PER_M2


def bow_base_m2(length_cm: Floats, width_cm: Floats, bow_cm: Floats) -> Floats:
    """What a vessel with a bowed front covers of its stand, from its outside. Source: solid-geometry."""
    angle_rad = 4 * np.arctan(2 * bow_cm / length_cm)
    segment_cm2 = bow_segment_cm2(bow_radius_cm(length_cm, bow_cm), angle_rad)
    return (length_cm * width_cm + segment_cm2) / CM2_PER_M2


def nominal_l(base_m2: Floats, height_cm: Floats) -> Floats:
    """Litres as a catalogue states them: the outside of the vessel, full to its rim.

    More than the water it holds, commonly by a tenth to a fifth. Source: solid-geometry.
    """
    return base_m2 * height_cm * L_PER_M2_CM


def empty_kg(
    base_m2: Floats, surface_m2: Floats, height_cm: Floats, floor_cm: Floats, pane_kg_per_m3: Floats
) -> Floats:
    """Mass of the bare vessel: its outside less its hollow, without braces, lid or stand.

    `surface_m2` is the inside, `floor_cm` the thickness of the bottom. Source: solid-geometry.
    """
    return (base_m2 * height_cm - surface_m2 * (height_cm - floor_cm)) / CM_PER_M * pane_kg_per_m3


def filled_kg(empty_kg: Floats, water_l: Floats, water_kg_per_l: Floats, contents_kg: Floats) -> Floats:
    """Mass on the floor: the vessel, its water, and what lies or stands with it. Source: solid-geometry."""
    return empty_kg + water_l * water_kg_per_l + contents_kg


def floor_load_kg_per_m2(filled_kg: Floats, base_m2: Floats) -> Floats:
    """Mass on each square metre that is stood upon. Source: irc-r301-5."""
    return filled_kg / base_m2


def floor_load_kn_per_m2(filled_kg: Floats, base_m2: Floats) -> Floats:
    """The same as a force, as codes for floors state it. Source: irc-r301-5."""
    return filled_kg * STANDARD_GRAVITY_M_PER_S2 / 1000 / base_m2


def sand_dry_kg(displaced_l: Floats, grain_kg_per_l: Floats) -> Floats:
    """Dry mass of the grains of a bed. Source: handbook-values."""
    return displaced_l * grain_kg_per_l
