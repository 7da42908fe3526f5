"""A second opinion on a costing, by plain loops over days.

Written from the counting rules alone ("rule n" is a rule of the contract's
"How it is counted"; "carry" is the dealing of whole units with carry), never
from the engine, with `fractions.Fraction` throughout. Clear before fast. It
takes a valid request only: it checks nothing and words no faults.

What is estimated (evaporation, heat, salt, food and so on) is no business of
counting: it comes in as the monthly amounts that the answer shows. From there on
all is exact again: water drawn and drained, electricity, lines and their cost.
Usual consumption is read from the reviewed file itself, at its typical figures.

Amounts inside are in the base unit of their dimension; money is exact in the
currency of the costing until it becomes a cell, and whole minor units after.
"""

from __future__ import annotations

import calendar
import re
import zoneinfo
from collections import Counter, defaultdict
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from functools import cache
from itertools import chain, combinations
from math import asin, ceil, factorial, floor, pi, sqrt
from pathlib import Path

import yaml

zoneinfo.reset_tzpath(to=[])  # The pinned tzdata package decides, never the machine's copy.

DIGITS = {"GBP": 2, "EUR": 2, "USD": 2, "CHF": 2, "DKK": 2, "JPY": 0, "KWD": 3}
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
UNITS = {
    "L": "1", "mL": "1/1000", "m3": "1000", "[gal_us]": "3.785411784", "[gal_br]": "4.54609",
    "g": "1", "kg": "1000", "mg": "1/1000", "[lb_av]": "453.59237", "[oz_av]": "28.349523125",
    "W": "1", "kW": "1000", "kW.h": "1", "kWh": "1", "W.h": "1/1000",
    "mm": "1", "cm": "10", "m": "1000", "[in_i]": "25.4", "[ft_i]": "304.8", "m2": "1",
    "1": "1", "%": "1/100", "d": "1", "h": "1/24", "min": "1/1440", "mg/L": "1/1000", "g/L": "1",
    "g/kg": "1", "meq": "1", "mmol": "1", "MJ": "5/18",
}  # fmt: skip
USUAL_FILE = Path(__file__).parent.parent / "service" / "parameters" / "usual.yaml"
USUAL = yaml.safe_load(USUAL_FILE.read_text(encoding="utf-8"))
# Common practice, no source: what a purifier sends to the drain where nobody says.
USUAL_REJECT_RATIO = Fraction(7, 2)
CUBIC_MM_PER_LITRE = 1_000_000
DRIVERS = (
    "days", "water_changed_l", "evaporated_l", "purified_l", "feed_water_l", "drain_water_l", "heating_kwh",
    "cooling_kwh", "devices_kwh", "electricity_kwh", "salt_g", "alkalinity_meq", "calcium_g", "magnesium_g",
    "limewater_g", "nitrate_g", "phosphate_g", "potassium_g", "iron_g", "co2_g", "chlorine_g",
    "hardness_mmol", "resin_meq", "food_g", "feedings", "tests",
)  # fmt: skip
DAY = timedelta(days=1)
WHOLE_DAY = tuple(range(1440))


# --- numbers -------------------------------------------------------------


def exact(value: object) -> Fraction:
    """A decimal string, a "1/3" or a JSON number, read from its text."""
    return read(str(value))


@cache
def read(text: str) -> Fraction:
    return Fraction(text)


def base(quantity: dict) -> Fraction:
    """A quantity in the base unit of its dimension."""
    return exact(quantity["amount"]) * factor(quantity["unit"])


@cache
def factor(unit: str) -> Fraction:
    return Fraction(UNITS[unit])


def half_away(value: Fraction) -> int:
    """The nearest whole number; a half goes away from zero."""
    nearest = floor(abs(value) + Fraction(1, 2))
    return nearest if value >= 0 else -nearest


def fixed(whole: int, digits: int) -> str:
    """Whole units of 10^-digits as a decimal string."""
    sign, text = "-" if whole < 0 else "", str(abs(whole)).rjust(digits + 1, "0")
    return f"{sign}{text[:-digits]}.{text[-digits:]}" if digits else sign + text


def three(value: Fraction) -> str:
    return fixed(half_away(value * 1000), 3)


def to_three(value: Fraction) -> Fraction:
    """Rule 2: a driver is rounded to three decimals, and that figure is used."""
    return Fraction(half_away(value * 1000), 1000)


# --- civil days ----------------------------------------------------------


