"""The reviewed data: ranges hold their values, names exist, and published figures are as published."""

from __future__ import annotations

import re
from fractions import Fraction

import gsw
import numpy as np
import pytest
from molmass import Formula
from ucumvert import PintUcumRegistry
from whenever import ItemizedDateDelta

from service.engine.drivers import DRIVERS
from service.engine.supply import CATEGORIES
from service.engine.units import UNITS
from service.parameters.defaults import Default, defaults
from service.parameters.reading import sources
from service.parameters.usual import Amounts, Durations, Usual, usuals
from service.schemas.patterns import DURATION

DEFAULTS, USUAL = defaults(), usuals()
UCUM = PintUcumRegistry()
DECIMAL = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")
MEMBERS = {
    "life": {"lasts"},
    "follows": {"driver", "amount", "unit"},
    "rate": {"amount", "unit", "every"},
    "by_volume": {"amount", "unit", "every"},
}


def one(key: str) -> Fraction:
    """The value of a default that is one number."""
    value = DEFAULTS[key].value
    assert isinstance(value, Fraction)
    return value


def range_of(key: str) -> tuple[Fraction, Fraction, Fraction]:
    default = DEFAULTS[key]
    assert isinstance(default.low, Fraction)
    assert isinstance(default.high, Fraction)
    return default.low, one(key), default.high


def amounts(key: str) -> Amounts:
    found = USUAL[key].amount
    assert found is not None
    return found


def days(text: str) -> float:
    """A duration in days, months at their mean length; it must be one that a request may give too."""
    assert re.fullmatch(DURATION, text)
    parts = dict(ItemizedDateDelta.parse_iso(text).items())
    months = 12 * parts.get("years", 0) + parts.get("months", 0)
    return months * 365.25 / 12 + 7 * parts.get("weeks", 0) + parts.get("days", 0)


@pytest.mark.parametrize("default", DEFAULTS.values(), ids=DEFAULTS)
def test_a_default_lies_in_its_range_and_says_what_it_is(default: Default) -> None:
    texts = (default.low_text, default.value_text, default.high_text)
    low, value, high = ([text] if isinstance(text, str) else list(text) for text in texts)
    assert len(low) == len(value) == len(high) in (1, 12)
    assert all(DECIMAL.fullmatch(text) for text in (*low, *value, *high))
    for rows in zip(low, value, high, strict=True):
        least, usual, most = map(Fraction, rows)
        assert least <= usual <= most
    assert default.source in sources()
    assert re.fullmatch(r"[A-Z][^.]*(\.[0-9][^.]*)*\.", default.about)


@pytest.mark.parametrize("default", DEFAULTS.values(), ids=DEFAULTS)
def test_the_unit_of_a_default_is_ucum_but_for_german_degrees(default: Default) -> None:
    if default.unit == "dKH/d":
        assert default.key.startswith("alkalinity.demand.")
    else:
        UCUM.from_ucum(default.unit)


@pytest.mark.parametrize("default", DEFAULTS.values(), ids=DEFAULTS)
def test_floats_are_the_exact_values(default: Default) -> None:
    exact = (default.low, default.value, default.high)
    for found, wanted in zip((default.least, default.mid, default.most), exact, strict=True):
        if isinstance(wanted, Fraction):
            assert type(found) is float
            assert found == float(wanted)
        else:
            assert found.dtype == np.float64
            assert found.tolist() == [float(month) for month in wanted]


def test_a_share_is_at_most_one_and_not_negative() -> None:
    # The one factor that is no part of a whole is the correlation's own error.
    shares = [key for key in DEFAULTS if "share" in key and key != "evaporation.correlation_share"]
    assert len(shares) > 15
    for key in (*shares, "room.humidity"):
        low, _, high = range_of(key)
        assert 0 <= low <= high <= 1, key


# Common practice, no source: a heated room is warmest in July and August, within two kelvins.
def test_the_pattern_of_a_heated_room_has_its_warmest_month_in_summer() -> None:
    room = DEFAULTS["room.temperature.heated"]
    assert room.mid.shape == room.least.shape == room.most.shape == (12,)
    assert set(np.flatnonzero(room.mid == room.mid.max())) == {6, 7}
    assert (room.mid - room.least == 2).all()
    assert (room.most - room.mid == 2).all()
    # WHO Housing and health guidelines (2018): at least 18 degrees in a room that is lived in.
    assert room.mid.min() >= 18


