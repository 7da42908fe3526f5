"""The honest range of a total: that its draws go through the very engine, and what it must not do."""

from __future__ import annotations

import os
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import orjson
import pytest
from hypothesis import HealthCheck, assume, given, settings

from service.engine.costing import Case, Result, work_out
from service.engine.electricity import COOLING, HEATING
from service.engine.habits import drivers_of
from service.engine.joint import Joint
from service.quoting import cost
from service.quoting.drawn_lines import case_at, usual_of_rows
from service.quoting.draws import Draws, draw, drawn_habits, inputs_of
from service.quoting.ranges import energy_totals, evaluate, line_totals, with_electricity
from service.quoting.request import Reading
from service.quoting.shared_range import parts_of_shared
from tests.estimates.asking import (
    MAINS,
    asked,
    celsius,
    changed,
    per_cent,
    planted,
    pump,
    reef,
    room,
    watts,
    worked_out,
)
from tests.estimates.random_setups import setups
from tests.pieces import (
    TODAY,
    Document,
    electricity,
    exchange,
    faults_of,
    follows,
    life,
    line,
    money,
    quantity,
    rate,
    shared,
)

ROOT = Path(__file__).parents[2]
JANUARY = {"from": "2026-01-01", "until": "2026-02-01"}
WATER = {key: MAINS[key] for key in ("water",)}
# Everything that a reef can leave to reviewed defaults is left to them.
OPEN = {
    "room": None, "cover": "glazed", "water_temperature": None,
    "source_water": {"purified": True}, "cooling": {"mode": "chiller"},
    "livestock": {"corals": "mixed", "fish": [{"count": "5", "length": quantity("8", "cm")}]},
    "limewater": True, "feeding": {"times_per_day": "2"}, "testing": {"every": "P7D"},
}  # fmt: skip
SALT = line("salt", usage=follows("salt_g", "1", "g", quantity("1", "g")), pack=quantity("20", "kg"))
SALT |= {"category": "salt", "price": money("61.50")}


def usual(name: str, pack: str, unit: str, price: str = "37.31", **more: Any) -> Document:
    found = {"ref": name, "category": "other", "usual": name, "pack": quantity(pack, unit)} | more
    return found if "prices" in found else found | {"price": money(price)}


USUALS = [
    usual("salt-mix", "20", "kg", "61.50"), usual("sodium-bicarbonate", "1", "kg"),
    usual("magnesium-chloride", "1", "kg"), usual("limewater-powder", "0.5", "kg"),
    usual("sediment-cartridge", "1", "1"), usual("resin", "1", "L"),
    # What is kept too long is thrown away.
    usual("dry-food", "250", "g", "11"), usual("frozen-food", "30", "1"),
    usual("activated-carbon", "2", "kg"),
    usual("trace-liquid", "500", "mL", "19", portion=quantity("2", "mL")),
    usual("test-reagents", "100", "1", prices=[
        money("17.70") | {"from": "2026-01-01"}, money("19.95") | {"from": "2027-05-17"}]),
    usual("bacteria-starter", "250", "mL", "14"),
]  # fmt: skip
LIVES = [
    usual("membrane", "1", "1", "48"),
    usual("filter-floss", "1", "1", "2.10"),
    usual("heater", "1", "1"),
]
FLAT, BANDS = {"price": "0.2703"}, {"bands": [
    {"name": "night", "price": "0.11", "from": "00:30", "until": "05:30"}, {"name": "day", "price": "0.31"}],
    "otherwise": "day"}  # fmt: skip