def add_months(day: date, months: int) -> date:
    """The same day of the month so many months on, clamped to the month's end."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


def days_between(start: date, end: date) -> list[date]:
    return [start + DAY * n for n in range((end - start).days)]


@cache
def wall_minutes(zone: str, day: date) -> tuple[int, ...]:
    """What a wall clock shows in each true minute of a civil day; found through UTC."""
    there = zoneinfo.ZoneInfo(zone)

    def midnight(on: date) -> datetime:
        return datetime(on.year, on.month, on.day, tzinfo=there).astimezone(UTC)

    begin, end = midnight(day), midnight(day + DAY)
    if end - begin == DAY and begin.astimezone(there).utcoffset() == end.astimezone(there).utcoffset():
        return WHOLE_DAY
    shown, instant = [], begin
    while instant < end:
        local = instant.astimezone(there)
        shown.append(local.hour * 60 + local.minute)
        instant += timedelta(minutes=1)
    return tuple(shown)


@cache
def minute_of(clock: str) -> int:
    return int(clock[:2]) * 60 + int(clock[3:])


def inside(minute: int, window: tuple[int, int] | None) -> bool:
    """Whether a minute of the civil day lies in a window that may pass midnight."""
    if window is None:
        return True
    start, end = window
    return start <= minute < end if start < end else minute >= start or minute < end


# --- what all steps need to know of the request ---------------------------


@dataclass
class Frame:
    """The request, its days and months, and how it turns money into its currency."""

    document: dict
    as_of: date
    start: date
    end: date
    days: list[date] = field(default_factory=list)
    months: list[list[int]] = field(default_factory=list)  # positions in `days`
    band_prices: dict = field(default_factory=dict)

    def window_lengths(self, duration: str) -> list[int]:
        """For each day, how many days the window of that length holds that it lies in.

        Months and years are laid end to end from the start of the period and
        always counted from it (contract, durations).
        """
        days, months = span(duration)
        if days:
            return [days] * len(self.days)
        lengths: list[int] = []
        step = 0
        while len(lengths) < len(self.days):
            size = (add_months(self.start, months * (step + 1)) - add_months(self.start, months * step)).days
            lengths.extend([size] * size)
            step += 1
        return lengths[: len(self.days)]

    def rate(self, currency: str) -> Fraction:
        """What one unit of a currency is in the costing's, unrounded."""
        wanted = self.document["currency"]
        if currency == wanted:
            return Fraction(1)
        near = self.leg(currency, wanted)
        if near:
            return near[1]
        names = {r[end] for r in self.document.get("exchange_rates", []) for end in ("from", "to")}
        routes = []
        for third in sorted(names - {currency, wanted}):
            first, second = self.leg(currency, third), self.leg(third, wanted)
            if first and second:
                routes.append((-min(first[0], second[0]).toordinal(), third, first[1] * second[1]))
        return min(routes)[2]

    def leg(self, have: str, want: str) -> tuple[date, Fraction] | None:
        """The latest rate of a pair, either way round; the stated direction wins a tie."""
        found = []
        for row in self.document.get("exchange_rates", []):
            on = date.fromisoformat(row["on"])
            if on <= self.as_of and (row["from"], row["to"]) == (have, want):
                found.append((on, 1, exact(row["rate"])))
            if on <= self.as_of and (row["from"], row["to"]) == (want, have):
                found.append((on, 0, 1 / exact(row["rate"])))
        return (max(found)[0], max(found)[2]) if found else None

    def tax_code(self, thing: dict) -> str | None:
        """The code of a line or tariff; left out, the only rate's, else `standard`."""
        rates = self.document.get("tax", {}).get("rates", {})
        if "tax_code" in thing or not rates:
            return thing.get("tax_code")
        return next(iter(rates)) if len(rates) == 1 else "standard"

    def pack_prices(self, line: dict) -> list[Fraction]:
        """The pack's price on each day, in the costing's currency and tax basis."""
        rows = line.get("prices") or [line["price"]]
        worth = [(row.get("from", "0001-01-01"), self.in_basis(row, line)) for row in rows]
        return [max(w for w in worth if w[0] <= day.isoformat())[1] for day in self.days]

    def in_basis(self, row: dict, line: dict) -> Fraction:
        """A price turned into the costing's tax basis and currency, unit by unit, unrounded."""
        amount = exact(row["amount"]) * self.rate(row["currency"])
        tax = self.document.get("tax")
        if not tax:
            return amount
        gross = tax.get("basis", "gross") == "gross"
        if row.get("tax_included", gross) == gross:
            return amount
        with_tax = 1 + exact(tax["rates"][self.tax_code(line)]) / 100
        return amount * with_tax if gross else amount / with_tax


def span(duration: str) -> tuple[int, int]:
    """A duration as (days, months); one of them is zero."""
    if parts := re.fullmatch(r"P(\d+)([DW])", duration):
        return int(parts[1]) * (7 if parts[2] == "W" else 1), 0
    parts = re.fullmatch(r"P(?:(\d+)Y)?(?:(\d+)M)?", duration)
    assert parts
    return 0, int(parts[1] or 0) * 12 + int(parts[2] or 0)


def frame_of(document: dict, today: date) -> Frame:
    start = date.fromisoformat(document["period"]["from"])
    until = document["period"].get("until")
    end = date.fromisoformat(until) if until else add_months(start, 12)
    as_of = date.fromisoformat(document["as_of"]) if "as_of" in document else today
    frame = Frame(document, as_of, start, end, days_between(start, end))
    for position, day in enumerate(frame.days):
        if position == 0 or day.day == 1:
            frame.months.append([])
        frame.months[-1].append(position)
    return frame


# --- lines ---------------------------------------------------------------


@dataclass
class Worked:
    """A line worked out: exact by month, and the packs to buy by day."""

    cost: list[Fraction]
    used: list[Fraction]
    packs: list[Fraction] | None = None
    unit: str = "kW.h"
    bought: list[tuple[date, int, Fraction]] = field(default_factory=list)
    cells: list[int] = field(default_factory=list)


def spelt_out(document: dict) -> dict:
    """The request with every usual consumption written as the usage that it stands for."""
    setups = [
        {**setup, "lines": [spelt_out_line(line, setup) for line in setup.get("lines", [])]}
        for setup in document["setups"]
    ]
    shared = [spelt_out_line(line, {}) for line in document.get("shared_lines", [])]
    return {**document, "setups": setups, "shared_lines": shared}


