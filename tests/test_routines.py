"""Routines: which rules fire for a setup, and that rules cost what their lines written by hand cost."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given, settings

from service.quoting import cost
from service.schemas import check
from tests.estimates.asking import asked, lamp, per_cent, pump, reef
from tests.pieces import TODAY, Document, follows, life, line, money, quantity, rate, request, setup
from tests.requests_at_random import requests
from tests.routines import (
    costed,
    fires,
    holding,
    marine,
    money_of,
    routine,
    rule,
    ruled,
    scale,
    told,
    volume,
    why_not,
)

FISH = [{"count": "4", "length": quantity("6", "cm")}, {"count": 1, "length": quantity("9", "cm")}]
SALT = follows("water_changed_l", "30", "g", quantity("1", "L"))
SEVEN = rate("7")
NEVER = {"fact": "water", "is": "brackish"}


def den(*lines: Document, **more: Any) -> Document:
    """A marine tank of 300 litres, of which 30 are changed each week."""
    change = {"volume": quantity("30", "L"), "every": "P7D"}
    return setup(
        "den", *lines, **({"water": "marine", "vessel": holding("300"), "water_change": change} | more)
    )


def sack(**more: Any) -> Document:
    return line("salt", **({"usage": SALT, "pack": quantity("20", "kg"), "price": money("61.50")} | more))


@pytest.mark.parametrize(
    ("held", "test", "amount", "fired"),
    [
        ("227.124706", "over", "60", False),
        ("227.124708", "over", "60", True),
        ("227.124707", "at_least", "60", False),
        ("227.124708", "at_least", "60", True),
        ("227.124707", "under", "60", True),
        ("227.124708", "under", "60", False),
        ("227.124707", "at_most", "60", True),
        ("227.124708", "at_most", "60", False),
    ],
)
def test_litres_are_compared_with_gallons_exactly(held: str, test: str, amount: str, fired: bool) -> None:
    # A US gallon is 231 cubic inches of 2.54 cm each (nist-sp-811), so 60 are 227.12470704 L.
    assert fires(den(vessel=holding(held)), volume(test, amount, "[gal_us]")) == fired


@pytest.mark.parametrize(
    ("test", "below", "at", "above"),
    [
        ("over", False, False, True),
        ("at_least", False, True, True),
        ("under", True, False, False),
        ("at_most", True, True, False),
    ],
)
@pytest.mark.parametrize("unit", ["L", "[gal_us]", "[gal_br]", "[cft_i]", "mL"])
def test_a_threshold_lies_where_it_is_said_whatever_the_unit(
    test: str, below: bool, at: bool, above: bool, unit: str
) -> None:
    own = den(vessel=holding("60.1", unit))
    found = [fires(own, volume(test, amount, unit)) for amount in ("60.100001", "60.1", "60.099999")]
    assert found == [below, at, above]


def test_the_same_water_in_two_units_is_the_same() -> None:
    # 0.25 m3 = 250 L = 250 000 mL.
    own = den(vessel=holding("0.25", "m3"))
    assert fires(own, volume("at_least", "250"), volume("at_most", "250000", "mL"))
    assert not fires(own, volume("over", "250"))


KEPT = reef(
    livestock={"corals": "stony", "fish": FISH},
    cooling={"mode": "chiller"},
    limewater=False,
    testing={"every": "P7D"},
    salinity=quantity("35", "g/kg"),
)


@pytest.mark.parametrize(
    ("condition", "fired"),
    [
        ({"fact": "water", "is": "marine"}, True),
        ({"fact": "water", "is": "fresh"}, False),
        ({"fact": "water", "one_of": ["brackish", "marine"]}, True),
        ({"fact": "water", "one_of": ["brackish", "fresh"]}, False),
        ({"fact": "cover", "is": "open"}, True),
        ({"fact": "surface", "one_of": ["still"]}, False),
        ({"fact": "heating", "is": "modelled"}, True),
        ({"fact": "cooling", "is": "chiller"}, True),
        ({"fact": "corals", "one_of": ["mixed", "stony"]}, True),
        ({"fact": "purified", "is": True}, True),
        ({"fact": "purified", "is": False}, False),
        ({"fact": "limewater", "is": False}, True),
        # 4 + 1 fish, three devices of which one is a lamp above the water.
        ({"fact": "fish", "over": "4"}, True),
        ({"fact": "fish", "over": 5}, False),
        ({"fact": "fish", "at_least": "5"}, True),
        ({"fact": "devices", "at_most": 3}, True),
        ({"fact": "lamps", "under": "2"}, True),
        ({"fact": "lamps", "under": "1"}, False),
        # Inside 120 - 2 x 1 by 50 - 2 x 1 cm: 1.18 m x 0.48 m = 0.5664 m2, shown as 0.566.
        ({"fact": "open_surface", "over": quantity("0.565999", "m2")}, True),
        ({"fact": "open_surface", "over": quantity("0.566", "m2")}, False),
        # 1.2 m x 0.5 m = 0.6 m2.
        ({"fact": "base_area", "at_least": quantity("0.6", "m2")}, True),
        ({"fact": "base_area", "over": quantity("0.6", "m2")}, False),
        # 120 x 50 x 60 cm = 360 L; inside 118 x 48 x 53 cm = 300.192 L.
        ({"fact": "nominal_volume", "at_most": quantity("360", "L")}, True),
        ({"fact": "nominal_volume", "under": quantity("360", "L")}, False),
        ({"fact": "gross_volume", "at_least": quantity("300.192", "L")}, True),
        ({"fact": "gross_volume", "over": quantity("300192", "mL")}, False),
        ({"fact": "salinity", "at_least": quantity("35", "g/kg")}, True),
        ({"fact": "salinity", "over": quantity("35", "g/kg")}, False),
        # Some 300 kg of water and the glass on 0.6 m2: between 500 and 800 kg/m2.
        ({"fact": "floor_load", "over": "500"}, True),
        ({"fact": "floor_load", "under": "800"}, True),
        ({"fact": "specific_gravity", "over": "1.02"}, True),
        ({"fact": "has_tests", "is": True}, True),
        ({"fact": "has_feedings", "is": True}, False),
        ({"fact": "has_feedings", "is": False}, True),
    ],
)  # fmt: skip
def test_a_condition_holds_where_its_fact_does(condition: Document, fired: bool) -> None:
    assert fires(KEPT, condition) == fired


@pytest.mark.parametrize(
    ("own", "condition", "reason"),
    [
        (den(), volume("over", "350"), "net_volume is 300 L, not over 350 L"),
        (den(vessel=holding("60", "[gal_us]")), volume("over", "60", "[gal_us]"),
         "net_volume is 60 [gal_us], not over 60 [gal_us]"),
        # Three decimals would say 250.000, which is at least 250.
        (den(vessel=holding("249.9999")), volume("at_least", "250"),
         "net_volume is 249.9999 L, not at least 250 L"),
        (den(vessel=holding("300.123456")), volume("under", "0.3", "m3"),
         "net_volume is 0.300123456 m3, not under 0.3 m3"),
        (setup("den"), volume("over", "1"), "net_volume is not known; give 'vessel'"),
        (setup("den"), marine(), "water is not known; give 'water'"),
        (den(cover={"open_share": per_cent(5)}), {"fact": "cover", "is": "open"},
         "cover is not known; give 'cover' as a word"),
        (den(), {"fact": "water", "one_of": ["fresh", "brackish"]}, "water is marine, not fresh or brackish"),
        (den(limewater=False), {"fact": "limewater", "is": True}, "limewater is false, not true"),
        (den(), {"fact": "has_tests", "is": True}, "has_tests is false, not true; give 'testing'"),
        (den(), {"fact": "fish", "at_most": "9"}, "fish is not known; give 'livestock' with 'fish'"),
        (den(livestock={"fish": FISH}), {"fact": "fish", "over": "5"}, "fish is 5, not over 5"),
        (den(devices=[pump()]), {"fact": "lamps", "at_least": "1"}, "lamps is 0, not at least 1"),
    ],
)  # fmt: skip
def test_a_rule_that_does_not_fire_says_why(own: Document, condition: Document, reason: str) -> None:
    assert why_not(own, condition) == reason


def test_the_first_condition_that_fails_is_the_reason() -> None:
    assert (
        why_not(den(), volume("over", "1"), NEVER, volume("over", "999")) == "water is marine, not brackish"
    )


def test_a_rule_without_conditions_always_fires() -> None:
    assert fires(setup("den"))


BY_HAND: dict[str, tuple[Document, list[Document], Document]] = {
    "added lines": (
        den(line("food")),
        [rule("salt", marine(), add=[sack()]), rule("sock", add=[line("sock", usage=life("P10W"))])],
        den(line("food"), sack(), line("sock", usage=life("P10W"))),
    ),
    "a rate 1.2 times over": (
        den(line("food", usage=rate("2.5"))),
        [rule("more", change=[scale("food", "1.2")])],
        den(line("food", usage=rate("3"))),  # 2.5 x 1.2 = 3
    ),
    "a life three times as long": (
        den(line("sock", usage=life("P10W"))),
        [rule("less", change=[scale("sock", "1/3")])],
        den(line("sock", usage=life("P30W"))),  # a third of a pack in ten weeks
    ),
    "salt by the litre": (
        den(),
        [rule("salt", add=[sack()]), rule("less", change=[scale("salt", 0.4)])],
        den(sack(usage=SALT | {"amount": quantity("12", "g")})),  # 30 g x 0.4
    ),
    "a usual amount twice over": (
        den(line("cartridge", usage=None, usual="carbon-cartridge")),
        [rule("more", change=[scale("cartridge", "2")])],
        # One for 5000 L is usual, and half a year once it is in use: 2/5000 for a litre.
        den(line("cartridge", usage=follows("feed_water_l", "0.0004", "1", quantity("1", "L")),
                 shelf_life="P6M")),
    ),
    "factors that multiply to one": (
        den(line("food")),
        [rule("more", change=[scale("food", "1.5")]), rule("less", change=[scale("food", "2/3")])],
        den(line("food")),
    ),
    "a factor before a new usage is forgotten": (
        den(line("food")),
        [rule("more", change=[scale("food", "9")]), rule("new", change=[
            {"line": "food", "replace": {"usage": rate("4", every="P7D")}}])],
        den(line("food", usage=rate("4", every="P7D"))),
    ),
    "a factor after a new usage counts": (
        den(line("food")),
        [rule("new", change=[{"line": "food", "replace": {"usage": rate("4", every="P7D")}},
                             scale("food", "0.5")])],
        den(line("food", usage=rate("2", every="P7D"))),
    ),
    "other members": (
        den(line("food", shelf_life="P6M")),
        [rule("new", change=[{"line": "food", "replace": {
            "name": "Pellets", "pack": quantity("50", "1"), "shelf_life": "P1M", "prices": [
                {"amount": "4", "currency": "GBP", "from": "2026-01-01"}]}}])],
        den(line("food", name="Pellets", pack=quantity("50", "1"), shelf_life="P1M", prices=[
            {"amount": "4", "currency": "GBP", "from": "2026-01-01"}])),
    ),
    "a usual life in place of a stated use": (
        den(line("sock")),
        [rule("new", change=[{"line": "sock", "replace": {"usual": "filter-sock"}}])],
        den(line("sock", usage=None, usual="filter-sock")),
    ),
    "a dropped line": (
        den(line("food"), sack()),
        [rule("out", change=[{"line": "food", "drop": True}])],
        den(sack()),
    ),
    "a line that is swapped": (
        den(line("food"), sack()),
        [rule("out", change=[{"line": "food", "drop": True}]), rule("in", add=[line("food", usage=SEVEN)])],
        den(sack(), line("food", usage=SEVEN)),
    ),
    "later rules see what earlier ones did": (
        den(),
        [rule("before", change=[scale("food", "5")]), rule("in", add=[line("food")]),
         rule("after", change=[scale("food", "2")])],
        den(line("food", usage=rate("2"))),
    ),
}  # fmt: skip


def stated(own: Document) -> Document:
    """The setup without the members that were set to None."""
    found = copy.deepcopy(own)
    found["lines"] = [{k: v for k, v in one.items() if v is not None} for one in found["lines"]]
    return found


@pytest.mark.parametrize(("own", "rules", "by_hand"), BY_HAND.values(), ids=BY_HAND)
def test_rules_cost_what_their_lines_written_by_hand_cost(
    own: Document, rules: list[Document], by_hand: Document
) -> None:
    document = ruled(stated(own), *rules)
    sent = copy.deepcopy(document)
    found = cost(document, TODAY)["setups"][0]
    assert money_of(found) == money_of(costed(stated(by_hand)))
    assert document == sent


def test_a_setup_keeps_a_line_that_it_states_itself() -> None:
    own = den(sack(price=money("50")))
    [fired] = told(own, rule("salt", add=[sack()], change=[scale("salt", "1")]))["fired"]
    assert fired["kept"] == ["salt"]
    assert fired["added"] == []
    found = cost(ruled(own, rule("salt", add=[sack()])), TODAY)["setups"][0]
    assert money_of(found) == money_of(costed(own))


def test_a_shared_line_is_kept_as_stated_too() -> None:
    kit = line("kit", share={"by": "equal"})
    [fired] = told(den(), rule("kit", add=[line("kit")]), shared_lines=[kit])["fired"]
    assert fired["kept"] == ["kit"]


def test_the_answer_says_what_each_rule_did() -> None:
    rules = [
        rule("salt", marine(), name="Salt mix", why="It is used up.", add=[sack(), line("food")]),
        rule("big", volume("over", "400"), change=[scale("salt", "2")]),
        rule("less", change=[
            scale("salt", "0.50"), scale("gone", "2"),
            {"line": "food", "replace": {"price": money("1"), "name": "Flakes"}}]),
        rule("out", change=[{"line": "food", "drop": True}]),
    ]  # fmt: skip
    own = den(line("food"))
    document = request(setups=[own], routine=routine(*rules, name="Habits") | {"from": "2026-05-01"})
    assert check(document) == []
    assert cost(document, TODAY)["setups"][0]["routine"] == {
        "ref": "habits",
        "name": "Habits",
        "from": "2026-05-01",
        "fired": [
            {"rule": "salt", "name": "Salt mix", "why": "It is used up.", "added": ["salt"], "changed": [],
             "kept": ["food"], "no_line": []},
            {"rule": "less", "name": "less", "added": [], "kept": [], "no_line": ["gone"], "changed": [
                {"line": "salt", "how": "scaled by 0.5"}, {"line": "food", "how": "replaced price, name"}]},
            {"rule": "out", "name": "out", "added": [], "kept": [], "no_line": [],
             "changed": [{"line": "food", "how": "dropped"}]},
        ],
        "not_fired": [{"rule": "big", "name": "big", "because": "net_volume is 300 L, not over 400 L"}],
    }  # fmt: skip


def test_totals_leave_the_routine_out_and_setups_without_one_have_none() -> None:
    rules = routine(rule("salt", marine(), add=[sack()]))
    brief = cost(request(setups=[den()], routine=rules, detail="totals"), TODAY)
    assert "routine" not in brief["setups"][0]
    assert "routine" not in costed(den())


def test_a_line_says_in_its_workings_which_rules_made_it() -> None:
    rules = [rule("salt", add=[sack()]), rule("less", change=[scale("salt", "1/3")])]
    found = cost(ruled(den(line("food")), *rules, detail="workings"), TODAY)["setups"][0]
    inputs = {
        one["ref"]: step["inputs"]
        for one in found["lines"]
        for step in one["workings"]
        if step["step"] == "used in the period"
    }
    assert inputs["salt"] == {
        "driver": "water_changed_l", "amount": quantity("30", "g"), "per": quantity("1", "L"),
        "rule": "salt", "changed by": ["less"], "scale": "1/3",
    }  # fmt: skip
    assert inputs["food"] == {"amount": quantity("1", "1"), "every": "P1D"}


def test_a_setup_that_says_its_own_routine_has_no_other() -> None:
    own = den() | {"routine": routine(rule("own", add=[line("food")]))}
    other = den() | {"ref": "desk", "water": "fresh"}
    found = cost(request(setups=[own, other], routine=routine(rule("all", add=[sack()]))), TODAY)["setups"]
    assert [[one["ref"] for one in setup["lines"]] for setup in found] == [["food"], ["salt"]]


@settings(max_examples=30, deadline=None)
@given(requests())
def test_rules_that_never_fire_change_nothing(document: Document) -> None:
    quiet = [
        rule("never", {"fact": "net_volume", "under": quantity("0", "L")}, add=[line("never-added")]),
        rule("none", {"fact": "devices", "over": "1000"}, change=[scale("never-added", "2")]),
    ]
    before = cost(document, TODAY)
    after = cost(document | {"routine": routine(*quiet)}, TODAY)
    for own in after["setups"]:
        done = own.pop("routine", {"fired": []})
        assert done["fired"] == []
    assert after == before


@settings(max_examples=30, deadline=None)
@given(requests())
def test_lines_moved_into_a_rule_cost_the_same(document: Document) -> None:
    moved = copy.deepcopy(document)
    for own in moved["setups"]:
        lines = own.pop("lines", [])
        if lines:
            own["routine"] = routine(rule("all", add=lines))
    was, found = cost(document, TODAY), cost(moved, TODAY)
    for own in found["setups"]:
        own.pop("routine", None)
        for one in own.get("lines", []):
            for step in one.get("workings", []):
                step["inputs"].pop("rule", None)
    assert found == was


def test_a_scenario_asks_the_rules_again() -> None:
    lid = rule("lid", {"fact": "cover", "is": "glazed"}, add=[line("hinge")])
    top = rule("top", {"fact": "cover", "is": "open"}, add=[line("net", usage=rate("2"))])
    document = asked(reef(), routine=routine(lid, top), scenarios=[{"ref": "lid", "cover": "glazed"}])
    [found] = cost(document, TODAY)["scenarios"]
    moved = {one["ref"]: (one["total"], one["difference"]) for one in found["setups"][0]["lines"]}
    # 365 of a pack of a hundred at 9.50: 34.675, half up in sums of cells; twice as many cost 69.35.
    assert moved["hinge"] == ("34.68", "34.68")
    assert moved["net"] == ("0.00", "-69.35")
    total = sum(float(one["difference"]) for one in found["setups"][0]["lines"])
    assert total == pytest.approx(float(found["difference"]), abs=0.005)


def test_a_lamp_in_the_hood_is_a_lamp() -> None:
    own = den(devices=[lamp(12, "8", "hood"), pump()])
    assert fires(own, {"fact": "lamps", "at_least": "1"}, {"fact": "lamps", "at_most": "1"})
