"""What a quote freezes: the request written out, its costing, and all that is needed to work it out again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib import metadata
from typing import Any

import orjson

from service import __version__
from service.engine.civil import add_months
from service.errors import Fault
from service.parameters.digest import data_digest
from service.quoting.costing import cost
from service.quoting.differences import differences
from service.quoting.origins import Resolved
from service.quoting.sealing import canonical, digest_of, in_plain_types, joined
from service.quoting.values import duration

# The wording that goes with every estimate; a change of it gets another name.
WORDING = "estimate-1"
POLICIES = {
    "rounding": "Cells of a line are differences of its rounded running cost; halves away from zero.",
    "ties": "Largest remainder; of equal remainders the first in the request's order.",
}
LIBRARIES = ("gsw", "numpy", "tzdata")
LAST_DAY = date(2100, 12, 31)


@dataclass(frozen=True, slots=True)
class Terms:
    """What is agreed besides the costing."""

    valid_until: date
    buyer_reference: str | None = None
    note: str | None = None
    supersedes: str | None = None


@dataclass(frozen=True, slots=True)
class Draft:
    """A costed request that lacks only its number, written out already so that issuing is quick."""

    members: dict[str, bytes]
    currency: str
    total: str


@lru_cache(maxsize=1)
def engine() -> dict[str, Any]:
    """What works things out: versions of the program, its reviewed data and the libraries that matter."""
    return {
        "version": __version__,
        "data_digest": data_digest(),
        "libraries": {name: metadata.version(name) for name in LIBRARIES},
        "policies": POLICIES,
    }


def draft(document: Any, today: date, shape_faults: list[Fault], resolved: Resolved, account: str) -> Draft:
    """Cost a request for a quote of an account's. NotComputable with every fault."""
    # A faulty request is only told its faults, and may hold what cannot be written.
    if not shape_faults and not resolved.faults:
        resolved.document = _frozen(resolved.document, today)
    costing = in_plain_types(cost(document, today, shape_faults, resolved))
    used = [{"kind": kind, "id": id_, "version": version} for (kind, id_), version in resolved.used.items()]
    members = {
        "account": account,
        "costing": costing,
        "engine": engine(),
        "request": resolved.document,
        "used": sorted(used, key=lambda one: (str(one["kind"]), str(one["id"]))),
        "wording": {"id": WORDING, "text": costing["notice"]},
    }
    return Draft(
        {name: canonical(value) for name, value in members.items()}, costing["currency"], costing["total"]
    )


def _frozen(request: dict[str, Any], today: date) -> dict[str, Any]:
    """A request as it is frozen, read back, so that its members stand in the order of its text.

    Rates of tax, for one, are answered in the order of their members.
    """
    whole = in_plain_types({"as_of": str(today), **request})
    found: dict[str, Any] = orjson.loads(canonical(whole))
    return found


def sealed(draft: Draft, id_: str, number: int, issued_at: str, terms: Terms) -> tuple[str, str]:
    """The whole frozen document and its digest."""
    head = {
        "id": id_,
        "number": number,
        "issued_at": issued_at,
        "valid_until": str(terms.valid_until),
        "buyer_reference": terms.buyer_reference,
        "note": terms.note,
        "supersedes": terms.supersedes,
    }
    text = joined(draft.members | {name: canonical(value) for name, value in head.items()})
    return text.decode(), digest_of(text)


def costed_again(document: dict[str, Any]) -> dict[str, Any]:
    """The costing of a frozen request by this engine, with nothing from elsewhere."""
    request = document["request"]
    found: dict[str, Any] = in_plain_types(cost(request, date.fromisoformat(request["as_of"])))
    return found


def recomputed(document: dict[str, Any]) -> tuple[bytes, list[dict[str, Any]]]:
    """The frozen document with its costing worked out again, and where that differs.

    Which engine worked it out is left as it was, so that figures alone decide.
    """
    costing = costed_again(document) | {"engine": document["costing"]["engine"]}
    whole = document | {"costing": costing}
    return canonical(whole), differences(document, whole)


def end_of(start: date, text: str) -> date | None:
    """The day that a duration after another leads to; None where that lies too far off."""
    span = duration(text)
    if span is None:
        return None
    try:
        end = (
            add_months(start, span.months) if span.months else date.fromordinal(start.toordinal() + span.days)
        )
    except ValueError:
        return None
    return end if end <= LAST_DAY else None