def spelt_out_line(line: dict, setup: dict) -> dict:
    """A line that names a thing uses what is typical of it, in the unit of its pack, and keeps as long."""
    if "usual" not in line:
        return line
    usual = USUAL[line["usual"]]
    if usual["kind"] == "life":
        return {**line, "usage": {"kind": "life", "lasts": usual["lasts"]["typical"]}}
    unit = line["pack"]["unit"]
    each = exact(usual.get("per_unit_of_driver", usual.get("amount"))["typical"])
    if usual["kind"] == "by_volume":
        each *= net_volume_l(setup["vessel"])
    amount = {"amount": each * Fraction(UNITS[usual["unit"]]) / Fraction(UNITS[unit]), "unit": unit}
    usage = {"kind": "rate", "amount": amount, "every": usual.get("every")}
    if usual["kind"] == "follows":
        one = {"amount": "1", "unit": "1"}
        usage = {"kind": "follows", "driver": usual["driver"], "amount": amount, "per": one}
    keeps = {"shelf_life": usual["shelf_life"]["typical"]} if "shelf_life" in usual else {}
    return {**keeps, **line, "usage": usage}


def daily_use(frame: Frame, line: dict, driver: list[Fraction]) -> list[Fraction]:
    """Rule 1, day by day: an amount in base units, or packs for a `life`."""
    usage = line["usage"]
    if usage["kind"] == "rate":
        return [base(usage["amount"]) / days for days in frame.window_lengths(usage["every"])]
    if usage["kind"] == "life":
        return [Fraction(1, days) for days in frame.window_lengths(usage["lasts"])]
    each = base(usage["amount"]) / base(usage["per"])
    use = []
    for month, amount in zip(frame.months, driver, strict=True):
        use += [amount / len(month) * each] * len(month)  # Rule 10: evenly over the days.
    return use


def daily_packs(frame: Frame, line: dict, use: list[Fraction]) -> list[Fraction]:
    """Packs used up each day; where shelf life binds, the pack is spread over that (rule 4)."""
    usage, pack = line["usage"], base(line["pack"])
    if "portion" in line:
        portion = base(line["portion"])
        pack = floor(pack / portion) * portion  # The rest of the pack is thrown away.
    if usage["kind"] == "life":
        pack = Fraction(1)
    if "shelf_life" not in line:
        return [amount / pack for amount in use]
    shelf = frame.window_lengths(line["shelf_life"])
    kept, every = span(line["shelf_life"])[0], span(usage["every"])[0] if usage["kind"] == "rate" else 0
    if "portion" in line and kept and every and base(usage["amount"]) == portion:
        # A dose may be taken while the pack is younger than its shelf life.
        shelf = [ceil(Fraction(kept, every)) * every] * len(use)
    return [max(a / pack, Fraction(1, s)) if a else Fraction(0) for a, s in zip(use, shelf, strict=True)]


def work_line(frame: Frame, line: dict, driver: list[Fraction]) -> Worked:
    """Rules 1, 4 and the purchases: pack k is bought on the day its use begins."""
    use = daily_use(frame, line, driver)
    packs, prices = daily_packs(frame, line, use), frame.pack_prices(line)
    bought, before = [], Fraction(0)
    for day, some, price in zip(frame.days, packs, prices, strict=True):
        count = ceil(before + some) - ceil(before)
        if count:
            bought.append((day, count, count * price))
        before += some
    life = line["usage"]["kind"] == "life"
    # What is shown as used is the use, not what is thrown away; a `life` shows its
    # use in the pack's unit, any other line in the unit of its amount.
    stated = line["pack"] if life else line["usage"]["amount"]
    size = exact(line["pack"]["amount"]) if life else 1 / Fraction(UNITS[stated["unit"]])
    return Worked(
        cost=[sum((packs[d] * prices[d] for d in month), Fraction(0)) for month in frame.months],
        used=[sum((use[d] for d in month), Fraction(0)) * size for month in frame.months],
        packs=[sum((packs[d] for d in month), Fraction(0)) for month in frame.months],
        unit={"kWh": "kW.h"}.get(stated["unit"], stated["unit"]),
        bought=bought,
    )


def cumulated(series: list[Fraction], digits: int) -> list[int]:
    """Rule 5: cells by cumulative rounding, in whole minor units."""
    cells, total, given = [], Fraction(0), 0
    for amount in series:
        total += amount
        cells.append(half_away(total * 10**digits) - given)
        given += cells[-1]
    return cells


# --- drivers of a setup ---------------------------------------------------


@dataclass
class Load:
    """Electricity of one device or meter: kWh by month and how it lies in time."""

    ref: str
    kwh: list[Fraction]
    weights: list[Fraction]
    on: tuple[int, int] | None = None


