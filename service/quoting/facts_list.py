"""Facts: what a costing says of a setup that follows from the setup alone."""

from __future__ import annotations

# Name -> (unit, what it is), in the order in which they are listed.
FACTS: dict[str, tuple[str, str]] = {
    "net_volume": ("L", "water in the setup: in the vessel, less what is displaced, and in the sump"),
    "nominal_volume": ("L", "outside length by width by height, as sellers quote it"),
    "gross_volume": ("L", "inside of the vessel up to the water level, before anything is displaced"),
    "open_surface": ("m2", "surface of the water in the vessel, whether covered or not"),
    "pane_area": ("m2", "outside of the upright panes up to the water level"),
    "base_area": ("m2", "outside of the base, which is what the vessel stands on"),
    "empty_mass": ("kg", "mass of the vessel alone"),
    "filled_mass": (
        "kg",
        "mass of the vessel with its water, what lies in it, and its stand where that was given",
    ),
    "floor_load": ("kg/m2", "filled mass over the area of the base"),
    "salinity": ("g/kg", "salt in a kilogram of the water, for water that has any"),
    "practical_salinity": ("1", "the same on the practical scale, as meters show it"),
    "specific_gravity": (
        "1",
        "density of the water over that of pure water, both at 25 degrees, in five decimals",
    ),
    "conductivity": ("mS/cm", "what the water conducts at 25 degrees"),
}
