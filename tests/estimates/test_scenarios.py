"""Scenarios: the same costing under other circumstances, told by its difference."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from service.quoting import cost
from service.quoting.draws import Draws, inputs_of
from service.quoting.ranges import evaluate
from tests.estimates.asking import (
    MAINS,
    amounts,
    answered,
    asked,
    celsius,
    line_totals,
    per_cent,
    planted,
    reef,
    room,
    watts,
    whole,
    worked_out,
)
from tests.pieces import TODAY, Document, electricity, faults_of, follows, line, money, quantity, shared

SALT = line("salt", usage=follows("salt_g", "1", "g", quantity("1", "g")), pack=quantity("20", "kg"))
SALT |= {"category": "salt", "price": money("61.50")}
TOP_UP = line("top", usage=follows("evaporated_l", "1", "g", quantity("1", "L")), pack=quantity("1", "kg"))
TOP_UP |= {"category": "additives", "price": money("200")}
MADE = line("made", usage=follows("purified_l", "1", "g", quantity("1", "L")), pack=quantity("1", "kg"))
MADE |= {"category": "water", "price": money("100")}
HOSE = shared("hose", "equal", price=money("24"))
JANUARY = {"from": "2026-01-01", "until": "2026-02-01"}


def kelvin(degrees: Any) -> Document:
    return quantity(str(degrees), "K")


def den(**members: Any) -> Document:
    return reef(**({"lines": [SALT, TOP_UP, MADE], "heating": {"mode": "modelled"}} | members))


def told(document: Document, **scenario: Any) -> Any:
    """One scenario of a request in its answer."""
    answer = cost(document | {"scenarios": [{"ref": "other", **scenario}]}, TODAY)
    return answer["scenarios"][0]


def lines(found: Document, key: str = "total", setup: int = 0) -> dict[str, float]:
    return {row["ref"]: float(row[key]) for row in found["setups"][setup]["lines"]}


# --- nothing changes ---

READINGS = {
    "evaporation": {"what": "evaporation", "amount": quantity("70", "L")} | JANUARY,
    "heating": {"what": "heating", "amount": quantity("70", "kW.h")} | JANUARY,
    "purified_water": {"what": "purified_water", "amount": quantity("200", "L")} | JANUARY,
    "electricity": {"what": "electricity", "amount": quantity("150", "kW.h")} | JANUARY,
}


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"electricity_price": per_cent(0), "prices": quantity("0", "1"), "water_price": per_cent("0.0")},
        {"room": kelvin(0)},
        {"cover": "open", "surface": "rippled", "water_temperature": celsius("25.5")},
        {"worst_case": False},
    ],
    ids=str,
)
@pytest.mark.parametrize("measured", [[], *[[one] for one in READINGS.values()], list(READINGS.values())[:3]])
def test_where_nothing_changes_every_difference_is_nothing(
    changes: Document, measured: list[Document]
) -> None:
    document = asked(den(measured=measured), planted(cover="open", surface="rippled",
        water_temperature=celsius("25.5")), shared_lines=[HOSE], reserve=per_cent(10))  # fmt: skip
    answer = cost(document | {"scenarios": [{"ref": "same", **changes}]}, TODAY)
    found = answer["scenarios"][0]
    assert (found["total"], found["difference"]) == (answer["total"], "0.00")
    for one, own in zip(found["setups"], answer["setups"], strict=True):
        assert (one["ref"], one["total"], one["difference"]) == (own["ref"], own["total"], "0.00")
        assert {row["ref"]: row["total"] for row in one["lines"]} == {
            row["ref"]: row["total"] for row in own["lines"]
        }
        assert {row["difference"] for row in one["lines"]} == {"0.00"}


def test_where_everything_is_stated_the_worst_case_is_the_costing() -> None:
    stated = {"ref": "den", "lines": [line("food")]}
    assert told(asked(stated), worst_case=True)["difference"] == "0.00"


def test_a_household_without_any_line_has_a_worst_case_no_better_than_its_range() -> None:
    bare = asked(reef() | {"lines": []}, range={"draws": 100})
    assert float(told(bare, worst_case=True)["total"]) >= float(cost(bare, TODAY)["range"]["high"])


# --- prices ---


@pytest.mark.parametrize(
    "tariff",
    [
        electricity({"price": "0.2703"}, {"from": "2027-04-19", "price": "0.281"}),
        electricity(
            {"bands": [{"name": "night", "price": "0.09", "from": "00:30", "until": "05:30"},
                       {"name": "day", "price": "0.31"}], "otherwise": "day"}, time_zone="Europe/London"),
        electricity({"blocks": [
            {"up_to": quantity("200", "kW.h"), "price": "0.2"}, {"up_to": None, "price": "0.4"}]}),
    ],
    ids=["price", "bands", "blocks"],
)  # fmt: skip
def test_dearer_electricity_multiplies_its_lines_and_no_others(tariff: Document) -> None:
    document = asked(den(), planted(), tariffs=tariff)
    plain, dear = cost(document, TODAY), told(document, electricity_price=per_cent(30))
    for setup in (0, 1):
        for ref, total in line_totals(plain, setup).items():
            by = 1.3 if ref.startswith("electricity:") else 1
            # A cent a month may go either way by rounding.
            assert lines(dear, setup=setup)[ref] == pytest.approx(by * total, abs=0.12 if by > 1 else 0)


def test_dearer_water_multiplies_its_line_alone() -> None:
    plain, dear = answered(den()), told(asked(den()), water_price=per_cent(50))
    for ref, total in line_totals(plain).items():
        by = 1.5 if ref == "water_supply" else 1
        assert lines(dear)[ref] == pytest.approx(by * total, abs=0.12 if by > 1 else 0)


def test_dearer_packs_multiply_what_is_bought_shared_lines_too_but_no_mains() -> None:
    joint = [
        HOSE,
        TOP_UP | {"ref": "standalone", "share": {"by": "standalone"}},
        TOP_UP | {"ref": "added", "share": {"by": "added"}},
    ]
    document = asked(den(), planted(), shared_lines=joint)
    plain, dear = cost(document, TODAY), told(document, prices=per_cent("-20"))
    for setup in (0, 1):
        found = line_totals(plain, setup)
        assert {"hose", "standalone", "added"} < set(found)
        for ref, total in found.items():
            by = 1 if ref.startswith("electricity:") or ref == "water_supply" else 0.8
            assert lines(dear, setup=setup)[ref] == pytest.approx(by * total, abs=0.12 if by < 1 else 0)
    # All prices by a tenth: all cost by a tenth.
    all_of = told(document, prices=per_cent(10), water_price=per_cent(10), electricity_price=per_cent(10))
    assert float(all_of["total"]) == pytest.approx(1.1 * float(plain["total"]), abs=0.12 * 14)


def test_free_electricity_costs_nothing() -> None:
    free = told(asked(den()), electricity_price=per_cent(-100))
    assert {total for ref, total in lines(free).items() if ref.startswith("electricity:")} == {0.0}


# --- rooms, covers, water ---


def test_a_colder_room_costs_more_heating_as_much_as_if_it_were_stated() -> None:
    colder = told(asked(den(room=room(21)), tariffs=MAINS), room=kelvin(-3))
    stated = answered(den(room=room(18)))
    assert lines(colder) == line_totals(stated)
    assert lines(colder, "difference")["electricity:heating"] > 0
    warmer = told(asked(den()), room=kelvin("2.5"))
    assert lines(warmer, "difference")["electricity:heating"] < 0
    assert lines(warmer) == line_totals(answered(den(room=room("23.5"))))


@pytest.mark.parametrize(
    "changes",
    [
        {"cover": "glazed"},
        {"cover": {"open_share": per_cent(40)}},
        {"surface": "still"},
        {"surface": "broken"},
        {"water_temperature": celsius(24)},
        {"cover": "mesh", "surface": "still", "water_temperature": celsius(23)},
    ],
    ids=str,
)
def test_a_scenario_of_the_tank_is_the_costing_of_such_a_tank(changes: Document) -> None:
    document = asked(den(), planted(), shared_lines=[HOSE])
    found = told(document, **changes)
    stated = cost(asked(den(**changes), planted(**changes), shared_lines=[HOSE]), TODAY)
    assert found["total"] == stated["total"]
    for setup in (0, 1):
        assert lines(found, setup=setup) == line_totals(stated, setup)
    # What it differs by is told against the costing.
    plain = cost(document, TODAY)
    assert float(found["difference"]) == pytest.approx(
        float(found["total"]) - float(plain["total"]), abs=0.001
    )


def test_a_lid_saves_heat_water_and_what_follows_it() -> None:
    saved = lines(told(asked(den()), cover="glazed"), "difference")
    for ref in ("electricity:heating", "water_supply", "top", "made"):
        assert saved[ref] < 0
    assert saved["salt"] == 0


# --- readings keep what they told ---


@pytest.mark.parametrize(
    "changes", [{"cover": "glazed"}, {"room": kelvin(-3)}, {"water_temperature": celsius(23)}], ids=str
)
@pytest.mark.parametrize(("what", "ref"), [("evaporation", "top"), ("heating", "electricity:heating")])
def test_a_reading_keeps_its_factor_under_other_circumstances(changes: Document, what: str, ref: str) -> None:
    """What was read was read as things were: the scenario's estimate is multiplied by the same factor."""
    document = asked(den(measured=[READINGS[what]]))
    plain, found = cost(document, TODAY), told(document, **changes)
    factor = float(plain["setups"][0]["measured"][0]["factor"])
    assert factor not in (1.0, 0.3, 3.0, 0.5, 2.0)
    unread = told(asked(den()), **changes)
    assert lines(found)[ref] == pytest.approx(factor * lines(unread)[ref], rel=1e-3, abs=0.12)


