"""Sand and rock: what they take the place of and what they weigh, and faults where they cannot be."""

from __future__ import annotations

from fractions import Fraction
from math import pi
from typing import Any

import pytest

from service.parameters.defaults import defaults
from tests.estimates.asking import answered, asked, box
from tests.pieces import Document, faults_of, quantity

SAND, ROCK = {"sand_depth": quantity("5", "cm")}, {"rock_mass": quantity("30", "kg")}
# Porosity of a bed and densities as handbooks give them; rock is common practice, no source.
PORES, QUARTZ, ARAGONITE, REEF = (
    Fraction(str(defaults()[key].value_text))
    for key in ("sand.porosity_share", "sand.quartz_kg_per_l", "sand.aragonite_kg_per_l", "rock.kg_per_l")
)


def answer_of(vessel: Document, water: str | None = "marine") -> Document:
    kind = {} if water is None else {"water": water}
    return answered({"ref": "den", "vessel": vessel, "lines": []} | kind)


def facts(vessel: Document, water: str | None = "marine") -> dict[str, Fraction]:
    found = answer_of(vessel, water)["setups"][0]["facts"]
    return {name: Fraction(fact["amount"]) for name, fact in found.items()}


def of(**more: Any) -> Document:
    return box() | more


def rounded(litres: Fraction) -> Fraction:
    return Fraction(round(litres * 1000), 1000)


def test_the_usual_values_are_those_of_the_handbooks() -> None:
    assert tuple(map(Fraction, ("0.4", "2.65", "2.9", "2.5"))) == (PORES, QUARTZ, ARAGONITE, REEF)


@pytest.mark.parametrize("depth", ["0", "0.1", "3.333333", "5", "53"])
def test_a_bed_in_a_box_is_counted_exactly(depth: str) -> None:
    # 118 x 48 cm inside: six tenths of the bed are grains.
    grains = Fraction(118 * 48, 1000) * Fraction(depth) * Fraction(6, 10)
    held = facts(of(sand_depth=quantity(depth, "cm")))["net_volume"]
    assert held == rounded(Fraction(118 * 48 * 53, 1000) - grains)


def test_the_net_volume_of_a_tank_with_sand_rock_and_sump_is_that_of_row_geo_11() -> None:
    # 300.192 - 16.992 - 12 + 60 + 3 litres.
    held = facts(of(sump_water=quantity("63", "L"), **SAND, **ROCK))["net_volume"]
    assert held == Fraction("334.2")


def test_a_bed_in_a_cylinder_and_under_a_stated_surface_takes_up_its_grains() -> None:
    tube = {"shape": "cylinder", "outside": {"diameter": quantity("50", "cm")}, "pane": quantity("6", "mm"),
            "water_depth": quantity("40", "cm")}  # fmt: skip
    held = facts(tube | {"sand_depth": quantity("6", "cm")})
    assert float(held["gross_volume"] - held["net_volume"]) == pytest.approx(
        pi / 4 * 48.8**2 * 3.6 / 1000, abs=1e-3
    )
    other = {"shape": "other", "water": quantity("200", "L"), "open_surface": quantity("0.5", "m2")}
    assert facts(other | {"sand_depth": quantity("4", "cm")})["net_volume"] == 200 - 20 * Fraction(6, 10)


def test_a_bed_behind_a_bow_is_water_of_its_depth_less_its_pores() -> None:
    outside = {"length": quantity("90", "cm"), "width": quantity("35", "cm"), "bow": quantity("10", "cm")}
    bow = {"shape": "bow", "outside": outside, "pane": quantity("8", "mm")}
    held = facts(bow | {"water_depth": quantity("45", "cm"), "sand_depth": quantity("4.5", "cm")})
    # A tenth of the depth, of which six tenths are grains: 160.016 litres inside, row GEO-07.
    assert float(held["gross_volume"]) == pytest.approx(160.016, abs=0.01)
    assert float(held["gross_volume"] - held["net_volume"]) == pytest.approx(160.016 * 0.06, abs=0.002)


def test_rock_takes_up_its_mass_by_its_density() -> None:
    bare, rocky = facts(of()), facts(of(**ROCK))
    assert bare["net_volume"] - rocky["net_volume"] == 12


@pytest.mark.parametrize(
    ("water", "kind", "grain"),
    [("marine", None, ARAGONITE), ("brackish", None, QUARTZ), ("fresh", None, QUARTZ), (None, None, QUARTZ),
     ("marine", "quartz", QUARTZ), ("fresh", "aragonite", ARAGONITE)],
)  # fmt: skip
def test_sand_weighs_what_its_grains_weigh(water: str | None, kind: str | None, grain: Fraction) -> None:
    named = {} if kind is None else {"sand": kind}
    bare, sandy = (facts(of(**more), water) for more in ({}, SAND | named))
    grains_l = Fraction("16.992")
    # What the grains weigh more than the water whose place they take: its density is 0.99 to 1.03 kg/L.
    more_kg = sandy["filled_mass"] - bare["filled_mass"]
    assert grains_l * (grain - Fraction("1.03")) < more_kg < grains_l * (grain - Fraction("0.99"))


def test_the_tank_of_row_geo_14_weighs_what_the_row_says() -> None:
    # Quartz sand, 30 kg of rock and a stand of 60 kg: 477.08 kg, 795.13 kg/m2. The row takes 1.0232 kg/L.
    found = facts(of(sand="quartz", stand_mass=quantity("60", "kg"), **SAND, **ROCK))
    assert float(found["filled_mass"]) == pytest.approx(477.08, abs=0.1)
    assert float(found["floor_load"]) == pytest.approx(795.13, abs=0.2)


