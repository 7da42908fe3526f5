"""Units: exact factors, the same as two unit libraries have, and the same tank in any of them."""

from __future__ import annotations

import warnings
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any

import molmass
import periodictable
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark.exceptions import LarkError

from service.engine.units import ALIASES, CANDIDATES, UNITS, Unit, from_base, to_base
from service.quoting import cost
from tests.pieces import TODAY, follows, line, quantity, request, setup

# What each code is called in pint; an amount of 1 of "1" or "%" is a plain number there. An
# equivalent of UCUM is a mole.
IN_PINT = {
    "L": "liter", "mL": "milliliter", "m3": "meter**3", "[gal_us]": "gallon", "[gal_br]": "imperial_gallon",
    "[foz_us]": "fluid_ounce", "[foz_br]": "imperial_fluid_ounce", "[cft_i]": "foot**3",
    "[drp]": "milliliter / 20", "g": "gram", "kg": "kilogram", "mg": "milligram", "[lb_av]": "pound",
    "[oz_av]": "ounce", "W": "watt", "kW": "kilowatt", "kW.h": "kilowatt * hour", "W.h": "watt * hour",
    "MJ": "megajoule", "cm": "centimeter", "mm": "millimeter", "m": "meter", "[in_i]": "inch",
    "[ft_i]": "foot",
    "m2": "meter**2", "Cel": "degree_Celsius", "[degF]": "degree_Fahrenheit", "1": "dimensionless",
    "%": "percent", "g/L": "gram / liter", "mg/L": "milligram / liter", "g/kg": "gram / kilogram", "d": "day",
    "h": "hour", "min": "minute", "wk": "week", "mL/d": "milliliter / day", "L/d": "liter / day",
    "m/s": "meter / second", "K": "kelvin", "meq": "millimole", "mmol": "millimole",
    "meq/L": "millimole / liter", "mmol/L": "millimole / liter", "mS/cm": "millisiemens / centimeter",
    "uS/cm": "microsiemens / centimeter", "L/h": "liter / hour", "m3/h": "meter**3 / hour",
    "g/d": "gram / day",
}  # fmt: skip
# ucumvert takes [cft_i] for a hundredth of a foot, and counts and temperatures have no factor to compare.
NOT_IN_UCUMVERT = {"[cft_i]", "1", "Cel", "[degF]"}
UCUM = {code: unit for code, unit in UNITS.items() if unit.ucum}
PAIRS = [
    pytest.param(a, b, id=f"{a.code} and {b.code}")
    for a, b in combinations(UNITS.values(), 2)
    if a.dimension == b.dimension
]
EXAMPLES = 200


@pytest.fixture(scope="module")
def exactly() -> pint.UnitRegistry[Fraction]:
    ucum = pint.UnitRegistry(non_int_type=Fraction)
    return ucum


def base_of(dimension: str) -> Unit:
    return next(u for u in UNITS.values() if u.dimension == dimension and u.factor == 1 and not u.offset)


@pytest.mark.parametrize("unit", UCUM.values(), ids=UCUM)
@pytest.mark.parametrize(
    "amount", [Fraction(0), Fraction(1), Fraction("12.345678"), Fraction(10**12, 7)], ids=str
)
def test_every_factor_equals_pints_exactly(exactly: Any, unit: Unit, amount: Fraction) -> None:
    base = exactly.parse_units(IN_PINT[base_of(unit.dimension).code])
    found = exactly.Quantity(amount, exactly.parse_units(IN_PINT[unit.code].removesuffix(" / 20"))).to(base)
    expected = found.magnitude / 20 if IN_PINT[unit.code].endswith(" / 20") else found.magnitude
    assert Fraction(expected) == to_base(amount, unit)


