"""A request that names kept things to the same request with all of it written out.

The engine knows whole requests only, and a quote freezes the whole request: what a kept thing was
on the day is in it. A fault that is found in what was written out is told at the place of the
request that named it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate
from typing import Any, cast

from service.engine.civil import add_months
from service.errors import Fault, pointer
from service.quoting.reader import Where, obj, seq
from service.quoting.stock import Stock, rows_between
from service.store.kept import Kept

# What a line takes of its product unless it says so itself.
OF_PRODUCT = ("name", "category", "pack", "shelf_life", "portion", "tax_code")
# What the service keeps of a thing besides what a request may say of it.
NOT_ASKED = frozenset({"sku", "public"})
NEEDS_KEY = "names a kept {noun}, which needs an account's key; send a key, or the {noun} itself."
NO_PRICE = "no price for the period"
# Lines and dated prices of one request, written out. A short request may name long things many times.
MOST_WRITTEN = 20_000
# Of the days that requests take; outside of them there is no room to reckon.
YEARS = range(2000, 2101)
UNKNOWN = "must be the id of a {noun} of this account{public} (got '{got}'); GET /v1/{path} lists them."


@dataclass(frozen=True, slots=True)
class Origin:
    """Where something was written out (all of it, or some members), where that was named, and what it is."""

    place: Where
    only: tuple[str, ...]
    named: Where
    what: str

    # Members of it that the request itself filled.
    besides: tuple[str, ...] = ()

    @property
    def places(self) -> list[str]:
        """Where it was written."""
        return [pointer(*self.place, part) for part in self.only] or [pointer(*self.place)]

    def holds(self, fault: Fault) -> bool:
        """Whether a fault in one of its places is of what was written out."""
        return not any(_within(fault, pointer(*self.place, part)) for part in self.besides)


@dataclass(slots=True)
class Resolved:
    """A request written out, what was named in it, and the faults of that."""

    document: Any
    faults: list[Fault] = field(default_factory=list)
    # By where they were written: a request may name thousands of things and have as many faults.
    origins: dict[str, Origin] = field(default_factory=dict)
    # What was used: kind, id and version.
    used: dict[tuple[str, str], int] = field(default_factory=dict)

    def told(self, faults: Iterable[Fault], sent: Iterable[Fault] = ()) -> list[Fault]:
        """Faults of the written-out request, each at its place in the request as it was sent.

        Those in `sent` were found in what was sent and stay where they are.
        """
        known = set(sent)
        return [fault if fault in known else self._told(fault) for fault in faults]

    def _told(self, fault: Fault) -> Fault:
        places = accumulate(fault.pointer.split("/"), "{}/{}".format)
        around = [one for place in places if (one := self.origins.get(place)) and one.holds(fault)]
        if not around:
            return fault
        # What was written out last lies deepest; the outermost is what was sent.
        outermost, deepest = around[0], around[-1]
        rest = fault.pointer[len(pointer(*deepest.place)) :]
        at = f" at {rest}" if rest else ""
        return Fault(pointer(*outermost.named), f"in {deepest.what}{at}: {fault.detail}")


def _within(fault: Fault, place: str) -> bool:
    return (fault.pointer + "/").startswith(place + "/")


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


def resolve(document: Any, today: date, stock: Stock | None) -> Resolved:
    """The request written out; `stock` is None where no key was given."""
    found = Resolved(document)
    if isinstance(document, dict) and names_kept(document):
        _Resolving(found, today, stock).all()
    return found


class _Resolving:
    """One request on its way to being written out; nothing that was sent is changed in place."""

    def __init__(self, found: Resolved, today: date, stock: Stock | None) -> None:
        self.found, self.stock = found, stock
        # Places whose objects and lists are our own copies already.
        self.ours: set[Where] = set()
        self.document = found.document = dict(found.document)
        period = obj(self.document.get("period"))
        start = day_or(period.get("from"), today)
        end = day_or(period.get("until"), add_months(start, 12))
        self.start, self.end = str(start), str(end)

    def all(self) -> None:
        self._setups()
        self._routines()
        self._products()
        self._tariffs()
        # What is too long to be costed is too long to look for currencies in.
        if not too_long(self.document):
            self._rates()

    def _setups(self) -> None:
        rows = seq(self.document.get("setups"))
        wanted = {(i,): row["id"] for i, row in enumerate(rows) if isinstance(obj(row).get("id"), str)}
        if not wanted:
            return
        rows = list(rows)
        self.document["setups"] = rows
        fetch = self.stock.setups if self.stock else None
        for (i,), one in self._fetched(wanted, "setup", "setups", lambda at: ("setups", at[0], "id"), fetch):
            sent = {key: value for key, value in rows[i].items() if key != "id"}
            body = {} if one is None else {k: v for k, v in one.body.items() if k not in NOT_ASKED}
            rows[i] = {"ref": f"setup-{i + 1}", **body, **sent}
            self._came(("setups", i), ("setups", i, "id"), one, "setup", besides=sent)

    def _routines(self) -> None:
        places: dict[Where, str] = {}
        if isinstance(self.document.get("routine"), str):
            places[()] = self.document["routine"]
        for i, setup in enumerate(seq(self.document.get("setups"))):
            if isinstance(obj(setup).get("routine"), str):
                places["setups", i] = setup["routine"]
        if not places:
            return
        fetch = self.stock.routines if self.stock else None
        for at, one in self._fetched(places, "routine", "routines", lambda at: (*at, "routine"), fetch):
            holder = self._own(at)
            if one is None:
                del holder["routine"]
                continue
            holder["routine"] = {k: v for k, v in one.body.items() if k not in NOT_ASKED}
            self._came((*at, "routine"), (*at, "routine"), one, "routine")

    def _products(self) -> None:
        places = {at: line["product"] for at, line in lines_of(self.document)
                  if isinstance(line.get("product"), str)}  # fmt: skip
        if not places:
            return
        rows: dict[str, list[dict[str, Any]]] = {}

        def fetch(ids: Iterable[str]) -> dict[str, Kept]:
            found = self.stock.products(ids) if self.stock else {}
            rows.update((id_, rows_between(dated, self.start, self.end)) for id_, (_, dated) in found.items())
            return {id_: one for id_, (one, _) in found.items()}

        fetched = self._fetched(
            places, "product", "products", lambda at: (*at, "product"), fetch if self.stock else None
        )
        for at, one in fetched:
            line = self._own(at)
            del line["product"]
            if one is None:
                continue
            taken = {key: one.body[key] for key in OF_PRODUCT if key in one.body and key not in line}
            line |= taken | {"prices": rows[one.id]}
            self._came(at, (*at, "product"), one, "product", only=(*taken, "prices"))
            if not rows[one.id]:
                del line["prices"]
                self._fault(
                    (*at, "product"),
                    f"the product '{one.name}' has {NO_PRICE}{self._known()}; "
                    f"add one with POST /v1/products/{one.id}/prices.",
                )

    def _tariffs(self) -> None:
        tariffs = obj(self.document.get("tariffs"))
        places: dict[Where, str] = {
            (kind,): obj(tariff)["ref"]
            for kind, tariff in tariffs.items()
            if isinstance(obj(tariff).get("ref"), str)
        }
        if not places:
            return
        rows: dict[str, list[dict[str, Any]]] = {}

        def fetch(ids: Iterable[str]) -> dict[str, Kept]:
            found = self.stock.tariffs(ids) if self.stock else {}
            rows.update((id_, rows_between(dated, self.start, self.end)) for id_, (_, dated) in found.items())
            return {id_: one for id_, (one, _) in found.items()}

        tariffs = self.document["tariffs"] = dict(tariffs)
        fetched = self._fetched(
            places, "tariff", "tariffs", lambda at: ("tariffs", at[0], "ref"), fetch if self.stock else None
        )
        for (kind,), one in fetched:
            del tariffs[str(kind)]
            if one is None:
                continue
            place: Where = ("tariffs", kind, "ref")
            if one.body.get("kind") != kind:
                self._fault(place, f"'{one.name}' is a tariff of {one.body.get('kind')}; name one of {kind}.")
            elif not rows[one.id]:
                self._fault(place, f"the tariff '{one.name}' has no version for the period{self._known()}; "
                            f"add one with POST /v1/tariffs/{one.id}/versions.")  # fmt: skip
            else:
                body = {k: v for k, v in one.body.items() if k not in ("public", "kind", "name")}
                tariffs[str(kind)] = body | {"versions": rows[one.id]}
                self._came(("tariffs", kind), place, one, "tariff")

    def _known(self) -> str:
        """That what became known later does not count, where the request looks back."""
        if self.stock is None or "as_of" not in self.document:
            return ""
        return f" that was known on {self.stock.as_of}"

    def _rates(self) -> None:
        currencies = foreign(self.document)
        if not currencies or self.stock is None:
            return
        sent = seq(self.document.get("exchange_rates"))
        ends_sent = ((obj(row).get("from"), obj(row).get("to")) for row in sent)
        pairs = {frozenset(pair) for pair in ends_sent if all(isinstance(code, str) for code in pair)}
        ends = {*currencies, self.document["currency"]}
        found = self.stock.rates(ends, stale=self.document.get("allow_stale_rates") is True)
        if not found and not sent:
            # Nothing leads anywhere; with the old ones the fault can say how old they are.
            found = self.stock.rates(ends, stale=True)
        kept = [
            {"from": rate.from_currency, "to": rate.to_currency, "rate": rate.rate, "on": rate.on_day}
            | ({"source": rate.source} if rate.source else {})
            for rate in found
            if frozenset((rate.from_currency, rate.to_currency)) not in pairs
        ]
        # Only what can lead from a currency in use to the costing's: directly or through one between.
        between = [{r["from"], r["to"]} - ends for r in kept] + [pair - ends for pair in pairs]
        bridges = {c for c in set().union(*between) if sum(c in b for b in between) > 1}
        used = [r for r in kept if {str(r["from"]), str(r["to"])} <= ends | bridges]
        if used:
            self.document["exchange_rates"] = [*sent, *used]

    def _fetched(
        self, places: dict[Any, str], noun: str, path: str, where: Callable[[Any], Where],
        fetch: Callable[[Iterable[str]], dict[str, Kept]] | None,
    ) -> Iterator[tuple[Any, Kept | None]]:  # fmt: skip
        """What is kept at each place that names something; a fault and None where there is none."""
        found = fetch(places.values()) if fetch else {}
        for at, id_ in places.items():
            one = found.get(id_)
            place = where(at)
            if fetch is None:
                self._fault(place, f"'{place[-1]}' " + NEEDS_KEY.format(noun=noun))
            elif one is None:
                public = " that is public" if self.stock and self.stock.public else ""
                self._fault(
                    place,
                    f"'{place[-1]}' " + UNKNOWN.format(noun=noun, public=public, got=id_, path=path),
                )
            else:
                self.found.used[path, id_] = one.version
            yield at, one

    def _own(self, at: Where) -> dict[str, Any]:
        """The object at a place, with every container on the way made our own first."""
        node: Any = self.document
        for depth, key in enumerate(at, 1):
            if at[:depth] not in self.ours:
                node[key] = node[key].copy()
                self.ours.add(at[:depth])
            node = node[key]
        return cast(dict[str, Any], node)

    def _came(
        self, place: Where, named: Where, one: Kept | None, noun: str, only: Iterable[str] = (),
        besides: Iterable[str] = (),
    ) -> None:  # fmt: skip
        if one is None:
            return
        came = Origin(place, tuple(only), named, f"the kept {noun} '{one.name}'", tuple(besides))
        self.found.origins |= dict.fromkeys(came.places, came)

    def _fault(self, where: Where, detail: str) -> None:
        # What is wrong in what was written out is told where that was named.
        self.found.faults += self.found.told([Fault(pointer(*where), detail)])


def day_or(value: Any, other: date) -> date:
    """The day that a text names, and another where it names none that a request may hold."""
    try:
        found = date.fromisoformat(value) if isinstance(value, str) else other
    except ValueError:
        return other
    return found if found.year in YEARS else other


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