def test_a_stated_mass_of_the_contents_stands_whatever_displaces_water() -> None:
    stated = {"contents_mass": quantity("75", "kg")}
    bare, sandy = facts(of(**stated)), facts(of(**stated, **SAND, **ROCK))
    # 28.992 litres of sea water fewer, and nothing else.
    fewer_kg = bare["filled_mass"] - sandy["filled_mass"]
    assert float(fewer_kg) == pytest.approx(28.992 * 1.0232, abs=0.01)


def taken(answer: Document) -> dict[str, str]:
    return {row["about"]: row["value"] for row in answer["assumptions"]}


def test_what_is_taken_for_sand_and_rock_is_listed() -> None:
    found = taken(answer_of(of(**SAND, **ROCK)))
    assert found["setups.den.vessel.sand"] == "aragonite, since its kind was not given"
    assert found["sand.porosity_share"] == "0.40"
    assert found["sand.aragonite_kg_per_l"] == "2.9"
    assert found["rock.kg_per_l"] == "2.5"


@pytest.mark.parametrize(
    ("vessel", "keys"),
    [
        (of(), set()),
        (of(sand="quartz", **SAND), {"sand.porosity_share", "sand.quartz_kg_per_l"}),
        (of(contents_mass=quantity("9", "kg"), **SAND), {"sand.porosity_share"}),
        (of(**ROCK), {"rock.kg_per_l"}),
        (of(displaced=quantity("8", "%")), {"rock.kg_per_l"}),
        (of(displaced=quantity("0", "%")), set()),
        (of(displaced=quantity("8", "%"), contents_mass=quantity("9", "kg")), set()),
        ({"shape": "other", "water": quantity("90", "L"), "open_surface": quantity("1", "m2")} | SAND,
         {"sand.porosity_share"}),
    ],
    ids=["bare", "kind", "stated mass", "rock", "displaced", "none displaced", "and weighed", "unweighed"],
)  # fmt: skip
def test_only_what_was_taken_is_listed(vessel: Document, keys: set[str]) -> None:
    found = taken(answer_of(vessel))
    assert {key for key in found if key.startswith(("sand.", "rock."))} == keys
    assert ("setups.den.vessel.sand" in found) == ("sand.aragonite_kg_per_l" in keys and "sand" not in vessel)


def test_less_water_is_changed_where_sand_lies() -> None:
    change = {"portion": quantity("10", "%"), "every": "P7D"}
    setup = {"ref": "den", "vessel": of(**SAND), "lines": [], "water_change": change}
    days = [month["days"] for month in answered(setup)["period"]["months"]]
    changed = answered(setup)["setups"][0]["drivers"]["water_changed_l"]
    # 283.2 litres, a tenth a week: rule 3 by hand, to the thousandth.
    assert [Fraction(month) for month in changed] == [rounded(Fraction("28.32") / 7 * day) for day in days]


BOTH = "'displaced' and '{}' both say what stands in the water; give one of the two."
OTHER = {"shape": "other", "water": quantity("90", "L")}
FAULTS = [
    (of(displaced=quantity("8", "%"), **SAND), "/displaced", BOTH.format("sand_depth")),
    (of(displaced=quantity("0", "L"), **ROCK), "/displaced", BOTH.format("rock_mass")),
    (of(sand="quartz"), "/sand", "'sand' needs 'sand_depth', to know how much there is of it."),
    (OTHER | SAND, "/sand_depth", "'sand_depth' needs 'open_surface', for what the bed covers."),
    (
        of(sand_depth=quantity("53.1", "cm")),
        "/sand_depth",
        "'sand_depth' must not be over the depth of the water (got 531 mm for a depth of 530 mm).",
    ),
    (
        of(rock_mass=quantity("751", "kg")),
        "/rock_mass",
        "sand and rock must not take more room than there is inside (got 300.4 L of 300.192 L).",
    ),
    (
        of(sand_depth=quantity("53", "cm"), rock_mass=quantity("400", "kg")),
        "/rock_mass",
        "sand and rock must not take more room than there is inside (got 340.115 L of 300.192 L).",
    ),
    (
        OTHER | {"open_surface": quantity("1", "m2"), "sand_depth": quantity("20", "cm")},
        "/sand_depth",
        "sand and rock must not take more room than there is inside (got 120 L of 90 L).",
    ),
    (
        of(sand_depth=quantity("101", "m")),
        "/sand_depth/amount",
        "'vessel.sand_depth' must be at most 100 m (got 101 m).",
    ),
    (
        of(rock_mass=quantity("2000000000", "kg")),
        "/rock_mass/amount",
        "'vessel.rock_mass' must be at most 1000000000 kg (got 2000000000 kg).",
    ),
]


@pytest.mark.parametrize(
    ("vessel", "place", "text"), FAULTS, ids=[f"{row[1]}-{at}" for at, row in enumerate(FAULTS)]
)
def test_what_cannot_be_is_one_fault_with_its_place(vessel: Document, place: str, text: str) -> None:
    document = asked({"ref": "den", "water": "marine", "vessel": vessel, "lines": []})
    assert faults_of(document) == [(f"#/setups/0/vessel{place}", text)]


def test_a_vessel_that_is_faulty_itself_is_not_blamed_for_its_sand() -> None:
    thick = of(pane=quantity("30", "cm"), **SAND, **ROCK)
    faults = faults_of(asked({"ref": "den", "water": "marine", "vessel": thick, "lines": []}))
    assert [pointer for pointer, _ in faults] == ["#/setups/0/vessel/pane"]
