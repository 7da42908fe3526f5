"""Salinity of a setup on each scale that instruments have, against an older standard and published points."""

from __future__ import annotations

from typing import Any

import pytest

from tests.estimates.asking import answered, box, celsius
from tests.physics.references import seawater
from tests.pieces import Document, quantity

NAMES = ("salinity", "practical_salinity", "specific_gravity", "conductivity")


def facts(water: str | None = "marine", **members: Any) -> Document:
    kind = {} if water is None else {"water": water}
    found = answered({"ref": "den", "vessel": box(), "lines": []} | kind | members)["setups"][0]["facts"]
    return {name: found[name] for name in NAMES if name in found}


# Practical salinity and gravity at 25/25 by UNESCO's formulas of 1980, as seawater 3.3.5 has them.
@pytest.mark.parametrize(
    ("practical", "gravity"),
    [("30", 1.02259), ("33", 1.02486), ("34", 1.02561), ("35", 1.02637), ("36", 1.02713)],
)
def test_gravity_is_told_as_tables_print_it_for_25_and_25_degrees(practical: str, gravity: float) -> None:
    found = facts(salinity=quantity(practical, "1"))
    assert found["practical_salinity"] == {"amount": f"{practical}.000", "unit": "1"}
    # Two figures of five decimals, by two standards that agree to 0.005 kg in a cubic metre.
    assert float(found["specific_gravity"]["amount"]) == pytest.approx(gravity, abs=1.5e-5)
    assert len(found["specific_gravity"]["amount"]) == len("1.02637")


def test_standard_sea_water_conducts_53_millisiemens_at_25_degrees() -> None:
    # PSS-78: 53.07 mS/cm at 25 degrees is 35 (row SAL-31); reference salinity 35.16504 g/kg (Millero 2008).
    found = facts(salinity=quantity("35", "1"))
    assert float(found["conductivity"]["amount"]) == pytest.approx(53.07, abs=0.01)
    assert found["salinity"] == {"amount": "35.165", "unit": "g/kg"}
    assert {name: fact["unit"] for name, fact in found.items()} == dict(
        zip(NAMES, ("g/kg", "1", "1", "mS/cm"), strict=True)
    )


@pytest.mark.parametrize(
    ("read", "scale"), [("44.5", "mS/cm"), ("33.156", "g/kg"), ("12.5", "1"), ("0.7", "1")]
)
def test_what_was_read_on_one_scale_is_told_again_on_it(read: str, scale: str) -> None:
    name = {"mS/cm": "conductivity", "g/kg": "salinity", "1": "practical_salinity"}[scale]
    told = facts(salinity=quantity(read, scale))[name]
    assert told["unit"] == scale
    assert float(told["amount"]) == pytest.approx(float(read), abs=0.0005)


@pytest.mark.parametrize("reading", ["1.0021", "1.0213", "1.02637", "1.0264"])
def test_a_gravity_of_25_over_25_is_told_as_it_was_read(reading: str) -> None:
    read = {"specific_gravity": reading, "at": celsius(25), "reference": celsius(25)}
    assert float(facts(salinity=read)["specific_gravity"]["amount"]) == float(reading)


@pytest.mark.parametrize("practical", [5.0, 20.0, 35.0, 42.0])
def test_the_older_standard_says_the_same(practical: float) -> None:
    found = facts(salinity=quantity(str(practical), "1"))
    # EOS-80 over its own pure water; the two standards agree to 0.005 kg in a cubic metre.
    older = float(seawater.dens0(practical, 25.0) / seawater.dens0(0.0, 25.0))
    assert float(found["specific_gravity"]["amount"]) == pytest.approx(older, abs=2e-5)


def test_a_usual_salinity_is_told_as_well() -> None:
    assert facts()["practical_salinity"]["amount"] == "35.000"
    assert facts("brackish")["salinity"]["amount"] == "12.000"


@pytest.mark.parametrize(
    ("water", "members"),
    [
        ("fresh", {}),
        (None, {}),
        ("fresh", {"salinity": quantity("0", "g/kg")}),
        ("marine", {"salinity": quantity("0", "1")}),
    ],
    ids=["fresh", "not said", "stated none", "marine without"],
)
def test_water_without_salt_has_no_such_facts(water: str | None, members: Document) -> None:
    assert facts(water, **members) == {}


@pytest.mark.parametrize("salinity", ["0.000001", "0.001", "1.5", "45"])
def test_any_salt_at_all_is_told_with_figures(salinity: str) -> None:
    found = facts(salinity=quantity(salinity, "g/kg"))
    assert set(found) == set(NAMES)
    assert 1 <= float(found["specific_gravity"]["amount"]) < 1.04
    assert 0 <= float(found["conductivity"]["amount"]) < 67
