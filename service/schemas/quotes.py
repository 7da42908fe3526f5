"""The shapes of quotes: what is asked for, what was frozen, and links to share it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.schemas import limits, patterns
from service.schemas.answer import Costing
from service.schemas.answer_basic import money, words
from service.schemas.basic import a_duration
from service.schemas.costing import CostingRequest
from service.schemas.either import an_id
from service.schemas.fields import Anything, Count, Day, Flag, Text, Word
from service.schemas.kept import a_kept_id, a_moment, list_of
from service.schemas.lists import SearchQuery
from service.schemas.nesting import Items, Names, Obj, Shape
from service.schemas.verdict import compiled

# Forms that a quote is made in, and languages of those that are read by people.
FORMS = ("json", "csv", "html", "pdf", "calendar")
LANGUAGES = ("en-GB", "de", "fr")
# 256 bits: digests, and what opens a link.
DIGEST = "^[0-9a-f]{64}$"
_MOST_NUMBER = 2**31 - 1
_LONG = 2000


class _Request(Obj):
    """A costing request; a good one is passed by the compiled check, which is quick."""

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **kwargs: Any
    ) -> Any:
        if compiled().is_valid(value):
            return value
        return super()._deserialize(value, attr, data, **kwargs)


def _reference(says: str) -> Text:
    plain = f"a text of 1 to {limits.TEXT_CHARS} characters without control characters"
    return Text(says, pattern=patterns.NAMED, longest=limits.TEXT_CHARS, wanted=plain)


def _digest(says: str) -> Text:
    return Text(says, required=True, pattern=DIGEST, longest=64)


def _number() -> Count:
    return Count("Its number; quotes of an account are numbered without gaps.", least=1, most=_MOST_NUMBER,
                 required=True)  # fmt: skip


class NewQuote(Shape):
    """A quote to issue."""

    request = _Request("What is costed; it may name kept things.", CostingRequest, required=True)
    buyer_reference = _reference("How the buyer calls it; search finds it.")
    valid_until = Day("First day on which it no longer holds; default thirty days on.")
    valid_for = a_duration("How long it holds, in place of 'valid_until'.")
    supersedes = an_id("Id of the quote that it takes the place of.")
    note = Text("A note for the shop; it is frozen too, but not in what is shared.", longest=_LONG)


class EngineOfQuote(Shape):
    """What worked it out."""

    version = Text("Version of the program.", required=True, longest=64)
    data_digest = _digest("SHA-256 of the reviewed data: currencies, defaults, usual values, sources.")
    libraries = Names("Versions of the libraries that figures depend on.", words("The version."), most=20,
                      required=True)  # fmt: skip
    policies = Names("How it rounds and what it does with ties.", words("The rule."), most=20, required=True)


class Used(Shape):
    """A kept thing that the request named, and its version on that day."""

    kind = Text("What kind of thing.", required=True, longest=64)
    id = a_kept_id()
    version = Count("Its version.", least=1, most=_MOST_NUMBER, required=True)


class Wording(Shape):
    """What an estimate is, in words that go with it."""

    id = Text("Name of the wording; another wording has another name.", required=True, longest=64)
    text = words("The wording.")


class QuoteDocument(Shape):
    """What was frozen. Its bytes are canonical JSON (RFC 8785), and the digest is taken of them."""

    id = a_kept_id()
    number = _number()
    account = Text("Who issued it.", required=True, longest=limits.TEXT_CHARS)
    buyer_reference = Text("How the buyer calls it.", required=True, nullable=True)
    note = Text("The shop's note.", required=True, nullable=True, longest=_LONG)
    issued_at = a_moment("When it was issued.")
    valid_until = Day("First day on which it no longer holds.", required=True)
    supersedes = a_kept_id("The quote that it took the place of.", nullable=True)
    engine = Obj("What worked it out.", EngineOfQuote, required=True)
    used = Items("Kept things that were used.", Obj("A kept thing.", Used), most=10_000, required=True)
    request = Anything(
        "The costing request with all that it named written out and 'as_of' filled in; numbers with a "
        "fraction are texts.", required=True,
    )  # fmt: skip
    costing = Obj("The costing.", Costing, required=True)
    wording = Obj("What an estimate is.", Wording, required=True)


class Quote(Shape):
    """An issued quote. Only what is said beside the document can change."""

    id = a_kept_id()
    number = _number()
    digest = _digest("SHA-256 of the bytes of 'document' as they stand here.")
    superseded_by = a_kept_id("The quote that took its place; null while there is none.", nullable=True)
    expired = Flag("Whether 'valid_until' has come.", required=True)
    document = Obj("What was frozen.", QuoteDocument, required=True)


class QuoteSummary(Shape):
    """A quote without its document."""

    id = a_kept_id()
    number = _number()
    buyer_reference = Text("How the buyer calls it.", required=True, nullable=True)
    issued_at = a_moment("When it was issued.")
    valid_until = Day("First day on which it no longer holds.", required=True)
    expired = Flag("Whether 'valid_until' has come.", required=True)
    supersedes = a_kept_id("The quote that it took the place of.", nullable=True)
    superseded_by = a_kept_id("The quote that took its place; null while there is none.", nullable=True)
    currency = Text("Currency of the total.", required=True, pattern=patterns.CURRENCY, longest=3)
    total = money("What the household pays in the period.")
    engine_version = Text("Version of the program that worked it out.", required=True, longest=64)
    digest = _digest("SHA-256 of its document.")


QuoteList = list_of("QuoteList", Obj("A quote.", QuoteSummary), "A page of quotes.")


class QuoteQuery(SearchQuery):
    """Which part of the quotes is wanted."""

    q = Text("Words that buyer's reference or number hold as they stand, whatever their case.", longest=100)
    buyer_reference = Text("How the buyer calls it, to the letter.")
    number = Count("Its number.", least=1, most=_MOST_NUMBER)
    issued_from = Day("First day of issue, in UTC.")
    issued_until = Day("Day after the last day of issue, in UTC.")


class QuoteFormQuery(Shape):
    """In which form a quote is wanted, for whoever cannot choose by headers, such as a link."""

    as_ = Word("The form; it wins over 'Accept'.", *FORMS, key="as")
    language = Word("The language of a page, PDF or calendar; it wins over 'Accept-Language'.", *LANGUAGES)


class Recomputed(Shape):
    """A quote that was worked out again and came out the same."""

    digest = _digest("SHA-256 of the document, as issued and as worked out again.")
    same = Flag("Always true; a difference is a problem, not an answer.", required=True)
    engine = Obj("What worked it out this time.", EngineOfQuote, required=True)


class NewLink(Shape):
    """A link to make."""

    expires_in = a_duration("How long it opens; default P30D.")


def _link(**more: Any) -> dict[str, Any]:
    return {
        "id": a_kept_id(),
        "created_at": a_moment("When it was made."),
        "expires_at": a_moment("When it ends."),
        **more,
    }


Link: type[Shape] = type(
    "Link",
    (Shape,),
    _link(
        __doc__="A link that was made. Whoever has its address can read the quote.",
        token=Text("Opens the quote; shown this once.", required=True, pattern=DIGEST, longest=64),
        url=Text("Where to open it, on this service.", required=True, longest=100),
    ),
)
LinkSummary: type[Shape] = type(
    "LinkSummary",
    (Shape,),
    _link(
        __doc__="A link without what opens it.",
        revoked_at=a_moment("When it was taken back.", nullable=True),
    ),
)


class LinkList(Shape):
    """Links of a quote."""

    items = Items("Oldest first.", Obj("A link.", LinkSummary), most=10_000, required=True)


class SharedDocument(Shape):
    """What a buyer sees of a quote: nothing of the shop's own."""

    number = _number()
    account = Text("Who issued it.", required=True, longest=limits.TEXT_CHARS)
    buyer_reference = Text("How the buyer calls it.", required=True, nullable=True)
    issued_at = a_moment("When it was issued.")
    valid_until = Day("First day on which it no longer holds.", required=True)
    costing = Obj("The costing.", Costing, required=True)
    wording = Obj("What an estimate is.", Wording, required=True)


class SharedQuote(Shape):
    """A quote that was shared."""

    expired = Flag("Whether 'valid_until' has come.", required=True)
    superseded = Flag("Whether another took its place.", required=True)
    digest = _digest("SHA-256 of the whole document, which the shop keeps.")
    document = Obj("What a buyer sees of it.", SharedDocument, required=True)
