"""Draws the plots of the model pages from the engine.

python -m tests.plots.draw writes them to shared/models, beside the pages.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from service.engine import air, carbon_dioxide, chemistry, evaporation, purifier, seawater, vessel
from service.engine.masses import MEQ_PER_L_PER_DKH
from service.engine.tank import EVAPORATION_BOUNDS, HEATING_BOUNDS, Reading, checked
from service.parameters.defaults import defaults
from service.parameters.usual import usuals
from service.quoting.draws import usual_ends
from tests.plots.chart import Axis, Line, histogram, line_chart, spans
from tests.plots.examples import by_month, costs_of_draws, quantity, reef

Floats = NDArray[np.float64]

PAGES = Path(__file__).resolve().parents[2] / "shared" / "models"
MONTHS = ("J", "F", "M", "A", "M", "J", "J", "A", "S", "O", "N", "D")
POINTS = 41
# Water of the reef: salinity in g/kg, temperature, surface; the room's humidity.
SALT, WATER_C, SURFACE_M2, HUMIDITY = 35.165, 25.5, 0.5664, 0.5


def usual(key: str) -> float:
    return float(defaults()[key].mid)


def column(low: float, high: float, points: int = POINTS) -> Floats:
    return np.linspace(low, high, points)


def ended(label: str, x: Floats, y: Floats) -> Line:
    """A line with its label at its end."""
    return Line(label, x, y, float(x[-1]), (6, 5), "start")


def year() -> str:
    """What the reef of the examples uses by month."""
    setup = reef(room={})
    names = {"heating_kwh": "heating", "devices_kwh": "pumps and lamp"}
    x = np.arange(1.0, 13.0)
    lines = [
        Line(label, x, np.array(by_month(setup, driver)), 3 if driver == "heating_kwh" else 7.3, dots=True)
        for driver, label in names.items()
    ]
    return line_chart(
        "What a reef of 300 litres uses in a year",
        "Electricity by month in kilowatt-hours. Pumps and lamp take much the same every month; heating is "
        "highest in winter and lowest in July and August.",
        Axis("month of the year", range(1, 13), MONTHS),
        Axis("kilowatt-hours in the month", range(0, 141, 20)),
        lines,
    )


def floor_load() -> str:
    """Load on the floor of glass boxes 50 cm wide, full to 7 cm below the rim."""
    length = column(60, 200)
    width, pane = np.full_like(length, 50.0), np.full_like(length, 1.0)
    kg_per_l = seawater.density_kg_per_m3(np.full(1, SALT), np.full(1, WATER_C)) / 1000
    glass = np.full(1, usual("glass.kg_per_m3"))
    lines = []
    for high in (40, 50, 60):
        height = np.full_like(length, float(high))
        base, surface = vessel.box_base_m2(length, width), vessel.box_surface_m2(length, width, pane)
        empty = vessel.empty_kg(base, surface, height, pane, glass)
        water_l = surface * (height - 7) * 10
        filled = vessel.filled_kg(empty, water_l, kg_per_l, np.zeros(1))
        load = vessel.floor_load_kn_per_m2(filled, base)
        lines.append(Line(f"{high} cm high", length, load, 165))
    floor = np.full_like(length, 1.92)
    lines.append(Line("what a living room's floor is built for", length, floor, 130))
    return line_chart(
        "Load on the floor against length",
        "Kilonewtons on each square metre under filled glass boxes 50 cm wide and 40, 50 or 60 cm high. The "
        "load hardly changes with length and grows with height; it is two to three times the 1.92 "
        "kilonewtons that a code asks of the floor of a living room.",
        Axis("length in centimetres", range(60, 201, 20)),
        Axis("kilonewtons on a square metre", range(9)),
        lines,
    )


def salt() -> str:
    """Salt by a reading of gravity."""
    gravity = column(1.020, 1.030)
    at = np.full_like(gravity, 25.0)
    salinity = seawater.salinity_from_gravity_g_per_kg(gravity, at, at)
    colder = seawater.salinity_from_gravity_g_per_kg(gravity, at, np.full_like(gravity, 4.0))
    bound = np.full(1, usual("salt.bound_share"))
    mixed = seawater.mix_per_fresh_g_per_l(salinity, at, bound)
    mistaken = seawater.mix_per_fresh_g_per_l(colder, at, bound)
    held = seawater.density_kg_per_m3(salinity, at) * salinity / 1000
    return line_chart(
        "Salt against specific gravity",
        "Grams to the litre against a reading of specific gravity with water and reference at 25 degrees. "
        "The dry mix for a litre of fresh water lies about two grams above the salt in a litre of finished "
        "water. The same reading against pure water of 4 degrees means about four grams more.",
        Axis(
            "specific gravity as read",
            (1.020, 1.022, 1.024, 1.026, 1.028, 1.030),
            ("1.020", "1.022", "1.024", "1.026", "1.028", "1.030"),
        ),
        Axis("grams to the litre", range(25, 51, 5)),
        [
            ended("dry mix", gravity, mixed),
            ended("salt", gravity, held),
            ended("mix by 25/4", gravity, mistaken),
        ],
        room=82,
    )


def evaporated() -> str:
    """Evaporation of the reef by the temperature of its room."""
    room = column(12, 30)
    water = np.full(1, WATER_C)
    pressure = np.full(1, air.SEA_LEVEL_PA)
    surface_pa = air.water_activity_share(np.full(1, SALT)) * air.saturation_pa(water)
    room_pa = HUMIDITY * air.saturation_pa(room)
    still = evaporation.still_kg_per_m2h(water, room, surface_pa, room_pa, pressure)
    none = np.zeros(1)

    def a_day(kind: str, covered: float) -> Floats:
        moved = still * usual(f"evaporation.activity.{kind}")
        return evaporation.evaporated_kg_per_day(moved, np.full(1, covered), np.full(1, SURFACE_M2), none)

    gap, leak = (np.full(1, usual(key)) for key in ("cover.open_share.glazed", "evaporation.leak_share"))
    lid = float(evaporation.cover_share(gap, leak)[0])
    return line_chart(
        "Evaporation against the temperature of the room",
        "Litres a day from 0.57 square metres of sea water at 25.5 degrees in a room of half humidity. "
        "A broken surface loses nearly twice as much as a still one, a colder room takes more, and under "
        "glass next to nothing is lost.",
        Axis("room in degrees Celsius", range(12, 31, 3)),
        Axis("litres a day", range(9)),
        [
            Line("broken", room, a_day("broken", 1), 17, (4, -4), "start"),
            Line("rippled", room, a_day("rippled", 1), 16, (4, -4), "start"),
            Line("still", room, a_day("still", 1), 17, (-4, 18), "end"),
            Line("rippled, under glass", room, a_day("rippled", lid), 21),
        ],
    )


def vapour() -> str:
    """Vapour pressure over water, and that of air."""
    warm = column(10, 32)
    full = air.saturation_pa(warm)
    salty = air.water_activity_share(np.full(1, SALT)) * full
    return line_chart(
        "Vapour over water and in the air",
        "Pressure of vapour in kilopascals against temperature: over fresh water, two per cent less over sea "
        "water, and in air of 50 per cent humidity, which has half. What evaporates follows the gap between "
        "water and air.",
        Axis("degrees Celsius", range(10, 33, 2), [str(t) if t % 4 == 2 else "" for t in range(10, 33, 2)]),
        Axis("kilopascals", range(6)),
        [
            Line("over fresh water", warm, full / 1000, 24, (-8, -6), "end"),
            Line("over sea water", warm, salty / 1000, 24, (12, 18), "start"),
            Line("in air of 50 % humidity", warm, HUMIDITY * full / 1000, 21, (4, 24), "start"),
        ],
    )


def heated() -> str:
    """Heating of the reef by month, open and covered."""
    x = np.arange(1.0, 13.0)
    lines = [
        Line(label, x, np.array(by_month(reef(room={}, cover=cover), "heating_kwh")), at, moved, dots=True)
        for cover, label, at, moved in (
            ("open", "open on top", 4, (44, -6)),
            ("glazed", "under glass lids", 3.5, (6, -10)),
        )
    ]
    return line_chart(
        "Heating by month, with and without a lid",
        "Kilowatt-hours of the heater of a reef of 300 litres by month in a heated room, open and under "
        "glass. Glass saves most of it, and in summer the heater hardly runs.",
        Axis("month of the year", range(1, 13), MONTHS),
        Axis("kilowatt-hours in the month", range(0, 141, 20)),
        lines,
    )


def slowed() -> str:
    """Power of a pump by its speed."""
    share = column(0.2, 1)

    def watts(least: str) -> Floats:
        """Of a pump a hundred times as strong, from what it uses in January, so that no digit is lost."""
        pump = {"ref": "pump", "power": quantity("4000", "W"), "least_power": quantity(least, "W")}
        slowed = [pump | {"hours_per_day": "24", "speed": f"{speed:.6f}"} for speed in share.tolist()]
        kwh = [by_month({"ref": "tank", "devices": [one]}, "devices_kwh")[0] for one in slowed]
        return np.array(kwh) * 1000 / (24 * 31) / 100

    cube, kept = watts("0"), watts("500")
    return line_chart(
        "Power of a pump against its speed",
        "Watts of a pump of 40 watts against its speed. At half speed it takes an eighth; electronics that "
        "take 5 watts at any speed lift the lower end of the curve.",
        Axis("speed in per cent of full speed", (0.2, 0.4, 0.6, 0.8, 1.0), ("20", "40", "60", "80", "100")),
        Axis("watts", range(0, 41, 10)),
        [
            Line("5 W for its electronics", share, kept, 0.62, (-8, -8), "end"),
            Line("nothing but the cube", share, cube, 0.6, (12, 18), "start"),
        ],
    )


def resin() -> str:
    """Resin for a thousand litres by what is dissolved in the tap."""
    solids = column(0, 500)
    behind = purifier.permeate_mg_per_l(solids, np.full(1, usual("purifier.rejection_share")))
    capacity, used = (np.full(1, usual(key)) for key in ("resin.capacity_eq_per_l", "resin.use_share"))

    def litres(gas: float) -> Floats:
        load = purifier.resin_load_eq_per_l(behind, np.full(1, gas), np.zeros(1))
        return 1000.0 * load / (capacity * used)

    return line_chart(
        "Resin against what is dissolved in the tap water",
        "Litres of mixed-bed resin used up by a thousand litres of purified water, against the dissolved "
        "solids of the tap water, with 0, 3 and 10 milligrams of carbon dioxide in a litre. Carbon dioxide "
        "passes the membrane and lifts the whole line.",
        Axis("dissolved solids of the tap in mg/L", range(0, 501, 100)),
        Axis("litres of resin", (0, 0.5, 1, 1.5, 2)),
        [
            ended("10 mg/L of CO2", solids, litres(10)),
            ended("3 mg/L of CO2", solids, litres(3)),
            ended("no CO2", solids, litres(0)),
        ],
        room=116,
    )


def limewater() -> str:
    """Strength of limewater by its temperature."""
    warm = column(5, 40)
    most = chemistry.limewater_g_per_l(warm)
    stirred = np.full_like(warm, usual("limewater.strength_g_per_l"))
    return line_chart(
        "Limewater against temperature",
        "Grams of calcium hydroxide that a litre of water can hold, from 1.8 at 5 degrees down to 1.3 at 40, "
        "and the 1.25 grams that are usually stirred in, which lie below it.",
        Axis("temperature of the limewater in degrees Celsius", range(5, 41, 5)),
        Axis("grams to the litre", (0.8, 1, 1.2, 1.4, 1.6, 1.8, 2)),
        [
            Line("as much as dissolves", warm, most, 22, (6, -8), "start"),
            Line("usually stirred in", warm, stirred, 15, (0, 18)),
        ],
    )


def alkalinity() -> str:
    """Salts for alkalinity by daily demand, in 300 litres."""
    demand = column(0, 3, 31)
    meq = demand * float(MEQ_PER_L_PER_DKH) * 300.0 * 30.0
    pure = np.ones(1)
    bicarbonate = chemistry.sodium_bicarbonate_g(meq, pure)
    chloride = chemistry.calcium_chloride_g(chemistry.calcium_g(meq), pure)
    return line_chart(
        "Salts for alkalinity against daily demand",
        "Grams in thirty days for 300 litres against the degrees of carbonate hardness used a day: most of "
        "sodium bicarbonate, less of calcium chloride and of sodium carbonate, least of calcium hydroxide, "
        "which brings its calcium with it.",
        Axis("alkalinity used in a day in dKH", (0, 0.5, 1, 1.5, 2, 2.5, 3)),
        Axis("grams in 30 days", range(0, 901, 150)),
        [
            ended("sodium bicarbonate", demand, bicarbonate),
            ended("calcium chloride", demand, chloride),
            ended("sodium carbonate", demand, chemistry.sodium_carbonate_g(meq, pure)),
            ended("calcium hydroxide", demand, chemistry.limewater_g(meq)),
        ],
        room=140,
    )


def gas() -> str:
    """Carbon dioxide by bubbles."""
    rate = column(0, 4)
    hours = np.full(1, 10.0)
    size = defaults()["co2.bubble_ml"]
    lines = [
        ended(label, rate, carbon_dioxide.bubbled_g_per_day(rate, np.full(1, ml), hours))
        for label, ml in (
            (f"high, {size.most:g} mL", size.most),
            (f"usual, {size.mid:g} mL", size.mid),
            (f"low, {size.least:g} mL", size.least),
        )
    ]
    return line_chart(
        "Carbon dioxide against the rate of bubbles",
        "Grams a day against bubbles a second over ten hours, for a bubble of low, usual and high size. "
        "Counters differ by a factor of two either way, so weighing the bottle tells more.",
        Axis("bubbles a second", (0, 1, 2, 3, 4)),
        Axis("grams a day", range(0, 26, 5)),
        lines,
        room=116,
    )


def lives() -> str:
    """How long things last, from the list of usual values."""
    names = {
        "air-stone": "air stone",
        "filter-sock": "filter sock",
        "ph-electrode": "pH electrode",
        "dosing-tube": "dosing tube",
        "uv-lamp": "UV lamp",
        "plant-soil": "plant soil",
        "membrane": "membrane",
        "heater": "heater",
        "temperature-probe": "temperature probe",
    }
    rows = []
    for key, name in names.items():
        low, middle, high = usual_ends(usuals()[key])
        rows.append((name, low / 365.25, middle / 365.25, high / 365.25))
    return spans(
        "How long things last",
        "Years from low to high, with a dot at the usual value, for an air stone, a filter sock, a pH "
        "electrode, a dosing tube, a UV lamp, plant soil, a membrane, a heater and a temperature probe.",
        Axis("years", range(7)),
        rows,
    )


def factors() -> str:
    """The factor that a reading leads to."""
    ratio = np.array([0, 0.3, 0.5, 1, 2, 3, 4])

    def factor(bounds: tuple[float, float]) -> Floats:
        estimates = np.ones((len(ratio), 1))
        found = checked(estimates, Reading(ratio[:, None], estimates), bounds)
        return found.ratio[:, 0]

    return line_chart(
        "The factor that a reading leads to",
        "The factor on the estimate against what was read as a multiple of it. Between its bounds the factor "
        "is that multiple; it stays at 0.3 and 3 for evaporation and purified water and at 0.5 and 2 for "
        "heating.",
        Axis("reading as a multiple of the estimate", range(5)),
        Axis("factor for all months", (0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5)),
        [
            Line("evaporation, purified water", ratio, factor(EVAPORATION_BOUNDS), 2.9, (0, -14)),
            Line("heating", ratio, factor(HEATING_BOUNDS), 3.2, (0, 20)),
        ],
    )


def spread() -> str:
    """Where the yearly cost of a reef can lie."""
    usual_cost, low, high, costs = costs_of_draws()
    edges = np.arange(700.0, 1301.0, 20.0)
    counts = np.histogram(costs, edges)[0].astype(np.float64)
    return histogram(
        "What a reef may cost in a year",
        "How many of 2,000 draws of the uncertain inputs come to which cost in a year, by 20 pounds. "
        "A mark stands at the usual figure and at each end of the range that holds 95 in a hundred draws.",
        Axis("pounds in the year", range(700, 1301, 100)),
        Axis("draws of 2,000", range(0, 251, 50)),
        edges,
        counts,
        (
            (low, f"low {low:.0f}", "end"),
            (usual_cost, f"usual {usual_cost:.0f}", "start"),
            (high, f"high {high:.0f}", "start"),
        ),
    )


PLOTS: dict[str, Callable[[], str]] = {
    "year": year,
    "floor-load": floor_load,
    "salt": salt,
    "evaporation": evaporated,
    "vapour": vapour,
    "heating": heated,
    "pump-speed": slowed,
    "resin": resin,
    "limewater": limewater,
    "alkalinity": alkalinity,
    "carbon-dioxide": gas,
    "lives": lives,
    "factors": factors,
    "range": spread,
}


def main() -> None:
    """Write every plot beside the page that shows it."""
    for name, plot in PLOTS.items():
        (PAGES / f"{name}.svg").write_text(plot(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