def test_a_reading_of_purified_water_keeps_its_factor_too() -> None:
    document = asked(den(measured=[READINGS["purified_water"]]))
    plain, found = cost(document, TODAY), told(document, cover="glazed")
    factor = float(plain["setups"][0]["measured"][0]["factor"])
    assert factor not in (1.0, 0.3, 3.0)
    unread = told(asked(den()), cover="glazed")
    for ref in ("made", "water_supply"):
        assert lines(found)[ref] == pytest.approx(factor * lines(unread)[ref], rel=1e-3, abs=0.12)
        assert lines(found, "difference")[ref] < 0


def test_a_meter_of_electricity_stands_in_every_room() -> None:
    document = asked(den(measured=[READINGS["electricity"]]))
    colder = told(document, room=kelvin(-5), cover="open")
    assert lines(colder, "difference")["electricity:measured"] == 0


def test_a_reading_alone_goes_on_standing_for_every_day() -> None:
    alone = {"ref": "den", "lines": [TOP_UP], "measured": [READINGS["evaporation"]]}
    found = told(asked(alone), room=kelvin(-5), worst_case=True)
    assert lines(found, "difference")["top"] == 0


# --- the worst case ---

OPEN = {"room": None, "cover": "glazed", "water_temperature": None, "source_water": {"purified": True}}
UNSURE = {
    "a reef": asked(den(**OPEN)),
    "with usual lines": asked(
        den(**OPEN, lines=[
            {"ref": name, "category": "other", "usual": name, "pack": quantity(pack, unit),
             "price": money("20")}
            for name, pack, unit in (("membrane", "1", "1"), ("resin", "1", "L"), ("salt-mix", "20", "kg"),
                                     ("activated-carbon", "2", "kg"), ("filter-floss", "1", "1"))])),
    "two setups with a reserve": asked(den(**OPEN), planted(room=None, source_water={"purified": True}),
        reserve=per_cent(10), shared_lines=[HOSE]),
    "read": asked(den(**OPEN, measured=[READINGS["evaporation"], READINGS["heating"]])),
}  # fmt: skip


