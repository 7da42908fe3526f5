"""Every fault of meaning: a request that has it, where it is pointed to, and the whole text."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tests.pieces import (
    device,
    electricity,
    exchange,
    follows,
    life,
    line,
    money,
    quantity,
    rate,
    request,
    setup,
    shared,
)

L0, V0, D0 = "#/setups/0/lines/0", "#/setups/0/vessel", "#/setups/0/devices/0"
UNITS_OF_COUNT = "use one of 1, %."
DURATION = "must be whole days or weeks (P7D, P2W), or whole months and years (P6M, P1Y), of at most 30 years"
DRIVERS = (
    "must be one that this version works out: days, water_changed_l, evaporated_l, purified_l, feed_water_l, "
    "drain_water_l, heating_kwh, cooling_kwh, devices_kwh, electricity_kwh, salt_g, alkalinity_meq, calcium_g, "
    "magnesium_g, limewater_g, nitrate_g, phosphate_g, potassium_g, iron_g, co2_g, chlorine_g, hardness_mmol, "
    "resin_meq, food_g, feedings, tests"
)


@dataclass(frozen=True)
class Case:
    """One request and all its faults; `shape_knows` where the shape check finds the place first."""

    claim: str
    document: dict[str, Any]
    faults: tuple[tuple[str, str], ...]
    shape_knows: bool = False
    of_a_line: bool = False


def fault(claim: str, document: dict[str, Any], *faults: str, shape_knows: bool = False) -> Case:
    pairs = tuple(zip(faults[::2], faults[1::2], strict=True))
    return Case(claim, document, pairs, shape_knows)


def of_line(claim: str, *faults: str, shape_knows: bool = False, **members: Any) -> Case:
    """A fault of one line; places are given from the line on."""
    places = (L0 + place for place in faults[::2])
    pairs = tuple(zip(places, faults[1::2], strict=True))
    return Case(claim, request(line(**members)), pairs, shape_knows, of_a_line=True)


def unclear(code: str, names: str, *, amount: str = "1") -> Case:
    """A unit that means several things, or is written otherwise."""
    text = f"'unit' '{code}' is not clear; write {names}."
    return of_line(f"the unit {code!r} is not clear", "/pack/unit", text, pack=quantity(amount, code))


def box(**more: Any) -> dict[str, Any]:
    sides = {"length": quantity("100", "cm"), "width": quantity("50", "cm"), "height": quantity("60", "cm")}
    outside = sides | more.pop("outside", {})
    return {"shape": "box", "outside": outside, "pane": quantity("10", "mm"),
            "water_depth": quantity("55", "cm")} | more  # fmt: skip


def of_setup(claim: str, *faults: str, **members: Any) -> Case:
    return fault(claim, request(setups=[setup("den", **members)]), *faults)


def of_version(claim: str, place: str, text: str, version: dict[str, Any], **tariff: Any) -> Case:
    """A fault of the one version of an electricity tariff."""
    document = request(tariffs=electricity(version, time_zone="Europe/London", **tariff))
    return fault(claim, document, "#/tariffs/electricity/versions/0" + place, text)


def priced(*rows: tuple[str, str]) -> list[dict[str, Any]]:
    """Dated prices from (first day, day after the last or nothing)."""
    return [money("1") | {"from": start} | ({"until": end} if end else {}) for start, end in rows]


def band(name: str, start: str = "", end: str = "", **more: Any) -> dict[str, Any]:
    times = {"from": start, "until": end} if start else {}
    return {"name": name, "price": "0.30"} | times | more


def block(price: str, limit: str | None) -> dict[str, Any]:
    return {"up_to": None if limit is None else quantity(limit, "kW.h"), "price": price}


def meter(start: str, end: str, **more: Any) -> dict[str, Any]:
    return {"what": "electricity", "amount": quantity("10", "kW.h"), "from": start, "until": end} | more


UNITS = [
    unclear("gal", "'[gal_us]' (US gallon) or '[gal_br]' (imperial gallon)"),
    unclear("oz", "'[oz_av]' (ounce (avoirdupois)) or '[foz_us]' (US fluid ounce) or '[foz_br]' "
            "(imperial fluid ounce)"),
    unclear("ton", "'kg' (kilogram)"),
    unclear("ppm", "'mg/L' (milligram per litre) or 'g/kg' (gram per kilogram)"),
    unclear("cup", "'mL' (millilitre)"),
    unclear("l", "'L' (litre)"),
    of_line("a unit that is nowhere on the list", "/pack/unit",
            "'unit' must be one of the codes of GET /v1/units (got 'furlong').", pack=quantity("1", "furlong")),
    of_line("use in another dimension than the pack", "/usage/amount/unit",
            "'unit' must be one of mass (got 'mL', volume); use one of g, kg, mg, [lb_av], [oz_av].",
            pack=quantity("1", "kg"), usage=rate("5", "mL")),
    of_line("a driver in litres for each kilogram", "/usage/per/unit",
            "'unit' must be one of volume (got 'kg', mass); use one of L, mL, m3, [gal_us], [gal_br], "
            "[foz_us], [foz_br], [cft_i], [drp].",
            usage=follows("water_changed_l", "1", "1", quantity("1", "kg"))),
    of_line("days for each litre", "/usage/per/unit",
            "'unit' must be one of time (got 'L', volume); use one of d, h, min, wk.",
            usage=follows("days", "1", "1", quantity("1", "L"))),
    of_setup("power in kilowatt-hours", f"{D0}/power/unit",
             "'unit' must be one of power (got 'kWh', energy); use one of W, kW.",
             devices=[device(power=quantity("30", "kWh"))]),
    fault("a reserve in litres", request(reserve=quantity("10", "L")), "#/reserve/unit",
          f"'unit' must be one of count (got 'L', volume); {UNITS_OF_COUNT}"),
    of_line("a pack of a temperature in Fahrenheit", "/pack/unit", "'pack' must not be a temperature.",
            pack=quantity("50", "[degF]"), usage=rate("1", "[degF]")),
    of_line("a pack of a temperature in Celsius", "/pack/unit", "'pack' must not be a temperature.",
            pack=quantity("50", "Cel"), usage=rate("1", "Cel")),
]  # fmt: skip

LINES = [
    of_line("a pack of nothing", "/pack/amount", "'pack' must be above zero (got 0).",
            pack=quantity("0.000", "1")),
    of_line("use for each nothing", "/usage/per/amount", "'per' must be above zero (got 0).",
            usage=follows("days", "1", "1", quantity("0", "d"))),
    of_line("negative use", "/usage/amount/amount", "'amount' must not be negative (got -1.5).",
            usage=rate("-1.5"), shape_knows=True),
    of_line("a negative pack", "/pack/amount", "'amount' must not be negative (got -1).",
            pack=quantity("-1", "1"), shape_knows=True),
    of_line("a portion larger than the pack", "/portion",
            "'portion' must not be larger than the pack, since packs are not mixed; give a larger pack.",
            pack=quantity("1", "kg"), portion=quantity("1000.001", "g"), usage=rate("1", "g")),
    of_line("a portion of nothing", "/portion/amount", "'portion' must be above zero (got 0).",
            portion=quantity("0", "1")),
    of_line("a portion in another dimension than the pack", "/portion/unit",
            "'unit' must be one of mass (got 'L', volume); use one of g, kg, mg, [lb_av], [oz_av].",
            pack=quantity("1", "kg"), usage=rate("1", "g"), portion=quantity("1", "L")),
    of_line("a portion of a life", "/portion",
            "'portion' does not go with a life; give the use as a rate or a driver.",
            usage=life("P6W"), portion=quantity("1", "1")),
    of_line("use every no days", "/usage/every", f"'every' {DURATION} (got 'P0D').",
            usage=rate(every="P0D"), shape_knows=True),
    of_line("use every month and a half in days", "/usage/every", f"'every' {DURATION} (got 'P1M15D').",
            usage=rate(every="P1M15D"), shape_knows=True),
    of_line("a life in hours", "/usage/lasts", f"'lasts' {DURATION} (got 'PT24H').",
            usage=life("PT24H"), shape_knows=True),
    of_line("a life of over thirty years", "/usage/lasts", f"'lasts' {DURATION} (got 'P31Y').",
            usage=life("P31Y")),
    of_line("a life of a day over thirty years", "/usage/lasts", f"'lasts' {DURATION} (got 'P10981D').",
            usage=life("P10981D")),
    of_line("a shelf life of over thirty years", "/shelf_life", f"'shelf_life' {DURATION} (got 'P361M').",
            shelf_life="P361M"),
    of_line("a driver that is not worked out", "/usage/driver", f"'driver' {DRIVERS} (got 'rained_l').",
            usage=follows("rained_l", "1", "1", quantity("1", "L")), shape_knows=True),
]  # fmt: skip

PRICES = [
    of_line("prices with a gap between two of them", "/prices",
            "there is no price for 2027-03-01 to 2027-03-31 (31 days); add one that begins by then.",
            prices=priced(("2026-01-01", "2027-03-01"), ("2027-04-01", ""))),
    of_line("prices that begin late and end early", "/prices",
            "there is no price for 2027-01-01 to 2027-01-31 (31 days), 2027-12-30 to 2027-12-31 (2 days); "
            "add one that begins by then.",
            prices=priced(("2027-02-01", "2027-12-30"))),
    of_line("prices that all begin after the period", "/prices",
            "there is no price for 2027-01-01 to 2027-12-31 (365 days); add one that begins by then.",
            prices=priced(("2028-01-01", ""))),
    of_line("two prices from one day", "/prices/2/from",
            "two prices begin on 2026-01-01 (this one and number 1); keep one.",
            prices=priced(("2026-01-01", ""), ("2027-06-01", ""), ("2026-01-01", ""))),
    of_line("a price that begins while another runs", "/prices/1/from",
            "this price begins on 2027-06-01 while number 1 still runs until 2027-07-01; they must not overlap.",
            prices=priced(("2026-01-01", "2027-07-01"), ("2027-06-01", ""))),
    of_line("a price of no days", "/prices/0/until",
            "'until' must come after 'from' (got 2027-01-01, from 2027-01-01); 'until' is the first day "
            "that is not covered.",
            prices=priced(("2027-01-01", "2027-01-01"))),
]  # fmt: skip

REFS = [
    fault("two setups of one ref", request(setups=[setup("den"), setup("desk"), setup("den")]),
          "#/setups/2/ref", "'ref' must be unique: number 1 is a setup 'den' too; rename one."),
    fault("two lines of one ref", request(line("salt"), line("food"), line("food")),
          "#/setups/0/lines/2/ref", "'ref' must be unique: number 2 is a line 'food' too; rename one."),
    of_setup("two devices of one ref", "#/setups/0/devices/1/ref",
             "'ref' must be unique: number 1 is a device 'pump' too; rename one.",
             devices=[device(), device()]),
    fault("two shared lines of one ref", request(shared_lines=[shared(), shared()]),
          "#/shared_lines/1/ref", "'ref' must be unique: number 1 is a shared line 'kit' too; rename one."),
    fault("a shared line of a ref that a setup's own line has",
          request(setups=[setup("den"), setup("desk", line("salt"), line("kit"))], shared_lines=[shared()]),
          "#/shared_lines/0/ref", "'ref' 'kit' is used by line 2 of setup 2 too; rename one."),
    fault("a line that takes the name of the water tariff's", request(line("water_supply")),
          "#/setups/0/lines/0/ref", "'water_supply' is the line of the water tariff; choose another 'ref'."),
    fault("a shared line that takes the name of the water tariff's", request(shared_lines=[shared("water_supply")]),
          "#/shared_lines/0/ref", "'water_supply' is the line of the water tariff; choose another 'ref'."),
]  # fmt: skip

PERIODS = [
    fault("a period that ends before it begins", request(period={"from": "2027-02-01", "until": "2027-01-31"}),
          "#/period/until", "'until' must come after 'from' (got 2027-01-31, from 2027-02-01); it is the "
          "first day not counted."),
    fault("a period of no days", request(period={"from": "2027-02-01", "until": "2027-02-01"}),
          "#/period/until", "'until' must come after 'from' (got 2027-02-01, from 2027-02-01); it is the "
          "first day not counted."),
    fault("a period of thirty years and a day", request(period={"from": "2024-02-29", "until": "2054-03-01"}),
          "#/period/until", "a period must not be longer than 30 years (got 2024-02-29 to 2054-03-01); end "
          "it by 2054-02-28."),
]  # fmt: skip

EURO = {"price": money("9.80", "EUR")}
NEED = "add one to 'exchange_rates' with 'on' from 2026-11-18 to 2026-11-25"
NO_MINOR = "is not a currency with minor units in ISO 4217; GET /v1/currencies lists them."


def rates(*rows: dict[str, Any], **more: Any) -> dict[str, Any]:
    """A line in euro with these rates to pounds."""
    return request(line(**EURO), exchange_rates=list(rows), **more)


CURRENCIES = [
    fault("an unknown currency", request(currency="XXQ"), "#/currency", f"'XXQ' {NO_MINOR}"),
    fault("a currency without minor units", request(currency="XAU"), "#/currency", f"'XAU' {NO_MINOR}"),
    fault("a currency that has ended", request(currency="HRK"), "#/currency",
          "'HRK' ended on 2023-01-01; quote in its successor."),
    of_line("a price in an unknown currency", "/price/currency", f"'XXQ' {NO_MINOR}", price=money("1", "XXQ")),
    fault("a rate of an unknown currency", rates(exchange("EUR", "GBP", "0.86"), exchange("XXQ", "XAU", "1")),
          "#/exchange_rates/1/from", f"'XXQ' {NO_MINOR}", "#/exchange_rates/1/to", f"'XAU' {NO_MINOR}"),
    of_line("a price in a currency without a rate", "/price/currency",
            f"no exchange rate leads from EUR to GBP on 2026-11-25; {NEED}.", **EURO),
    fault("a rate that was known only later", rates(exchange("GBP", "EUR", "1.16", "2026-11-26")),
          f"{L0}/price/currency", "no exchange rate leads from EUR to GBP on 2026-11-25; the rate of "
          f"2026-11-26 was not known yet on 2026-11-25; {NEED}."),
    fault("a rate of eight days ago", rates(exchange("EUR", "GBP", "0.86", "2026-11-17")),
          f"{L0}/price/currency", "the rate from EUR to GBP is of 2026-11-17, more than seven days before "
          f"2026-11-25; {NEED}, or set 'allow_stale_rates'."),
    fault("a way through a third currency with one old leg",
          rates(exchange("EUR", "USD", "1.1"), exchange("GBP", "USD", "1.3", "2026-11-01")),
          f"{L0}/price/currency", "the rate from GBP to USD is of 2026-11-01, more than seven days before "
          f"2026-11-25; {NEED}, or set 'allow_stale_rates'."),
    fault("two rates of one day", rates(exchange("EUR", "GBP", "0.86"), exchange("EUR", "GBP", "0.87")),
          "#/exchange_rates/1/on", "there are two rates from EUR to GBP of 2026-11-20; keep one."),
    fault("two rates of one day apart from each other in the list",
          rates(exchange("EUR", "GBP", "0.86"), exchange("GBP", "EUR", "1.2"), exchange("GBP", "EUR", "1.1")),
          "#/exchange_rates/2/on", "there are two rates from GBP to EUR of 2026-11-20; keep one."),
    fault("a rate from a currency to itself", request(exchange_rates=[exchange("EUR", "EUR", "1")]),
          "#/exchange_rates/0/to", "'to' must be another currency than 'from' (got EUR twice)."),
    fault("a rate of nothing", request(exchange_rates=[exchange("EUR", "GBP", "0.000")]),
          "#/exchange_rates/0/rate", "'rate' must be above zero (got 0)."),
]  # fmt: skip

TAX = {"rates": {"standard": "20", "reduced": "5"}}
TAXES = [
    fault("a tax code that is not among the rates", request(line(tax_code="low"), tax=TAX),
          f"{L0}/tax_code", "'tax_code' must be one of reduced, standard (got 'low')."),
    fault("no tax code where several could be meant",
          request(line(), tax={"rates": {"low": "5", "high": "20"}}), L0,
          "'tax_code' is needed, since 'tax' has several rates and none named 'standard'."),
    of_line("a tax code without taxes", "/tax_code", "'tax_code' needs 'tax' with its rates in the request.",
            tax_code="standard"),
    fault("a tax code of a tariff without taxes",
          request(tariffs=electricity({"price": "0.3"}, tax_code="standard")), "#/tariffs/electricity/tax_code",
          "'tax_code' needs 'tax' with its rates in the request."),
    fault("a tax rate of over a hundred", request(tax={"rates": {"standard": "100.5"}}), "#/tax/rates/standard",
          "a tax rate must not be over 100 per cent (got 100.5)."),
]  # fmt: skip


def divided(claim: str, text: str, place: str = "", *, shape_knows: bool = False, **share: Any) -> Case:
    """A fault of how one line is shared among two setups."""
    document = request(setups=[setup("den"), setup("desk")], shared_lines=[shared(**share)])
    return fault(claim, document, "#/shared_lines/0/share" + place, text, shape_knows=shape_knows)


MANY = [setup(f"s{i}", water_change={"volume": quantity("10", "L"), "every": "P7D"}) for i in range(11)]
PER_LITRE = follows("water_changed_l", "1", "1", quantity("1", "L"))
SHARES = [
    divided("parts that name an unknown setup", "'parts' must name setups of this request: den, desk (got "
            "'loft').", "/parts/loft", by="fixed", parts={"den": "1", "loft": "1"}),
    divided("parts that are all zero", "the parts must not all be zero; give at least one setup a part.",
            "/parts", by="fixed", parts={"den": "0", "desk": "0/3"}),
    divided("a part that is divided by zero", "a part must not be divided by zero (got '1/0').",
            "/parts/desk", by="fixed", parts={"den": "1", "desk": "1/0"}, shape_knows=True),
    divided("a share by a driver that nobody has", "no setup has any 'water_changed_l' in the period, so "
            "there is nothing to share by; use another driver, or 'equal'.", "/driver",
            by="driver", driver="water_changed_l"),
    divided("a share by a driver that is not worked out", f"'driver' {DRIVERS} (got 'rained_l').", "/driver",
            by="driver", driver="rained_l", shape_knows=True),
    fault("what each of eleven setups adds",
          request(setups=MANY, shared_lines=[shared(by="added", usage=PER_LITRE)]),
          "#/shared_lines/0/share/by", "'added' averages every order of joining, for at most 10 setups (got "
          "11); use 'driver'."),
]  # fmt: skip

NIGHT = band("night", "00:30", "05:30")
TARIFFS = [
    of_version("bands that leave a hole", "/bands", "no band covers mon from 00:00 to 00:30; add one, or name "
               "one in 'otherwise' that takes the rest.", {"bands": [NIGHT, band("day", "05:30", "00:00")]}),
    of_version("bands that leave a day out", "/bands", "no band covers sun from 00:00 to 24:00; add one, or "
               "name one in 'otherwise' that takes the rest.",
               {"bands": [band("all", days=["mon", "tue", "wed", "thu", "fri", "sat"])]}),
    of_version("bands that overlap", "/bands/1", "bands 'early' and 'night' overlap on mon at 05:00; a "
               "minute may lie in one band only.",
               {"bands": [NIGHT, band("early", "05:00", "08:00"), band("rest")], "otherwise": "rest"}),
    of_version("a band that runs past midnight into another", "/bands/1", "bands 'late' and 'night' overlap on "
               "tue at 00:30; a minute may lie in one band only.",
               {"bands": [NIGHT, band("late", "23:00", "01:00", days=["mon"]), band("otherwise")]}),
    of_version("two bands of one name", "/bands/1/name", "there are two bands named 'night'; keep one.",
               {"bands": [NIGHT, band("night", "05:30", "07:00"), band("otherwise")]}),
    of_version("an otherwise that names no band", "/otherwise", "'otherwise' must name one of the bands (got "
               "'rest').", {"bands": [band("all")], "otherwise": "rest"}),
    fault("bands without a time zone", request(tariffs=electricity({"bands": [band("otherwise")]})),
          "#/tariffs/electricity", "'time_zone' is needed with bands, to know what the clock shows; for "
          "example Europe/London."),
    fault("a time zone that is not on the list",
          request(tariffs=electricity({"price": "0.3"}, time_zone="Europe/Ghent")),
          "#/tariffs/electricity/time_zone", "'time_zone' must be a name of the IANA list such as "
          "Europe/London (got 'Europe/Ghent')."),
    of_version("blocks that do not rise", "/blocks/1/up_to", "blocks must rise: 'up_to' counts from zero each "
               "month (got 100 kWh after 100 kWh).",
               {"blocks": [block("0.1", "100"), block("0.2", "100"), block("0.3", None)]}),
    of_version("a first block up to nothing", "/blocks/0/up_to", "blocks must rise: 'up_to' counts from zero "
               "each month (got 0 kWh after 0 kWh).", {"blocks": [block("0.1", "0"), block("0.3", None)]}),
    of_version("a last block with a limit", "/blocks/1/up_to", "the last block must have 'up_to' null, for all "
               "use above.", {"blocks": [block("0.1", "100"), block("0.2", "200")]}),
    of_version("an inner block without a limit", "/blocks/0", "only the last block may have 'up_to' null; give "
               "the kWh a month up to which this price holds.",
               {"blocks": [block("0.1", None), block("0.2", None)]}),
    of_version("other use in litres", "/other_use/unit", "'unit' must be one of energy (got 'L', volume); use "
               "one of kW.h, W.h, MJ.", {"blocks": [block("0.1", None)], "other_use": quantity("1", "L")}),
    fault("a tariff that begins after the period does",
          request(tariffs=electricity({"price": "0.3", "from": "2027-02-01"})), "#/tariffs/electricity/versions",
          "there is no tariff version for 2027-01-01 to 2027-01-31 (31 days); add one that begins by then."),
    fault("two versions of a tariff from one day",
          request(tariffs=electricity({"price": "0.3"}, {"price": "0.4"})),
          "#/tariffs/electricity/versions/1/from",
          "two tariff versions begin on 2026-10-01 (this one and number 1); keep one."),
    fault("more of the water returned than was supplied",
          request(tariffs={"water": {"currency": "GBP", "versions": [
              {"from": "2026-01-01", "supply_per_m3": "2", "returned": quantity("101", "%")}]}}),
          "#/tariffs/water/versions/0/returned/amount", "the share must not be over 100 % (got 101 %)."),
    fault("a tariff with blocks for eleven setups",
          request(setups=[setup(f"s{i}", devices=[device()]) for i in range(11)],
                  tariffs=electricity({"blocks": [block("0.1", None)]})),
          "#/tariffs/electricity", "a tariff with blocks is shared by every order of joining, for at most 10 "
          "setups with electricity (got 11); cost fewer at a time."),
]  # fmt: skip

SETUPS = [
    of_setup("a device that runs over 24 hours a day", f"{D0}/hours_per_day", "'hours_per_day' must be from 0 "
             "to 24 (got 24.5).", devices=[device(hours_per_day="24.5")]),
    of_setup("a device that runs longer than it is on", f"{D0}/hours_per_day", "'hours_per_day' must not be "
             "over the time from 22:00 to 05:30 (got 8 for 7.5 hours).",
             devices=[device(hours_per_day="8", on=["22:00", "05:30"])]),
    of_setup("a device that is on for no time", f"{D0}/on", "'on' must not begin and end at the same time (got "
             "09:00 twice).", devices=[device(on=["09:00", "09:00"])]),
    of_setup("a device that draws more than its power", f"{D0}/load", "'load' must be from 0 to 1 (got 1.01).",
             devices=[device(load="1.01")]),
    of_setup("a lamp dimmed to more than its light", f"{D0}/dimmed", "'dimmed' must be from 0 to 1 (got 2).",
             devices=[device(dimmed="2")]),
    of_setup("panes that leave no room between them", f"{V0}/pane", "'pane' must be thinner than half the "
             "width (got 250 mm for a width of 500 mm); give the thickness of one pane.",
             vessel=box(pane=quantity("25", "cm"))),
    of_setup("panes that leave no room along a short vessel", f"{V0}/pane", "'pane' must be thinner than half "
             "the length (got 10 mm for a length of 20 mm); give the thickness of one pane.",
             vessel=box(outside={"length": quantity("2", "cm")})),
    of_setup("panes that leave no room in a cylinder", f"{V0}/pane", "'pane' must be thinner than half the "
             "diameter (got 30 mm for a diameter of 50 mm); give the thickness of one pane.",
             vessel={"shape": "cylinder", "outside": {"diameter": quantity("5", "cm")},
                     "pane": quantity("3", "cm"), "water_depth": quantity("5", "cm")}),
    of_setup("water deeper than the vessel is high", f"{V0}/water_depth", "'water_depth' must not be over the "
             "height (got 610 mm for a height of 600 mm).", vessel=box(water_depth=quantity("61", "cm"))),
    of_setup("a bow of more than half the length", f"{V0}/outside/bow", "'bow' must be above zero and at most "
             "half the length (got 501 mm for a length of 1000 mm).",
             vessel=box(outside={"bow": quantity("50.1", "cm")}) | {"shape": "bow"}),
    of_setup("a bow of nothing", f"{V0}/outside/bow", "'bow' must be above zero and at most half the length "
             "(got 0 mm for a length of 1000 mm).",
             vessel=box(outside={"bow": quantity("0", "cm")}) | {"shape": "bow"}),
    of_setup("more displaced than there is", f"{V0}/displaced/amount", "the share must not be over 100 % (got "
             "100.5 %).", vessel=box(displaced=quantity("100.5", "%"))),
    of_setup("a change of a portion of nobody knows what", "#/setups/0/water_change/portion", "'portion' needs "
             "'vessel', to know how much water there is; or give 'volume'.",
             water_change={"portion": quantity("10", "%"), "every": "P7D"}),
    of_setup("a change of more than all the water", "#/setups/0/water_change/portion/amount", "the share must "
             "not be over 100 % (got 101 %).", vessel=box(),
             water_change={"portion": quantity("101", "%"), "every": "P7D"}),
    of_setup("water changed too seldom", "#/setups/0/water_change/every", f"'every' {DURATION} (got 'P31Y').",
             water_change={"volume": quantity("1", "L"), "every": "P31Y"}),
    of_setup("two readings of the same days", "#/setups/0/measured/1/from", "this reading and number 1 cover "
             "the same days; keep one.",
             measured=[meter("2026-01-01", "2026-02-01"), meter("2026-01-31", "2026-03-01")]),
    of_setup("a reading of no days", "#/setups/0/measured/0/until", "'until' must come after 'from' (got "
             "2026-01-01, from 2026-01-01).", measured=[meter("2026-01-01", "2026-01-01")]),
    of_setup("a reading of heating in litres", "#/setups/0/measured/0/amount/unit", "'unit' must be one of energy "
             "(got 'L', volume); use one of kW.h, W.h, MJ.",
             measured=[meter("2026-01-01", "2026-02-01", what="heating", amount=quantity("10", "L"))]),
    of_setup("a reading of evaporation by a meter of energy", "#/setups/0/measured/0/amount/unit", "'unit' must be "
             "one of volume (got 'kW.h', energy); use one of L, mL, m3, [gal_us], [gal_br], [foz_us], [foz_br], "
             "[cft_i], [drp].", measured=[meter("2026-01-01", "2026-02-01", what="evaporation")]),
    of_setup("a pump at more than its full speed", f"{D0}/speed", "'speed' must be from 0 to 1 (got 1.2).",
             devices=[device(speed="1.2")]),
    of_setup("a slowed pump that draws more than at full speed", f"{D0}/least_power", "'least_power' must not be "
             "over 'power' (got 31 W of 30 W).", devices=[device(speed="0.5", least_power=quantity("31", "W"))]),
    of_setup("a lamp that rises and falls longer than it is on", f"{D0}/ramp_up", "ramps must not be longer than "
             "the hours a day (got 4.5 of 4 h).",
             devices=[device(hours_per_day="4", ramp_up=quantity("150", "min"), ramp_down=quantity("2", "h"))]),
    of_setup("a lamp that falls longer than it is on", f"{D0}/ramp_down", "ramps must not be longer than the "
             "hours a day (got 5 of 4 h).", devices=[device(hours_per_day="4", ramp_down=quantity("5", "h"))]),
]  # fmt: skip


BOXED = {"vessel": box()}
BARE = {"shape": "other", "water": quantity("300", "L")}
MODELLED = {"mode": "modelled"}
FAN = {"mode": "fan", "power": quantity("5", "W")}
TAP, PURIFIED = {"purified": False}, {"purified": True}
BUBBLES = {"mode": "bubbles", "per_second": "1", "hours_per_day": "10"}
WEIGHED = {"mode": "weighed", "amount": quantity("100", "g"), "from": "2026-10-01", "until": "2026-10-01"}
DAYS_READ = {"from": "2026-10-01", "until": "2026-11-01"}
GRAVITY = {"specific_gravity": "1.026", "at": quantity("25", "Cel"), "reference": quantity("25", "Cel")}
HOW_MUCH = "needs 'vessel', to know how much water there is."


def warm(amount: str) -> dict[str, Any]:
    return quantity(amount, "Cel")


def tests_of(first: str, second: str, last: str = "2026-10-08", **more: Any) -> dict[str, Any]:
    """Alkalinity by two readings."""
    rows = (("2026-10-01", first), (last, second))
    return {"tests": [{"on": day, "reading": quantity(read, "meq/L")} for day, read in rows]} | more


def possible(claim: str, place: str, text: str, **members: Any) -> Case:
    """A figure that a setup cannot have, or one that says nothing without another."""
    return of_setup(claim, f"#/setups/0/{place}", text, **members)


POSSIBLE = [
    possible("water kept too warm", "water_temperature/amount",
             "'water_temperature' must be from 5 to 40 Cel (got 41 Cel).",
             water_temperature=warm("41"), **BOXED),
    possible("water kept too cold, in Fahrenheit", "water_temperature/amount",
             "'water_temperature' must be from 5 to 40 Cel (got 40.9 [degF]).",
             water_temperature=quantity("40.9", "[degF]"), **BOXED),
    possible("a room that is too warm", "room/temperature/amount",
             "'room.temperature' must be from -30 to 50 Cel (got 51 Cel).", room={"temperature": warm("51")}, **BOXED),
    possible("a December that is too cold", "room/temperature/11/amount",
             "'room.temperature' must be from -30 to 50 Cel (got -31 Cel).",
             room={"temperature": [*[warm("20")] * 11, warm("-31")]}, **BOXED),
    possible("air more than full of vapour", "room/humidity/amount",
             "'room.humidity' must be at most 100 % (got 101 %).", room={"humidity": quantity("101", "%")}, **BOXED),
    possible("a room above where people live", "room/altitude/amount",
             "'room.altitude' must be at most 5000 m (got 5001 m).",
             room={"altitude": quantity("5001", "m")}, **BOXED),
    possible("a cover that leaves more open than there is", "cover/open_share/amount",
             "'cover.open_share' must be at most 100 % (got 110 %).",
             cover={"open_share": quantity("110", "%")}, **BOXED),
    possible("brine", "salinity/amount", "'salinity' must be at most 45 g/kg (got 46 g/kg).",
             salinity=quantity("46", "g/kg")),
    possible("brine on the practical scale", "salinity", "'salinity' must be at most 45 g/kg (got 45.2 g/kg).",
             salinity=quantity("45", "1")),
    possible("a salinity of nobody knows what", "salinity",
             "'salinity' needs a 'unit': g/kg, 1 for practical salinity, or mS/cm.", salinity={"amount": "35"}),
    possible("a gravity without the temperature of the water", "salinity",
             "a reading of specific gravity says nothing without both temperatures; give 'at', that of the water.",
             salinity={key: GRAVITY[key] for key in ("specific_gravity", "reference")}),
    possible("a gravity without the temperature of the instrument", "salinity",
             "a reading of specific gravity says nothing without both temperatures; give 'reference', that of the "
             "pure water it is measured against.", salinity={key: GRAVITY[key] for key in ("specific_gravity", "at")}),
    possible("a gravity that no sea has", "salinity/specific_gravity",
             "'salinity.specific_gravity' must be from 0.99 to 1.1 (got 1.2).",
             salinity=GRAVITY | {"specific_gravity": "1.2"}),
    possible("a gravity read in hot water", "salinity/at/amount",
             "'salinity.at' must be from 0 to 60 Cel (got 61 Cel).", salinity=GRAVITY | {"at": warm("61")}),
    possible("water from the tap that is ice", "source_water/temperature/amount",
             "'source_water.temperature' must be from 0 to 60 Cel (got -1.5 Cel).",
             source_water=TAP | {"temperature": warm("-1.5")}, heating=MODELLED, **BOXED,
             water_change={"volume": quantity("1", "L"), "every": "P7D"}),
    possible("a purifier that drains nearly all", "source_water/reject_ratio",
             "'source_water.reject_ratio' must be at most 100 (got 100.5).",
             source_water=PURIFIED | {"reject_ratio": "100.5"}),
    possible("tap water that is brine", "source_water/dissolved/amount",
             "'source_water.dissolved' must be at most 50 g/L (got 51 g/L).",
             source_water=PURIFIED | {"dissolved": quantity("51", "g/L")}),
    possible("tap water that is soda water", "source_water/carbon_dioxide/amount",
             "'source_water.carbon_dioxide' must be at most 2 g/L (got 3 g/L).",
             source_water=PURIFIED | {"carbon_dioxide": quantity("3", "g/L")}),
    possible("tap water that bleaches", "source_water/chlorine/amount",
             "'source_water.chlorine' must be at most 100 mg/L (got 0.2 g/L).",
             source_water=TAP | {"chlorine": quantity("0.2", "g/L")}),
    possible("a heater of a swimming bath", "heating/rating/amount",
             "'heating.rating' must be at most 20 kW (got 20.1 kW).",
             heating=MODELLED | {"rating": quantity("20.1", "kW")}, **BOXED),
    possible("heating of nobody knows what", "heating",
             "'heating' is modelled, which needs 'vessel' to know its panes.", heating=MODELLED),
    possible("heating of a vessel without its surface", "vessel",
             "'heating' is modelled, which needs 'open_surface' of the vessel.", heating=MODELLED, vessel=BARE),
    possible("cooling of a vessel without its panes", "vessel",
             "'cooling' is modelled, which needs 'pane_area' of the vessel.", cooling={"mode": "chiller"},
             vessel=BARE | {"open_surface": quantity("1", "m2")}),
    possible("a chiller that gives less than it takes", "cooling/cop",
             "'cooling.cop' must be from 0.5 to 10 (got 0.4).", cooling={"mode": "chiller", "cop": "0.4"}, **BOXED),
    possible("a fan of unknown power", "cooling", "'cooling' by a fan needs its 'power'.", cooling={"mode": "fan"},
             **BOXED),
    possible("a fan that blows a gale", "cooling/air_speed/amount",
             "'cooling.air_speed' must be at most 20 m/s (got 21 m/s).",
             cooling=FAN | {"air_speed": quantity("21", "m/s")}, **BOXED),
    possible("limewater for nothing that uses it", "limewater",
             "'limewater' needs 'alkalinity' or 'livestock.corals', to know what is used.", limewater=True),
    possible("alkalinity of nobody knows how much water", "alkalinity", f"'alkalinity' {HOW_MUCH}",
             alkalinity={"per_day": quantity("1", "meq/L")}),
    possible("corals in nobody knows how much water", "livestock", f"'livestock' {HOW_MUCH}",
             livestock={"corals": "soft"}),
    possible("plants in nobody knows how much water", "plants", f"'plants' {HOW_MUCH}", plants="rich"),
    possible("alkalinity that is lye", "alkalinity/per_day/amount",
             "'alkalinity.per_day' must be at most 50 meq/L (got 51 meq/L).",
             alkalinity={"per_day": quantity("51", "meq/L")}, **BOXED),
    possible("two tests of one day", "alkalinity/tests/1/on",
             "the second reading must come after the first (got 2026-10-01, first 2026-10-01).",
             alkalinity=tests_of("3", "2", "2026-10-01"), **BOXED),
    possible("alkalinity that rises by itself", "alkalinity",
             "the readings rise by more than was dosed (0.5 meq/L), so nothing was used; give 'dosed', all that was "
             "dosed between them for each litre.",
             alkalinity=tests_of("2", "3.5", dosed=quantity("1", "meq/L")), **BOXED),
    possible("bubbles faster than one can count", "co2/per_second", "'co2.per_second' must be at most 100 (got 101).",
             co2=BUBBLES | {"per_second": "101"}),
    possible("bubbles for longer than a day", "co2/hours_per_day", "'co2.hours_per_day' must be from 0 to 24 (got 25).",
             co2=BUBBLES | {"hours_per_day": "25"}),
    possible("gas that leaves by an unknown surface", "co2",
             "'co2' by the surface needs 'vessel' with its open surface.", co2={"mode": "surface", "hours_per_day": "10"}),
    possible("a bottle weighed twice on a day", "co2/until",
             "'until' must come after 'from' (got 2026-10-01, from 2026-10-01).", co2=WEIGHED),
    possible("purified water read where nothing purifies", "measured/0/what",
             "'purified_water' was read, but 'source_water' is not purified; say that it is, or leave the reading out.",
             measured=[{"what": "purified_water", "amount": quantity("300", "L")} | DAYS_READ],
             source_water={"purified": False}),
    possible("hardness over that of unknown water", "hardness",
             "'hardness' needs 'source_water.hardness', unless the water is purified.",
             hardness={"target": quantity("5", "dGH")}),
    possible("water as hard as stone", "hardness/target/amount",
             "'hardness.target' must be at most 100 mmol/L (got 101 mmol/L).",
             hardness={"target": quantity("101", "mmol/L")}, source_water=PURIFIED),
    possible("more fish than water", "livestock/fish/0/count", "'fish.count' must be at most 100000 (got 100001).",
             livestock={"fish": [{"count": "100001", "length": quantity("5", "cm")}]}),
    possible("animals fed every minute", "feeding/times_per_day",
             "'feeding.times_per_day' must be at most 1000 (got 1001).", feeding={"times_per_day": "1001"}),
    possible("a device of a workshop", "devices/0/power/amount",
             "'devices.power' must be at most 20 kW (got 20.001 kW).", devices=[device(power=quantity("20.001", "kW"))]),
    possible("an air pump of a factory", "devices/0/air/amount",
             "'devices.air' must be at most 1000 m3/h (got 1001 m3/h).", devices=[device(air=quantity("1001", "m3/h"))]),
    possible("a lamp that rises for over a day", "devices/0/ramp_up/amount",
             "'devices.ramp_up' must be at most 24 h (got 25 h).", devices=[device(ramp_up=quantity("25", "h"))]),
    possible("more litres displaced than there are", "vessel/displaced/amount",
             "'displaced' must not be over the volume inside (got 400 L of 258.72 L).",
             vessel=box(displaced=quantity("400", "L"))),
    possible("a lake", "vessel/water/amount", "'vessel.water' must be at most 1000000 m3 (got 1000001 m3).",
             vessel=BARE | {"water": quantity("1000001", "m3")}),
    possible("a canal", "vessel/outside/length/amount", "'outside.length' must be at most 100 m (got 101 m).",
             vessel=box(outside={"length": quantity("101", "m")})),
    possible("a surface of a lake", "vessel/open_surface/amount",
             "'vessel.open_surface' must be at most 10000 m2 (got 10001 m2).",
             vessel=BARE | {"open_surface": quantity("10001", "m2")}),
    possible("a stand of a mountain", "vessel/stand_mass/amount",
             "'vessel.stand_mass' must be at most 1000000000 kg (got 1000000001 kg).",
             vessel=box(stand_mass=quantity("1000000001", "kg"))),
]  # fmt: skip


def named(claim: str, place: str, text: str, usual: str, **members: Any) -> Case:
    """A fault of a line that names a thing in place of its usage."""
    row = {key: value for key, value in line(**members).items() if key != "usage"} | {"usual": usual}
    return fault(claim, request(row), L0 + place, text)


def unknown(driver: str, unit: str, needed: str) -> Case:
    """A line that follows what its setup says nothing of."""
    usage = follows(driver, "1", "1", quantity("1", unit))
    text = f"'{driver}' is not known of this setup; it needs {needed}."
    return of_line(
        f"a line that follows {driver}, of which nothing is said", "/usage/driver", text, usage=usage
    )


GROWTH = "'alkalinity', or 'livestock' with 'corals', and 'vessel'"
PURIFIER = "'source_water' that is purified"
SALT = shared(usage=follows("salt_g", "1", "1", quantity("1", "g")))
CARBON = {key: value for key, value in shared(pack=quantity("1", "kg")).items() if key != "usage"}
BY_WATER = ("'activated-carbon' goes by the water of one setup, which is not known here; give its 'vessel', or state "
            "the 'usage'.")  # fmt: skip
USUALS = [
    named("a usual value that is nearly one", "/usual",
          "'usual' must be a name of GET /v1/parameters (got 'membranes'); did you mean membrane?", "membranes"),
    named("a usual value that is none", "/usual", "'usual' must be a name of GET /v1/parameters (got 'xyzzyx').",
          "xyzzyx"),
    named("usual salt for fresh water", "/usual",
          "'salt_g' is not known of this setup; it needs 'water' that is marine or brackish.", "salt-mix",
          pack=quantity("1", "kg")),
    named("usual salt by the litre", "/pack/unit", "'salt-mix' is counted in g, so 'pack' must be of mass (got 'L').",
          "salt-mix", pack=quantity("1", "L")),
    named("a piece by the kilogram", "/pack/unit", "'membrane' is counted in 1, so 'pack' must be of count (got 'kg').",
          "membrane", pack=quantity("1", "kg")),
    named("a usual amount for nobody knows how much water", "/usual", BY_WATER, "activated-carbon",
          pack=quantity("1", "kg")),
    fault("a usual amount for the water of all", request(shared_lines=[CARBON | {"usual": "activated-carbon"}]),
          "#/shared_lines/0/usual", BY_WATER),
    named("a portion of a usual life", "/portion",
          "'portion' does not go with a life; give the use as a rate or a driver.", "membrane",
          portion=quantity("1", "1")),
    fault("a shared line that follows what nobody has", request(shared_lines=[SALT]), "#/shared_lines/0",
          "'salt_g' is not known of any setup; it needs 'water' that is marine or brackish."),
    divided("a share by what nobody has", "no setup has any 'salt_g' in the period, so there is nothing to share by; "
            "use another driver, or 'equal'.", "/driver", by="driver", driver="salt_g"),
    unknown("evaporated_l", "L", "'vessel' with its open surface, or a measured 'evaporation'"),
    unknown("purified_l", "L", PURIFIER),
    unknown("drain_water_l", "L", PURIFIER),
    unknown("resin_meq", "meq", PURIFIER),
    unknown("heating_kwh", "kW.h", "'heating' that is modelled, or measured"),
    unknown("cooling_kwh", "kW.h", "'cooling' by a chiller or a fan"),
    unknown("salt_g", "g", "'water' that is marine or brackish"),
    unknown("alkalinity_meq", "meq", GROWTH),
    unknown("calcium_g", "g", GROWTH),
    unknown("magnesium_g", "g", GROWTH),
    unknown("limewater_g", "g", "'limewater' and what alkalinity is used"),
    *(unknown(f"{name}_g", "g", "'plants' and 'vessel'") for name in ("nitrate", "phosphate", "potassium", "iron")),
    unknown("co2_g", "g", "'co2'"),
    unknown("chlorine_g", "g", "'source_water' that is not purified"),
    unknown("hardness_mmol", "mmol", "'hardness'"),
    unknown("food_g", "g", "'livestock' with 'fish'"),
    unknown("feedings", "1", "'feeding'"),
    unknown("tests", "1", "'testing'"),
]  # fmt: skip

CASES = [
    *UNITS,
    *LINES,
    *PRICES,
    *REFS,
    *PERIODS,
    *CURRENCIES,
    *TAXES,
    *SHARES,
    *TARIFFS,
    *SETUPS,
    *POSSIBLE,
    *USUALS,
]
