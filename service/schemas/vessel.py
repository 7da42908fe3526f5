"""The shapes of vessels, told apart by 'shape'."""

from __future__ import annotations

from service.schemas.basic import Quantity
from service.schemas.fields import Word
from service.schemas.nesting import Obj, Shape


class _Contents(Shape):
    displaced = Obj("Share of the inside volume, or volume, that things in the water take up.", Quantity)
    sump_water = Obj("Water in the sump while the pump runs.", Quantity)
    sump_surface = Obj("Open surface of the sump.", Quantity)
    sand_depth = Obj("Depth of the bed of sand or gravel, where 'displaced' is not given.", Quantity)
    sand = Word("What the sand is; default aragonite in marine water, else quartz.", "quartz", "aragonite")
    rock_mass = Obj("Dry mass of the rock, where 'displaced' is not given.", Quantity)
    contents_mass = Obj(
        "Mass of sand, rock and what else is in the water, for the load on the floor; default what is "
        "displaced as rock, or the sand and rock that were given.",
        Quantity,
    )
    stand_mass = Obj("Mass of the stand and what it holds.", Quantity)
    material = Word("What the panes are made of.", "glass", "acrylic")


class _Walled(_Contents):
    pane = Obj("Thickness of one pane.", Quantity, required=True)
    water_depth = Obj("Depth of the water from the inside of the base.", Quantity, required=True)


class BoxOutside(Shape):
    """Outside measures of a box."""

    length = Obj("Length.", Quantity, required=True)
    width = Obj("Width from front to back.", Quantity, required=True)
    height = Obj("Height.", Quantity)


class CylinderOutside(Shape):
    """Outside measures of a cylinder."""

    diameter = Obj("Diameter.", Quantity, required=True)
    height = Obj("Height.", Quantity)


class BowOutside(Shape):
    """Outside measures of a box with a bowed front."""

    length = Obj("Length.", Quantity, required=True)
    width = Obj("Width from front to back at the sides.", Quantity, required=True)
    bow = Obj("Extra width in the middle of the front.", Quantity, required=True)
    height = Obj("Height.", Quantity)


class Box(_Walled):
    """A box of panes."""

    shape = Word("Shape of the vessel.", "box", required=True)
    outside = Obj("Outside measures.", BoxOutside, required=True)


class Cylinder(_Walled):
    """A cylinder."""

    shape = Word("Shape of the vessel.", "cylinder", required=True)
    outside = Obj("Outside measures.", CylinderOutside, required=True)


class Bow(_Walled):
    """A box with a bowed front."""

    shape = Word("Shape of the vessel.", "bow", required=True)
    outside = Obj("Outside measures.", BowOutside, required=True)


class Other(_Contents):
    """Any other shape, by its figures."""

    shape = Word("Shape of the vessel.", "other", required=True)
    water = Obj("Volume that is filled with water.", Quantity, required=True)
    open_surface = Obj("Area of the water's surface.", Quantity)
    pane_area = Obj("Area of the panes that the water touches.", Quantity)
    pane = Obj("Thickness of one pane.", Quantity)
    base_area = Obj("Area that the vessel stands on.", Quantity)


VESSELS: dict[str, type[Shape]] = {"box": Box, "cylinder": Cylinder, "bow": Bow, "other": Other}
