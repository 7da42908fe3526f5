"""What can be, what is unusual and what cannot be: faults with their place and words, and notes."""

from __future__ import annotations

import copy
from decimal import Decimal
from typing import Any

import pytest

from tests.estimates.asking import (
    answered,
    asked,
    box,
    celsius,
    codes,
    lamp,
    per_cent,
    planted,
    pump,
    reef,
    room,
    text_of,
    watts,
)
from tests.pieces import Document, faults_of, follows, line, money, quantity

TINY = Decimal("0.000001")
EVERYTHING = reef(
    vessel=box() | {"sump_water": quantity("1", "L"), "sump_surface": quantity("0.1", "m2"),
                    "contents_mass": quantity("1", "kg"), "stand_mass": quantity("1", "kg")},
    room=room(21) | {"altitude": quantity("10", "m")},
    cover={"open_share": per_cent(50)},
    cooling={"mode": "fan", "power": watts(5), "air_speed": quantity("1", "m/s")},
    source_water={"purified": True, "reject_ratio": "3", "temperature": celsius(15),
                  "dissolved": quantity("200", "mg/L"), "carbon_dioxide": quantity("3", "mg/L"),
                  "chlorine": quantity("1", "mg/L"), "hardness": quantity("1", "mmol/L")},
    hardness={"target": quantity("1", "mmol/L")},
    alkalinity={"per_day": quantity("0.1", "meq/L")},
    livestock={"fish": [{"count": "3", "length": quantity("5", "cm")}]},
    co2={"mode": "surface", "target": quantity("25", "mg/L"), "hours_per_day": "8"},
    devices=[pump() | {"standby": watts(1), "air": quantity("100", "L/h"), "speed": "0.5",
                       "least_power": watts(1)},
             lamp() | {"ramp_up": quantity("30", "min")}],
)  # fmt: skip

# Place in a setup, unit, least that can be (None: not below zero), most, and how the bounds are told.
BOUNDS: list[tuple[str, str, str | None, str, str]] = [
    ("water_temperature", "Cel", "5", "40", "'water_temperature' must be from 5 to 40 Cel"),
    ("room/temperature", "Cel", "-30", "50", "'room.temperature' must be from -30 to 50 Cel"),
    ("source_water/temperature", "Cel", "0", "60", "'source_water.temperature' must be from 0 to 60 Cel"),
    ("salinity", "g/kg", None, "45", "'salinity' must be at most 45 g/kg"),
    ("room/humidity", "%", None, "100", "'room.humidity' must be at most 100 %"),
    ("cover/open_share", "%", None, "100", "'cover.open_share' must be at most 100 %"),
    ("heating/rating", "kW", None, "20", "'heating.rating' must be at most 20 kW"),
    ("cooling/power", "kW", None, "20", "'cooling.power' must be at most 20 kW"),
    ("devices/0/power", "kW", None, "20", "'devices.power' must be at most 20 kW"),
    ("devices/0/standby", "kW", None, "20", "'devices.standby' must be at most 20 kW"),
    ("vessel/outside/length", "m", None, "100", "'outside.length' must be at most 100 m"),
    ("vessel/water_depth", "m", None, "100", "'vessel.water_depth' must be at most 100 m"),
    ("room/altitude", "m", None, "5000", "'room.altitude' must be at most 5000 m"),
    ("vessel/sump_surface", "m2", None, "10000", "'vessel.sump_surface' must be at most 10000 m2"),
    ("vessel/sump_water", "m3", None, "1000000", "'vessel.sump_water' must be at most 1000000 m3"),
    (
        "vessel/contents_mass",
        "kg",
        None,
        "1000000000",
        "'vessel.contents_mass' must be at most 1000000000 kg",
    ),
    ("vessel/stand_mass", "kg", None, "1000000000", "'vessel.stand_mass' must be at most 1000000000 kg"),
    ("cooling/air_speed", "m/s", None, "20", "'cooling.air_speed' must be at most 20 m/s"),
    ("devices/0/air", "m3/h", None, "1000", "'devices.air' must be at most 1000 m3/h"),
    ("source_water/dissolved", "g/L", None, "50", "'source_water.dissolved' must be at most 50 g/L"),
    ("source_water/carbon_dioxide", "g/L", None, "2", "'source_water.carbon_dioxide' must be at most 2 g/L"),
    ("co2/target", "g/L", None, "2", "'co2.target' must be at most 2 g/L"),
    ("alkalinity/per_day", "meq/L", None, "50", "'alkalinity.per_day' must be at most 50 meq/L"),
    ("hardness/target", "mmol/L", None, "100", "'hardness.target' must be at most 100 mmol/L"),
    ("source_water/hardness", "mmol/L", None, "100", "'source_water.hardness' must be at most 100 mmol/L"),
    ("devices/1/ramp_up", "h", None, "10", "ramps must not be longer than the hours a day"),
]
# Plain numbers, without a unit: place, least, most, and how the bounds are told.
PLAIN: list[tuple[str, str | None, str, str]] = [
    ("source_water/reject_ratio", None, "100", "'source_water.reject_ratio' must be at most 100"),
    ("co2/hours_per_day", None, "24", "'co2.hours_per_day' must be from 0 to 24"),
    ("devices/0/speed", None, "1", "'speed' must be from 0 to 1"),
    ("livestock/fish/0/count", None, "100000", "'fish.count' must be at most 100000"),
]


