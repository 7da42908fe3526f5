"""What was estimated: facts and drivers of a setup, readings, the range, scenarios, notes."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from service.cli.naming import name_of, unit_words
from service.cli.table import add
from service.cli.text import columns, item, left, listed, plain, title

Answer = dict[str, Any]

DRIVERS = (
    ("water_changed_l", "water changed", "L"),
    ("evaporated_l", "evaporated", "L"),
    ("feed_water_l", "drawn from the tap", "L"),
    ("electricity_kwh", "electricity", "kWh"),
)
ELECTRICITY = (("heating_kwh", "heating"), ("cooling_kwh", "cooling"), ("devices_kwh", "devices"))
READINGS = {
    "electricity": "electricity",
    "heating": "electricity for heating",
    "evaporation": "evaporated water",
    "purified_water": "purified water",
}
# As many as can be taken in at once.
SHOWN_INPUTS = SHOWN_LINES = 3
LEAST_SHARE = Decimal("0.05")


def about_setup(answer: Answer, setup: Answer, width: int) -> Iterator[str]:
    """What is known of a setup, what goes through it, what was read, and the range of its total."""
    for text in (_facts(setup), _drivers(setup, answer["period"]["days"])):
        if text:
            yield from item(text, width, "")
    for reading in setup.get("measured") or []:
        yield from item(_reading(reading), width, "")
    if len(answer["setups"]) > 1:
        yield from likely(setup, answer["currency"], width)


def _facts(setup: Answer) -> str:
    facts = setup.get("facts", {})
    parts = []
    for name, words, places in (
        ("net_volume", "net volume", "0.1"),
        ("open_surface", "open surface", "0.01"),
    ):
        if facts.get(name):
            parts.append(f"{words} {_quantity(facts[name], places)}")
    if facts.get("filled_mass"):
        load = f", {_quantity(facts['floor_load'], '1')} of floor" if facts.get("floor_load") else ""
        parts.append(f"filled mass {_quantity(facts['filled_mass'], '1')}{load}")
    return _sentence(parts)


def _drivers(setup: Answer, days: int) -> str:
    """The main drivers over the period; those of which there is nothing are left out."""
    sums = {name: Decimal(add(months)) for name, months in setup.get("drivers", {}).items()}
    parts = []
    for name, words, unit in DRIVERS:
        if not sums.get(name):
            continue
        parts.append(f"{words} {near(sums[name])} {unit}")
        if name == "evaporated_l":
            parts[-1] += f" ({near(sums[name] / days, '0.01')} L a day)"
        if name == "electricity_kwh":
            parts[-1] += _of_electricity(setup, sums)
    return _sentence(parts)


def _of_electricity(setup: Answer, sums: dict[str, Decimal]) -> str:
    """What the electricity is for, where it is the sum of its parts; a meter knows none."""
    total = sums["electricity_kwh"]
    told = [(words, sums[name]) for name, words in ELECTRICITY if sums.get(name)]
    if len(told) < 2 or sum(kwh for _, kwh in told) != total:
        return ""
    return f" ({', '.join(f'{words} {near(kwh)}' for words, kwh in told)})"


def _reading(reading: Answer) -> str:
    """A reading beside its estimate, and what follows from it."""
    text = (
        f"Reading of {READINGS.get(reading['what'], reading['what'])} over {reading['days']} days: "
        f"{_quantity(reading['reading'], '0.1')}"
    )
    if reading.get("estimate"):
        text += f", estimated {_quantity(reading['estimate'], '0.1')}"
    if reading.get("factor"):
        return f"{text}; the estimates of all months are multiplied by {reading['factor']}."
    return f"{text}; the reading stands for every day."


def likely(found: Answer, currency: str, width: int) -> Iterator[str]:
    """Between which totals the cost likely lies, and what that comes from."""
    spread = found.get("range")
    if not spread:
        return
    low, high, total = (Decimal(amount) for amount in (spread["low"], spread["high"], found["total"]))
    if low == high == total:
        yield from item("No uncertain estimate has a part in this total.", width, "")
        return
    of_100 = near(Decimal(spread["coverage"]) * 100, "1")
    text = (
        f"Likely between {currency} {_whole(spread['low'])} and {currency} {_whole(spread['high'])} "
        f"({of_100} of 100 draws)"
    )
    inputs = spread["drivers_of_range"][:SHOWN_INPUTS]
    inputs = [i for i in inputs if Decimal(i["share"]) >= LEAST_SHARE] or inputs[:1]
    if inputs:
        causes = [f"{name_of(i['input'])} ({share_words(i['share'])})" for i in inputs]
        most = sum(Decimal(i["share"]) for i in inputs) > Decimal("0.5")
        part = "most of that width comes from" if most else "the largest parts of that width come from"
        text += f"; {part}: {listed(causes)}"
    yield from item(text + ".", width, "")
    if not low <= total <= high:
        lies, comes = ("below", "dearer") if total < low else ("above", "cheaper")
        yield from item(
            f"The total is made of usual values and lies {lies}, since what is uncertain can come out "
            f"{comes} by more than the other way.",
            width,
            "",
        )


def scenarios(answer: Answer, width: int) -> Iterator[str]:
    """The household's total under other circumstances, and the lines that move it most."""
    found = answer.get("scenarios") or []
    if not found:
        return
    yield from title("Under other circumstances")
    rows = [(plain(s["name"]), s["total"], signed(s["difference"])) for s in found]
    heads = (answer["currency"], "Total", "Difference")
    cell, more = (max(len(row[k]) for row in [heads, *rows]) for k in (1, 2))
    label = min(max(columns(row[0]) for row in [heads, *rows]), width - cell - more - 4)
    yield left(heads[0], label) + heads[1].rjust(cell + 2) + heads[2].rjust(more + 2)
    yield "-" * (label + cell + more + 4)
    names = line_names(answer)
    for (name, total, difference), scenario in zip(rows, found, strict=True):
        yield left(name, label) + total.rjust(cell + 2) + difference.rjust(more + 2)
        moved = _most_moved(scenario, names)
        if moved:
            yield from item(", ".join(moved), width, "    ")
    if any(Decimal(s.get("reserve") or 0) for s in answer["setups"]):
        yield ""
        yield from item("Below each, its largest differences by line, before the reserve.", width, "")


