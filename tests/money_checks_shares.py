"""Checks on dealing out money: by weights, month by month, and among setups."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import Any

from service.engine.money import deal
from tests.money_checks_asking import ask, between, days_from, months, plain, refusal
from tests.money_checks_rows import Row, holds_for, leading, numbers
from tests.pieces import Document, life, money, quantity, rate, request, setup, shared
from tests.second_opinions import shapley

Pair = tuple[Any, Any]
NAMES = "abcdefghij"
FIRSTS = [f"2026-{month:02}-01" for month in range(1, 13)] + ["2027-01-01"]
MONTH = days_from("2026-01-01", 31)
NOBODY_HAS_ANY = (
    "no setup has any 'water_changed_l' in the period, so there is nothing to share by; "
    "use another driver, or 'equal'."
)


def cents(amount: Any) -> int:
    whole = Fraction(amount) * 100
    if whole.denominator != 1:
        raise ValueError(f"{amount} is no whole number of cents")
    return int(whole)


@holds_for("APP-1 APP-2 APP-3 APP-4 APP-7 APP-8")
def units_go_by_largest_remainder_and_ties_to_the_first(row: Row) -> Pair:
    weights = [Fraction(weight.rpartition(":")[2]) for weight in row["weights"].split("|")]
    return deal(int(row.number("total")), weights), numbers(row.expected)


@holds_for("APP-9 APP-10 APP-11")
def money_is_dealt_to_the_last_cent_and_below_zero_as_above_it(row: Row) -> Pair:
    parts = deal(cents(row["total"]), numbers(row["weights"]))
    return parts, [cents(part) for part in row.expected.split("|")]


@holds_for("APP-12")
def weights_that_are_all_zero_are_refused(row: Row) -> Pair:
    weights = numbers(row["weights"])
    try:
        verdict = f"dealt {deal(cents(row['total']), weights)}"
    except ValueError:
        verdict = "REFUSE"
    faults = refusal(_by_litres(row["total"], row["weights"].split("|")))
    return [verdict, faults], [row.wants("(REFUSE)")[0], [("#/shared_lines/0/share/driver", NOBODY_HAS_ANY)]]


@holds_for("APP-13 APP-14")
def months_are_rounded_as_they_add_up(row: Row) -> Pair:
    parts = int(row.number("parts"))
    kit = shared("kit", usage=rate("1", "1", "P1M"), pack=quantity(plain(parts), "1"))
    kit["price"] = money(row["total"], "EUR")
    del kit["share"]
    answer = ask(request(kit, period=between(FIRSTS[0], FIRSTS[parts]), currency="EUR"))
    return months(answer), numbers(row.expected)


@holds_for("APP-15 APP-16")
def a_setup_is_dealt_what_it_is_owed_from_the_months_before(row: Row) -> Pair:
    amounts = [leading(part) / (100 if "cents" in row["months"] else 1) for part in row["months"].split("|")]
    prices = [money(plain(a), "EUR", **{"from": day}) for a, day in zip(amounts, FIRSTS, strict=False)]
    weights = dict(zip(NAMES, row["weights"].split("|"), strict=False))
    kit = shared("kit", "fixed", parts=weights, usage=life("P1M"), pack=quantity("1", "1"), prices=prices)
    period = between(FIRSTS[0], FIRSTS[len(amounts)])
    setups = [setup(name) for name in weights]
    answer = ask(request(setups=setups, shared_lines=[kit], period=period, currency="EUR"))
    by_setup = [[cents(cell) for cell in each["months"]] for each in answer["setups"]]
    wanted = [[int(part) for part in month.split(",")] for month in row.expected.split("|")]
    return [list(month) for month in zip(*by_setup, strict=True)], wanted


def together(cost: str, share: Document, setups: list[Document]) -> Document:
    """A request for one thing that setups have in common for a month."""
    kit = shared("kit", usage=life("P31D"), pack=quantity("1", "1"), price=money(cost, "EUR"), **share)
    return request(setups=setups, shared_lines=[kit], period=MONTH, currency="EUR")


def parts_of(document: Document) -> list[Fraction]:
    """What each setup pays of the only shared line."""
    return [Fraction(part) for part in ask(document)["shared"][0]["parts"].values()]


def _by_litres(cost: str, litres: list[str]) -> Document:
    changes = [{"volume": quantity(amount, "L"), "every": "P31D"} for amount in litres]
    setups = [setup(name, water_change=change) for name, change in zip(NAMES, changes, strict=False)]
    return together(cost, {"by": "driver", "driver": "water_changed_l"}, setups)


@holds_for("SHR-DRV-1")
def a_shared_cost_follows_the_litres_of_each(row: Row) -> Pair:
    return parts_of(_by_litres(row["cost"], row["litres"].split("|"))), numbers(row.expected)


@holds_for("SHR-EQ-1")
def a_shared_cost_is_split_alike(row: Row) -> Pair:
    setups = [setup(name) for name in NAMES[: int(row["tanks"])]]
    return parts_of(together(row["cost"], {"by": "equal"}, setups)), numbers(row.expected)


@holds_for("SHR-FIX-1")
def a_shared_cost_is_split_by_stated_parts(row: Row) -> Pair:
    parts = dict(zip(NAMES, row["shares"].replace("%", "").split("|"), strict=False))
    document = together(row["cost"], {"by": "fixed", "parts": parts}, [setup(name) for name in parts])
    return parts_of(document), numbers(row.expected)


def joining(count: int, worth: Callable[[list[int]], Fraction]) -> list[Fraction]:
    """What each of some adds, averaged over the orders of joining; worth() is told who is there."""
    return shapley(count, lambda bits: worth([one for one in range(count) if bits >> one & 1]))


@holds_for("SHR-AIR-1")
def the_largest_user_pays_the_last_step_alone(row: Row) -> Pair:
    alone = numbers(row["stand_alone"])
    found = joining(len(alone), lambda there: max((alone[one] for one in there), default=Fraction(0)))
    return found, numbers(row.expected)


@holds_for("SHR-2P-3 SHR-2P-4")
def two_pay_the_mean_of_the_two_orders(row: Row) -> Pair:
    alone, joint = numbers(row["alone"]), row.number("joint")
    costs = {(): Fraction(0), (0,): alone[0], (1,): alone[1], (0, 1): joint}
    found = joining(2, lambda there: costs[tuple(there)])
    return found, numbers(row.wants(r"(?:Shapley |^)([0-9]+[/|][0-9]+)$")[0])