def device_load(frame: Frame, device: dict, zone: str | None) -> Load:
    """Rule 9. Only "24" follows the clock's changes; other hours are the same each day.

    A device that runs all day is never on standby, whatever the length of the day.
    """
    on = tuple(minute_of(clock) for clock in device["on"]) if "on" in device else None
    length = Fraction((on[1] - on[0]) % 1440 or 1440, 60) if on else None
    hours = exact(device["hours_per_day"]) if "hours_per_day" in device else length
    load = exact(device.get("load", "1")) * exact(device.get("dimmed", "1"))
    power = base(device["power"])
    if "speed" in device:
        # A slowed pump: what it draws at any speed, and the rest by the cube of the speed.
        least = base(device.get("least_power", {"amount": "0", "unit": "W"}))
        power = least + (power - least) * exact(device["speed"]) ** 3
    # Half of the time in which a lamp rises and falls counts.
    ramps = [24 * base(device[name]) for name in ("ramp_up", "ramp_down") if name in device]
    if ramps:
        load *= (hours - sum(ramps) / 2) / hours
    running = power * load / 1000
    resting = base(device.get("standby", {"amount": "0", "unit": "W"})) / 1000
    if hours == 24:
        span_of_day = [Fraction(len(wall_minutes(zone, d)), 60) if zone else Fraction(24) for d in frame.days]
        daily, weights = [running * h for h in span_of_day], span_of_day
    else:
        daily = [running * hours + resting * (24 - hours)] * len(frame.days)
        weights = [Fraction(1)] * len(frame.days)
    kwh = [to_three(sum((daily[d] for d in month), Fraction(0))) for month in frame.months]
    return Load(f"electricity:{device['ref']}", kwh, weights, on)


def loads_of(frame: Frame, setup: dict, shown: dict) -> tuple[list[Load], list[Load]]:
    """The devices' loads, and the loads that are paid for: a meter replaces all others (rule 8)."""
    zone = frame.document.get("tariffs", {}).get("electricity", {}).get("time_zone")
    devices = [device_load(frame, device, zone) for device in setup.get("devices", [])]
    evenly = [Fraction(1)] * len(frame.days)
    paid = list(devices)
    for what in ("heating", "cooling"):
        if f"{what}_kwh" in known_of(setup):
            kwh = [exact(amount) for amount in shown[f"{what}_kwh"]]
            paid.append(Load(f"electricity:{what}", kwh, evenly))
    # The meter replaces all other lines, but `devices_kwh` stays what the devices use.
    read = readings_of(setup, "electricity")
    if read:
        spans = [date.fromisoformat(row["until"]) - date.fromisoformat(row["from"]) for row in read]
        each_day = sum((base(row["amount"]) for row in read), Fraction(0)) / sum(row.days for row in spans)
        kwh = [to_three(each_day * len(month)) for month in frame.months]
        paid = [Load("electricity:measured", kwh, evenly)]
    return devices, paid


def readings_of(setup: dict, what: str) -> list[dict]:
    return [row for row in setup.get("measured", []) if row["what"] == what]


def net_volume_l(vessel: dict) -> Fraction:
    """Water in the vessel and sump. Left out, nothing is displaced and there is no sump."""
    inside = inside_l(vessel)
    displaced = vessel.get("displaced", {"amount": "0", "unit": "1"})
    taken = base(displaced) * (inside if displaced["unit"] in ("1", "%") else 1)
    return inside - taken + base(vessel.get("sump_water", {"amount": "0", "unit": "L"}))


def inside_l(vessel: dict) -> Fraction:
    """Water up to its surface: a stated volume, or depth times the area inside the panes."""
    if vessel["shape"] == "other":
        return base(vessel["water"])
    size = {name: base(length) for name, length in vessel["outside"].items()}
    pane, depth = base(vessel["pane"]), base(vessel["water_depth"])
    if vessel["shape"] == "box":
        area = (size["length"] - 2 * pane) * (size["width"] - 2 * pane)
    elif vessel["shape"] == "cylinder":
        area = Fraction(pi) * (size["diameter"] / 2 - pane) ** 2
    else:
        # The inside of the front is an arc about the same centre as its outside. Its height above
        # the back pane, summed from one side pane to the other.
        half, radius = size["length"] / 2, (size["length"] ** 2 / 4 + size["bow"] ** 2) / (2 * size["bow"])
        centre = size["width"] + size["bow"] - radius
        x, r = float(half - pane), float(radius - pane)
        under_arc = Fraction(x * sqrt(r * r - x * x) + r * r * asin(x / r))
        area = 2 * (half - pane) * (centre - pane) + under_arc
    return area * depth / CUBIC_MM_PER_LITRE


def known_of(setup: dict) -> set[str]:
    """Drivers that a setup says enough for; of others nothing is shown."""
    vessel, source = setup.get("vessel", {}), setup.get("source_water")
    known = {"days", "water_changed_l", "feed_water_l", "devices_kwh", "electricity_kwh"}
    walled = vessel.get("shape") in ("box", "cylinder", "bow")
    if walled or {"open_surface", "sump_surface"} & set(vessel) or readings_of(setup, "evaporation"):
        known.add("evaporated_l")
    if setup.get("heating", {}).get("mode") == "modelled" or readings_of(setup, "heating"):
        known.add("heating_kwh")
    if setup.get("cooling", {}).get("mode") in ("chiller", "fan"):
        known.add("cooling_kwh")
    if source:
        known |= {"purified_l", "drain_water_l", "resin_meq"} if source["purified"] else {"chlorine_g"}
    if setup.get("water") in ("marine", "brackish"):
        known.add("salt_g")
    if "alkalinity" in setup or "corals" in setup.get("livestock", {}):
        known |= {"alkalinity_meq", "calcium_g", "magnesium_g"}
        known |= {"limewater_g"} if setup.get("limewater") else set()
    if "plants" in setup:
        known |= {"nitrate_g", "phosphate_g", "potassium_g", "iron_g"}
    routine = {"co2": "co2_g", "hardness": "hardness_mmol", "feeding": "feedings", "testing": "tests"}
    known |= {name for part, name in routine.items() if part in setup}
    known |= {"food_g"} if setup.get("livestock", {}).get("fish") else set()
    return known


