"""The figures of rows as the columns that the models ask for."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.batch.forms import OTHER, Form
from service.batch.movable import COLUMNS, figure
from service.batch.sizes import NOTHING, Figures, Sizes, short, sizes_of, stated_sizes
from service.engine import seawater
from service.engine.needs import Needs
from service.engine.ratio import Column
from service.engine.tank import Tank
from service.engine.tariff import Shape
from service.quoting.devices import ALL_DAY, EVEN
from service.quoting.specification import MEAN_MONTH_DAYS
from service.quoting.values import Pair
from service.quoting.vessel import SHAPES

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]
Rows = NDArray[np.int64]
_TANK = {name: i for i, name in enumerate(Tank._fields)}
_NEEDS = {name: i for i, name in enumerate(Needs._fields)}
# Columns that are fields of the tank as they stand.
_SAME = ("water_c", "source_c", "rating_w", "fan_w", "air_m_per_s")
_RENAMED = {"humidity": "humidity_share", "performance": "performance_ratio", "salinity": "salinity_g_per_kg"}
_AREAS = ("surface_m2", "pane_area_m2", "base_m2", "nominal_l", "pane_m")
_PLACES = ("in_water", "outside", "unplaced", "above", "hood")
_ALL_DAY: Pair = (24, 1)
OF_SIZE = frozenset({"height", "surface", "panes", "pane"})


@dataclass(slots=True)
class Taken:
    """Rows with the figures of each by column; `whole` is false for one that goes by itself after all."""

    forms: list[Form]
    figures: Figures
    powers: list[list[Pair | None]]
    hours: list[list[Pair | None]]
    whole: Mask

    def only(self, at: Sequence[int]) -> Taken:
        """Some of the rows."""
        return Taken(
            [self.forms[row] for row in at],
            {name: [column[row] for row in at] for name, column in self.figures.items()},
            [self.powers[row] for row in at],
            [self.hours[row] for row in at],
            self.whole[list(at)],
        )


def taken(forms: list[Form], slots: list[list[str]]) -> Taken:
    """The figures of rows; `whole` is false where one is not a plain one within its bounds."""
    count = len(forms)
    figures: Figures = {name: [None] * count for name in COLUMNS}
    powers: list[list[Pair | None]] = []
    hours: list[list[Pair | None]] = []
    whole = np.ones(count, dtype=bool)
    for row, (form, of_row) in enumerate(zip(forms, slots, strict=True)):
        devices = len(form.devices)
        power: list[Pair | None] = [None] * devices
        hour: list[Pair | None] = [None] * devices
        for at, column, unit, device in form.outline.moving:
            found = figure(of_row[at], column, unit)
            if found is None:
                whole[row] = False
            elif device < 0:
                figures[column.name][row] = found
            elif column.name == "watts":
                power[device] = found
            else:
                hour[device] = found
        powers.append(power)
        hours.append(hour)
    return Taken(forms, figures, powers, hours, whole)


@dataclass(slots=True)
class Columns:
    """Rows as the engine and the rules take them; `areas` are not a number where they are not known."""

    net_l: list[Pair | None]
    gross_l: list[Pair | None]
    areas: dict[str, Floats]
    tank: Tank
    needs: Needs
    change_l: list[Pair]
    tap_ratio: list[Pair]


def columns_of(rows: Taken) -> Columns:
    """The columns of rows that are whole; `whole` becomes false where a vessel cannot be."""
    count, forms, figures = len(rows.forms), rows.forms, rows.figures
    gross: list[Pair | None] = [None] * count
    net: list[Pair | None] = [None] * count
    areas = {name: np.full(count, np.nan) for name in _AREAS}
    for at, sizes in _vessels(forms, figures):
        for place, row in enumerate(at.tolist()):
            inside, water = sizes.gross_l[place], sizes.net_l[place]
            gross[row], net[row] = inside, water
            if water is None or water[0] <= 0:
                rows.whole[row] = False
        for name, column in sizes.areas.items():
            areas[name][at] = column
    tank = np.array([form.tank for form in forms]).T.copy()
    needs = np.array([form.needs for form in forms]).T.copy()
    water_l = np.array([0.0 if one is None else one[0] / one[1] for one in net])
    change, ratio = _changes(forms, figures, net)
    days = np.array([form.change_every[0] + form.change_every[1] * MEAN_MONTH_DAYS for form in forms])
    changed = np.array([one[0] / one[1] for one in change])
    tank[_TANK["water_l"]] = water_l
    tank[_TANK["changed_l_per_day"]] = np.where(days > 0, changed / np.where(days > 0, days, 1.0), 0.0)
    _stated(tank, figures)
    _areas(tank, areas)
    _gains(tank, rows)
    _needs(needs, tank, forms, figures, water_l)
    here = [bool(row.any()) for row in needs]
    room = _rooms(forms, figures)
    return Columns(
        net, gross, areas,
        Tank(*tank[:, :, None])._replace(room_c=room),
        Needs(*(row[:, None] if some else None for row, some in zip(needs, here, strict=True))),
        change, ratio,
    )  # fmt: skip


def _vessels(forms: list[Form], figures: Figures) -> Iterator[tuple[Rows, Sizes]]:
    """Rows of one kind of vessel with what they come to."""
    kinds: dict[tuple[str, frozenset[str]], list[int]] = {}
    for row, form in enumerate(forms):
        if form.shape is not None:
            kinds.setdefault((form.shape, form.moves & OF_SIZE), []).append(row)
    for (shape, moves), members in kinds.items():
        at = np.array(members, dtype=np.int64)
        if shape == OTHER:
            yield at, stated_sizes(at, moves, figures)
        elif shape in SHAPES:
            yield at, sizes_of(at, shape, moves, figures)


def _changes(
    forms: list[Form], figures: Figures, net: Sequence[Pair | None]
) -> tuple[list[Pair], list[Pair]]:
    """Litres of one water change, and what is drawn for a litre that is used."""
    change, ratio = [], []
    columns = zip(forms, figures["portion"], figures["changed"], figures["reject"], net, strict=True)
    for form, portion, litres, reject, water in columns:
        if not any(form.change_every):
            change.append(NOTHING)
        elif portion is not None and water is not None:
            change.append(short(portion[0] * water[0], portion[1] * water[1]))
        else:
            change.append(litres or NOTHING)
        if reject is None or not form.model.purified:
            ratio.append(form.model.tap_ratio.as_integer_ratio())
        else:
            ratio.append((reject[0] + reject[1], reject[1]))
    return change, ratio


def _stated(tank: Floats, figures: Figures) -> None:
    """What rows state takes the place of what their form has."""
    for name in (*_SAME, *_RENAMED):
        stated = [(row, one) for row, one in enumerate(figures[name]) if one is not None]
        if stated:
            at = [row for row, _ in stated]
            tank[_TANK[_RENAMED.get(name, name)], at] = [one[0] / one[1] for _, one in stated]


def _areas(tank: Floats, areas: dict[str, Floats]) -> None:
    """Areas of the vessel where a form has them; a base that is not known is as large as the surface."""
    surface = areas["surface_m2"]
    base = np.where(np.isnan(areas["base_m2"]), tank[_TANK["base_m2"]], areas["base_m2"])
    as_surface = np.isnan(areas["base_m2"]) & (tank[_TANK["base_m2"]] == tank[_TANK["surface_m2"]])
    base = np.where(as_surface, surface, base)
    for name, column in (
        ("pane_m2", areas["pane_area_m2"]), ("base_m2", base), ("pane_m", areas["pane_m"]),
        ("surface_m2", surface),
    ):  # fmt: skip
        at = _TANK[name]
        # A form that asks for no balance has no panes; one without a vessel has no surface.
        modelled = tank[_TANK["pane_m2"]] != 0 if name in ("base_m2", "pane_m") else tank[at] != 0
        tank[at] = np.where(modelled & ~np.isnan(column), column, tank[at])


def _gains(tank: Floats, rows: Taken) -> None:
    """Heat of the devices by where they are, summed in their order."""
    counted = np.zeros(len(rows.forms), dtype=bool)
    for place in _PLACES:
        counted |= tank[_TANK[f"{place}_w"]] != 0
    for row in np.flatnonzero(counted).tolist():
        form = rows.forms[row]
        sums = dict.fromkeys(_PLACES, 0.0)
        lit = 0.0
        for device, power, hour in zip(form.devices, rows.powers[row], rows.hours[row], strict=True):
            watts, hours = power or device.watts or NOTHING, hour or device.hours or NOTHING
            on_hours = hours[0] / hours[1]
            on = watts[0] / watts[1] * on_hours
            sums[device.place] += (on + device.standby[0] / device.standby[1] * (24 - on_hours)) / 24
            if device.place in ("above", "hood"):
                lit = max(lit, on_hours / 24)
        for place, total in sums.items():
            tank[_TANK[f"{place}_w"], row] = total
        tank[_TANK["lit_share"], row] = lit


def _needs(needs: Floats, tank: Floats, forms: list[Form], figures: Figures, water_l: Floats) -> None:
    at, usual, by, per, row_of = [], [], [], [], []
    for row, form in enumerate(forms):
        for place, one, times, over in form.by_water:
            at.append(place)
            usual.append(one)
            by.append(times)
            per.append(over)
            row_of.append(row)
    if at:
        scale = water_l[row_of] * np.array(by) / np.array(per)
        needs[at, row_of] = np.array(usual) * scale
    salty = [
        row for row, one in enumerate(figures["salinity"])
        if one is not None and forms[row].document.get("water") in ("marine", "brackish")
    ]  # fmt: skip
    if salty:
        salinity = tank[_TANK["salinity_g_per_kg"], salty]
        warm = np.full(len(salty), 25.0)
        mixed = seawater.mix_per_fresh_g_per_l(salinity, warm, np.zeros(len(salty)))
        needs[_NEEDS["anhydrous_g_per_l"], salty] = mixed


def _rooms(forms: list[Form], figures: Figures) -> Floats:
    stated = figures["room_c"]
    rooms = [
        form.model.room_c if one is None else (one[0] / one[1],)
        for form, one in zip(forms, stated, strict=True)
    ]
    longest = max(len(room) for room in rooms)
    return np.array([room if len(room) == longest else room * longest for room in rooms])


def devices_of(rows: Taken, shapes: list[Shape]) -> Any:
    """(setup, watts, standby, hours, all day, shape) of every device, as columns; new shapes are added."""
    setup, watts, standby, hours, all_day, shape = [], [], [], [], [], []
    for row, form in enumerate(rows.forms):
        for device, power, hour in zip(form.devices, rows.powers[row], rows.hours[row], strict=True):
            on = hour or device.hours or NOTHING
            one = device.shape or (ALL_DAY if on == _ALL_DAY else EVEN)
            if one not in shapes:
                shapes.append(one)
            setup.append(row)
            watts.append(power or device.watts or NOTHING)
            standby.append(device.standby)
            hours.append(on)
            all_day.append(one.all_day)
            shape.append(shapes.index(one))
    return (
        np.array(setup, dtype=np.int64), Column.of(watts), Column.of(standby), Column.of(hours),
        np.array(all_day, dtype=bool), np.array(shape, dtype=np.int64),
    )  # fmt: skip