BLOCKS = {
    "blocks": [
        {"up_to": quantity("150", "kW.h"), "price": "0.18"},
        {"up_to": quantity("300", "kW.h"), "price": "0.27"},
        {"up_to": None, "price": "0.41"},
    ],
    "other_use": quantity("90", "kW.h"),
}
BY_DRIVER = usual("resin", "1", "L", ref="joint-resin")
SHARED = [
    {**usual("carbon-cartridge", "1", "1"), "ref": f"joint-{by}", "share": {"by": by}}
    for by in ("equal", "standalone", "added")
] + [
    {**BY_DRIVER, "share": {"by": "fixed", "parts": {"den": "2", "desk": "1/3"}}},
    {**usual("sediment-cartridge", "1", "1"), "ref": "joint-driver",
     "share": {"by": "driver", "driver": "feed_water_l"}},
    shared("hose", "driver", driver="evaporated_l", usage=life("P2M"), pack=quantity("1", "1")),
    {**usual("ph-buffer", "1", "1"), "ref": "joint-life", "share": {"by": "added"}},
]  # fmt: skip
DESK = planted("desk", room=None, source_water={"purified": True}, lines=[USUALS[4], USUALS[8], LIVES[1]])


def den(*lines: Document, **members: Any) -> Document:
    return reef(**(OPEN | {"lines": list(lines)} | members))


REQUESTS: dict[str, Document] = {
    "usual amounts": asked(den(*USUALS)),
    "usual lives": asked(den(*LIVES)),
    "bands by the clock": asked(
        den(SALT), tariffs=WATER | electricity(BANDS, time_zone="Europe/London")
    ),
    "a tariff that changes within a month": asked(
        den(SALT), tariffs=WATER | electricity(FLAT, {"from": "2027-03-17", "price": "0.31"})
    ),
    "blocks": asked(den(), DESK, tariffs=electricity(BLOCKS)),
    "blocks beside one price, cut within a month": asked(
        den(), DESK, tariffs=electricity(FLAT, BLOCKS | {"from": "2027-06-11"})
    ),
    "shared lines in every way": asked(den(SALT), DESK, shared_lines=SHARED),
    "a reserve": asked(den(*USUALS), DESK, shared_lines=SHARED, reserve=quantity("12.5", "%")),
    "another currency and tax": asked(
        den(SALT | {"price": money("75", "EUR")}, USUALS[1]),
        exchange_rates=[exchange("EUR", "GBP", "0.864")],
        tax={"basis": "net", "rates": {"standard": "20"}},
    ),
    "readings": asked(
        den(SALT, measured=[
            {"what": "evaporation", "amount": quantity("70", "L")} | JANUARY,
            {"what": "heating", "amount": quantity("90", "kW.h")} | JANUARY,
            {"what": "purified_water", "amount": quantity("250", "L")} | JANUARY]),
    ),
    "a meter of electricity": asked(
        den(line("x", usage=follows("electricity_kwh", "1", "1", quantity("1", "kW.h"))), measured=[
            {"what": "electricity", "amount": quantity("300", "kW.h")} | JANUARY]),
        DESK,
    ),
    "a fan": asked(den(cooling={"mode": "fan", "power": watts(20)}, room={"kind": "conditioned"})),
    "no heater": asked(
        den(heating={"mode": "none"}, cooling={"mode": "none"}, devices=[pump("p", 20, None)])),
    "a cut period": asked(den(*USUALS)) | {"period": {"from": "2027-02-11", "until": "2027-09-03"}},
}  # fmt: skip
named = pytest.mark.parametrize("name", REQUESTS)


def exact(case: Case, result: Result) -> tuple[list[Fraction], Fraction]:
    """What a case costs before rounding: each setup but for what it shares, and the household."""
    last = case.period.months - 1
    owners = [*case.owner.tolist(), *result.energy.setup.tolist()]
    joint = {joint.line for joint in case.joint}
    each = [Fraction(0)] * case.setups
    household = Fraction(0)
    for row, owner in enumerate(owners):
        cost = result.run.at(row, last) * (1 + case.reserve)
        if owner >= 0:
            each[owner] += cost
        if owner >= 0 or row in joint:
            household += cost
    return each, household


def drawn_alone(draws: Draws, at: int) -> Draws:
    """One of the draws by itself."""
    return Draws(
        1,
        {key: values[at : at + 1] for key, values in draws.values.items()},
        {key: values[at : at + 1] for key, values in draws.position.items()},
    )