def drivers_of(frame: Frame, setup: dict, shown: dict) -> dict[str, list[Fraction]]:
    """Rules 2, 3 and 8: what makes things be used, by month, to three decimals.

    What is estimated is taken as shown. Of what is not known of a setup it has none.
    """
    nothing, known = [Fraction(0)] * len(frame.months), known_of(setup)
    found = {
        name: [exact(amount) for amount in shown[name]] if name in known and name in shown else nothing
        for name in DRIVERS
    }
    devices, paid = loads_of(frame, setup, shown)
    changed, change = nothing, setup.get("water_change")
    if change:
        if "volume" in change:
            each = base(change["volume"])
        else:
            each = base(change["portion"]) * net_volume_l(setup["vessel"])
        # Days of the month over days(every); for months and years, window by window.
        windows = frame.window_lengths(change["every"])
        changed = [to_three(sum((each / windows[d] for d in month), Fraction(0))) for month in frame.months]
    found |= {
        "days": [Fraction(len(month)) for month in frame.months],
        "water_changed_l": changed,
        "devices_kwh": columns(frame, [load.kwh for load in devices]),
        "electricity_kwh": columns(frame, [load.kwh for load in paid]),
    }
    return found | water_of(frame, setup, found)


def water_of(frame: Frame, setup: dict, found: dict) -> dict[str, list[Fraction]]:
    """Water that is used comes from the tap, or from a purifier that drains more than it makes.

    Used is what is changed and what evaporates; a meter of purified water says it instead.
    """
    source, nothing = setup.get("source_water", {}), [Fraction(0)] * len(frame.months)
    used = columns(frame, [found["water_changed_l"], found["evaporated_l"]])
    if readings_of(setup, "purified_water"):
        used = found["purified_l" if source.get("purified") else "feed_water_l"]
    if not source.get("purified"):
        return {"purified_l": nothing, "feed_water_l": used, "drain_water_l": nothing}
    rejected = exact(source.get("reject_ratio", USUAL_REJECT_RATIO))
    drawn = [to_three(litres * (1 + rejected)) for litres in used]
    drained = [whole - made for whole, made in zip(drawn, used, strict=True)]
    return {"purified_l": used, "feed_water_l": drawn, "drain_water_l": drained}


def columns(frame: Frame, rows: list[list[Fraction]]) -> list[Fraction]:
    return [sum((row[m] for row in rows), Fraction(0)) for m in range(len(frame.months))]


# --- tariffs -------------------------------------------------------------


def version_on(versions: list[dict], day: date) -> dict:
    return max((v for v in versions if v["from"] <= day.isoformat()), key=lambda v: v["from"])


def band_price(frame: Frame, version: dict, day: date, on: tuple[int, int] | None) -> Fraction:
    """The mean price of a kWh used evenly over the true minutes of a timetable on a day."""
    tariff = frame.document["tariffs"]["electricity"]

    # A holiday is charged as a Sunday minute for minute, so what ran on from a Saturday
    # is looked up for it too; the days around it are charged as ever.
    holiday = day.isoformat() in tariff.get("holidays", [])
    today, yesterday = ("sun", "sat") if holiday else (WEEKDAYS[day.weekday()], WEEKDAYS[day.weekday() - 1])
    minutes = wall_minutes(tariff["time_zone"], day)
    key = (id(version), today, yesterday, on, None if minutes is WHOLE_DAY else day)
    if key not in frame.band_prices:
        # Where the clock skips the whole timetable, the wall clock decides.
        used = [m for m in minutes if inside(m, on)] or [m for m in WHOLE_DAY if inside(m, on)]
        counts = Counter(price_in_bands(version, m, today, yesterday) for m in used)
        frame.band_prices[key] = sum(exact(price) * count for price, count in counts.items()) / len(used)
    return frame.band_prices[key]


def price_in_bands(version: dict, minute: int, today: str, yesterday: str) -> str:
    """The price of a minute; a band that passes midnight belongs to the day it began on.

    A day's own version decides the whole of it, so the tail of a band that began
    yesterday is looked for in today's table.
    """
    leftover = version.get("otherwise", "otherwise")
    for band in version["bands"]:
        if band["name"] == leftover:
            continue
        days = band.get("days", WEEKDAYS)
        start, end = minute_of(band.get("from", "00:00")), minute_of(band.get("until", "00:00"))
        if start < end:
            found = today in days and start <= minute < end
        else:
            found = (today in days and minute >= start) or (yesterday in days and minute < end)
        if found:
            return band["price"]
    return next(band["price"] for band in version["bands"] if band["name"] == leftover)


def bill(version: dict, share: Fraction, kwh: Fraction) -> Fraction:
    """What a use costs by rising blocks whose limits are prorated."""
    total, floor_kwh = Fraction(0), Fraction(0)
    for block in version["blocks"]:
        top = kwh if block["up_to"] is None else min(kwh, base(block["up_to"]) * share)
        total += max(Fraction(0), top - floor_kwh) * exact(block["price"])
        floor_kwh = max(floor_kwh, top)
    return total