def with_at(setup: Document, place: str, value: Any) -> Document:
    """A setup with a value at a place of it."""
    found = copy.deepcopy(setup)
    node: Any = found
    *way, last = place.split("/")
    for key in way:
        node = node[int(key) if isinstance(node, list) else key]
    node[int(last) if isinstance(node, list) else last] = value
    return found


def just(text: str, by: int) -> str:
    """A figure a millionth further, written out."""
    return f"{Decimal(text) + by * TINY:f}"


def resolves(document: Document, pointer: str) -> bool:
    """Whether a pointer leads to a place of the document, or to a member that is missing from one."""
    node: Any = document
    keys = pointer.removeprefix("#").split("/")[1:]
    for at, key in enumerate(keys):
        try:
            node = node[int(key) if isinstance(node, list) else key]
        except KeyError:
            return at == len(keys) - 1
    return True


def test_the_setup_that_says_everything_is_sound() -> None:
    assert faults_of(asked(EVERYTHING)) == []


@pytest.mark.parametrize(("place", "unit", "least", "most", "told"), BOUNDS, ids=[row[0] for row in BOUNDS])
def test_a_quantity_may_reach_its_bound_and_not_pass_it(
    place: str, unit: str, least: str | None, most: str, told: str
) -> None:
    for inside in (most, just(most, -1), *([least, just(least, 1)] if least else ["0", "0.000001"])):
        document = asked(with_at(EVERYTHING, place, quantity(inside, unit)))
        outside_of = [
            text for pointer, text in faults_of(document) if pointer.startswith(f"#/setups/0/{place}")
        ]
        # A depth at its bound is over the height, which is another fault.
        assert not any(told in text for text in outside_of), inside
    for outside in (just(most, 1), *([just(least, -1)] if least else [])):
        document = asked(with_at(EVERYTHING, place, quantity(outside, unit)))
        faults = dict(faults_of(document))
        where = f"#/setups/0/{place}/amount" if "ramp" not in place else f"#/setups/0/{place}"
        assert faults[where].startswith(told) and "(got " in faults[where]
        assert all(resolves(document, pointer) for pointer in faults)
    if least is None:
        document = asked(with_at(EVERYTHING, place, quantity("-1", unit)))
        assert (f"#/setups/0/{place}/amount", "'amount' must not be negative (got -1).") in faults_of(
            document
        )


@pytest.mark.parametrize(("place", "least", "most", "told"), PLAIN, ids=[row[0] for row in PLAIN])
def test_a_plain_number_may_reach_its_bound_and_not_pass_it(
    place: str, least: str | None, most: str, told: str
) -> None:
    for inside in (most, just(most, -1), "0"):
        assert faults_of(asked(with_at(EVERYTHING, place, inside))) == []
    outside = just(most, 1)
    assert faults_of(asked(with_at(EVERYTHING, place, outside))) == [
        (f"#/setups/0/{place}", f"{told} (got {outside}).")
    ]


@pytest.mark.parametrize(
    ("cop", "sound"), [("0.5", True), ("0.499999", False), ("10", True), ("10.000001", False)]
)
def test_a_chiller_moves_from_half_to_ten_times_what_it_draws(cop: str, sound: bool) -> None:
    faults = faults_of(asked(reef(cooling={"mode": "chiller", "cop": cop})))
    assert faults == ([] if sound else [
        ("#/setups/0/cooling/cop", f"'cooling.cop' must be from 0.5 to 10 (got {cop}).")])  # fmt: skip