# TEOS-10, reference salinity of a practical salinity, by the library of its authors.
@pytest.mark.parametrize(
    ("key", "practical"), [("salinity.marine", (34, 35, 36)), ("salinity.fish_only", (30, 33, 35))]
)
def test_salinities_are_the_practical_ones_in_grams(key: str, practical: tuple[float, ...]) -> None:
    wanted = gsw.SR_from_SP(np.array(practical, dtype=np.float64))
    assert np.array([float(x) for x in range_of(key)]) == pytest.approx(wanted, abs=0.001)


PUBLISHED = [
    # ISO 6946, surface resistances for heat flow sideways, up and down.
    ("heat.outside_side_m2k_w", "0.13", "0.13", "0.13"),
    ("heat.outside_up_m2k_w", "0.10", "0.10", "0.10"),
    ("heat.outside_down_m2k_w", "0.17", "0.17", "0.17"),
    # Data sheets of soda-lime glass, 1.0 to 1.1, and of acrylic.
    ("heat.glass_w_mk", "1.0", "1.0", "1.1"),
    ("heat.acrylic_w_mk", "0.19", "0.19", "0.19"),
    ("acrylic.kg_per_m3", "1190", "1190", "1190"),
    # EPA, Ultraviolet Disinfection Guidance Manual (2006): low-pressure lamps.
    ("lamp.uv_life_hours", "4000", "8000", "10000"),
    # Laboratory practice for removing chlorine.
    ("chlorine.thiosulfate_ratio", "7", "7", "7"),
]