@pytest.mark.parametrize("name", UNSURE)
def test_the_worst_case_is_no_better_than_the_range_and_than_any_one_input_at_its_worst(name: str) -> None:
    document = UNSURE[name]
    worst = told(document, worst_case=True)
    answer = cost(document | {"range": {"draws": 500}}, TODAY)
    assert float(worst["total"]) >= float(answer["total"])
    # The end of the range is rounded up to a whole pound.
    assert float(worst["total"]) > float(answer["range"]["high"]) - 1
    reading, result = worked_out(document)
    inputs = inputs_of(reading)
    for key, (low, usual, high) in inputs.items():
        for end, at in ((low, 0.0), (high, 1.0)):
            values = {other: [mid, mid] for other, (_, mid, _) in inputs.items()} | {key: [usual, end]}
            position = {other: [0.5, 0.5] for other in inputs} | {key: [0.5, at]}
            draws = Draws(2, columns(values), columns(position))
            costs = evaluate(reading, result, draws).household
            assert float(worst["difference"]) * 100 >= costs[1] - costs[0] - 0.03 * abs(costs[1]), key


def columns(rows: dict[str, list[float]]) -> dict[str, Any]:
    return {key: np.array(values) for key, values in rows.items()}


def test_a_worst_case_under_dearer_prices_is_both_at_once() -> None:
    document = asked(den(**OPEN), tariffs=electricity({"price": "1"}))
    worst = lines(told(document, worst_case=True))
    both = lines(told(document, worst_case=True, electricity_price=per_cent(100)))
    assert both["electricity:heating"] == pytest.approx(2 * worst["electricity:heating"], abs=0.12)