def test_chlorine_has_a_bound_where_it_is_not_taken_out() -> None:
    tap = {"purified": False, "chlorine": quantity("100.1", "mg/L")}
    assert faults_of(asked(planted(source_water=tap))) == [
        ("#/setups/0/source_water/chlorine/amount",
         "'source_water.chlorine' must be at most 100 mg/L (got 100.1 mg/L)."),
    ]  # fmt: skip
    assert faults_of(asked(planted(source_water=tap | {"chlorine": quantity("100", "mg/L")}))) == []


def test_a_month_of_a_room_is_told_by_its_place() -> None:
    months = [celsius(20)] * 12
    months[7] = celsius(51)
    assert faults_of(asked(reef(room={"temperature": months}))) == [
        (
            "#/setups/0/room/temperature/7/amount",
            "'room.temperature' must be from -30 to 50 Cel (got 51 Cel).",
        )
    ]


def test_all_faults_of_a_setup_are_told_at_once() -> None:
    too_strong = {"mode": "modelled", "rating": watts(20001)}
    wide = {"open_share": per_cent(200)}
    wrong = reef(water_temperature=celsius(99), room=room(99, 101), heating=too_strong, cover=wide)
    document = asked(wrong)
    assert [pointer for pointer, _ in sorted(faults_of(document))] == [
        "#/setups/0/cover/open_share/amount", "#/setups/0/heating/rating/amount",
        "#/setups/0/room/humidity/amount", "#/setups/0/room/temperature/amount",
        "#/setups/0/water_temperature/amount",
    ]  # fmt: skip
    assert all(resolves(document, pointer) for pointer, _ in faults_of(document))


@pytest.mark.parametrize(
    ("setup", "pointer", "text"),
    [
        (reef(salinity={"specific_gravity": "1.0264"}), "/salinity",
         "a reading of specific gravity says nothing without both temperatures; give 'at', that of the "
         "water."),
        (reef(salinity={"specific_gravity": "1.0264", "at": celsius(25)}), "/salinity",
         "a reading of specific gravity says nothing without both temperatures; give 'reference', that of "
         "the pure water it is measured against."),
        (reef(salinity={"amount": "35"}), "/salinity",
         "'salinity' needs a 'unit': g/kg, 1 for practical salinity, or mS/cm."),
        (reef(salinity={"specific_gravity": "1.05", "at": celsius(25), "reference": celsius(25)}),
         "/salinity", "'salinity' must be at most 45 g/kg (got "),
        (reef(vessel=None, water_change=None), "/heating",
         "'heating' is modelled, which needs 'vessel' to know its panes."),
        (reef(vessel={"shape": "other", "water": quantity("90", "L"), "open_surface": quantity("0.2", "m2")}),
         "/vessel", "'heating' is modelled, which needs 'pane_area' of the vessel."),
        (reef(heating=None, cooling={"mode": "fan"}), "/cooling", "'cooling' by a fan needs its 'power'."),
        (reef(limewater=True), "/limewater",
         "'limewater' needs 'alkalinity' or 'livestock.corals', to know what is used."),
        (planted(hardness={"target": quantity("6", "dGH")}), "/hardness",
         "'hardness' needs 'source_water.hardness', unless the water is purified."),
        (reef(vessel=None, water_change=None, heating=None, plants="lean"), "/plants",
         "'plants' needs 'vessel', to know how much water there is."),
        (reef(alkalinity={"tests": [{"on": "2026-03-02", "reading": quantity("8", "dKH")},
                                    {"on": "2026-03-02", "reading": quantity("7", "dKH")}]}),
         "/alkalinity/tests/1/on",
         "the second reading must come after the first (got 2026-03-02, first 2026-03-02)."),
        (reef(measured=[{"what": "evaporation", "amount": quantity("7", "kW.h"), "from": "2026-01-01",
                         "until": "2026-02-01"}]), "/measured/0/amount/unit",
         "'unit' must be one of volume (got 'kW.h', energy); use one of "),
        (reef(measured=[{"what": "evaporation", "amount": quantity("7", "L"), "from": "2026-01-01",
                         "until": "2026-02-01"}] * 2), "/measured/1/from",
         "this reading and number 1 cover the same days; keep one."),
    ],
    ids=lambda value: value if isinstance(value, str) and value[0] == "/" else "",
)  # fmt: skip
def test_what_a_setup_lacks_is_told_where_it_lacks_it(setup: Document, pointer: str, text: str) -> None:
    document = asked(setup)
    faults = faults_of(document)
    assert len(faults) == 1, faults
    assert faults[0][0] == f"#/setups/0{pointer}" and faults[0][1].startswith(text)
    assert resolves(document, faults[0][0])


