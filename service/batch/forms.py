"""Forms: rows of one outline whose fixed parts are the same, and what all of them have in common.

A form is found from its first row, which is read like a request of one setup. Rows whose figures
matter in other ways than the columns here know have no form, and go the way of single rows.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from service.batch.outline import Outline
from service.engine.needs import Needs
from service.engine.tank import Tank
from service.engine.tariff import Shape
from service.quoting.conditions import Known, known_of
from service.quoting.devices import ALL_DAY, EVEN
from service.quoting.reader import obj, seq
from service.quoting.request import Reading
from service.quoting.specification import DKH_MEQ_PER_L, Specification, usual_of
from service.quoting.values import Pair
from service.quoting.vessel import SHAPES

OTHER = "other"
# Members that are the same for all rows of a form wherever they stand, or whose figures are columns.
_READ = frozenset({
    "ref", "name", "sku", "public", "water", "vessel", "water_temperature", "room", "cover", "surface",
    "salinity", "water_change", "source_water", "heating", "cooling", "devices", "livestock", "feeding",
    "testing", "plants", "limewater", "hardness", "co2", "salt_mix", "lines", "routine",
})  # fmt: skip
_OF_VESSEL = frozenset({
    "shape", "outside", "pane", "material", "water_depth", "displaced", "sump_water", "sump_surface",
    "water", "open_surface", "pane_area", "base_area", "contents_mass", "stand_mass",
})  # fmt: skip
PLANT_FOOD = ("nitrate", "phosphate", "potassium", "iron")


@dataclass(slots=True)
class FormDevice:
    """A device of a form; power or hours are None where they are columns."""

    watts: Pair | None
    hours: Pair | None
    standby: Pair
    shape: Shape | None
    place: str


@dataclass(slots=True)
class Form:
    """What rows of a form have in common."""

    number: int
    outline: Outline
    document: dict[str, Any]
    shape: str | None
    model: Specification
    tank: list[float]
    needs: list[float]
    known: Known
    devices: list[FormDevice]
    change_every: tuple[int, int]
    moves: frozenset[str]
    routine: int
    # Shares of the water that a need goes by: its place among the needs, and amount = usual x (water x by).
    by_water: list[tuple[int, float, float, float]]


def form_of(
    number: int, outline: Outline, document: dict[str, Any], reading: Reading, routine: int
) -> Form | None:
    """The form of a row that was read by itself; None where its figures matter in other ways."""
    moves = frozenset(column.name for _, column, _, device in outline.moving if device < 0)
    shape = obj(document.get("vessel")).get("shape")
    if not _fits(document, shape, moves):
        return None
    model = reading.setups.models[0]
    return Form(
        number, outline, document, shape, model,
        [model.tank[name] for name in Tank._fields],
        [model.needs[name] for name in Needs._fields],
        known_of(model, document, reading.setups.devices),
        _devices(outline, reading),
        reading.setups.change_every[0],
        moves,
        routine,
        list(_by_water(document, model)),
    )  # fmt: skip


def _fits(document: dict[str, Any], shape: Any, moves: frozenset[str]) -> bool:
    vessel = obj(document.get("vessel"))
    if document.keys() - _READ or vessel.keys() - _OF_VESSEL:
        return False
    needed: set[str] = set()
    if shape in SHAPES:
        needed = {*SHAPES[shape].names, "pane", "depth"}
        needed |= {"height"} if "height" in obj(vessel.get("outside")) else set()
    elif shape == OTHER:
        needed = {"held"} | ({"surface"} if "open_surface" in vessel else set())
        needed |= {"panes"} if "pane_area" in vessel else set()
    for member, column in (("displaced", "displaced"), ("sump_water", "sump")):
        needed |= {column} if member in vessel else set()
    change = obj(document.get("water_change"))
    needed |= {"portion"} if "portion" in change else {"changed"} if "volume" in change else set()
    if not needed <= moves:
        return False
    if "salinity" in moves and ("salt_mix" in document or "at" in obj(document.get("salinity"))):
        return False
    return obj(document.get("co2")).get("mode") != "surface"


def _devices(outline: Outline, reading: Reading) -> list[FormDevice]:
    moved = {(device, column.name) for _, column, _, device in outline.moving if device >= 0}
    found = []
    for i, one in enumerate(reading.setups.devices):
        hours = None if (i, "hours") in moved else one.hours
        watts = None if (i, "watts") in moved else one.watts
        shape = None if one.shape in (ALL_DAY, EVEN) else one.shape
        found.append(FormDevice(watts, hours, one.standby, shape, one.placed or "unplaced"))
    return found


def _by_water(document: Mapping[str, Any], model: Specification) -> Any:
    """Needs that go by the litres of the setup, as `of_needs` takes them: usual x (litres x by / per)."""
    if model.net_l is None:
        return
    place = {name: i for i, name in enumerate(Needs._fields)}
    if document.get("water") in ("marine", "brackish"):
        yield place["wet_l_per_day"], usual_of("salt.wet_loss_l_per_day_per_l")[0], 1.0, 1.0
    corals, plants = obj(document.get("livestock")).get("corals"), document.get("plants")
    if corals is not None:
        usual = usual_of(f"alkalinity.demand.{corals}")[0]
        yield place["alkalinity_meq_per_day"], usual, DKH_MEQ_PER_L, 1.0
    if plants is not None:
        for name in PLANT_FOOD:
            usual = usual_of(f"plants.{name}_mg_per_l_week.{plants}")[0]
            yield place[f"{name}_g_per_day"], usual, 1.0, 7000.0


def devices_whole(document: Mapping[str, Any], reading: Reading) -> bool:
    """Whether every device was read; one that was not would shift the others."""
    return len(seq(document.get("devices"))) == len(reading.setups.devices)
