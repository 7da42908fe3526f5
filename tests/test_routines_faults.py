"""Faults of routines: where they are, in which words, and all at once."""

from __future__ import annotations

from typing import Any

import pytest

from service.errors import NotComputable
from service.quoting import cost
from service.quoting.request import read_request
from service.schemas import check
from tests.api.mutation import resolved
from tests.pieces import TODAY, Document, faults_of, follows, life, line, money, quantity, request, setup
from tests.routines import marine, routine, rule, volume

R0 = "#/routine/rules/0"
W0 = f"{R0}/when/0"
NET = {"fact": "net_volume"}
TESTED = follows("tests", "1", "1", quantity("1", "1"))


def asking(condition: Document) -> Document:
    return request(routine=routine(rule("asked", condition, add=[line("extra")])))


def changing(change: Document) -> Document:
    return request(line("food"), routine=routine(rule("changing", change=[change])))


def adding(*lines: Document) -> Document:
    return request(routine=routine(rule("adding", add=list(lines))))


FAULTS: dict[str, tuple[Document, list[tuple[str, str]]]] = {
    "a kept routine without a key": (
        request(routine="reef-habits"),
        [("#/routine", "'routine' names a kept routine, which needs an account's key; send a key, "
          "or the routine itself.")],
    ),
    "a kept routine of a setup": (
        request(setups=[setup("den", routine="reef-habits")]),
        [("#/setups/0/routine", "'routine' names a kept routine, which needs an account's key; send a key, "
          "or the routine itself.")],
    ),
    "rules of later": (
        request(routine=routine(rule("a", add=[line("x")])) | {"from": "2027-02-01"}),
        [("#/routine/from", "the rules are in force from 2027-02-01, after the period begins (2027-01-01); "
          "begin the period then, or send the rules that were in force.")],
    ),
    "two rules of one name": (
        request(routine=routine(rule("a", add=[line("x")]), rule("a", add=[line("y")]))),
        [("#/routine/rules/1/ref", "'ref' must be unique: number 1 is a rule 'a' too; rename one.")],
    ),
    "a word compared with a number": (
        asking({"fact": "water", "over": "5"}),
        [(f"{W0}/over", "'over' does not go with 'water', which is a word; use 'is' or 'one_of'.")],
    ),
    "a quantity compared with a word": (
        asking(NET | {"is": "large"}),
        [(f"{W0}/is", "'is' does not go with 'net_volume', which is a quantity; use 'over' or 'at_least' or "
          "'under' or 'at_most'.")],
    ),
    "a flag as one of some": (
        asking({"fact": "purified", "one_of": ["yes"]}),
        [(f"{W0}/one_of", "'one_of' does not go with 'purified', which is true or false; use 'is'.")],
    ),
    "a word that a fact cannot be": (
        asking({"fact": "water", "is": "salty"}),
        [(f"{W0}/is", "'is' for 'water' must be marine, brackish or fresh (got \"salty\").")],
    ),
    "two words that a fact cannot be": (
        asking({"fact": "cooling", "one_of": ["fan", "ice", "wind"]}),
        [(f"{W0}/one_of/1", "'one_of' for 'cooling' must be none, chiller or fan (got \"ice\")."),
         (f"{W0}/one_of/2", "'one_of' for 'cooling' must be none, chiller or fan (got \"wind\").")],
    ),
    "a word for a flag": (
        asking({"fact": "purified", "is": "true"}),
        [(f"{W0}/is", "'is' for 'purified' must be true or false (got \"true\").")],
    ),
    "a flag for a word": (
        asking({"fact": "water", "is": True}),
        [(f"{W0}/is", "'is' for 'water' must be marine, brackish or fresh (got true).")],
    ),
    "a volume without a unit": (
        asking(NET | {"over": "250"}),
        [(f"{W0}/over", "'over' for 'net_volume' must be a quantity (got 250); give its unit as well.")],
    ),
    "a count with a unit": (
        asking({"fact": "fish", "over": quantity("5", "1")}),
        [(f"{W0}/over", "'over' for 'fish' must be a plain number in '1' (got a quantity).")],
    ),
    "a volume in kilograms": (
        asking(NET | {"over": quantity("250", "kg")}),
        [(f"{W0}/over/unit", "'unit' must be one of volume (got 'kg', mass); use one of L, mL, m3, [gal_us], "
          "[gal_br], [foz_us], [foz_br], [cft_i], [drp].")],
    ),
    "a volume in a unit of two meanings": (
        asking(NET | {"under": quantity("5", "gal")}),
        [(f"{W0}/under/unit", "'unit' 'gal' is not clear; write '[gal_us]' (US gallon) or '[gal_br]' "
          "(imperial gallon).")],
    ),
    "a factor of zero": (
        changing({"line": "food", "scale": "0"}),
        [(f"{R0}/change/0/scale", "'scale' must be above zero (got 0); to leave the line out, use 'drop'.")],
    ),
    "a factor of zero as a fraction": (
        changing({"line": "food", "scale": "0/5"}),
        [(f"{R0}/change/0/scale", "'scale' must be above zero (got 0/5); to leave the line out, "
          "use 'drop'.")],
    ),
    "a drop that is none": (
        changing({"line": "food", "drop": False}),
        [(f"{R0}/change/0/drop", "'drop' must be true (got false); to keep the line, leave this out.")],
    ),
    "two prices in one change": (
        changing({"line": "food", "replace": {"price": money("1"), "prices": [money("2") | {
            "from": "2026-01-01"}]}}),
        [(f"{R0}/change/0/replace", "'replace' must have at most one of price or prices (got price and "
          "prices); keep one.")],
    ),
    "one line twice in a rule": (
        adding(line("x"), line("x")),
        [(f"{R0}/add/1/ref", "'ref' must be unique: number 1 is a line 'x' too; rename one.")],
    ),
    "one line by two rules that fire": (
        request(routine=routine(rule("a", add=[line("x")]), rule("b", add=[line("y"), line("x")]))),
        [("#/routine/rules/1/add/1/ref", "'x' is added by rule 'a' too, which fires for the same setup; "
          "rename one, or use 'change'.")],
    ),
    "an added line with a faulty pack": (
        adding(line("x"), line("y", pack=quantity("0", "1"))),
        [(f"{R0}/add/1/pack/amount", "'pack' must be above zero (got 0).")],
    ),
    "an added line of the water tariff's name": (
        adding(line("water_supply")),
        [(f"{R0}/add/0/ref", "'water_supply' is the line of the water tariff; choose another 'ref'.")],
    ),
    "an added line that follows what is not known": (
        adding(line("x", usage=TESTED)),
        [(f"{R0}/add/0/usage/driver", "'tests' is not known of this setup; it needs 'testing'.")],
    ),
    "a faulty member in place of a line's own": (
        changing({"line": "food", "replace": {"pack": quantity("1", "gal")}}),
        [(f"{R0}/change/0/replace/pack/unit", "'unit' 'gal' is not clear; write '[gal_us]' (US gallon) or "
          "'[gal_br]' (imperial gallon).")],
    ),
    "the line's own fault beside a member that is sound": (
        request(line("food", portion=quantity("5", "kg")), routine=routine(rule("c", change=[
            {"line": "food", "replace": {"usage": life("P1Y")}}]))),
        [("#/setups/0/lines/0/portion", "'portion' does not go with a life; give the use as a rate or a "
          "driver.")],
    ),
    "a fault in a setup's own routine": (
        request(setups=[setup("den", routine=routine(rule("a", add=[line("x", pack=quantity("0", "1"))])))]),
        [("#/setups/0/routine/rules/0/add/0/pack/amount", "'pack' must be above zero (got 0).")],
    ),
    "one fault for all setups": (
        request(setups=[setup("den"), setup("desk")],
                routine=routine(rule("a", add=[line("x", pack=quantity("0", "1"))]))),
        [(f"{R0}/add/0/pack/amount", "'pack' must be above zero (got 0).")],
    ),
    "one fault for some setups": (
        request(setups=[setup("den", testing={"every": "P7D"}), setup("desk"), setup("hall")],
                routine=routine(rule("a", add=[line("x", usage=TESTED)]))),
        [(f"{R0}/add/0/usage/driver", "for setups 'desk', 'hall': 'tests' is not known of this setup; it "
          "needs 'testing'.")],
    ),
}  # fmt: skip