def shapley(members: list, worth) -> dict:
    """What each adds, averaged over every order of joining; `worth` takes a tuple of members."""
    n, known = len(members), {}
    for some in chain.from_iterable(combinations(members, size) for size in range(n + 1)):
        known[some] = worth(some)
    parts = {}
    for one in members:
        parts[one] = Fraction(0)
        for some in known:
            if one not in some:
                joined = tuple(m for m in members if m in some or m == one)
                orders = Fraction(factorial(len(some)) * factorial(n - len(some) - 1), factorial(n))
                parts[one] += orders * (known[joined] - known[some])
    return parts


def electricity(frame: Frame, loads: dict[str, list[Load]]) -> dict[tuple[str, str], list[Fraction]]:
    """Exact cost by month of every electricity line of every setup: flat, bands or blocks."""
    tariff = frame.document["tariffs"]["electricity"]
    rate = frame.rate(tariff["currency"])
    costs: dict = {(ref, load.ref): [] for ref, mine in loads.items() for load in mine}
    for number, month in enumerate(frame.months):
        spent: dict = defaultdict(Fraction)
        for version, part in parts_of(frame, tariff["versions"], month):
            used = {}
            for ref, mine in loads.items():
                for load in mine:
                    whole = sum((load.weights[d] for d in month), Fraction(0)) or Fraction(1)
                    by_day = [load.kwh[number] * load.weights[d] / whole for d in part]
                    used[ref, load.ref] = sum(by_day, Fraction(0))
                    if "bands" in version:
                        for d, kwh in zip(part, by_day, strict=True):
                            spent[ref, load.ref] += kwh * band_price(frame, version, frame.days[d], load.on)
                    elif "price" in version:
                        spent[ref, load.ref] += used[ref, load.ref] * exact(version["price"])
            if "blocks" in version:
                for line, amount in added_by_blocks(frame, version, part, used).items():
                    spent[line] += amount
        for line, so_far in costs.items():
            so_far.append(spent[line] * rate)
    return costs


def parts_of(frame: Frame, versions: list[dict], month: list[int]) -> list[tuple[dict, list[int]]]:
    """The days of a month in pieces, cut where a version of the tariff begins."""
    parts: list[tuple[dict, list[int]]] = []
    for d in month:
        version = version_on(versions, frame.days[d])
        if not parts or parts[-1][0] is not version:
            parts.append((version, []))
        parts[-1][1].append(d)
    return parts


def added_by_blocks(frame: Frame, version: dict, part: list[int], used: dict) -> dict:
    """What the setups add to the household's bill, dealt by what each adds, then by kWh."""
    first = frame.days[part[0]]
    share = Fraction(len(part), calendar.monthrange(first.year, first.month)[1])
    other = base(version.get("other_use", {"amount": "0", "unit": "kW.h"})) * share
    kwh: dict = defaultdict(Fraction)
    for (ref, _), amount in used.items():
        kwh[ref] += amount

    def added(present: tuple) -> Fraction:
        joint = other + sum((kwh[ref] for ref in present), Fraction(0))
        return bill(version, share, joint) - bill(version, share, other)

    dealt = shapley([ref for ref in kwh if kwh[ref]], added)
    return {(ref, line): dealt[ref] * used[ref, line] / kwh[ref] for ref, line in used if kwh[ref]}


def has_water_supply(setup: dict) -> bool:
    """A setup pays for water that it changes or tops up, or of which it has a reading."""
    tops_up = "evaporated_l" in known_of(setup)
    return tops_up or "water_change" in setup or bool(readings_of(setup, "purified_water"))


def water_supply(frame: Frame, litres: list[Fraction]) -> Worked:
    """Litres drawn by month, at supply plus the returned part of sewerage, day by day.

    No sewerage price means none is paid.
    """
    tariff, cost = frame.document["tariffs"]["water"], []
    rate = frame.rate(tariff["currency"])
    for month, drawn in zip(frame.months, litres, strict=True):
        total = Fraction(0)
        for d in month:
            now = version_on(tariff["versions"], frame.days[d])
            returned = base(now.get("returned", {"amount": "100", "unit": "%"}))
            per_m3 = exact(now["supply_per_m3"]) + exact(now.get("sewerage_per_m3", "0")) * returned
            total += drawn / len(month) / 1000 * per_m3
        cost.append(total * rate)
    return Worked(cost, litres, unit="L")


# --- sharing ---------------------------------------------------------------


def deal(cells: list[int], weights: list[list[Fraction]]) -> list[list[int]]:
    """Rule 7: each month's cell dealt in whole units with carry; weights by month, then setup."""
    n = len(weights[0])
    due, given, dealt = [Fraction(0)] * n, [0] * n, []
    for cell, row in zip(cells, weights, strict=True):
        whole = sum(row, Fraction(0))
        for i in range(n):
            due[i] += cell * row[i] / whole if whole else 0
        owed = [due[i] - given[i] for i in range(n)]
        got = [max(0, floor(amount)) for amount in owed]
        while sum(got) < cell:
            got[max(range(n), key=lambda i: (owed[i] - got[i], -i))] += 1
        while sum(got) > cell:
            got[min((i for i in range(n) if got[i]), key=lambda i: (owed[i] - got[i], i))] -= 1
        given = [a + b for a, b in zip(given, got, strict=True)]
        dealt.append(got)
    return dealt


