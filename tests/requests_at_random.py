"""Valid, varied requests for a costing, as a hypothesis strategy: `requests()`.

Every feature of a request turns up: odd periods, all the usages and kinds of
pack, prices and tariffs that change on any day, clocks that change, blocks,
meters, shared lines, currencies that must be crossed, tax and reserve; and all
that the models ask of a setup (`physics_at_random`). Half of the requests are
made of round numbers that end in exact ties (9.50 for a hundred, one a day), the
others of long ugly ones or of both.

A number that JSON would carry as a number stands here as `Decimal` or `int`,
as the strict reader gives it; `to_json` writes the document as it is sent.
`TODAY` is the day on which the requests are meant to be answered.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random

import orjson
from hypothesis import strategies as st

from tests.oracle import DRIVERS, USUAL, add_months, known_of
from tests.physics_at_random import Physics, litres, physical, size

TODAY = date(2026, 11, 25)
CURRENCIES = ("GBP", "EUR", "USD", "JPY", "KWD")
ZONES = ("Europe/London", "Europe/Berlin", "America/New_York", "Australia/Lord_Howe", "Asia/Tokyo")
CATEGORIES = ("energy", "water", "salt", "filtration", "additives", "testing", "food", "wear", "other")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
SAME_KIND = (("g", "kg", "mg", "[lb_av]", "[oz_av]"), ("L", "mL", "[gal_us]", "[gal_br]"), ("1",))
OF_DRIVER = {
    "_l": ("L", "L", "m3", "[gal_us]", "mL"), "_kwh": ("kW.h", "kW.h", "kWh", "W.h"),
    "_g": ("g", "g", "kg", "mg"), "_meq": ("meq",), "_mmol": ("mmol",), "days": ("d", "d", "h"),
}  # fmt: skip
ROUND = ("0.5", "1", "1", "1", "2", "3", "4", "5", "8", "10", "20", "25", "30", "50", "60", "100", "250")
ROUND_PRICES = ("0.05", "0.50", "0.95", "1.00", "1.50", "4.50", "9.50", "9.50", "10.00", "12", "100.00")
DURATIONS = (
    *("P1D", "P1D", "P1D", "P2D", "P3D", "P7D", "P10D", "P30D", "P45D", "P90D", "P180D", "P365D"),
    *("P1W", "P1W", "P2W", "P6W", "P12W", "P52W", "P1M", "P1M", "P2M", "P3M", "P6M", "P12M", "P18M"),
    *("P1Y", "P2Y", "P1Y6M"),
)
SHELF_LIVES = ("P7D", "P30D", "P30D", "P90D", "P180D", "P8W", "P1M", "P3M", "P6M", "P12M", "P1Y")


def to_json(document: dict) -> bytes:
    """The document as sent: exact decimals become JSON numbers with the same text."""
    return orjson.dumps(document, default=lambda number: orjson.Fragment(str(number)))


class Maker:
    """Draws the pieces of one request; what they all depend on is drawn first."""

    def __init__(self, draw) -> None:
        self.draw = draw
        self.start, self.end = self.period()
        self.days = (self.end - self.start).days
        self.style = self.one_of("round", "round", "ugly", "mixed")
        # So little water changed that a month of one day comes to nothing at three decimals.
        self.faint = self.days > 40 and self.chance(1)
        self.currency = self.one_of(*CURRENCIES)
        self.foreign: set[str] = set()
        self.as_of = TODAY
        self.tax: dict | None = None
        # What the models are told is drawn from one number: thousands of draws would be slow.
        self.luck = Random(self.whole(0, 2**32 - 1))

    # --- small draws ---

    def one_of(self, *values):
        return self.draw(st.sampled_from(values))

    def whole(self, low: int, high: int) -> int:
        return self.draw(st.integers(low, high))

    def chance(self, in_ten: int) -> bool:
        return self.whole(0, 9) >= 10 - in_ten

    def round_now(self) -> bool:
        return self.style == "round" or (self.style == "mixed" and self.chance(5))

    def ugly(self, low: int, high: int, places: int) -> str:
        """A positive decimal of up to so many places; `low` and `high` are in thousandths."""
        text = str(self.whole(low, high) * 10 ** (places - 3) + self.whole(0, 10 ** (places - 3) - 1))
        text = text.rjust(places + 1, "0")
        return f"{text[:-places]}.{text[-places:]}"

    def number(self, low: int = 1, high: int = 400_000) -> str:
        return self.one_of(*ROUND) if self.round_now() else self.ugly(low, high, self.one_of(3, 4, 6))

    def quantity(self, text: str, unit: str) -> dict:
        """A quantity; now and then its amount is a JSON number."""
        amount = (int(text) if text.isdigit() else Decimal(text)) if self.chance(1) else text
        return {"amount": amount, "unit": unit}

    def price(self) -> str:
        return self.one_of(*ROUND_PRICES) if self.round_now() else self.ugly(10, 90_000, self.one_of(3, 6))

    def tariff_price(self) -> str:
        return self.one_of("0.10", "0.25", "0.3", "0.05") if self.round_now() else self.ugly(10, 900, 4)

    def money(self) -> dict:
        currency = self.one_of(*CURRENCIES) if self.chance(3) else self.currency
        return {"amount": self.price(), "currency": self.known(currency)}

    def known(self, currency: str) -> str:
        """A currency that the request must be able to convert."""
        if currency != self.currency:
            self.foreign.add(currency)
        return currency

    def firsts(self, most: int) -> list[str]:
        """First days of dated values: one on or before the start, the others on any day within."""
        later = {self.start + timedelta(days=self.whole(0, self.days)) for _ in range(self.whole(0, most))}
        if self.chance(3):
            later = {day.replace(day=1) for day in later}
        first = self.start - timedelta(days=self.one_of(0, 0, 1, 31, 400))
        return [day.isoformat() for day in sorted({day for day in later if day > first} | {first})]

    # --- days ---

    def period(self) -> tuple[date, date]:
        year, month = self.one_of(2024, 2026, 2026, 2027, 2027, 2028, 2031), self.whole(1, 12)
        start = date(year, month, 1) + timedelta(days=self.whole(0, 27))
        kind = self.whole(0, 9)
        if kind < 3:
            start = date(year, month, 1)
        elif kind < 6:
            start = add_months(date(year, month, 1), 1) - timedelta(days=1)
        length = self.whole(0, 19)
        if length < 13:
            return start, add_months(start, self.whole(1, 14))
        if length < 17:
            return start, start + timedelta(days=self.whole(1, 70))
        return start, start + timedelta(days=self.whole(1, 1096 if length == 19 else 430))

    # --- lines ---

    def line(self, ref: str, drivers: list[str], setup: dict | None) -> dict:
        """A line of a setup, or a shared one; it may follow some drivers."""
        line: dict = {"ref": ref, "name": f"Line {ref}", "category": self.one_of(*CATEGORIES)}
        if self.chance(3):
            self.usual(line, drivers, setup)
        else:
            self.stated(line, drivers)
        if self.chance(3):
            line["shelf_life"] = self.one_of(*SHELF_LIVES)
        self.add_prices(line)
        return line

    def stated(self, line: dict, drivers: list[str]) -> None:
        units, kind = self.one_of(*SAME_KIND), self.one_of("rate", "rate", "life", "follows", "follows")
        used, pack = self.one_of(*units), self.quantity(self.number(100), self.one_of(*units))
        if self.chance(4):
            pack = self.quantity("100", used)
        if kind == "life":
            line["usage"] = {"kind": "life", "lasts": self.one_of(*DURATIONS)}
        elif kind == "rate":
            amount = self.quantity(self.number(), used)
            line["usage"] = {"kind": "rate", "amount": amount, "every": self.one_of(*DURATIONS)}
        else:
            driver = self.one_of(*drivers)
            unit = self.one_of(*unit_of_driver(driver))
            each = ("1000", "500") if unit in ("mL", "W.h", "mg") else ("1", "1", "10", "24", "2.5")
            per = {"amount": self.one_of(*each), "unit": unit}
            amount = self.quantity(self.number(), used)
            line["usage"] = {"kind": "follows", "driver": driver, "amount": amount, "per": per}
        each = line["usage"].get("amount", pack)
        if not fair(each, pack):
            pack["unit"] = each["unit"]
        line["pack"] = pack
        if kind != "life" and self.chance(3):
            same = self.chance(7) and kind == "rate"
            self.portion(line, line["usage"]["amount"] if same else None, units)

    def usual(self, line: dict, drivers: list[str], setup: dict | None) -> None:
        """A line that names a thing: any kind of which the setup says enough."""
        water = litres(setup) if setup else None
        kinds = {"life": True, "rate": True, "by_volume": water is not None}
        named = [
            name for name, usual in USUAL.items() if kinds.get(usual["kind"], usual.get("driver") in drivers)
        ]
        kind = self.one_of(*sorted({USUAL[name]["kind"] for name in named}))
        line["usual"] = self.one_of(*(name for name in named if USUAL[name]["kind"] == kind))
        usual = USUAL[line["usual"]]
        code = usual.get("unit", "1")
        units = next(units for units in SAME_KIND if code in units)
        line["pack"] = pack = self.quantity(self.number(100), self.one_of(*units))
        if kind == "life":
            return
        typical = str(usual.get("per_unit_of_driver", usual.get("amount"))["typical"])
        if not fair({"amount": typical, "unit": code}, pack):
            pack["unit"] = code
        if self.chance(2):
            same = "/" not in typical and self.chance(5)
            self.portion(line, {"amount": typical, "unit": code} if same else None, units)

    def portion(self, line: dict, stated: dict | None, units: tuple[str, ...]) -> None:
        portion = stated or self.quantity(self.number(), self.one_of(*units))
        if size(portion) <= size(line["pack"]):
            line["portion"] = dict(portion)

    def add_prices(self, line: dict) -> None:
        if self.chance(5):
            line["price"] = self.money()
        else:
            line["prices"] = [{**self.money(), "from": day} for day in self.firsts(3)]
        if self.tax:
            for row in line.get("prices") or [line["price"]]:
                if self.chance(3):
                    row["tax_included"] = self.chance(5)
            if self.chance(4):
                line["tax_code"] = self.one_of(*self.tax["rates"])

    # --- setups ---

    def device(self, ref: str, *, idle: bool) -> dict:
        """A device; one that may idle can use nothing at all, so it is never a setup's only one."""
        watts = self.one_of("10", "36", "100", "5.5") if self.round_now() else self.ugly(2_000, 300_000, 3)
        power = self.quantity(watts, "W") if self.chance(8) else {"amount": "0.15", "unit": "kW"}
        device: dict = {"ref": ref, "name": f"Device {ref}", "power": power}
        hours = self.one_of("24", "24", "10", "8", "12", "0.5", "7.25", "13.333333")
        if self.chance(5):
            step = self.one_of(30, 15, 1)
            begin, length = self.whole(0, 1440 // step - 1) * step, self.whole(30, 1439) // step * step
            device["on"] = [clock(begin), clock(begin + length)]
            fitting = [text for text in ("0.5", "2", "6", "9.75") if Fraction(text) * 60 <= length]
            hours = self.one_of(*fitting, None, None)  # Left out, it is the length of the time.
        if hours is not None:
            device["hours_per_day"] = "0" if idle and self.chance(1) else hours
        if self.chance(5):
            on = Fraction(device.get("hours_per_day") or Fraction(length, 60))
            Physics(self.luck, self.start).device(device, on)
        if self.chance(3):
            device["standby"] = {"amount": self.one_of("1", "0.5", "0.45"), "unit": "W"}
        if idle and self.chance(2):
            device["load"] = self.one_of("0.5", "0.85", "1", "0.333333")
        if idle and self.chance(2):
            device["dimmed"] = self.one_of("0.5", "0.7", "0.125")
        return device

    def setup(self, number: int) -> dict:
        ref = ("den", "desk", "hall.2", "Shop_4")[number]
        setup: dict = {"ref": ref, "name": f"The {ref}", "water": self.one_of("marine", "brackish", "fresh")}
        if self.faint:
            setup["water_change"] = {"every": "P1M", "volume": {"amount": "0.01", "unit": "L"}}
        elif self.chance(6):
            setup["water_change"] = {"every": self.one_of("P7D", "P1W", "P2W", "P1D", "P10D", "P1M", "P2M")}
            if self.chance(6):
                setup["water_change"]["portion"] = self.quantity(
                    self.one_of("10", "25", "7.5", "33.333"), "%"
                )
                setup["vessel"] = Physics(self.luck, self.start).vessel()
            else:
                unit = self.one_of("L", "L", "[gal_us]", "[gal_br]")
                litres = self.one_of("10", "25", "30") if self.round_now() else self.ugly(1_000, 90_000, 4)
                setup["water_change"]["volume"] = self.quantity(litres, unit)
        if self.chance(7):
            setup["devices"] = [self.device(f"d{n}", idle=n > 0) for n in range(self.whole(1, 3))]
        if self.chance(2):
            setup["measured"] = self.metered()
        if self.chance(6):
            physical(setup, self.luck, self.start)
        drivers = known_drivers(setup)
        setup["lines"] = [
            self.line(f"{'abcde'[n]}-{number}", drivers, setup) for n in range(self.whole(0, 5))
        ]
        return setup

    def metered(self) -> list[dict]:
        """One reading of electricity, or two of different days."""
        begin = self.start - timedelta(days=self.whole(0, 500))
        rows = []
        for _ in range(self.one_of(1, 1, 2)):
            until = begin + timedelta(days=self.one_of(1, 7, 30, 31, 90, 365))
            # So little that a month of a day or two comes to nothing at three decimals.
            least = "0.1" if self.days > 40 else "0.7"
            kwh = self.one_of("150", "30", "36.5", "412.349", least)
            amount = self.quantity(kwh, self.one_of("kW.h", "kWh", "kW.h"))
            span = {"from": begin.isoformat(), "until": until.isoformat()}
            rows.append({"what": "electricity", "amount": amount, **span})
            begin = until + timedelta(days=self.whole(0, 40))
        return rows

    # --- tariffs ---

    def tariffs(self) -> dict:
        tariffs: dict = {}
        if self.chance(8):
            currency = self.one_of(*CURRENCIES) if self.chance(2) else self.currency
            versions = [{"from": day, **self.electricity_version()} for day in self.firsts(2)]
            tariffs["electricity"] = {"currency": self.known(currency), "versions": versions}
            if self.chance(8) or any("bands" in version for version in versions):
                tariffs["electricity"]["time_zone"] = self.one_of(*ZONES)
            if self.chance(3):
                days = {self.start + timedelta(days=self.whole(-2, self.days + 1)) for _ in range(4)}
                tariffs["electricity"]["holidays"] = sorted(day.isoformat() for day in days)
        if self.chance(5):
            currency = self.one_of(*CURRENCIES) if self.chance(2) else self.currency
            versions = [{"from": day, **self.water_version()} for day in self.firsts(2)]
            tariffs["water"] = {"currency": self.known(currency), "versions": versions}
        for tariff in tariffs.values():
            if self.tax and self.chance(3):
                tariff["tax_code"] = self.one_of(*self.tax["rates"])
        return tariffs

    def electricity_version(self) -> dict:
        kind = self.one_of("price", "bands", "blocks")
        version: dict = {"standing_per_day": "0.5721"} if self.chance(2) else {}
        if kind == "price":
            version["price"] = self.tariff_price()
        elif kind == "bands":
            version |= self.bands()
        else:
            limits = self.one_of(("100",), ("30", "60"), ("800", "2000"), ("12.5", "50", "400"))
            unit = self.one_of("kW.h", "kWh")
            blocks = [{"up_to": self.quantity(limit, unit), "price": self.tariff_price()} for limit in limits]
            version["blocks"] = [*blocks, {"up_to": None, "price": self.tariff_price()}]
            if self.chance(7):
                used = self.one_of("90", "25", "700", "790.5", "45", "0")
                version["other_use"] = self.quantity(used, "kW.h")
        return version

    def bands(self) -> dict:
        """A band table without holes: slots that never meet, and a band for what they leave."""
        if self.chance(2):
            split = self.whole(1, 6)
            halves = (("first", WEEKDAYS[:split]), ("second", WEEKDAYS[split:]))
            return {"bands": [{"name": n, "price": self.tariff_price(), "days": list(d)} for n, d in halves]}
        step = self.one_of(30, 15, 1)
        marks = st.lists(st.integers(0, 1440 // step - 1), min_size=2, max_size=4, unique=True)
        cuts = sorted(step * mark for mark in self.draw(marks))
        slots = list(zip(cuts, cuts[1:] + cuts[:1], strict=True))  # The last may pass midnight.
        whole = self.chance(3)
        bands = []
        for begin, end in slots if whole else slots[: self.whole(1, len(slots))]:
            band = {"name": f"band {begin}", "price": self.tariff_price()}
            band |= {"from": clock(begin), "until": clock(end)}
            if not whole and self.chance(6):
                days = self.draw(st.sets(st.sampled_from(WEEKDAYS), min_size=1))
                band["days"] = [day for day in WEEKDAYS if day in days]
            bands.append(band)
        if whole:
            return {"bands": bands}
        named = self.chance(5)
        rest = {"name": "rest" if named else "otherwise", "price": self.tariff_price()}
        bands.insert(self.whole(0, len(bands)), rest)
        return {"bands": bands, "otherwise": "rest"} if named else {"bands": bands}

    def water_version(self) -> dict:
        supply = self.one_of("2.00", "1.50") if self.round_now() else self.ugly(500, 4_000, 4)
        version: dict = {"supply_per_m3": supply, "sewerage_per_m3": self.one_of("1.48", "2.5", "0")}
        if self.chance(6):
            version["returned"] = self.quantity(self.one_of("95", "90", "92.5"), "%")
        return version

    # --- shared lines ---

    def shared(self, number: int, setups: list[dict]) -> dict:
        known = [name for name in DRIVERS if any(name in known_of(setup) for setup in setups)]
        sure = [name for name in SURE if any(has_some(setup, name) for setup in setups)]
        line = self.line(f"shared-{number}", known, None)
        by = "driver" if self.faint else self.one_of("equal", "fixed", "driver", "standalone", "added")
        line["share"] = {"by": by}
        if by == "driver":
            line["share"]["driver"] = "water_changed_l" if self.faint else self.one_of(*sure)
        if by == "fixed":
            refs = [setup["ref"] for setup in setups]
            named = self.draw(st.lists(st.sampled_from(refs), min_size=1, unique=True))
            parts = ("1", "1", "2", "6", "1/3", "0.5", "37.5", "2/7")
            line["share"]["parts"] = {ref: self.one_of(*parts) for ref in named}
        return line

    # --- exchange ---

    def exchange_rates(self, *, stale: bool) -> list[dict]:
        """Rates for every currency in use: stated, the other way round, both, or through a third."""
        rows: dict[tuple[str, str, str], dict] = {}

        def add(have: str, want: str, age: int) -> None:
            day = (self.as_of - timedelta(days=age)).isoformat()
            rate = self.one_of("0.5", "2", "1.25", "0.8640") if self.round_now() else self.ugly(5, 190_000, 6)
            row = {"from": have, "to": want, "rate": rate, "on": day, "source": "reference rate"}
            rows.setdefault((have, want, day), row)

        def leg(have: str, want: str) -> None:
            age, way = self.whole(8, 300) if stale and self.chance(7) else self.whole(0, 7), self.whole(0, 4)
            if way != 1:
                add(have, want, age)
            if way in (1, 2):
                add(want, have, age if self.chance(3) else self.whole(0, age))
            if self.chance(3):
                add(have, want, age + self.whole(1, 900))
            if self.chance(1):
                add(have, want, -self.whole(1, 30))  # Not known yet on the day.

        for currency in sorted(self.foreign):
            if self.chance(5):
                leg(currency, self.currency)
                continue
            between = [name for name in (*CURRENCIES, "CHF", "DKK") if name not in (currency, self.currency)]
            for third in self.draw(st.lists(st.sampled_from(between), min_size=1, max_size=2, unique=True)):
                leg(currency, third)
                leg(third, self.currency)
        return list(rows.values())

    # --- the request ---

    def request(self) -> dict:
        document: dict = {"period": {"from": self.start.isoformat(), "until": self.end.isoformat()}}
        if self.chance(1):
            del document["period"]["until"]  # Twelve months.
            self.end = add_months(self.start, 12)
            self.days = (self.end - self.start).days
        document["currency"] = self.currency
        if self.chance(5):
            self.as_of = TODAY - timedelta(days=self.whole(0, 700))
            document["as_of"] = self.as_of.isoformat()
        if self.chance(4):
            many = {"standard": self.one_of("20", "19"), "reduced": self.one_of("5", "7"), "none": "0"}
            self.tax = {"rates": self.one_of(many, {"standard": "20"}, {"usual": "8.875"})}
            if self.chance(8):
                self.tax["basis"] = self.one_of("gross", "net")
            if self.chance(3):
                self.tax["country"] = "GB"
            document["tax"] = self.tax
        setups = [self.setup(n) for n in range(self.one_of(1, 1, 1, 2, 2, 2, 3, 3, 4))]
        document["setups"] = setups
        if self.faint or self.chance(5):
            document["shared_lines"] = [self.shared(n, setups) for n in range(self.whole(1, 3))]
        if tariffs := self.tariffs():
            document["tariffs"] = tariffs
        if self.foreign:
            stale = self.chance(2)
            document["exchange_rates"] = self.exchange_rates(stale=stale)
            if stale:
                document["allow_stale_rates"] = True
        if self.chance(4):
            document["reserve"] = self.one_of(
                *({"amount": share, "unit": "%"} for share in ("10", "5", "7.5", "0.333333")),
                {"amount": "0.1", "unit": "1"},
            )
        if self.chance(3):
            document["detail"] = self.one_of("lines", "workings")
        return document


def fair(each: dict, pack: dict) -> bool:
    """Neither a speck of a pack nor a mountain of packs."""
    return 1 < 10**6 * size(each) / size(pack) < 10**10


def clock(minute: int) -> str:
    return f"{minute // 60 % 24:02}:{minute % 60:02}"


def unit_of_driver(driver: str) -> tuple[str, ...]:
    """Units in which an amount of a driver may be stated."""
    return next((units for end, units in OF_DRIVER.items() if driver.endswith(end)), ("1",))


def known_drivers(setup: dict) -> list[str]:
    return [name for name in DRIVERS if name in known_of(setup)]


# Drivers that come to more than nothing wherever their part is stated.
SURE = {
    "days": (), "water_changed_l": ("water_change",), "evaporated_l": (), "feed_water_l": ("water_change",),
    "devices_kwh": ("devices",), "electricity_kwh": ("devices", "measured"), "feedings": ("feeding",),
    "tests": ("testing",),
}  # fmt: skip


def has_some(setup: dict, name: str) -> bool:
    """Whether a setup surely has some of a driver in the period."""
    if name == "evaporated_l":
        return "vessel" in setup and name in known_of(setup)
    if name == "feed_water_l" and any(row["what"] == "purified_water" for row in setup.get("measured", ())):
        return False
    if name == "electricity_kwh" and "devices" not in setup:
        return any(row["what"] == "electricity" for row in setup.get("measured", ()))
    return not SURE[name] or any(setup.get(part) for part in SURE[name])


@st.composite
def requests(draw) -> dict:
    """Any valid request; what it costs depends on `TODAY` where it names no `as_of`."""
    return Maker(draw).request()