def some_draws(name: str, count: int = 30) -> tuple[Reading, Result, Draws]:
    reading, result = worked_out(REQUESTS[name])
    inputs = inputs_of(reading)
    assert inputs
    return reading, result, draw(inputs, count)


@named
def test_what_a_draw_costs_is_what_the_engine_makes_of_it_alone(name: str) -> None:
    """Each draw through `work_out`, exactly, beside the same draw in the columns of all draws.

    They are told against the first draw: usual values run by calendar windows where drawn ones run by days.
    """
    reading, result, draws = some_draws(name)
    outcome = evaluate(reading, result, draws).household
    alone = []
    for at in range(1, draws.count):
        case = case_at(reading, drawn_alone(draws, at))
        alone.append(float(exact(case, work_out(case))[1]))
    found = outcome[1:] - outcome[1]
    assert np.ptp(found) > 1
    assert found == pytest.approx(np.array(alone) - alone[0], rel=1e-9, abs=1e-6)


@named
def test_the_usual_draw_of_each_line_is_its_exact_cost(name: str) -> None:
    """Unrounded, line by line; usual months run by calendar windows there and by days here, within 2 %."""
    reading, result, draws = some_draws(name)
    case, last = reading.case, reading.case.period.months - 1
    by_setup, totals = drivers_and_lines(reading, result, draws)
    assert totals or name in ("a fan", "blocks beside one price, cut within a month")
    usual_of = usual_of_rows(reading)
    for row, total in totals.items():
        by_months = row in usual_of and case.lines.window_months[row] > 0
        rel = 0.02 if by_months else 1e-9
        assert total[0] == pytest.approx(float(result.run.at(row, last)), rel=rel, abs=1e-9)
    for joint, (part, _) in zip(
        changing(reading, totals), parts_of_shared(reading, result, totals, by_setup), strict=True
    ):
        dealt = next(dealt for dealt in result.dealt if dealt.joint is joint)
        # Shares by a driver are those of the period here, and those of each month in the costing.
        loose = joint.way == "driver" or case.lines.window_months[joint.line] > 0
        wanted = [float(run[last]) for run in dealt.run]
        assert part[:, 0] == pytest.approx(np.array(wanted), rel=0.02 if loose else 1e-9)
    energy = energy_totals(reading, result, by_setup)[:, 0]
    for setup in range(case.setups):
        rows = [
            len(case.owner) + line
            for line, (owner, source) in enumerate(
                zip(result.energy.setup.tolist(), result.energy.source.tolist(), strict=True)
            )
            # Under blocks all that a setup draws is worked out anew, else what is estimated alone.
            if owner == setup and case.rates and (case.rates.has_blocks or source in (HEATING, COOLING))
        ]
        assert energy[setup] == pytest.approx(float(sum(result.run.at(row, last) for row in rows)), rel=1e-9)


def drivers_and_lines(
    reading: Reading, result: Result, draws: Draws
) -> tuple[dict[str, Any], dict[int, Any]]:
    """The two steps of `evaluate` before its sums."""
    drivers = drivers_of(drawn_habits(reading, draws)).drivers
    shape = (draws.count, reading.case.setups, reading.case.period.months)
    by_setup = {driver: rows.reshape(shape) for driver, rows in drivers.items()}
    with_electricity(by_setup, result)
    varies = {driver: (rows != rows[:1]).any() for driver, rows in by_setup.items()}
    for driver, rows in by_setup.items():
        assert (rows[0] == result.drivers[driver]).all(), driver
    return by_setup, line_totals(reading, draws, by_setup, varies)


def changing(reading: Reading, totals: dict[int, Any]) -> list[Joint]:
    """Shared lines whose cost or whose shares vary."""
    return [joint for joint in reading.case.joint if joint.line in totals or joint.way == "driver"]


