"""What an answer says was taken for granted: only what really was."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest

from service.quoting import cost
from tests.pieces import TODAY, device, electricity, request, setup

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