def share_line(frame: Frame, line: dict, drivers: dict[str, dict], digits: int) -> tuple[Worked, dict]:
    """Rule 7: the household's line, and the part of each setup."""
    refs, by, wanted = list(drivers), line["share"]["by"], line["usage"].get("driver", "days")

    def for_some(present: tuple) -> Worked:
        if not present:
            nothing = [Fraction(0)] * len(frame.months)
            return Worked(nothing, nothing, nothing)
        if wanted == "days":
            # A day is a day for the whole household, however many setups it has.
            return work_line(frame, line, drivers[present[0]][wanted])
        return work_line(frame, line, columns(frame, [drivers[ref][wanted] for ref in present]))

    household = for_some(tuple(refs))
    household.cells = cumulated(household.cost, digits)
    if by == "standalone":
        alone = {ref: for_some((ref,)) for ref in refs}
        for part in alone.values():
            part.cells = cumulated(part.cost, digits)
        return household, alone
    if by == "added":
        follows = line["usage"]["kind"] == "follows"
        worths = {}
        for some in chain.from_iterable(combinations(refs, size) for size in range(len(refs) + 1)):
            # Only a line that follows a driver depends on who is there.
            worths[some] = for_some(some).cost if follows or not some else household.cost
        weights = []
        for m in range(len(frame.months)):
            parts = shapley(refs, lambda some, m=m: worths[some][m])
            weights.append([parts[ref] for ref in refs])
    else:
        weights = stated_weights(frame, line["share"], drivers)
    dealt = deal(household.cells, weights)
    # Used and packs of a part are the household's of each month by the same weights;
    # in a month of no weight at all (it costs nothing) they are split equally.
    shares = [[w / sum(row) if sum(row) else Fraction(1, len(refs)) for w in row] for row in weights]
    parts = {}
    for i, ref in enumerate(refs):
        mine = [row[i] for row in shares]
        whole = (household.cost, household.used, household.packs)
        part = [[a * share for a, share in zip(series, mine, strict=True)] for series in whole]
        parts[ref] = Worked(*part, unit=household.unit, cells=[row[i] for row in dealt])
    return household, parts


def stated_weights(frame: Frame, share: dict, drivers: dict[str, dict]) -> list[list[Fraction]]:
    """Weights by month and setup for equal, fixed and driver."""
    if share["by"] == "driver":
        by_month = [[drivers[ref][share["driver"]][m] for ref in drivers] for m in range(len(frame.months))]
        whole = [sum((drivers[ref][share["driver"]]), Fraction(0)) for ref in drivers]
        return [row if any(row) else whole for row in by_month]
    named = share.get("parts", {})
    row = [exact(named.get(ref, 0)) if share["by"] == "fixed" else Fraction(1) for ref in drivers]
    return [row] * len(frame.months)


# --- the costing -----------------------------------------------------------