@pytest.mark.parametrize(("key", "low", "value", "high"), PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_a_published_default_is_the_published_figure(key: str, low: str, value: str, high: str) -> None:
    assert range_of(key) == (Fraction(low), Fraction(value), Fraction(high))


WITHIN = [
    # Trade press on errors with chillers: measured before and after a rebuild.
    ("chiller.cop", "1.6", "3.5"),
    # Abdelrahman and Boyd 2018: splashing raised evaporation by 32 to 92 per cent.
    ("evaporation.activity.broken", "1.32", "1.92"),
    # Shah 2002: mean deviation of the correlation 18.2 per cent.
    ("evaporation.correlation_share", "0.818", "1.182"),
    # Study of pool covers: solid ones left on cut evaporation by 94 to 96 per cent.
    ("evaporation.leak_share", "0.04", "0.06"),
    # WaterSense: at most 2.3 with the label, at least 5 without.
    ("purifier.reject_ratio", "2.3", "5"),
    # Table of a conductivity meter: 0.4969 for sodium chloride (rounded to 0.50), 0.6563 for the mixed salt.
    ("purifier.tds_per_us_cm", "0.50", "0.6563"),
    # Note of a supplier: 10 000 grains of calcium carbonate to the cubic foot are 0.457 equivalents a litre.
    ("resin.capacity_eq_per_l", "0.457", "0.457"),
]


@pytest.mark.parametrize(("key", "least", "most"), WITHIN, ids=[row[0] for row in WITHIN])
def test_a_range_holds_what_was_measured(key: str, least: str, most: str) -> None:
    low, _, high = range_of(key)
    assert low <= Fraction(least) <= Fraction(most) <= high


@pytest.mark.parametrize("usual", USUAL.values(), ids=USUAL)
def test_a_usual_consumption_has_the_members_of_its_kind(usual: Usual) -> None:
    had = {name for name in ("lasts", "driver", "amount", "unit", "every") if getattr(usual, name)}
    assert had == MEMBERS[usual.kind]
    assert usual.kind != "life" or usual.shelf_life is None
    assert usual.category in CATEGORIES
    assert usual.source in sources()
    assert usual.driver is None or usual.driver in DRIVERS
    assert usual.unit is None or usual.unit in UNITS
    assert re.fullmatch(r"[A-Z][^.]*\.", usual.about)
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", usual.key)


@pytest.mark.parametrize("usual", USUAL.values(), ids=USUAL)
def test_low_is_at_most_typical_and_typical_at_most_high(usual: Usual) -> None:
    found: list[tuple[float | Fraction, ...]] = []
    if usual.amount:
        found.append((usual.amount.low, usual.amount.typical, usual.amount.high))
    for spread in (usual.lasts, usual.shelf_life):
        if spread:
            found.append((days(spread.low), days(spread.typical), days(spread.high)))
    assert found
    for low, typical, high in found:
        assert 0 < low <= typical <= high
    assert usual.every is None or days(usual.every) > 0


def mass(formula: str) -> float:
    return float(Formula(formula).mass)


CALCIUM, MAGNESIUM, CHLORINE = mass("Ca"), mass("Mg"), mass("Cl2")
GYPSUM, EPSOM = mass("CaSO4(H2O)2"), mass("MgSO4(H2O)7")

# Grams of the pure salt for one unit of the driver: molar mass over what one mole brings.
STOICHIOMETRY = {
    "sodium-bicarbonate": mass("NaHCO3") / 1000,
    "sodium-carbonate": mass("Na2CO3") / 2000,
    "potassium-bicarbonate": mass("KHCO3") / 1000,
    "calcium-hydroxide": mass("Ca(OH)2") / 2000,
    "reactor-media": mass("CaCO3") / 2000,
    "calcium-chloride": mass("CaCl2(H2O)2") / CALCIUM,
    "magnesium-chloride": mass("MgCl2(H2O)6") / MAGNESIUM,
    "magnesium-sulfate": EPSOM / MAGNESIUM,
    "potassium-nitrate": mass("KNO3") / mass("NO3"),
    "potassium-phosphate": mass("KH2PO4") / mass("PO4"),
    "potassium-sulfate": mass("K2SO4") / (2 * mass("K")),
    "thiosulfate": 2 * mass("Na2S2O3(H2O)5") / CHLORINE,
    "ascorbic-acid": mass("C6H8O6") / CHLORINE,
    # Three moles of calcium to one of magnesium: common practice, no source.
    "hardness-salts": (0.75 * GYPSUM + 0.25 * EPSOM) / 1000,
    "hardness-calcium-sulfate": 0.75 * GYPSUM / 1000,
    "hardness-calcium-chloride": 0.75 * mass("CaCl2(H2O)2") / 1000,
    "hardness-magnesium-sulfate": 0.25 * EPSOM / 1000,
    "hardness-magnesium-chloride": 0.25 * mass("MgCl2(H2O)6") / 1000,
}


@pytest.mark.parametrize("key", STOICHIOMETRY)
def test_a_salt_is_used_by_its_stoichiometry_and_its_purity(key: str) -> None:
    pure, (least, usual, most) = STOICHIOMETRY[key], range_of("salts.purity_share")
    found = amounts(key)
    assert float(found.low * most) == pytest.approx(pure, rel=0.001)
    assert float(found.typical * usual) == pytest.approx(pure, rel=0.001)
    assert float(found.high * least) == pytest.approx(pure, rel=0.001)


def test_every_amount_that_cites_atomic_masses_is_compared_with_them() -> None:
    assert {key for key, usual in USUAL.items() if usual.source == "iupac-masses"} <= set(STOICHIOMETRY)
    assert float(one("chlorine.ascorbic_ratio")) == pytest.approx(STOICHIOMETRY["ascorbic-acid"], rel=0.01)


def test_amounts_that_follow_from_defaults_are_those_of_the_defaults() -> None:
    capacity, used = range_of("resin.capacity_eq_per_l"), range_of("resin.use_share")
    litres = [1 / (each * share * 1000) for each, share in zip(capacity, used, strict=True)]
    resin = amounts("resin")
    assert [resin.high, resin.typical, resin.low] == litres
    refill, bottle = amounts("co2-refill"), range_of("co2.bottle_use_share")
    assert [refill.high, refill.typical, refill.low] == [1 / share for share in bottle]
    powder, purity = amounts("limewater-powder"), range_of("salts.purity_share")
    assert [powder.high, powder.typical, powder.low] == [1 / share for share in purity]


# Common practice, no source: litres that a cartridge passes, and how long it serves at most.
@pytest.mark.parametrize(
    ("key", "litres"),
    [("sediment-cartridge", (20000, 8000, 3000)), ("carbon-cartridge", (15000, 5000, 2000))],
)
def test_a_cartridge_ends_by_litres_or_by_time(key: str, litres: tuple[int, ...]) -> None:
    found = amounts(key)
    assert [1 / found.low, 1 / found.typical, 1 / found.high] == list(litres)
    assert USUAL[key].shelf_life == Durations("P3M", "P6M", "P1Y")
    assert (USUAL[key].driver, USUAL[key].unit) == ("feed_water_l", "1")


# EPA, Ultraviolet Disinfection Guidance Manual (2006): 8000 hours, here of 24 hours a day.
def test_a_uv_lamp_that_is_always_on_is_replaced_by_its_hours() -> None:
    lasts = USUAL["uv-lamp"].lasts
    assert lasts is not None
    assert days(lasts.typical) * 24 == pytest.approx(float(one("lamp.uv_life_hours")), rel=0.01)