@named
def test_a_case_made_of_its_usual_values_is_the_costing_itself(name: str) -> None:
    reading, result, draws = some_draws(name)
    case = case_at(reading, drawn_alone(draws, 0))
    again, own = exact(case, work_out(case)), exact(reading.case, result)
    for one, other in zip([*again[0], again[1]], [*own[0], own[1]], strict=True):
        assert float(one) == pytest.approx(float(other), rel=1e-12)


@named
def test_setups_together_are_the_household_where_nothing_is_shown_in_full(name: str) -> None:
    reading, result, draws = some_draws(name)
    outcome = evaluate(reading, result, draws)
    if not any(joint.way == "standalone" for joint in reading.case.joint):
        assert outcome.setups.sum(axis=0) == pytest.approx(outcome.household, rel=1e-9)
    else:
        assert (outcome.setups.sum(axis=0) >= outcome.household - 1e-6).all()


@named
def test_a_range_holds_the_total_and_ends_at_whole_units(name: str) -> None:
    answer = answered_with(REQUESTS[name], 400)
    for one in (answer, *answer["setups"]):
        found = one["range"]
        assert float(found["low"]) <= float(one["total"]) <= float(found["high"])
        assert found["low"].endswith(".00") and found["high"].endswith(".00")
        assert found["coverage"] == "0.95" and found["draws"] == 400


@pytest.mark.parametrize("name", ["bands by the clock", "usual lives", "readings", "blocks"])
def test_shares_of_the_range_are_told_the_largest_first_and_come_to_about_one(name: str) -> None:
    """Each is an estimate from 2000 draws, so that together they may lie a little over."""
    answer = answered_with(REQUESTS[name], 2000)
    for one in (answer, *answer["setups"]):
        shares = [float(row["share"]) for row in one["range"]["drivers_of_range"]]
        assert shares == sorted(shares, reverse=True)
        assert 0.85 <= sum(shares) <= 1.05
        assert min(shares) >= 0.01


def answered_with(document: Document, draws: int) -> Document:
    return cost(document | {"range": {"draws": draws}}, TODAY)


def width(found: Document) -> float:
    return float(found["range"]["high"]) - float(found["range"]["low"])


def inputs_told(found: Document) -> list[str]:
    return [row["input"] for row in found["range"]["drivers_of_range"]]


# --- the same every time ---

PROGRAM = """
import sys
from datetime import date
import orjson
from service.quoting import cost
for line in sys.stdin.buffer:
    answer = cost(orjson.loads(line), date(2026, 11, 25))
    sys.stdout.buffer.write(orjson.dumps(answer, default=str) + b"\\n")
"""


def test_the_same_request_gives_the_same_bytes_here_and_in_other_processes() -> None:
    rows = [REQUESTS[name] | {"range": {"draws": 200}} for name in ("a reserve", "blocks", "readings")]
    here = [orjson.dumps(answered_with(row, 200), default=str) for row in rows]
    assert here == [orjson.dumps(answered_with(row, 200), default=str) for row in rows]
    sent = b"".join(orjson.dumps(row) + b"\n" for row in rows)
    for seed in ("0", "1"):
        environment = {"PATH": os.environ["PATH"], "PYTHONHASHSEED": seed}
        found = subprocess.run(
            [sys.executable, "-W", "ignore", "-c", PROGRAM], input=sent, cwd=ROOT, env=environment,
            capture_output=True, check=True, timeout=120,
        )  # fmt: skip
        assert found.stdout.splitlines() == here


def test_many_more_draws_move_the_ends_by_little() -> None:
    document = asked(den(SALT), tariffs=electricity({"price": "3000"}))
    few, many = answered_with(document, 2000), answered_with(document, 20_000)
    for end in ("low", "high"):
        moved = abs(float(few["range"][end]) - float(many["range"][end]))
        assert moved < 0.04 * width(many)
    assert inputs_told(few)[:2] == inputs_told(many)[:2]


# --- what is uncertain, and what is not ---