@pytest.mark.parametrize("code", [code for code in UCUM if code not in NOT_IN_UCUMVERT])
def test_a_code_means_what_a_reader_of_ucum_takes_it_for(code: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from ucumvert import PintUcumRegistry

        ucum = PintUcumRegistry()
    unit = UNITS[code]
    one = ucum.from_ucum(code).to(ucum.from_ucum(base_of(unit.dimension).code))
    assert float(one.magnitude) == pytest.approx(float(unit.factor), rel=1e-12)


def test_a_degree_of_hardness_is_ten_milligrams_of_calcium_oxide_in_a_litre() -> None:
    # By definition; two libraries, each with its own table of atoms, work out what calcium oxide weighs.
    for oxide in (molmass.Formula("CaO").mass, periodictable.formula("CaO").mass):
        assert float(UNITS["dKH"].factor) == pytest.approx(2 * 10 / oxide, rel=2e-5)
        assert float(UNITS["dGH"].factor) == pytest.approx(10 / oxide, rel=2e-5)


def test_only_the_degrees_of_hardness_have_no_code_in_ucum() -> None:
    assert UNITS.keys() - UCUM.keys() == {"dKH", "dGH"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from ucumvert import PintUcumRegistry

        ucum = PintUcumRegistry()
    for code in UNITS.keys() - UCUM.keys():
        with pytest.raises(LarkError, match=code):
            ucum.from_ucum(code)


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_there_and_back_is_the_same_amount(one: Unit, other: Unit) -> None:
    @settings(max_examples=EXAMPLES, deadline=None, database=None)
    @given(st.fractions(min_value=-(10**12), max_value=10**12, max_denominator=10**6))
    def holds(amount: Fraction) -> None:
        there = from_base(to_base(amount, one), other)
        assert from_base(to_base(there, other), one) == amount

    holds()


def test_every_dimension_has_one_base_unit() -> None:
    for dimension in {unit.dimension for unit in UNITS.values()}:
        bases = [
            u.code for u in UNITS.values() if u.dimension == dimension and u.factor == 1 and not u.offset
        ]
        assert len(bases) == 1


def test_a_degree_of_difference_is_not_a_point_on_the_scale() -> None:
    freezing, boiling = to_base(Fraction(32), UNITS["[degF]"]), to_base(Fraction(212), UNITS["[degF]"])
    assert (freezing, boiling) == (0, 100)
    assert to_base(Fraction(33), UNITS["[degF]"]) - freezing == Fraction(5, 9)
    assert to_base(Fraction(-40), UNITS["[degF]"]) == to_base(Fraction(-40), UNITS["Cel"])


def test_a_kelvin_is_a_difference_and_no_point_on_the_scale() -> None:
    assert UNITS["K"].dimension != UNITS["Cel"].dimension
    assert to_base(Fraction(5), UNITS["K"]) == 5


def test_no_code_is_both_a_unit_and_unclear() -> None:
    assert not (CANDIDATES.keys() | ALIASES.keys()) & UNITS.keys()
    assert not CANDIDATES.keys() & ALIASES.keys()
    assert {code for codes in CANDIDATES.values() for code in codes} <= UNITS.keys()
    assert set(ALIASES.values()) <= UNITS.keys()


# One volume written in several units, each within six digits after the point.
SAME = {
    "imperial": {"[gal_br]": "1000", "L": "4546.09", "mL": "4546090", "m3": "4.54609"},
    "US": {"[gal_us]": "1000", "L": "3785.411784", "mL": "3785411.784"},
}


def tank(unit: str, volume: str) -> dict[str, Any]:
    """A tank with all its volumes stated as multiples of one volume."""

    def of(times: int) -> dict[str, Any]:
        return quantity(str(Decimal(volume) * times), unit)

    salt = line("salt", usage=follows("water_changed_l", "38.2", "kg", of(1)), pack=quantity("20", "kg"))
    dose = line("dose", usage={"kind": "rate", "amount": of(2), "every": "P1D"}, pack=of(7))
    vessel = {"shape": "other", "water": of(30), "sump_water": of(4)}
    change = {"portion": quantity("10", "%"), "every": "P7D"}
    return request(setups=[setup("den", salt, dose, vessel=vessel, water_change=change)])


@pytest.mark.parametrize(("kind", "unit"), [(kind, unit) for kind in SAME for unit in SAME[kind]])
def test_the_same_tank_costs_the_same_in_any_unit_of_volume(kind: str, unit: str) -> None:
    assert figures(tank(unit, SAME[kind][unit])) == figures(tank("L", SAME[kind]["L"]))


def figures(document: dict[str, Any]) -> Any:
    answer = cost(document, TODAY)
    den = answer["setups"][0]
    rows = [(row["packs"], row["months"], row["total"]) for row in den["lines"]]
    return den["facts"], den["drivers"], rows, answer["total"], answer["purchases"]


@pytest.mark.parametrize(
    ("unit", "size"),
    [("cm", "127"), ("mm", "1270"), ("m", "1.27"), ("[in_i]", "50")],
)
def test_the_same_vessel_holds_the_same_in_any_unit_of_length(unit: str, size: str) -> None:
    side = quantity(size, unit)
    vessel = {"shape": "box", "outside": {"length": side, "width": side}, "pane": quantity("10", "mm"),
              "water_depth": side}  # fmt: skip
    answer = cost(request(setups=[setup("den", vessel=vessel)]), TODAY)
    # 125 x 125 x 127 cm.
    assert answer["setups"][0]["facts"]["net_volume"] == {"amount": "1984.375", "unit": "L"}
