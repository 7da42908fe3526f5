"""The answer in one sentence, and what it is in all."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from service.documents.told import Told
from service.documents.view_money import digits_of, is_large, is_whole, month_share, shortest, whole_months

_YEAR = 12


def answer(told: Told) -> tuple[str, ...]:
    """What it costs a month, when most and least, how far that may lie off; then the total, and taxes."""
    costing = told.costing
    if not any(Decimal(cell) for cell in (costing["total"], *costing["months"])):
        return told.say("answer_zero"), *_in_all(told)
    whole = is_large(costing["month_average"]) and digits_of(costing["total"]) > 0
    sentence = ", ".join([_average(told, whole), *_ends(told, whole)])
    found = costing.get("range")
    if found:
        ends = [
            month_share(found[end], costing["period"], end == "high", 0 if whole else digits_of(found[end]))
            for end in ("low", "high")
        ]
        likely = told.say("answer_range", low=told.money(ends[0]), high=told.money(ends[1]))
        sentence = told.say("answer_joined", sentence=sentence, range=likely)
    return f"{sentence}.", *_in_all(told)


def _average(told: Told, whole: bool) -> str:
    period = told.costing["period"]
    average = told.money(told.costing["month_average"], whole)
    key = "answer" if whole else "answer_exact"
    if len(period["months"]) == 1 and is_whole(period):
        return told.say(f"{key}_one", average=average, month=told.speech.long_month(period["from"], True))
    year = is_whole(period) and len(period["months"]) == _YEAR
    return told.say(f"{key}_{'year' if year else 'period'}", average=average)


def _ends(told: Told, whole: bool) -> list[str]:
    """The dearest and the cheapest month; a month that the period cuts is neither."""
    months, cells = told.costing["period"]["months"], told.costing["months"]
    among = whole_months(told.costing["period"])
    if len(among) < 2:
        return []
    amounts = {at: Decimal(cells[at]) for at in among}
    dearest = max(among, key=lambda at: amounts[at])
    cheapest = min(among, key=lambda at: amounts[at])
    high, low = (told.money(cells[at], whole) for at in (dearest, cheapest))
    if high == low:
        return [told.say("answer_even")]
    named = [told.speech.long_month(months[at]["from"], len(months) > _YEAR) for at in (dearest, cheapest)]
    return [told.say("answer_ends", high=high, dearest=named[0], low=low, cheapest=named[1])]


def _in_all(told: Told) -> tuple[str, ...]:
    costing: dict[str, Any] = told.costing
    first, last = told.first_last()
    total, found = told.money(costing["total"]), costing.get("range")
    tax = costing.get("tax")
    lines = []
    if found:
        lines.append(
            told.say("answer_whole_range", total=total, first=first, last=last,
                     low=told.money(shortest(found["low"])), high=told.money(shortest(found["high"])))
        )  # fmt: skip
        coverage = f"{(Decimal(found['coverage']) * 100).normalize():f}"
        lines.append(told.say("answer_coverage", coverage=told.speech.number(coverage)))
    else:
        lines.append(told.say("answer_whole", total=total, first=first, last=last))
    if tax:
        net = tax["basis"] == "net"
        lines.append(
            told.say("answer_net", gross=told.money(tax["gross"])) if net else told.say("answer_gross")
        )
    return tuple(lines)
