"""How the report tells of estimates: facts, readings, range, scenarios, notes, reviewed values."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.cli.estimates import near
from service.cli.naming import figure, name_of, span
from service.cli.report import report
from service.cli.text import columns, listed, wrapped
from service.parameters.defaults import defaults
from service.parameters.usual import usuals
from tests.cli.handmade import HEATED, answer, estimated, taken

WIDE = 150


def lines(made: dict, width: int = WIDE) -> list[str]:
    return list(report(made, width))


def section(made: dict, title: str, width: int = WIDE) -> list[str]:
    """The lines under a title, without those that are empty, up to the next title."""
    printed = lines(made, width)
    start = printed.index(title) + 2
    end = next((i for i in range(start, len(printed) - 1) if printed[i : i + 2] == ["", ""]), len(printed))
    return [text for text in printed[start:end] if text]


def test_facts_and_drivers_stand_under_the_name_of_a_setup():
    printed = lines(estimated())
    start = printed.index("Tank number 0 (tank0)")
    assert printed[start + 2 : start + 4] == [
        "Net volume 316.2 L; open surface 0.57 m2; filled mass 462 kg, 770 kg/m2 of floor.",
        # 12 x 140.022, 12 x 91.25, that over 365 days, 12 x 12.5, 12 x 8, 12 x 4.5.
        "Water changed 1680 L; evaporated 1095 L (3.00 L a day); electricity 150.0 kWh (heating 96.0, "
        "devices 54.0).",
    ]


def test_a_meter_of_all_electricity_is_not_told_in_parts():
    made = estimated()
    made["setups"][0]["drivers"]["electricity_kwh"] = ["13.000"] * 12
    assert "evaporated 1095 L (3.00 L a day); electricity 156.0 kWh." in "\n".join(lines(made))


def test_a_reading_stands_beside_its_estimate_with_its_factor():
    assert (
        "Reading of evaporated water over 30 days: 97.5 L, estimated 99.1 L; the estimates of all months are "
        "multiplied by 0.984." in lines(estimated())
    )


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "400.0 kWh"),
        ({"estimate": {"amount": "390.44", "unit": "kW.h"}}, "400.0 kWh, estimated 390.4 kWh"),
    ],
)
def test_a_reading_without_a_factor_stands_for_every_day(more: dict, said: str):
    made = estimated()
    reading = {"what": "electricity", "days": 61, "reading": {"amount": "400", "unit": "kW.h"}}
    made["setups"][0]["measured"] = [reading | more]
    assert f"Reading of electricity over 61 days: {said}; the reading stands for every day." in lines(made)


def test_the_range_is_told_for_the_household_and_for_each_setup():
    made = estimated()
    whole = int(Decimal(made["total"]))
    told = [text for text in lines(made, 160) if text.startswith("Likely between")]
    assert len(told) == 3
    assert lines(made, 160)[4:6] == [
        f"Likely between GBP {whole - 10} and GBP {whole + 10} (95 of 100 draws); most of that width comes "
        "from: temperature of a heated room by month in the northern hemisphere (60 %)",
        "and a reverse osmosis membrane (10 %).",
    ]


def test_parts_below_half_of_the_range_are_not_called_most_of_it():
    # 0.40 + 0.10 + 0.04 is more than half, 0.30 + 0.10 + 0.04 is not.
    made = estimated()
    made["range"]["drivers_of_range"][0]["share"] = "0.30"
    assert "the largest parts of that width come from: temperature" in " ".join(lines(made)[4:7])


def test_a_setup_alone_has_its_range_once():
    told = [text for text in lines(estimated(setups=1)) if text.startswith("Likely between")]
    assert len(told) == 1


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [("1", "9", "lies above, since what is uncertain can come out cheaper by more"),
     ("9000", "9999", "lies below, since what is uncertain can come out dearer by more")],
)  # fmt: skip
def test_a_total_outside_its_range_is_explained(low: str, high: str, said: str):
    made = estimated()
    made["range"] |= {"low": f"{low}.00", "high": f"{high}.00"}
    assert said in " ".join(lines(made)[4:9])


def test_a_total_within_its_range_needs_no_explaining():
    assert "made of usual values" not in "\n".join(lines(estimated()))


def test_where_nothing_is_uncertain_there_is_no_range():
    made = estimated()
    made["range"] = {"low": made["total"], "high": made["total"], "coverage": "0.95", "drivers_of_range": []}
    assert lines(made)[4] == "No uncertain estimate has a part in this total."


def test_without_a_range_in_the_answer_none_is_told():
    assert "Likely" not in "\n".join(lines(answer()))


def test_scenarios_show_total_difference_and_the_lines_that_move_most():
    made = estimated()
    found = section(made, "Under other circumstances")
    assert found[0].split() == ["GBP", "Total", "Difference"]
    assert found[2:] == [
        f"Dear power  {Decimal(made['total']) + Decimal('12.30')}      +12.30",
        "    Lamp +6.15, Salt mix +1.23",
        f"A lid       {Decimal(made['total']) - Decimal('4.50')}       -4.50",
        "    Lamp -2.25, Salt mix -0.45",
        "Below each, its largest differences by line, before the reserve.",
    ]


def test_lines_of_a_scenario_name_their_setup_where_there_are_several():
    made = estimated()
    for s in made["scenarios"]:
        s["setups"].append({"ref": "tank1", "total": "1.00", "difference": "9.00", "lines": [
            {"ref": "net", "total": "1.00", "difference": "9.00"}]})  # fmt: skip
    found = section(made, "Under other circumstances")
    assert "    Shared food (tank1) +9.00, Lamp (tank0) +6.15, Salt mix (tank0) +1.23" in found


def test_a_note_of_several_setups_is_read_once():
    assert section(estimated(), "Worth a second look") == [
        "- tank0, tank1: The room is warmed.",
        "- tank0: It gets too warm.",
    ]


def test_with_one_setup_a_note_needs_no_name():
    assert section(estimated(setups=1), "Worth a second look") == [
        "- The room is warmed.",
        "- It gets too warm.",
    ]


def test_what_was_taken_for_granted_is_told_once_for_all_its_setups():
    assert section(estimated(), "What was assumed")[:2] == [
        "- tariffs.water: not charged [request]",
        "- cover (tank0, tank1): open, since none was given",
    ]


def test_reviewed_values_that_move_the_range_come_first_and_once():
    found = section(estimated(), "What was assumed")[2:]
    assert found[1].split("  ")[0] == "Range"
    assert [re.split(" {2,}", text.strip()) for text in found[3:6]] == [
        ["60 %", "19.5 to 23.5 C", "17.5 to 25.5",
         "temperature of a heated room by month in the northern hemisphere"],
        ["10 %", "3 years", "1 to 5 years", "a reverse osmosis membrane"],
        ["4 %", "0.50", "0.40 to 0.60", "relative humidity of the room"],
    ]  # fmt: skip
    assert found[6:] == ["1 more with --json."]


def test_without_a_range_reviewed_values_keep_their_order_and_constants_come_last():
    made = estimated()
    for found in (made, *made["setups"]):
        del found["range"]
    shown = section(made, "What was assumed")[3:]
    assert shown[0].split() == ["Taken", "Low", "to", "high", "What", "it", "is"]
    assert [re.split(" {2,}", text)[-1] for text in shown[2:]] == [
        "relative humidity of the room",
        "temperature of a heated room by month in the northern hemisphere",
        "a reverse osmosis membrane",
        "resistance of the air film above a lid [iso-6946]",
    ]


def test_at_most_twelve_reviewed_values_are_shown():
    made = answer()
    made["assumptions"] = [taken(key, "1", "0.5", "2", "1") for key in list(defaults())[:30]]
    assert section(made, "What was assumed")[-1] == "18 more with --json."


def test_a_good_that_keeps_for_an_uncertain_time_says_so():
    made = answer()
    made["assumptions"] = [taken("usual.test-reagents", "1", "1", "1", "1")]
    assert re.split(" {2,}", section(made, "What was assumed")[-1]) == [
        "12 months once open", "6 to 18 months", "reagents of a colour test",
    ]  # fmt: skip


def test_a_narrow_terminal_gets_reviewed_values_as_sentences():
    made = estimated()
    made["assumptions"] = [
        taken("room.humidity", "0.123456", "0.100001", "0.200001", "(mg/L)/(uS/cm)", "iso-6946"),
        taken("heat.lid_m", "1", "1", "1", "m"),
    ]
    shown = " ".join(section(made, "What was assumed", 60)).split("- ")[1:]
    assert [" ".join(text.split()) for text in shown] == [
        "relative humidity of the room [iso-6946]: 0.1235 mg/L per uS/cm (0.1000 to 0.2000), "
        "4 % of the range 1 more with --json."
    ]
    for found in (made, *made["setups"]):
        del found["range"]
    shown = " ".join(section(made, "What was assumed", 60)).split("- ")[1:]
    assert " ".join(shown[1].split()) == "thickness of a glass lid: 1 m"


@given(st.integers(60, 200), st.integers(1, 30), st.integers(1, 3))
def test_no_line_about_estimates_is_wider_than_the_terminal(width: int, count: int, setups: int):
    made = estimated(count, setups)
    made["assumptions"] += [taken(key, HEATED, "1/3", "100/7", "m2.K/W", "shah-2002") for key in defaults()]
    del made["range"]
    assert max(map(columns, lines(made, width))) <= min(width, 160)


def test_every_reviewed_value_has_a_name_for_people():
    keys = [*defaults(), *(f"usual.{key}" for key in usuals())]
    names = [name_of(key) for key in keys]
    assert all(0 < len(name) <= 120 and name[-1] not in ".,;" for name in names)
    # A key that people must read is the exception.
    assert sum(name == key for name, key in zip(names, keys, strict=True)) <= len(keys) // 20


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("room.humidity", "relative humidity of the room"),
        ("usual.uv-lamp", "a UV lamp that is on all day"),
        ("usual.co2-indicator", "fluid of a carbon dioxide indicator every month"),
        ("not.known", "not.known"),
    ],
)
def test_a_name_is_the_first_part_of_what_the_value_is(key: str, name: str):
    assert name_of(key) == name


@pytest.mark.parametrize(
    ("amount", "places", "said"),
    [("316.177", "0.1", "316.2"), ("1648.634", "0.1", "1649"), ("0.25", "0.1", "0.3"),
     ("0.004", "0.1", "0.004"), ("0.000", "0.1", "0.0"), ("462.5", "1", "463")],
)  # fmt: skip
def test_an_amount_is_rounded_half_up_for_reading(amount: str, places: str, said: str):
    assert near(amount, places) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [("1/8000", "1/8000"), ("100/11", "9.091"), ("0.0848552", "0.08486"), ("35.165", "35.165"), ("-2", "-2"),
     ("odd", "odd"), ("1/0", "1/0")],
)  # fmt: skip
def test_a_figure_is_short_enough_to_read(text: str, said: str):
    assert figure(text) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [("P3Y", "3 years"), ("P1M", "1 month"), ("P18M", "18 months"), ("P1Y6M", "1 year and 6 months")],
)
def test_a_duration_is_said_in_words(text: str, said: str):
    assert span(text) == said


@pytest.mark.parametrize(
    ("parts", "said"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c, d"], "a, b and c, d")],
)
def test_a_list_ends_in_and(parts: list[str], said: str):
    assert listed(parts) == said


@pytest.mark.parametrize("width", range(40, 61))
def test_an_amount_is_not_parted_from_its_unit(width: int):
    text = (
        "Water changed 1649 L; evaporated 1161 L; electricity 1947.0 kWh; part 27 %; load 770 kg/m2 of floor."
    )
    printed = wrapped(text, width)
    assert " ".join(printed) == text
    assert not [line for line in printed if line.split()[0].rstrip(";") in ("L", "kWh", "%", "kg/m2")]
