"""Cautions: each appears when there is cause for it and not otherwise, and each defers."""

from __future__ import annotations

from typing import Any

import pytest

from service.quoting.cautions import DEFER, TEXTS
from tests.estimates.asking import answered, box, lamp, planted, pump, reef, watts
from tests.pieces import Document, device, line, money, quantity, shared

# A setup of 8 litres with nothing that calls for a caution.
QUIET: Document = {"ref": "den", "vessel": box("30", "20", "25", "20"), "lines": []}
ON_ITS_BASE = {"open_surface": quantity("0.6", "m2"), "base_area": quantity("0.6", "m2")}


def called(name: str, **more: Any) -> Document:
    return line("it", name=name, **more)


def usual(name: str, pack: Document) -> Document:
    return {"ref": "it", "category": "other", "usual": name, "pack": pack, "price": money("9")}


def warned(*setups: Document, **more: Any) -> dict[str, str]:
    return {row["code"]: row["text"] for row in answered(*setups, **more)["cautions"]}


# Each cause by itself, on the quiet setup.
CAUSES: list[tuple[str, Document]] = [
    ("mains_near_water", {"devices": [pump()]}),
    ("mains_near_water", {"cooling": {"mode": "chiller"}}),
    ("floor_load", {"vessel": box(), "heating": None}),
    ("floor_load", {"vessel": {"shape": "other", "water": quantity("200", "L")}}),
    ("heater", {"heating": {"mode": "modelled"}}),
    (
        "co2",
        {
            "co2": {
                "mode": "weighed",
                "amount": quantity("500", "g"),
                "from": "2026-01-01",
                "until": "2026-02-01",
            }
        },
    ),
    ("co2", {"lines": [called("CO2 refill")]}),
    ("co2", {"lines": [called("Carbon dioxide")]}),
    ("caustic", {"limewater": True, "livestock": {"corals": "soft"}}),
    ("caustic", {"alkalinity": {"per_day": quantity("0.1", "dKH")}}),
    ("caustic", {"lines": [called("Kalkwasser")]}),
    ("caustic", {"lines": [called("Soda ash, dry")]}),
    ("caustic", {"lines": [called("Calcium hydroxide")]}),
    ("uv_ozone", {"devices": [device("d", name="UV clarifier")]}),
    ("uv_ozone", {"devices": [device("d", name="Ozone unit")]}),
    ("uv_ozone", {"lines": [called("UV lamp")]}),
    ("uv_ozone", {"lines": [usual("uv-lamp", quantity("1", "1"))]}),
    ("palytoxin", {"livestock": {"corals": "soft"}}),
    ("palytoxin", {"livestock": {"corals": "stony"}}),
    ("livestock", {"livestock": {"fish": [{"count": "1", "length": quantity("3", "cm")}]}}),
    ("livestock", {"livestock": {"corals": "none"}}),
]


def along(code: str, members: Document) -> set[str]:
    """What comes along by right: mains with a device or a heater, and with corals all that is about them."""
    found = (
        {"mains_near_water"}
        if members.keys() & {"devices", "heating", "cooling"} and code != "floor_load"
        else set()
    )
    if "corals" in members.get("livestock", {}):
        # How their alkalinity can be given is told, and some of it is caustic.
        found |= {"caustic", "livestock"}
        found |= {"palytoxin"} if members["livestock"]["corals"] != "none" else set()
    return found | {code}


def test_a_setup_without_cause_has_no_caution() -> None:
    assert warned(QUIET) == {}


@pytest.mark.parametrize(("code", "members"), CAUSES, ids=[f"{row[0]}-{at}" for at, row in enumerate(CAUSES)])
def test_a_cause_by_itself_brings_its_caution_and_no_other(code: str, members: Document) -> None:
    setup = {key: value for key, value in (QUIET | members).items() if value is not None}
    found = warned(setup)
    assert set(found) == along(code, members)
    assert found[code].startswith(TEXTS[code]) and found[code].endswith(DEFER)


@pytest.mark.parametrize(
    "members",
    [
        {"vessel": {"shape": "other", "water": quantity("199.999", "L")}},
        {"lines": [called("Juvenile food"), called("Souvenir") | {"ref": "b"}]},
        {"lines": [called("Alkalinity, pH neutral")]},
        {"devices": [], "heating": {"mode": "none"}, "livestock": {}},
    ],
    ids=["just under 200 litres", "no UV in a word", "nothing caustic", "nothing at all"],
)
def test_what_only_looks_like_a_cause_brings_nothing(members: Document) -> None:
    assert {code for code in warned(QUIET | members) if code != "mains_near_water"} == set()


def test_every_caution_can_come_and_they_come_in_their_order() -> None:
    everything = reef(
        livestock={"corals": "stony", "fish": []}, limewater=True,
        co2={"mode": "bubbles", "per_second": "1", "hours_per_day": "8"},
        devices=[lamp(), device("uv", name="UV")],
    )  # fmt: skip
    found = warned(everything)
    assert list(found) == list(TEXTS)
    assert {code for code, _ in CAUSES} == set(TEXTS)
    assert all(text.endswith(DEFER) for text in found.values())


def test_each_text_refers_to_what_binds_and_to_whom_to_ask() -> None:
    assert "follow local codes" in DEFER and "licensed practitioners" in DEFER
    assert DEFER.startswith("General information, not a design or a safety assessment")


def test_a_shared_line_is_a_cause_as_well() -> None:
    assert set(warned(QUIET, shared_lines=[shared("gas", name="CO2 bottle")])) == {"co2"}


def test_the_cause_of_one_setup_warns_the_household_once() -> None:
    found = warned(planted("a"), planted("b"), QUIET)
    assert list(found) == ["mains_near_water", "heater"]


def test_a_load_beyond_what_floors_are_made_for_is_told_with_its_figure() -> None:
    """The first example: 300 litres at 1.0233 kg and 65 kg of glass on 0.6 m2, beside 1.92 kN/m2.

    Source of the load that floors bear: IRC R301.5.

    Glass by hand: 2.5 x (120 x 50 x 60 - 118 x 48 x 59) / 1000 = 64.6 kg; (307.2 + 64.6) x 9.81 / 0.6.
    """
    text = warned(reef())["floor_load"]
    assert "Here: 'den' 6.1 kN/m2 on its own base, beside 1.92 kN/m2, spread over the room" in text
    assert text.endswith(DEFER)
    low = box("250", "150", "20", "8")
    assert (
        "Here"
        not in warned(reef(vessel=low, heating={"mode": "modelled", "rating": watts(9000)}))["floor_load"]
    )
