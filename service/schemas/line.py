"""The shapes of lines: how much is used, how it is bought, how it is shared."""

from __future__ import annotations

from service.engine.drivers import NAMES as DRIVERS
from service.engine.supply import CATEGORIES
from service.schemas import limits, patterns
from service.schemas.basic import DatedPrice, Price, Quantity, a_duration, a_ref, a_tax_code
from service.schemas.either import an_id
from service.schemas.fields import Number, Text, Word
from service.schemas.nesting import Items, Names, Obj, Shape, Tagged


class Rate(Shape):
    """An amount in every so much time."""

    kind = Word("How use is stated.", "rate", required=True)
    amount = Obj("Amount that is used each time.", Quantity, required=True)
    every = a_duration("Time from one use to the next.", required=True)


class Life(Shape):
    """One pack in every so much time."""

    kind = Word("How use is stated.", "life", required=True)
    lasts = a_duration("How long one pack lasts.", required=True)


class Follows(Shape):
    """An amount for every so much of a driver."""

    kind = Word("How use is stated.", "follows", required=True)
    driver = Word("What it follows; see /v1/drivers.", *DRIVERS, required=True)
    amount = Obj("Amount that is used for each 'per' of the driver.", Quantity, required=True)
    per = Obj("Amount of the driver.", Quantity, required=True)


USAGES: dict[str, type[Shape]] = {"rate": Rate, "life": Life, "follows": Follows}


class Line(Shape):
    """One thing that is used up or worn out."""

    wanted = "a line, an object with 'ref', 'category', 'usage', 'pack' and a price"
    exactly_one = (("price", "prices", "product"), ("usage", "usual"), ("pack", "product"))
    at_least_one = (("category", "product"),)
    ref = a_ref("Name of the line.")
    name = Text("Name for people; default that of the product, else the ref.")
    category = Word("What kind of cost it is; see /v1/categories. Default that of the product.", *CATEGORIES)
    product = an_id("A kept product, for its pack, prices and what else the line does not say.")
    usage = Tagged("How much is used.", "kind", USAGES)
    usual = Text(
        "What is usual for such a thing, in place of 'usage'; see /v1/parameters.",
        pattern=patterns.REF,
        longest=64,
        wanted='the name of a usual value such as "membrane"',
    )
    pack = Obj("What one pack holds.", Quantity)
    price = Obj("Price of one pack, the same all the period long.", Price)
    prices = Items(
        "Dated prices of one pack.", Obj("A dated price.", DatedPrice), least=1, most=limits.PRICES
    )
    shelf_life = a_duration("How long a pack keeps once it is opened.")
    portion = Obj("Amount taken at once; what is left of a pack below one portion is thrown away.", Quantity)
    tax_code = a_tax_code()


class ShareEqual(Shape):
    """The same for every setup."""

    by = Word("How the cost is shared.", "equal", required=True)


class ShareFixed(Shape):
    """By stated parts."""

    by = Word("How the cost is shared.", "fixed", required=True)
    parts = Names(
        "Part of each setup by its ref; a setup that is not named has none.",
        Number("The part.", pattern=patterns.PART, wanted='a part such as "2", "0.5" or "1/3"'),
        most=limits.SETUPS,
        required=True,
    )


class ShareDriver(Shape):
    """In proportion to a driver of each setup."""

    by = Word("How the cost is shared.", "driver", required=True)
    driver = Word("The driver; see /v1/drivers.", *DRIVERS, required=True)


class ShareStandalone(Shape):
    """Each setup shown what it would pay alone."""

    by = Word("How the cost is shared.", "standalone", required=True)


class ShareAdded(Shape):
    """What each setup adds, averaged over every order of joining."""

    by = Word("How the cost is shared.", "added", required=True)


SHARES: dict[str, type[Shape]] = {
    "equal": ShareEqual,
    "fixed": ShareFixed,
    "driver": ShareDriver,
    "standalone": ShareStandalone,
    "added": ShareAdded,
}


class SharedLine(Line):
    """A line that several setups have in common."""

    wanted = "a shared line, an object with 'ref', 'category', 'usage', 'pack', a price and 'share'"
    share = Tagged("How the setups share its cost.", "by", SHARES, required=True)