def _most_moved(scenario: Answer, names: dict[tuple[str, str], str]) -> list[str]:
    setups = scenario["setups"]
    lines = [(s["ref"], x) for s in setups for x in s["lines"] if Decimal(x["difference"])]
    lines.sort(key=lambda line: -abs(Decimal(line[1]["difference"])))
    shown = []
    for setup, x in lines[:SHOWN_LINES]:
        of = f" ({setup})" if len(setups) > 1 else ""
        shown.append(f"{names.get((setup, x['ref']), x['ref'])}{of} {signed(x['difference'])}")
    return shown


def line_names(answer: Answer) -> dict[tuple[str, str], str]:
    """What each line of each setup is called."""
    return {
        (s["ref"], x["ref"]): x.get("name") or x["ref"]
        for s in answer["setups"]
        for x in s.get("lines") or []
    }


def notes(answer: Answer, width: int) -> Iterator[str]:
    """What is unusual, each text once with the setups that it holds for."""
    found: dict[str, list[str]] = {}
    refs = [s["ref"] for s in answer["setups"]]
    for note in answer.get("notes") or []:
        place = re.match(r"#/setups/(\d+)", note["pointer"])
        found.setdefault(note["text"], []).extend([refs[int(place[1])]] if place and len(refs) > 1 else [])
    if not found:
        return
    yield from title("Worth a second look")
    for text, setups in found.items():
        yield from item(f"{', '.join(setups)}: {text}" if setups else text, width)


def near(amount: Decimal | str, places: str = "0.1") -> str:
    """An amount rounded for reading, from a thousand on to whole ones; one that would vanish stays."""
    exact = Decimal(amount)
    rounded = exact.quantize(Decimal(1 if exact >= 1000 else places), ROUND_HALF_UP)
    return str(rounded if rounded or not exact else exact.normalize())


def signed(difference: str) -> str:
    """Money with its sign, so that more and less are told apart at a glance."""
    return f"+{difference}" if Decimal(difference) > 0 else difference


def share_words(share: str) -> str:
    """A part of one in per cent."""
    return f"{near(Decimal(share) * 100, '1')} %"


def _quantity(quantity: Answer, places: str) -> str:
    return f"{near(quantity['amount'], places)} {unit_words(quantity['unit'])}".rstrip()


def _whole(amount: str) -> str:
    """Whole units of money without the digits that say nothing."""
    return str(amount).split(".")[0] if Decimal(amount) == int(Decimal(amount)) else amount


def _sentence(parts: list[str]) -> str:
    text = "; ".join(parts)
    return text[:1].upper() + text[1:] + ("." if text else "")
