"""The shapes of API keys."""

from __future__ import annotations

from service.schemas import patterns
from service.schemas.fields import Day, Text, Word
from service.schemas.kept import a_kept_id, a_moment, list_of
from service.schemas.nesting import Items, Obj, Shape, Tagged

ORIGINS = 50
AN_ORIGIN = (
    "an origin such as https://shop.example, in lower case, without a path or the usual port, names of other "
    "scripts as xn--, http for localhost and 127.0.0.1 only"
)


def _name() -> Text:
    return Text("What it is for.", required=True, pattern=patterns.NAMED,
                wanted="a name of 1 to 200 characters without control characters")  # fmt: skip


def an_origin() -> Text:
    """Where pages come from, as browsers say it."""
    return Text("An origin.", pattern=patterns.ORIGIN, longest=270, wanted=AN_ORIGIN)


def _origins(least: int, says: str) -> Items:
    return Items(says, an_origin(), least=least, most=ORIGINS, required=True)


class NewSecretKey(Shape):
    """A key that may do all within the account; it belongs on a server, never in a page."""

    kind = Word("Which kind.", "secret", required=True)
    name = _name()


class NewPublishableKey(Shape):
    """A key that may stand in a page: it costs requests and reads what is public, from its origins."""

    kind = Word("Which kind.", "publishable", required=True)
    name = _name()
    origins = _origins(1, "From which pages it may be used.")


def a_new_key() -> Tagged:
    """A key to make, told apart by its kind."""
    return Tagged("A key.", "kind", {"secret": NewSecretKey, "publishable": NewPublishableKey})


class ApiKey(Shape):
    """A key, without what opens anything."""

    id = a_kept_id()
    kind = Word("Which kind.", "secret", "publishable", required=True)
    name = _name()
    shown_as = Text("How the key begins.", required=True)
    origins = _origins(0, "From which pages it may be used; none for a secret key.")
    created_at = a_moment("When it was made.")
    last_used_on = Day("The last day, in UTC, on which it was used.", required=True, nullable=True)
    revoked_at = a_moment("When it was ended; null for a live one.", nullable=True)


class MadeKey(ApiKey):
    """A new key, whole. It is not kept and cannot be shown again."""

    key = Text("What to send as 'Authorization: Bearer <key>'.", required=True)


KeyList = list_of("KeyList", Obj("A key.", ApiKey), "A page of keys, live and ended ones.")
