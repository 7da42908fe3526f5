"""What an answer says was taken for granted: only what really was."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from service.quoting import cost
from tests.pieces import TODAY, device, electricity, quantity, request, setup

BANDS = {"bands": [{"name": "otherwise", "price": "0.30"}]}


def assumed(**members: Any) -> list[str]:
    """What is assumed of the times of one device under a tariff with bands."""
    lamp = device("lamp", **members)
    tariffs = electricity(BANDS, time_zone="Europe/London")
    answer = cost(request(setups=[setup("den", devices=[lamp])], tariffs=tariffs), TODAY)
    return [row["value"] for row in answer["assumptions"] if row["about"] == "setups.den.devices.lamp.on"]


@pytest.mark.parametrize("hours", ["24", "24.0", "24.000000", 24, Decimal("24.0")], ids=repr)
def test_a_device_that_runs_all_day_needs_no_times_however_24_is_written(hours: Any) -> None:
    assert assumed(hours_per_day=hours) == []


@pytest.mark.parametrize("hours", ["10", "23.999999", 5], ids=repr)
def test_hours_without_times_are_said_to_lie_evenly_over_the_day(hours: Any) -> None:
    assert assumed(hours_per_day=hours) == [
        "its hours lie evenly over the whole day, since no times were given"
    ]


def test_hours_with_times_are_not_assumed() -> None:
    assert assumed(hours_per_day="8", on=["09:00", "19:00"]) == []


BOX = {
    "shape": "box",
    "outside": {"length": quantity("100", "cm"), "width": quantity("50", "cm")},
    "pane": quantity("10", "mm"),
    "water_depth": quantity("50", "cm"),
}


def silences(**members: Any) -> set[str]:
    """Which of heating and displaced volume are told to count as nothing."""
    answer = cost(request(setups=[setup("den", **members)]), TODAY)
    about = {row["about"] for row in answer["assumptions"]}
    return about & {"setups.den.heating", "setups.den.vessel.displaced"}


READ = {"from": "2026-10-01", "until": "2026-11-01"}


@pytest.mark.parametrize(
    ("members", "told"),
    [
        ({}, set()),
        ({"vessel": BOX}, {"heating", "vessel.displaced"}),
        ({"vessel": BOX | {"displaced": quantity("8", "%")}}, {"heating"}),
        ({"vessel": BOX | {"rock_mass": quantity("20", "kg")}}, {"heating"}),
        ({"vessel": BOX, "heating": {"mode": "none"}}, {"vessel.displaced"}),
        ({"vessel": BOX, "heating": {"mode": "modelled"}}, {"vessel.displaced"}),
        (
            {"vessel": BOX, "measured": [{"what": "heating", "amount": quantity("9", "kW.h")} | READ]},
            {"vessel.displaced"},
        ),
    ],
)
def test_what_counts_as_nothing_because_nothing_was_said_is_told(members: Any, told: set[str]) -> None:
    assert silences(**members) == {f"setups.den.{name}" for name in told}