def cost(document: dict, today: date, shown: dict | None = None) -> dict:
    """The costing of a valid request: cells, totals, purchases and tax, as the contract writes them.

    `shown` has what was estimated: by setup, the drivers by month as the answer shows them.
    """
    document, seen = spelt_out(document), shown or {}
    frame, digits = frame_of(document, today), DIGITS[document["currency"]]
    count, tariffs = len(frame.months), document.get("tariffs", {})
    setups = {setup["ref"]: setup for setup in document["setups"]}
    drivers = {ref: drivers_of(frame, setup, seen.get(ref, {})) for ref, setup in setups.items()}
    lines: dict[str, dict[str, Worked]] = {ref: {} for ref in setups}
    taxed: dict = defaultdict(int)  # Cells by tax code; what is shared is counted once.
    purchases = []

    for ref, setup in setups.items():
        for line in setup.get("lines", []):
            worked = work_line(frame, line, drivers[ref][line["usage"].get("driver", "days")])
            worked.cells = cumulated(worked.cost, digits)
            lines[ref][line["ref"]] = worked
            taxed[frame.tax_code(line)] += sum(worked.cells)
            purchases += [(day, ref, line["ref"], packs, paid) for day, packs, paid in worked.bought]
    if "electricity" in tariffs:
        loads = {ref: loads_of(frame, setup, seen.get(ref, {}))[1] for ref, setup in setups.items()}
        kwh = {(ref, load.ref): load.kwh for ref, mine in loads.items() for load in mine}
        for (ref, name), spent in electricity(frame, loads).items():
            lines[ref][name] = Worked(spent, kwh[ref, name], cells=cumulated(spent, digits))
            taxed[frame.tax_code(tariffs["electricity"])] += sum(lines[ref][name].cells)
    if "water" in tariffs:
        for ref, setup in setups.items():
            if has_water_supply(setup):
                worked = water_supply(frame, drivers[ref]["feed_water_l"])
                worked.cells = cumulated(worked.cost, digits)
                lines[ref]["water_supply"] = worked
                taxed[frame.tax_code(tariffs["water"])] += sum(worked.cells)

    shared, beyond, exact_beyond = [], [0] * count, [Fraction(0)] * count
    for line in document.get("shared_lines", []):
        household, parts = share_line(frame, line, drivers, digits)
        taxed[frame.tax_code(line)] += sum(household.cells)
        purchases += [(day, None, line["ref"], packs, paid) for day, packs, paid in household.bought]
        for ref, part in parts.items():
            lines[ref][line["ref"]] = part
        totals = {ref: sum(part.cells) for ref, part in parts.items()}
        entry = {"ref": line["ref"], "by": line["share"]["by"], "total": fixed(sum(household.cells), digits)}
        entry["parts"] = {ref: fixed(total, digits) for ref, total in totals.items()}
        if line["share"]["by"] == "standalone":
            entry["beyond_total"] = fixed(sum(totals.values()) - sum(household.cells), digits)
            for m in range(count):
                beyond[m] += sum(part.cells[m] for part in parts.values()) - household.cells[m]
                exact_beyond[m] += sum(part.cost[m] for part in parts.values()) - household.cost[m]
        shared.append(entry)

    kept_back = base(document["reserve"]) if "reserve" in document else Fraction(0)
    answer: dict = {"setups": {}, "shared": shared}
    grand = [-amount for amount in beyond]
    # The reserve that the setups put by for what goes beyond the household's cost is
    # taken out of the grand total too: one series over all `standalone` lines together.
    reserve_beyond = cumulated([amount * kept_back for amount in exact_beyond], digits)
    reserve_months = [-cell for cell in reserve_beyond]
    for ref in setups:
        mine = list(lines[ref].values())
        reserve = cumulated([kept_back * spent for spent in columns(frame, [w.cost for w in mine])], digits)
        cells = [sum(w.cells[m] for w in mine) for m in range(count)]
        months = [cell + more for cell, more in zip(cells, reserve, strict=True)]
        grand = [a + b for a, b in zip(grand, cells, strict=True)]
        reserve_months = [a + b for a, b in zip(reserve_months, reserve, strict=True)]
        answer["setups"][ref] = {
            "lines": {name: shown_line(worked, digits) for name, worked in lines[ref].items()},
            "drivers": {
                name: [three(amount) for amount in row]
                for name, row in drivers[ref].items()
                if name in known_of(setups[ref])
            },
            "subtotal": fixed(sum(cells), digits),
            "reserve": fixed(sum(reserve), digits),
            **totals_of(frame, months, digits),
        }
    grand = [a + b for a, b in zip(grand, reserve_months, strict=True)]
    answer.update(totals_of(frame, grand, digits))
    answer["purchases"] = sorted(
        ((day.isoformat(), ref, name, packs, fixed(half_away(paid * 10**digits), digits))
         for day, ref, name, packs, paid in purchases),
        key=lambda row: (row[0], row[1] or "", row[2]),
    )  # fmt: skip
    if "tax" in document:
        answer["tax"] = tax_of(
            document["tax"], with_reserve(document["tax"], taxed, sum(reserve_months)), digits
        )
    return answer


def shown_line(worked: Worked, digits: int) -> dict:
    return {
        "months": [fixed(cell, digits) for cell in worked.cells],
        "total": fixed(sum(worked.cells), digits),
        "used": three(sum(worked.used, Fraction(0))),
        "unit": worked.unit,
        "packs": None if worked.packs is None else three(sum(worked.packs, Fraction(0))),
    }


def totals_of(frame: Frame, months: list[int], digits: int) -> dict:
    """Total, months, and the average month: of whole months, or of 365.25/12 days."""
    total = sum(months)
    average = total * Fraction(36525, 1200) / len(frame.days)
    for n in range(1, len(frame.months) + 1):
        if add_months(frame.start, n) == frame.end:
            average = Fraction(total, n)
    texts = [fixed(cell, digits) for cell in months]
    return {
        "total": fixed(total, digits),
        "months": texts,
        "month_average": fixed(half_away(average), digits),
    }


def with_reserve(tax: dict, taxed: dict, reserve: int) -> dict:
    """The reserve bears the taxes of the lines that it stands for: dealt by largest remainder."""
    codes = list(tax["rates"])
    whole = sum(taxed[code] for code in codes)
    weights = [Fraction(taxed[code], whole) if whole else Fraction(i == 0) for i, code in enumerate(codes)]
    due = [reserve * weight for weight in weights]
    parts = [floor(amount) for amount in due]
    for i in sorted(range(len(codes)), key=lambda i: (parts[i] - due[i], i))[: reserve - sum(parts)]:
        parts[i] += 1
    return {code: taxed[code] + part for code, part in zip(codes, parts, strict=True)}


def tax_of(tax: dict, taxed: dict, digits: int) -> dict:
    """Tax once per rate, on the sum of its cells: inside them (gross) or on top (net).

    Every rate of the request has a row, in the request's order, even if no line has it.
    """
    basis, rows, sums = tax.get("basis", "gross"), [], Counter()
    for code, rate in tax["rates"].items():
        percent, amount = exact(rate), taxed[code]
        due = half_away(amount * percent / (100 + percent if basis == "gross" else 100))
        net = amount - due if basis == "gross" else amount
        row = {"net": net, "tax": due, "gross": net + due}
        sums.update(row)
        rows.append({"code": code, "rate": rate, **{name: fixed(part, digits) for name, part in row.items()}})
    return {
        "basis": basis,
        "rates": rows,
        **{name: fixed(sums[name], digits) for name in ("net", "tax", "gross")},
    }
