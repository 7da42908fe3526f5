"""A request that names kept things to the same request with all of it written out.

The engine knows whole requests only, and a quote freezes the whole request: what a kept thing was
on the day is in it. A fault that is found in what was written out is told at the place of the
request that named it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Any, cast

from service.engine.civil import add_months
from service.errors import Fault, pointer
from service.quoting.naming import foreign, lines_of, names_kept, too_long
from service.quoting.origins import Origin, Resolved
from service.quoting.reader import Where, obj, seq
from service.quoting.stock import Stock, rows_between
from service.store.dated import Dated
from service.store.kept import Kept

# What a line takes of its product unless it says so itself.
OF_PRODUCT = ("name", "category", "pack", "shelf_life", "portion", "tax_code")
# What the service keeps of a thing besides what a request may say of it.
NOT_ASKED = frozenset({"sku", "public"})
NEEDS_KEY = "names a kept {noun}, which needs an account's key; send a key, or the {noun} itself."
NO_PRICE = "no price for the period"
# Of the days that requests take; outside of them there is no room to reckon.
YEARS = range(2000, 2101)
Fetch = Callable[[Iterable[str]], dict[str, Kept]]
UNKNOWN = "must be the id of a {noun} of this account{public} (got '{got}'); GET /v1/{path} lists them."


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
        fetch, rows = self._with_rows(self.stock.products if self.stock else None)
        for at, one in self._fetched(places, "product", "products", lambda at: (*at, "product"), fetch):
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
            ("tariffs", kind): obj(tariff)["ref"]
            for kind, tariff in tariffs.items()
            if isinstance(obj(tariff).get("ref"), str)
        }
        if not places:
            return
        tariffs = self.document["tariffs"] = dict(tariffs)
        fetch, rows = self._with_rows(self.stock.tariffs if self.stock else None)
        for (_, kind), one in self._fetched(places, "tariff", "tariffs", lambda at: (*at, "ref"), fetch):
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

    def _with_rows(
        self, ask: Callable[[Iterable[str]], dict[str, tuple[Kept, list[Dated]]]] | None
    ) -> tuple[Fetch | None, dict[str, list[dict[str, Any]]]]:
        """What fetches things that have dated rows, and the rows of the period by id once it has."""
        rows: dict[str, list[dict[str, Any]]] = {}

        def fetch(ids: Iterable[str]) -> dict[str, Kept]:
            found = ask(ids) if ask else {}
            rows.update((id_, rows_between(dated, self.start, self.end)) for id_, (_, dated) in found.items())
            return {id_: one for id_, (one, _) in found.items()}

        return (fetch if ask else None), rows

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
        fetch: Fetch | None,
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
        self.found.origins.append(came)

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