def test_scenarios_do_not_know_of_each_other() -> None:
    document = asked(den())
    many = [{"ref": "a", "cover": "glazed"}, {"ref": "b", "electricity_price": per_cent(30)}, {"ref": "c"}]
    answer = cost(document | {"scenarios": many}, TODAY)
    assert [row["ref"] for row in answer["scenarios"]] == ["a", "b", "c"]
    for row, scenario in zip(answer["scenarios"], many, strict=True):
        assert row == cost(document | {"scenarios": [scenario]}, TODAY)["scenarios"][0]


def test_a_scenario_is_called_by_its_name_or_its_ref() -> None:
    assert told(asked(den()), name="A lid on it")["name"] == "A lid on it"
    assert told(asked(den()))["name"] == "other"


def test_what_a_colder_room_costs_in_kilowatt_hours_is_what_its_lines_say() -> None:
    """The difference of the line is the difference of two whole costings at 0.30 a kilowatt-hour."""
    cold, warm = answered(den(room=room(18))), answered(den(room=room(21)))
    kwh = whole(cold, "heating_kwh") - whole(warm, "heating_kwh")
    found = lines(told(asked(den()), room=kelvin(-3)), "difference")["electricity:heating"]
    assert found == pytest.approx(0.30 * kwh, abs=0.13)
    assert len(amounts(cold, "heating_kwh")) == 12


# --- faults ---


@pytest.mark.parametrize(
    ("scenario", "pointer", "text"),
    [
        ({"room": celsius(3)}, "/room/unit",
         "'unit' must be one of temperature difference (got 'Cel', temperature); use one of K."),
        ({"room": kelvin(31)}, "/room/amount", "'room' must change by at most 30 K (got 31 K)."),
        ({"room": kelvin("-30.1")}, "/room/amount", "'room' must change by at most 30 K (got -30.1 K)."),
        ({"room": quantity("3", "warm")}, "/room/unit",
         "'unit' must be one of the codes of GET /v1/units (got 'warm')."),
        ({"electricity_price": per_cent(-101)}, "/electricity_price/amount",
         "'electricity_price' must change by -100 % to 10000 % (got -101 %)."),
        ({"water_price": per_cent(10001)}, "/water_price/amount",
         "'water_price' must change by -100 % to 10000 % (got 10001 %)."),
        ({"prices": watts(3)}, "/prices/unit",
         "'unit' must be one of count (got 'W', power); use one of 1, %."),
        ({"water_temperature": celsius(41)}, "/water_temperature/amount",
         "'water_temperature' must be from 5 to 40 Cel (got 41 Cel)."),
        ({"cover": {"open_share": per_cent(101)}}, "/cover/open_share/amount",
         "'cover.open_share' must be at most 100 % (got 101 %)."),
    ],
    ids=str,
)  # fmt: skip
def test_a_fault_of_a_scenario_is_told_at_its_place(scenario: Document, pointer: str, text: str) -> None:
    document = asked(den()) | {"scenarios": [{"ref": "first"}, {"ref": "other", **scenario}]}
    assert faults_of(document) == [(f"#/scenarios/1{pointer}", text)]


def test_two_scenarios_of_one_name_are_told() -> None:
    document = asked(den()) | {"scenarios": [{"ref": "a"}, {"ref": "a"}]}
    assert faults_of(document) == [
        ("#/scenarios/1/ref", "'ref' must be unique: number 1 is 'a' too; rename one.")
    ]


@pytest.mark.parametrize("room_k", ["30", "-30", "0.000001"])
def test_a_change_of_the_room_up_to_its_bound_is_costed(room_k: str) -> None:
    assert faults_of(asked(den()) | {"scenarios": [{"ref": "a", "room": kelvin(room_k)}]}) == []