# --- lines that follow what a setup does not say ---

NEEDS = {
    "evaporated_l": "'vessel' with its open surface, or a measured 'evaporation'",
    "purified_l": "'source_water' that is purified",
    "drain_water_l": "'source_water' that is purified",
    "resin_meq": "'source_water' that is purified",
    "heating_kwh": "'heating' that is modelled, or measured",
    "cooling_kwh": "'cooling' by a chiller or a fan",
    "salt_g": "'water' that is marine or brackish",
    "alkalinity_meq": "'alkalinity', or 'livestock' with 'corals', and 'vessel'",
    "limewater_g": "'limewater' and what alkalinity is used",
    "nitrate_g": "'plants' and 'vessel'",
    "co2_g": "'co2'",
    "chlorine_g": "'source_water' that is not purified",
    "hardness_mmol": "'hardness'",
    "food_g": "'livestock' with 'fish'",
    "feedings": "'feeding'",
    "tests": "'testing'",
}
UNIT_OF = {"l": "L", "kwh": "kW.h", "g": "g", "meq": "meq", "mmol": "mmol"}


@pytest.mark.parametrize("driver", NEEDS)
def test_a_line_that_follows_what_is_not_known_is_told_what_it_needs(driver: str) -> None:
    per = quantity("1", UNIT_OF.get(driver.rpartition("_")[2], "1"))
    bare = {"ref": "den", "lines": [line("it", usage=follows(driver, "1", "1", per))]}
    assert faults_of(asked(bare)) == [
        (
            "#/setups/0/lines/0/usage/driver",
            f"'{driver}' is not known of this setup; it needs {NEEDS[driver]}.",
        )
    ]


def usual(name: str, pack: Document) -> Document:
    one = {"ref": "it", "category": "other", "usual": name, "pack": pack, "price": money("10")}
    return asked(reef(lines=[one]))


def test_a_usual_value_of_no_known_name_suggests_near_ones() -> None:
    text = "'usual' must be a name of GET /v1/parameters (got 'membrain'); did you mean membrane?"
    assert faults_of(usual("membrain", quantity("1", "1"))) == [("#/setups/0/lines/0/usual", text)]
    text = "'usual' must be a name of GET /v1/parameters (got 'zzz')."
    assert faults_of(usual("zzz", quantity("1", "1"))) == [("#/setups/0/lines/0/usual", text)]


def test_a_usual_value_in_a_pack_of_another_kind_is_told() -> None:
    text = "'salt-mix' is counted in g, so 'pack' must be of mass (got 'L')."
    assert faults_of(usual("salt-mix", quantity("20", "L"))) == [("#/setups/0/lines/0/pack/unit", text)]


def test_a_usual_value_by_the_water_needs_the_water() -> None:
    one = {
        "ref": "it",
        "category": "other",
        "usual": "activated-carbon",
        "pack": quantity("1", "kg"),
        "price": money("10"),
    }
    assert faults_of(asked({"ref": "den", "lines": [one]})) == [
        ("#/setups/0/lines/0/usual",
         "'activated-carbon' goes by the water of one setup, which is not known here; give its 'vessel', or "
         "state the 'usage'."),
    ]  # fmt: skip


def test_a_usual_value_that_follows_what_is_not_known_is_told_what_it_needs() -> None:
    assert faults_of(usual("dry-food", quantity("250", "g"))) == [
        ("#/setups/0/lines/0/usual", "'food_g' is not known of this setup; it needs 'livestock' with 'fish'.")
    ]


# --- unusual, but possible ---

CHECKED = "The formula for evaporation was checked on measurements within certain ranges; "


