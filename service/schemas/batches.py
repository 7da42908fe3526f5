"""The shapes of kept batches: what is asked for, by JSON or beside a file, and how far one has come."""

from __future__ import annotations

from typing import Any

from service.schemas import limits, patterns
from service.schemas.batch import BatchSettings
from service.schemas.either import an_id
from service.schemas.fields import Count, Day, Flag, Number, Text, Word
from service.schemas.headers import Once
from service.schemas.kept import a_kept_id, a_moment, list_of
from service.schemas.lists import ListQuery
from service.schemas.nesting import ByKey, ByType, Items, Obj, Shape

STATES = ("waiting", "running", "stopped", "finished", "cancelled", "expired")
CURRENCY_LIST = r"^[A-Z]{3}(?:,[A-Z]{3}){0,7}$"
ID_LIST = r"^[A-Za-z0-9_.-]{1,64}(?:,[A-Za-z0-9_.-]{1,64}){0,19}$"
_MOST = 2**31 - 1


class BySku(Shape):
    """Kept setups by their skus."""

    skus = Items(
        "Skus, whatever their case.",
        Text("A sku.", pattern=patterns.NAMED, longest=64, wanted="a text of 1 to 64 characters"),
        least=1, most=limits.UPLOAD_ROWS, required=True,
    )  # fmt: skip


class ById(Shape):
    """Kept setups by their ids."""

    ids = Items("Ids of setups.", an_id("A kept setup."), least=1, most=limits.UPLOAD_ROWS, required=True)


class ByRoutine(Shape):
    """All kept setups that name a routine."""

    routine = an_id("The kept routine.", required=True)


class NewBatch(BatchSettings):
    """A batch of kept setups."""

    wanted = 'a batch, an object with "setups", "period" and "currency" or "currencies"'
    setups = ByType(
        "Which kept setups are costed.",
        {str: Word("All of them.", "all"),
         dict: ByKey("Some of them.", {"skus": BySku, "ids": ById, "routine": ByRoutine})},
        required=True,
    )  # fmt: skip
    unchanged_since = an_id(
        "A finished batch of the account: setups whose inputs are as they were in it are not costed again."
    )
    nightly = Flag(
        "Whether the batch is made anew each night at 02:17 UTC, for what has changed; DELETE ends that."
    )


class BatchQuery(Shape):
    """What the setups of a file are costed with; a file of NDJSON may say it in its first line instead."""

    currency = Text(
        "Currency of the results, or several parted by commas.", pattern=CURRENCY_LIST, longest=31,
        wanted="one to eight currency codes parted by commas, such as GBP,EUR",
    )  # fmt: skip
    from_ = Day("First day that is costed.", key="from")
    until = Day("Day after the last; default twelve months after the first.")
    as_of = Day("The day whose knowledge is used; default the day of the request.")
    routine = an_id("A kept routine, for setups that do not say their own.")
    electricity = Text(
        "A kept electricity tariff, or several parted by commas: each setup is costed with each.",
        pattern=ID_LIST, longest=1300, wanted="one to twenty ids of tariffs parted by commas",
    )  # fmt: skip
    water = an_id("A kept water tariff.")
    reserve_percent = Number("Share of all other cost that is set aside, in per cent.")
    draws = Text(
        "Draws of the range of each setup, 100 to 100000; without it there is no range.",
        pattern=r"^[1-9][0-9]{2,5}$", longest=6, wanted="a whole number from 100 to 100000",
    )  # fmt: skip
    detail = Word("How much each result tells; default totals.", "totals", "lines", "workings")
    unchanged_since = an_id("A finished batch: setups that are as they were in it are not costed again.")


class BatchListQuery(ListQuery):
    """Which part of the batches is wanted."""

    state = Word("Only those in this state.", *STATES)


class OnceAndPrefer(Once):
    """A request that may be sent again, and may say how long its answer can wait."""

    prefer = Text(
        "`respond-async`, which is done anyway; `wait=N` waits up to N seconds (at most 10) for the end. "
        "Anything else is passed over.",
        key="Prefer", longest=1000, pattern=r"^[\x20-\x7e]*$",
    )  # fmt: skip


class BatchLinks(Shape):
    """Where a batch leads."""

    self_ = Text("The batch.", key="self", required=True, longest=200)
    results = Text("Its results, once it is finished or cancelled.", required=True, longest=200)


def _count(says: str, **more: Any) -> Count:
    more.setdefault("required", True)
    return Count(says, least=0, most=_MOST, **more)


class Batch(Shape):
    """A batch, and how far it has come."""

    id = a_kept_id()
    state = Word(
        "`stopped` goes on by itself; `expired` is what is left once the results are gone.",
        *STATES, required=True,
    )  # fmt: skip
    lines = _count("How many setups came in.")
    costed = _count("How many of them are costed.")
    failed = _count("How many have a fault, which their line of the results tells.")
    unchanged = _count("How many are as they were in `unchanged_since`.")
    rate_per_second = _count("Setups a second so far; null until the first are done.", nullable=True)
    seconds_left = _count("How long the rest takes at this rate; null where it is not known.", nullable=True)
    created_at = a_moment("When it was made.")
    started_at = a_moment("When work began.", nullable=True)
    finished_at = a_moment("When it was finished or cancelled.", nullable=True)
    expires_at = a_moment("When the results are taken away.")
    unchanged_since = a_kept_id("The batch that it was compared with.", nullable=True)
    nightly = Flag("Whether it is made anew each night.", required=True)
    why = Text("Why it is stopped.", required=True, nullable=True, longest=1000)
    digest = Text(
        "SHA-256 of the lines of the results without the last.", required=True, nullable=True,
        pattern="^[0-9a-f]{64}$", longest=64,
    )  # fmt: skip
    links = Obj("Where it leads.", BatchLinks, required=True)


BatchList = list_of("BatchList", Obj("A batch.", Batch), "A page of batches.")

EXAMPLE: dict[str, Any] = {
    "setups": "all",
    "period": {"from": "2027-01-01", "until": "2028-01-01"},
    "currencies": ["GBP", "EUR"],
}
