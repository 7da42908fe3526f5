"""Facts of the vessel: how much water it holds.

Lengths in cm, volumes in litres. Boxes are exact; round shapes are float64.
"""

from __future__ import annotations

from fractions import Fraction
from math import asin, atan2, pi, sin, sqrt

CM3_PER_L = 1000
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


def bow_arc_cm(length_cm: float, bow_cm: float) -> float:
    """Length of the bowed front along the outside. Source: solid-geometry."""
    radius = (length_cm**2 / 4 + bow_cm**2) / (2 * bow_cm)
    return 2 * radius * asin(length_cm / (2 * radius))


def net_l(inside_l: Fraction, displaced_l: Fraction, sump_l: Fraction) -> Fraction:
    """Water in the system: what is in the vessel less what stands in it, plus the running sump."""
    return inside_l - displaced_l + sump_l
