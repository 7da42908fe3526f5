"""What all rows of a batch are costed with: settings checked once, and read once by every worker."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import Any

import orjson

from service.errors import Fault, NotComputable, pointer
from service.quoting.issuing import engine
from service.quoting.reader import Reader, obj, seq
from service.quoting.request import Reading, read_request
from service.quoting.routine import Routine, read_routine
from service.quoting.sealing import in_plain_types
from service.schemas import limits
from service.schemas.batch import BatchSettings
from service.schemas.compiled import shape_faults

# Members of the settings that a costing request has under the same name.
_SAME = (
    "period", "routine", "exchange_rates", "allow_stale_rates", "tax", "reserve", "range",
)  # fmt: skip
# A setup about which nothing can be wrong, to find what is wrong with the settings alone.
PROBE = {"ref": "probe"}
# What a setup is numbered or who may see it does not decide what it costs.
HEAD = ("sku", "public")


@dataclass(frozen=True, slots=True)
class View:
    """One way in which every row is costed: a costing request without its setups."""

    currency: str
    tariffs: str | None
    request: dict[str, Any]
    # Where its currency and its tariffs stand in the settings.
    places: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """Settings as they are frozen, and the views that they ask for."""

    document: dict[str, Any]
    as_of: date
    views: tuple[View, ...] = field(compare=False)
    digest: str
    # The rules for rows without their own, read once; None where there are none or they have faults.
    routine: Routine | None = field(compare=False, default=None)

    @property
    def detail(self) -> str:
        return str(self.document.get("detail", "totals"))

    def read(self, view: View, setup: dict[str, Any]) -> Reading:
        """A row of known shape as a request of one setup. NotComputable with every fault."""
        asked = {key: value for key, value in setup.items() if key not in HEAD}
        return read_request({**view.request, "setups": [asked]}, self.as_of, routine=self.routine)

    def text(self) -> str:
        """The settings as text; `plan_of_text` makes the same plan of it anywhere."""
        return orjson.dumps(self.document).decode()


def plan_of(settings: Any, today: date) -> Plan:
    """The plan that settings ask for, with everything named written out. NotComputable with every fault."""
    faults = shape_faults(settings, BatchSettings)
    if faults:
        raise NotComputable(faults)
    document = in_plain_types({"as_of": str(today), **settings})
    plan = _plan(document)
    if len(plan.views) > limits.BATCH_VIEWS:
        raise NotComputable([Fault("#", f"currencies times tariff sets must be at most {limits.BATCH_VIEWS} "
                                        f"(got {len(plan.views)}); make several batches.")])  # fmt: skip
    found = list(dict.fromkeys([*_same_names(document), *_faults(plan)]))
    if found:
        raise NotComputable(found)
    return plan


@lru_cache(maxsize=8)
def plan_of_text(text: str) -> Plan:
    """The plan of frozen settings."""
    return _plan(orjson.loads(text))


def _plan(document: dict[str, Any]) -> Plan:
    base = {key: document[key] for key in _SAME if key in document}
    base["as_of"] = document["as_of"]
    base["detail"] = document.get("detail", "totals")
    views = []
    for currency, currency_place in _currencies(document):
        for tariffs, name, place in _tariff_sets(document):
            request = {**base, "currency": currency} | ({"tariffs": tariffs} if tariffs else {})
            views.append(
                View(currency, name, request, (("#/currency", currency_place), ("#/tariffs", place)))
            )
    decides = {key: value for key, value in document.items() if key != "as_of"}
    if document.get("exchange_rates"):
        # How old a rate is depends on the day.
        decides["as_of"] = document["as_of"]
    text = orjson.dumps([decides, engine()], option=orjson.OPT_SORT_KEYS)
    digest = hashlib.sha256(text).hexdigest()
    return Plan(document, date.fromisoformat(document["as_of"]), tuple(views), digest, _routine(document))


def _routine(document: dict[str, Any]) -> Routine | None:
    reader = Reader()
    first = date.fromisoformat(document["period"]["from"])
    found = read_routine(reader, document.get("routine"), ("routine",), first)
    # Faults are told by the requests that have it.
    return None if reader.faults else found


def _currencies(document: dict[str, Any]) -> Iterator[tuple[str, str]]:
    if "currency" in document:
        yield document["currency"], "#/currency"
    for i, code in enumerate(seq(document.get("currencies"))):
        yield code, pointer("currencies", i)


def _tariff_sets(document: dict[str, Any]) -> Iterator[tuple[dict[str, Any] | None, str | None, str]]:
    sets = seq(document.get("tariff_sets"))
    for i, one in enumerate(sets):
        yield {k: v for k, v in one.items() if k != "ref"}, one["ref"], pointer("tariff_sets", i)
    if not sets:
        yield document.get("tariffs"), None, "#/tariffs"


def _same_names(document: dict[str, Any]) -> Iterator[Fault]:
    if "tariffs" in document and "tariff_sets" in document:
        yield Fault("#/tariffs", "'tariffs' must not stand beside 'tariff_sets'; make it one of the sets.")
    for key, values in (
        ("currencies", seq(document.get("currencies"))),
        ("tariff_sets", [obj(one).get("ref") for one in seq(document.get("tariff_sets"))]),
    ):
        for i, value in enumerate(values):
            if value in values[:i]:
                yield Fault(pointer(key, i), f"'{value}' stands in '{key}' twice; keep one.")


def _faults(plan: Plan) -> Iterator[Fault]:
    """Faults of meaning of the settings, which hang on no row."""
    for view in plan.views:
        try:
            plan.read(view, PROBE)
        except NotComputable as error:
            for fault in error.faults:
                if not fault.pointer.startswith("#/setups"):
                    yield Fault(settings_place(view, fault.pointer), fault.detail)


def settings_place(view: View, place: str) -> str:
    """Where in the settings a member of a view's request stands."""
    for head, there in view.places:
        if place == head or place.startswith(head + "/"):
            return there + place[len(head) :]
    return place