def test_where_everything_is_stated_the_range_is_the_total_to_the_penny() -> None:
    stated = {"ref": "den", "devices": [pump()], "lines": [line("food", usage=rate("1.7"))]}
    answer = answered_with(asked(stated, reserve=quantity("3", "%")), 100)
    for one in (answer, *answer["setups"]):
        assert one["range"] == {
            "low": one["total"], "high": one["total"], "coverage": "0.95", "draws": 100,
            "drivers_of_range": [],
        }  # fmt: skip


@pytest.mark.parametrize(
    ("member", "stated", "key"),
    [
        ("room", {"temperature": celsius(21), "humidity": per_cent(50)}, "room.temperature.heated"),
        ("water_temperature", celsius("25.5"), "water_temperature.marine"),
        ("cover", "open", "cover.open_share.glazed"),
    ],
)
def test_what_is_stated_is_uncertain_no_more_and_narrows_the_range(
    member: str, stated: Any, key: str
) -> None:
    dear = electricity({"price": "100"})
    open_ended = answered_with(asked(den(), tariffs=dear), 1000)
    known = answered_with(asked(den(**{member: stated}), tariffs=dear), 1000)
    assert key in {row["about"] for row in open_ended["assumptions"]}
    assert key not in {row["about"] for row in known["assumptions"]}
    assert key not in inputs_told(known)
    if member != "cover":  # A lid hides most of the surface, so leaving it off widens all else.
        assert width(known) < width(open_ended)


def test_a_reading_narrows_the_range() -> None:
    dear = electricity({"price": "100"})
    measured = [
        {"what": "heating", "amount": quantity("60", "kW.h"), "from": "2026-01-01", "until": "2026-02-01"}
    ]
    blind = answered_with(asked(reef(room=None), tariffs=dear), 500)
    known = answered_with(asked(reef(room=None, measured=measured), tariffs=dear), 500)
    assert width(known) < width(blind) / 2


def test_the_input_that_is_made_dominant_is_told_first() -> None:
    dear = {"currency": "GBP", "versions": [{"from": "2026-01-01", "supply_per_m3": "100"}]}
    tap = {"purified": True, "temperature": celsius(15)}
    by_water = answered_with(asked(reef(source_water=tap), tariffs={"water": dear}), 500)
    assert inputs_told(by_water)[0] == "purifier.reject_ratio"
    by_room = answered_with(asked(reef(room={"kind": "unheated", "humidity": per_cent(50)},
        heating={"mode": "modelled"}), tariffs=electricity({"price": "1"})), 500)  # fmt: skip
    assert inputs_told(by_room)[0] == "room.unheated_mean"
    life_of = answered_with(asked({"ref": "den", "lines": [usual("membrane", "1", "1", "480")]}), 500)
    assert inputs_told(life_of) == ["usual.membrane"]
    assert float(life_of["range"]["drivers_of_range"][0]["share"]) == pytest.approx(1, abs=0.05)


def test_a_range_of_one_life_ends_where_its_triangle_does() -> None:
    """A membrane of 480 pounds lasts 1, 3 or 5 years: the years at 2.5 and 97.5 % of that triangle.

    By hand: the left side of 2 by 1/2 holds half, so 2.5 % lies 1 + 2 sqrt(0.05) = 1.447 years up, and
    97.5 % as far down from 5, 4.553. A day's share of 480 pounds for 365 of 365.25 days of a mean year.
    """
    found = answered_with(asked({"ref": "den", "lines": [usual("membrane", "1", "1", "480")]}), 4000)
    years = 365 / 365.25
    # The usual draw and the costing differ by a day's part, so the ends may lie a pound further out.
    assert float(found["range"]["low"]) == pytest.approx(480 / 4.553 * years, abs=2)
    assert float(found["range"]["high"]) == pytest.approx(480 / 1.447 * years, abs=3)


def test_a_line_whose_driver_is_stated_does_not_vary() -> None:
    by_days = line("d", usage=follows("days", "1", "1", quantity("1", "d")))
    by_change = line(
        "w", usage=follows("water_changed_l", "1", "g", quantity("1", "L")), pack=quantity("1", "kg")
    )
    by_devices = line("e", usage=follows("devices_kwh", "1", "1", quantity("1", "kW.h")))
    answer = answered_with(asked(den(by_days, by_change, by_devices), tariffs={}), 200)
    assert answer["range"]["low"] == answer["range"]["high"] == answer["total"]