@pytest.mark.parametrize(("document", "faults"), FAULTS.values(), ids=FAULTS)
def test_a_fault_says_where_it_is_and_what_to_do(document: Document, faults: list[tuple[str, str]]) -> None:
    assert check(document) == []
    assert faults_of(document) == faults
    for place, _ in faults:
        resolved(document, place)


def test_faults_of_all_parts_of_a_routine_come_at_once() -> None:
    rules = [
        rule("a", NET | {"is": "x"}, {"fact": "water", "is": "salty"}, add=[line("x")]),
        rule("b", add=[line("y", pack=quantity("0", "1"))], change=[{"line": "food", "scale": "0"}]),
    ]
    document = request(line("food", pack=quantity("1", "gal")), routine=routine(*rules))
    assert [place for place, _ in faults_of(document)] == [
        f"{R0}/when/0/is",
        f"{R0}/when/1/is",
        "#/routine/rules/1/change/0/scale",
        "#/setups/0/lines/0/pack/unit",
        "#/routine/rules/1/add/0/pack/amount",
    ]


def test_faults_of_shape_hide_no_fault_of_meaning_and_are_told_once() -> None:
    conditions = [
        NET,
        NET | {"over": "x"},
        {"fact": "fish", "over": "-1"},
        {"fact": "water", "one_of": ["", "x"]},
    ]
    changes = [
        {"line": 5, "drop": True},
        {"line": "food", "replace": {"pack": 5}},
        {"line": "food", "scale": "x"},
    ]
    document = request(
        line("food", pack=quantity("1", "gal")),
        routine=routine(
            *(rule(f"r{i}", one, add=[line("x")]) for i, one in enumerate(conditions)),
            rule("changes", change=[*changes, {"line": "food", "scale": "0"}]),
        ),
    )
    document["routine"]["rules"].append(5)
    told = check(document)
    assert len(told) == 8
    with pytest.raises(NotComputable) as caught:
        cost(document, TODAY, told)
    assert [fault.pointer for fault in caught.value.faults[len(told) :]] == [
        "#/routine/rules/4/change/3/scale",
        "#/setups/0/lines/0/pack/unit",
    ]