@pytest.mark.parametrize(
    ("members", "code", "text"),
    [
        ({"water_temperature": celsius(10)}, "unusual_temperature",
         "Water of 10 degrees is unusual for an aquarium; check the figure."),
        ({"water_temperature": celsius(31)}, "unusual_temperature",
         "Water of 31 degrees is unusual for an aquarium; check the figure."),
        ({"salinity": quantity("20", "g/kg")}, "unusual_salinity",
         "A salinity of 20.0 g/kg is unusual for a marine aquarium; check the figure."),
        ({"water": "fresh", "salinity": quantity("5", "g/kg")}, "unusual_salinity",
         "Fresh water with 5.0 g/kg of salt is unusual; check 'water' and 'salinity'."),
        ({"room": room(21, 20)}, "beyond_model",
         f"{CHECKED}the humidity of this setup lies outside them, so the estimate is less certain."),
        ({"room": room(2, 50)}, "beyond_model",
         f"{CHECKED}the room's temperature of this setup lies outside them, so the estimate is less "
         "certain."),
        ({"room": room(36, 97), "water_temperature": celsius(5)}, "beyond_model",
         f"{CHECKED}the water's temperature and the room's temperature and the humidity of this "
         "setup lies outside them, so the estimate is less certain."),
        ({"room": room(21, 98)}, "beyond_model",
         f"{CHECKED}the humidity of this setup lies outside them, so the estimate is less certain."),
        ({"vessel": box(depth="5")}, "unusual_evaporation",
         "An evaporation of 10.8 % of the water a day is unusual; check cover, surface and room."),
        ({"heating": {"mode": "modelled", "rating": watts(120)}}, "heater_at_limit",
         # By hand: 72.3 W while lit for 10 hours, and all 120 W of the 139.8 W that 14 dark hours want.
         "The heater would run at up to 83 % of its rating; a larger one is usual."),
        ({"heating": {"mode": "modelled", "rating": watts(0)}}, "heater_too_small",
         "The heater's 0 W cannot hold the temperature in every month; the water would fall to about "),
        ({"vessel": box("30", "20", "30", "25")}, "unusual_heating",
         "A mean heater power of 0 W a litre is unusual; check temperatures, cover and devices."),
        ({"room": room(27)}, "may_overheat",
         "Nothing cools the water, which is estimated to be warmer than it is kept in every month, up to "),
        ({"heating": {"mode": "none"}, "water_temperature": None}, "unheated",
         "Without heating the water is estimated at "),
        ({}, "room", "Heat and vapour that the aquarium gives off warm and moisten the room; what that saves "
         "or costs there is not in the figures."),
        ({"limewater": True, "livestock": {"corals": "stony"}}, "limewater_ceiling",
         "Topping up cannot carry all the alkalinity as limewater; what is left is under 'alkalinity_meq' "),
    ],
    ids=str,
)  # fmt: skip
def test_what_is_unusual_is_noted_and_costed_all_the_same(members: Document, code: str, text: str) -> None:
    answer = answered(reef(**members))
    assert text_of(answer, code).startswith(text)
    assert {note["pointer"] for note in answer["notes"]} == {"#/setups/0"}


def test_very_salty_water_is_noted_as_beyond_the_published_density() -> None:
    texts = [note["text"] for note in answered(reef(salinity=quantity("43", "g/kg")))["notes"]]
    assert "The density of sea water is published up to 42 g/kg; beyond it is an extrapolation." in texts


def test_a_usual_setup_is_noted_for_nothing_but_its_room() -> None:
    for setup in (reef(), planted()):
        assert codes(answered(setup)) == ["room"]
    cooled = reef(cooling={"mode": "chiller"}, room=room(27))
    assert "may_overheat" not in codes(answered(cooled))


def test_notes_point_to_the_setup_that_they_are_about() -> None:
    answer = answered(
        planted(), reef(water_temperature=celsius(31), heating={"mode": "modelled"}), {"ref": "shelf"}
    )
    assert [(note["code"], note["pointer"]) for note in answer["notes"]] == [
        ("room", "#/setups/0"), ("unusual_temperature", "#/setups/1"), ("room", "#/setups/1")]  # fmt: skip


def test_months_in_which_a_heater_is_too_small_are_named() -> None:
    months = [celsius(c) for c in (2, 4, 21, 21, 21, 21, 21, 21, 21, 21, 21, 3)]
    answer = answered(reef(room={"temperature": months, "humidity": per_cent(50)}))
    assert text_of(answer, "heater_too_small").startswith(
        "The heater's 300 W cannot hold the temperature in January, February, December; the water would fall"
    )