# --- one input for all that it feeds ---


def test_equal_setups_in_the_same_room_are_warm_and_cold_together() -> None:
    """Fully correlated terms add linearly (JCGM 100:2008, 5.2.2), so two are twice as wide, not 1.4 times."""
    dear = electricity({"price": "100"})
    one = answered_with(asked(den(), tariffs=dear), 500)
    two = answered_with(asked(den(), den(ref="twin"), tariffs=dear), 500)
    assert width(two) == pytest.approx(2 * width(one), rel=0.01)
    assert width(two["setups"][0]) == pytest.approx(width(one), rel=0.01)


def test_a_cartridge_that_two_setups_name_is_drawn_once_for_both() -> None:
    lives: list[Document] = [
        {"ref": ref, "lines": [usual("membrane", "1", "1", "480")]} for ref in ("a", "b")
    ]
    alone, both = (answered_with(asked(*rows), 500) for rows in (lives[:1], lives))
    assert width(both) == pytest.approx(2 * width(alone), abs=2)
    others = [lives[0], {"ref": "b", "lines": [usual("ph-electrode", "1", "1", "480")]}]
    mixed = answered_with(asked(*others), 500)
    assert width(mixed) < width(alone) + width(mixed["setups"][1]) - 10


# --- other currencies ---


@pytest.mark.parametrize(("currency", "digits"), [("JPY", 0), ("GBP", 2), ("KWD", 3), ("BHD", 3)])
def test_the_ends_are_whole_units_of_any_currency(currency: str, digits: int) -> None:
    tariff = {"electricity": {"currency": currency, "versions": [{"from": "2026-01-01", "price": "0.4321"}]}}
    setup = reef(room=None)
    answer = answered_with(asked(setup, tariffs=tariff) | {"currency": currency}, 200)
    for end in ("low", "high"):
        text = answer["range"][end]
        whole, _, rest = text.partition(".")
        assert int(whole) > 0 and rest == "0" * digits
    assert float(answer["range"]["low"]) < float(answer["total"]) < float(answer["range"]["high"])


def test_the_range_lies_outside_the_interval_that_it_rounds() -> None:
    answer = answered_with(asked(reef(room=None)), 300)
    reading, result = worked_out(asked(reef(room=None)))
    draws = draw(inputs_of(reading), 300)
    costs = evaluate(reading, result, draws).household
    values = np.sort(float(answer["total"]) + (costs[1:] - costs[0]) / 100)
    # JCGM 101 7.7 by hand for 300: q 285, r 8 (15 / 2 and the half above).
    low, high = values[8 - 1], values[8 + 285 - 1]
    assert float(answer["range"]["low"]) == np.floor(low)
    assert float(answer["range"]["high"]) == np.ceil(high)


# --- at random ---


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(setups())
def test_the_draws_of_any_setup_cost_what_the_engine_makes_of_them(row: Document) -> None:
    document = asked(changed(row, ref="den"))
    assume(not faults_of(document))
    reading, result = worked_out(document)
    inputs = inputs_of(reading)
    draws = draw(inputs, 12)
    outcome = evaluate(reading, result, draws).household
    alone = []
    for at in (0, 1, 5, 12):
        case = case_at(reading, drawn_alone(draws, at))
        alone.append(float(exact(case, work_out(case))[1]))
    found = outcome[[0, 1, 5, 12]]
    assert found - found[0] == pytest.approx(np.array(alone) - alone[0], rel=1e-9, abs=1e-4)


def test_a_room_that_is_stated_leaves_no_spread_of_rooms() -> None:
    reading, _ = worked_out(asked(reef(room=room(21))))
    assert not any(key.startswith("room.") for key in inputs_of(reading))
