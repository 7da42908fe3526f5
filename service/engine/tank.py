"""What a setup evaporates, and what keeps its water warm or cool: monthly means, steady state.

Columns of float64: a row is one setup, [setup, 1] or [setup, 12] by calendar month. The
steps are those of a heat balance; each is a rule of its own in evaporation.py and heat.py.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine import air, evaporation, heat, seawater

Floats = NDArray[np.float64]

# A reading that is further from the estimate than this tells of a wrong input. Source: common-practice.
EVAPORATION_BOUNDS = (0.3, 3.0)
HEATING_BOUNDS = (0.5, 2.0)
ALL = np.ones((1, 1))
SEA_LEVEL = np.full((1, 1), air.SEA_LEVEL_PA)
# Water that is topped up stands at the temperature of the room.
FRESH_KG_PER_L, FRESH_J_PER_KGK = np.ones((1, 1)), np.full((1, 1), 4182.0)
# Temperatures between which the balance is sought, and how often the bracket is narrowed.
COLDEST_C, HOTTEST_C, STEPS = -5.0, 60.0, 12


class Tank(NamedTuple):
    """What the models ask of a setup. What a setup does not have is 0 (a rating: infinite).

    Powers are means over the day; those above the water are on for lit_share of it.
    The *_share of a power is the part of it that reaches the water. evaporation_ratio and
    heating_ratio are what readings taken elsewhere make of the estimates, else 1.
    """

    water_l: Floats
    water_c: Floats
    floating: Floats
    salinity_g_per_kg: Floats
    pressure_pa: Floats
    room_c: Floats
    room_shift_c: Floats
    humidity_share: Floats
    surface_m2: Floats
    sump_m2: Floats
    open_share: Floats
    leak_share: Floats
    activity_ratio: Floats
    correlation_ratio: Floats
    air_m3_per_h: Floats
    pane_m2: Floats
    base_m2: Floats
    pane_m: Floats
    pane_w_mk: Floats
    inside_w_m2k: Floats
    side_m2k_w: Floats
    down_m2k_w: Floats
    up_m2k_w: Floats
    under_m2k_w: Floats
    lid_m2k_w: Floats
    gap_m2k_w: Floats
    changed_l_per_day: Floats
    source_c: Floats
    in_water_w: Floats
    outside_w: Floats
    unplaced_w: Floats
    above_w: Floats
    hood_w: Floats
    lit_share: Floats
    in_water_share: Floats
    outside_share: Floats
    unplaced_share: Floats
    above_share: Floats
    hood_share: Floats
    heated: Floats
    rating_w: Floats
    chilled: Floats
    performance_ratio: Floats
    fan_w: Floats
    air_m_per_s: Floats
    evaporation_ratio: Floats
    heating_ratio: Floats


class Reading(NamedTuple):
    """What was read: amount [setup, 1], nan where nothing was; days [setup, 12] of it by calendar month."""

    amount: Floats
    days: Floats


class Readings(NamedTuple):
    """Readings that stand beside the estimates; None where no setup has any."""

    evaporated_l: Reading | None = None
    heating_kwh: Reading | None = None
    purified_l: Reading | None = None


class Checked(NamedTuple):
    """An estimate with its reading: what the estimate gave over the reading's days, and reading / estimate.

    The ratio is cut to its bounds, and 1 where nothing was read or nothing was estimated.
    """

    per_day: Floats
    model: Floats
    ratio: Floats


class Balance(NamedTuple):
    """Water and heat at a temperature of the water: what leaves it is positive, W and litres a day."""

    still_kg_per_m2h: Floats
    surface_kg_per_m2h: Floats
    surface_pa: Floats
    room_pa: Floats
    latent_j_per_kg: Floats
    evaporated_l_per_day: Floats
    open_m2: Floats
    sides_w: Floats
    base_w: Floats
    lid_w: Floats
    evaporation_w: Floats
    convection_w: Floats
    radiation_w: Floats
    change_w: Floats
    top_up_w: Floats
    loss_w: Floats
    steady_gain_w: Floats
    lamp_gain_w: Floats

    @property
    def need_lit_w(self) -> Floats:
        """Heat the water wants while the lamps are on; negative when it has too much."""
        return self.loss_w - self.steady_gain_w - self.lamp_gain_w

    @property
    def need_dark_w(self) -> Floats:
        """Heat the water wants while the lamps are off."""
        return self.loss_w - self.steady_gain_w


class Estimate(NamedTuple):
    """What is estimated of each setup for a day of each calendar month, readings counted in."""

    water_c: Floats
    heater_w: Floats
    cooling_w: Floats
    cooling_kwh_per_day: Floats
    evaporated_l: Checked
    heating_kwh: Checked
    used_l: Checked


def estimate(tank: Tank, readings: Readings) -> Estimate:
    """Evaporation, heating, cooling and water used on a day of each month."""
    water_c = tank.water_c
    if tank.floating.any():
        water_c = floating_c(tank)
    one = np.ones_like(tank.water_l)
    found = balance(tank, water_c, tank.evaporation_ratio)
    evaporated = checked(found.evaporated_l_per_day, readings.evaporated_l, EVAPORATION_BOUNDS)
    if readings.evaporated_l is not None:
        found = balance(tank, water_c, tank.evaporation_ratio * evaporated.ratio)
    heater_w = tank.heated * heat.heater_w(found.need_lit_w, found.need_dark_w, tank.lit_share, tank.rating_w)
    cooling_w = heat.cooling_w(found.need_lit_w, found.need_dark_w, tank.lit_share)
    heating_kwh = heat.heater_kwh(heater_w, one) * tank.heating_ratio
    heating = checked(heating_kwh, readings.heating_kwh, HEATING_BOUNDS)
    cooling_kwh = np.zeros_like(cooling_w)
    if tank.chilled.any():
        # A setup without a chiller has no performance, and nothing to divide.
        worth = np.where(tank.chilled > 0, tank.performance_ratio, 1.0)
        cooling_kwh = tank.chilled * heat.chiller_kwh(cooling_w, worth, one)
    if tank.fan_w.any():
        extra = fan_extra_kg_per_m2h(tank, found)
        run_share = heat.fan_run_share(cooling_w, extra, found.open_m2, found.latent_j_per_kg)
        run_share = np.where(tank.fan_w > 0, run_share, 0.0)
        cooling_kwh = cooling_kwh + heat.heater_kwh(run_share * tank.fan_w, one)
        blown = 24 * run_share * extra * found.open_m2
        evaporated = evaporated._replace(per_day=evaporated.per_day + blown)
    used = checked(tank.changed_l_per_day + evaporated.per_day, readings.purified_l, EVAPORATION_BOUNDS)
    return Estimate(water_c, heater_w, cooling_w, cooling_kwh, evaporated, heating, used)


def checked(per_day: Floats, reading: Reading | None, bounds: tuple[float, float]) -> Checked:
    """An estimate by its reading; a reading without an estimate stands for every day alike."""
    one = np.ones((len(per_day), 1))
    if reading is None:
        return Checked(per_day, one, one)
    model = np.sum(per_day * reading.days, axis=1, keepdims=True)
    read = ~np.isnan(reading.amount)
    both = read & (model > 0)
    amount = np.where(read, reading.amount, 0.0)
    ratio = np.where(both, np.clip(amount / np.where(both, model, 1.0), *bounds), 1.0)
    days = np.maximum(np.sum(reading.days, axis=1, keepdims=True), 1.0)
    found = np.where(read & ~both, amount / days, per_day * ratio)
    return Checked(found, model, ratio)


def balance(tank: Tank, water_c: Floats, evaporation_ratio: Floats) -> Balance:
    """All terms of the heat balance at a temperature of the water. Source: heat-arithmetic."""
    room_c = tank.room_c + tank.room_shift_c
    surface_pa = air.water_activity_share(tank.salinity_g_per_kg) * air.saturation_pa(water_c)
    room_pa = tank.humidity_share * air.saturation_pa(room_c)
    latent = air.latent_j_per_kg(water_c)
    # The correlation was found near sea level; with thinner air it would go the wrong way.
    still = evaporation.still_kg_per_m2h(water_c, room_c, surface_pa, room_pa, SEA_LEVEL)
    still = still * tank.correlation_ratio
    moved = still * tank.activity_ratio
    lift = evaporation.air_lift_kg_per_day(tank.air_m3_per_h, water_c, room_c, surface_pa, room_pa)
    covered = evaporation.cover_share(tank.open_share, tank.leak_share)
    from_m2 = covered * tank.surface_m2 + tank.sump_m2
    evaporated = evaporation.evaporated_kg_per_day(moved, ALL, from_m2, lift) * evaporation_ratio
    open_m2 = tank.open_share * tank.surface_m2 + tank.sump_m2
    glass = heat.layer_m2k_w(tank.pane_m, tank.pane_w_mk)
    side_u = heat.pane_u_w_m2k(tank.inside_w_m2k, glass, tank.side_m2k_w)
    base_u = heat.pane_u_w_m2k(tank.inside_w_m2k, glass + tank.under_m2k_w, tank.down_m2k_w)
    lid_u = heat.lid_u_w_m2k(tank.gap_m2k_w, tank.lid_m2k_w, tank.up_m2k_w)
    lid_m2 = (1 - tank.open_share) * tank.surface_m2
    density = seawater.density_kg_per_m3(tank.salinity_g_per_kg, water_c) / 1000
    capacity = seawater.heat_capacity_j_per_kgk(tank.salinity_g_per_kg, water_c)
    sides_w = heat.pane_loss_w(tank.pane_m2, side_u, water_c, room_c)
    base_w = heat.pane_loss_w(tank.base_m2, base_u, water_c, room_c)
    lid_w = heat.pane_loss_w(lid_m2, lid_u, water_c, room_c)
    evaporation_w = heat.evaporation_loss_w(evaporated, latent)
    convection_w = heat.convection_loss_w(
        moved, open_m2, water_c, room_c, surface_pa, room_pa, latent, tank.pressure_pa
    )
    radiation_w = heat.radiation_loss_w(open_m2, water_c, room_c)
    change_w = heat.warming_w(tank.changed_l_per_day, density, capacity, tank.source_c, water_c)
    top_up_w = heat.warming_w(evaporated, FRESH_KG_PER_L, FRESH_J_PER_KGK, room_c, water_c)
    steady_w = (
        heat.device_gain_w(tank.in_water_w, ALL, tank.in_water_share)
        + heat.device_gain_w(tank.outside_w, ALL, tank.outside_share)
        + heat.device_gain_w(tank.unplaced_w, ALL, tank.unplaced_share)
    )
    lamps_w = heat.device_gain_w(tank.above_w, ALL, tank.above_share)
    lamps_w = lamps_w + heat.device_gain_w(tank.hood_w, ALL, tank.hood_share)
    lamp_gain_w = lamps_w / np.where(tank.lit_share > 0, tank.lit_share, 1.0)
    loss_w = sides_w + base_w + lid_w + evaporation_w + convection_w + radiation_w + change_w + top_up_w
    return Balance(
        still, moved, surface_pa, room_pa, latent, evaporated, open_m2, sides_w, base_w, lid_w,
        evaporation_w, convection_w, radiation_w, change_w, top_up_w, loss_w, steady_w, lamp_gain_w,
    )  # fmt: skip


def fan_extra_kg_per_m2h(tank: Tank, at: Balance) -> Floats:
    """What a fan adds to an open surface while it runs. Source: carrier-ashrae-velocity."""
    blown = evaporation.fan_kg_per_m2h(at.surface_pa, at.room_pa, at.latent_j_per_kg, tank.air_m_per_s)
    return evaporation.moving_kg_per_m2h(at.surface_kg_per_m2h, ALL, blown) - at.surface_kg_per_m2h


def floating_c(tank: Tank) -> Floats:
    """The temperature of the water, sought where it floats; a column is not searched for some of its rows."""
    rows = np.flatnonzero(np.any(tank.floating > 0, axis=1))
    if len(rows) == len(tank.floating):
        return np.where(tank.floating > 0, reached_c(tank, np.zeros_like(tank.water_c)), tank.water_c)
    apart = Tank(*(field[rows] if len(field) > 1 else field for field in tank))
    reached = reached_c(apart, np.zeros_like(apart.water_c))
    water_c = np.broadcast_to(tank.water_c, (len(tank.floating), reached.shape[1])).copy()
    water_c[rows] = np.where(apart.floating > 0, reached, apart.water_c)
    return water_c


def reached_c(tank: Tank, heater_w: Floats) -> Floats:
    """The temperature at which losses equal gains and a heater's full power, by month.

    The bracket is narrowed by false position, each end halved when it stays twice (Illinois).
    """
    shape = np.broadcast_shapes(tank.room_c.shape, heater_w.shape, tank.water_l.shape)

    def short_w(water_c: Floats) -> Floats:
        at = balance(tank, water_c, tank.evaporation_ratio)
        return at.loss_w - at.steady_gain_w - at.lamp_gain_w * tank.lit_share - heater_w

    low, high = np.full(shape, COLDEST_C), np.full(shape, HOTTEST_C)
    below, above = short_w(low), short_w(high)
    # What has neither surface nor panes loses nothing at any temperature, and is as warm as its room.
    middle = tank.room_c + tank.room_shift_c
    # Which end was moved last: 1 the high one, -1 the low one.
    moved = np.zeros(shape)
    for _ in range(STEPS):
        span = above - below
        between = (low * above - high * below) / np.where(span > 0, span, 1.0)
        # Where the balance lies beyond the bracket, its nearer end stands for it.
        middle = np.where(span > 0, np.clip(between, low, high), middle)
        found = short_w(middle)
        warm = found > 0
        below = np.where(warm, np.where(moved > 0, below / 2, below), found)
        above = np.where(warm, found, np.where(moved < 0, above / 2, above))
        low, high = np.where(warm, low, middle), np.where(warm, middle, high)
        moved = np.where(warm, 1.0, -1.0)
    return np.clip(middle, COLDEST_C, HOTTEST_C)
