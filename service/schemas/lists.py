"""The shapes of queries: which part of a list is wanted."""

from __future__ import annotations

from service.schemas import limits
from service.schemas.fields import Count, Text
from service.schemas.nesting import Shape


class NoQuery(Shape):
    """Nothing is asked."""


class ListQuery(Shape):
    """Which part of a list is wanted."""

    limit = Count("Most items on the page; default 20.", least=1, most=limits.PAGE)
    cursor = Text("Where to go on: 'next' of the page before.", longest=400)


class SearchQuery(ListQuery):
    """Which part of a list is wanted, and what to look for in it."""

    q = Text("Words that the name holds as they stand, whatever their case.", longest=100)


class SetupQuery(SearchQuery):
    """Which part of the catalogue is wanted."""

    sku = Text("The shop's own number, whatever its case.", longest=64)