def test_a_kept_routine_that_nobody_wrote_out_is_never_passed_over() -> None:
    with pytest.raises(NotComputable, match="'routine' names a kept routine, which needs an account's key"):
        read_request(request(line(), routine="reef-habits"), TODAY)


def test_what_a_quiet_rule_would_add_is_not_asked_for() -> None:
    needs_tests = line("x", usage=TESTED)
    assert faults_of(request(routine=routine(rule("a", marine(), add=[needs_tests])))) == []


def test_rules_that_exclude_each_other_may_add_one_line() -> None:
    rules = [
        rule("a", volume("over", "5"), add=[line("x")]),
        rule("b", volume("at_most", "5"), add=[line("x")]),
    ]
    vessel = {"shape": "other", "water": quantity("5", "L")}
    assert faults_of(request(setups=[setup("den", vessel=vessel)], routine=routine(*rules))) == []


def shape(*parts: Any, value: Any) -> tuple[Document, str]:
    """A sound routine with one place of it set, and the pointer to that place."""
    document = request(
        line("food"),
        routine=routine(
            rule("a", marine(), add=[line("x")], change=[{"line": "food", "scale": "2"}]),
        ),
    )
    node: Any = document
    for part in parts[:-1]:
        node = node[part]
    node[parts[-1]] = value
    return document, "#/" + "/".join(map(str, parts))


RULE = ("routine", "rules", 0)


@pytest.mark.parametrize(
    ("parts", "value", "detail"),
    [
        (("routine",), 5, "'routine' must be the name of a kept routine, or a routine, an object with "
         "'ref' and 'rules' (got the number 5)."),
        (("routine", "rules"), [], "'routine.rules' must be a list of 1 to 100 (got an empty list)."),
        ((*RULE, "when", 0), {"fact": "water"}, "'when[0]' must have exactly one of is, one_of, over, "
         "at_least, under or at_most (got none); give one."),
        ((*RULE, "when", 0), {"fact": "water", "is": "marine", "over": "5"}, "'when[0]' must have exactly "
         "one of is, one_of, over, at_least, under or at_most (got is and over); keep one."),
        ((*RULE, "change", 0), {"line": "food"}, "'change[0]' must have exactly one of replace, scale or "
         "drop (got none); give one."),
        ((*RULE, "change", 0, "scale"), "1/0", "'scale' must be a factor such as \"1.2\" or \"1/3\" (got "
         "\"1/0\"); give at most 12 digits before the point and 6 after it, or a fraction."),
        (RULE, {"ref": "a", "when": []}, "'rules[0]' must have add or change (got none); give one."),
    ],
)  # fmt: skip
def test_a_fault_of_shape_is_told_in_whole_words(parts: Any, value: Any, detail: str) -> None:
    document, place = shape(*parts, value=value)
    assert [(fault.pointer, fault.detail) for fault in check(document)] == [(place, detail)]


def test_a_replacement_has_some_member_and_keeps_the_name() -> None:
    document, _ = shape(*RULE, "change", 0, value={"line": "food", "replace": {}})
    [fault] = check(document)
    assert fault.detail.startswith("'replace' must have name, ")
    assert fault.detail.endswith(" (got none); give one.")
    document, _ = shape(*RULE, "change", 0, value={"line": "food", "replace": {"ref": "other"}})
    assert [fault.pointer for fault in check(document)] == [
        "#/routine/rules/0/change/0/replace/ref",
        "#/routine/rules/0/change/0/replace",
    ]


def test_a_routine_gives_all_setups_together_so_many_lines_and_no_more() -> None:
    lines = [rule(f"r{r}", add=[line(f"x{r}-{i}") for i in range(50)]) for r in range(2)]
    setups = [setup(f"t{s}") for s in range(51)]
    assert faults_of(request(setups=setups[:50], routine=routine(*lines))) == []
    # 51 setups with 100 lines each.
    assert faults_of(request(setups=setups, routine=routine(*lines))) == [
        (
            "#/routine",
            "a routine may give the setups of a request at most 5000 lines (got 5100 by the time of "
            "setup 51); cost fewer setups at a time.",
        )
    ]


def test_many_setups_are_named_in_short() -> None:
    setups = [setup("t0", testing={"every": "P7D"}), *(setup(f"t{s}") for s in range(1, 9))]
    [(_, detail)] = faults_of(
        request(setups=setups, routine=routine(rule("a", add=[line("x", usage=TESTED)])))
    )
    assert detail.startswith("for setups 't1', 't2', 't3', 't4', 't5' and 3 more: 'tests' is not known")
