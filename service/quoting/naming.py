"""What a request names instead of writing it out, and how long it is once it is written out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.errors import Fault, pointer
from service.quoting.reader import Where, obj, seq

# Lines and dated prices of one request, written out. A short request may name long things many times.
MOST_WRITTEN = 20_000


def names_kept(document: Any) -> bool:
    """Whether a request names anything that is kept, or may need kept exchange rates."""
    whole = obj(document)
    if isinstance(whole.get("routine"), str):
        return True
    setups = [obj(setup) for setup in seq(whole.get("setups"))]
    if any("id" in setup or isinstance(setup.get("routine"), str) for setup in setups):
        return True
    if any("ref" in obj(tariff) for tariff in obj(whole.get("tariffs")).values()):
        return True
    if any("product" in line for _, line in lines_of(whole)):
        return True
    return bool(foreign(whole))


def lines_of(document: dict[str, Any]) -> Iterator[tuple[Where, dict[str, Any]]]:
    """Every line of a request and its place: of setups, shared, and of rules."""
    for i, setup in enumerate(seq(document.get("setups"))):
        for j, line in enumerate(seq(obj(setup).get("lines"))):
            yield ("setups", i, "lines", j), obj(line)
        yield from _lines_of_rules(obj(setup).get("routine"), ("setups", i, "routine"))
    for j, line in enumerate(seq(document.get("shared_lines"))):
        yield ("shared_lines", j), obj(line)
    yield from _lines_of_rules(document.get("routine"), ("routine",))


def _lines_of_rules(routine: Any, at: Where) -> Iterator[tuple[Where, dict[str, Any]]]:
    for k, rule in enumerate(seq(obj(routine).get("rules"))):
        for j, line in enumerate(seq(obj(rule).get("add"))):
            yield (*at, "rules", k, "add", j), obj(line)
        for j, change in enumerate(seq(obj(rule).get("change"))):
            if "replace" in obj(change):
                yield (*at, "rules", k, "change", j, "replace"), obj(obj(change)["replace"])


def too_long(document: Any) -> list[Fault]:
    """A fault where a request, written out, has more in it than is costed at once."""
    whole = obj(document)
    setups = len(seq(whole.get("setups")))
    written = 0
    for where, line in lines_of(whole):
        # Rules for all setups give their lines to each.
        times = setups if where[0] == "routine" else 1
        written += times * (1 + len(seq(line.get("prices"))))
    if written <= MOST_WRITTEN:
        return []
    return [Fault(
        pointer("setups"),
        f"the lines and dated prices, with all that is named written out, must be at most {MOST_WRITTEN} "
        f"(got {written}); send fewer setups or a shorter period.",
    )]  # fmt: skip


def foreign(document: dict[str, Any]) -> set[str]:
    """Currencies of prices and tariffs other than that of the costing."""
    target = document.get("currency")
    if not isinstance(target, str):
        return set()
    prices = [
        obj(price).get("currency")
        for _, line in lines_of(document)
        for price in (line.get("price"), *seq(line.get("prices")))
    ]
    prices += [obj(tariff).get("currency") for tariff in obj(document.get("tariffs")).values()]
    return {code for code in prices if isinstance(code, str) and code != target}
