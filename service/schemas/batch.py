"""The shapes of batches: what all rows of one are costed with, and a row."""

from __future__ import annotations

from service.schemas import limits
from service.schemas.basic import Quantity, a_currency, a_ref
from service.schemas.costing import ExchangeRate, Period, Range, Tax
from service.schemas.fields import Day, Flag, Word
from service.schemas.kept import KeptSetup
from service.schemas.nesting import Items, Obj, Shape
from service.schemas.routine import a_routine
from service.schemas.tariff import Tariffs


class TariffSet(Tariffs):
    """Tariffs that every setup is costed with, by a name."""

    ref = a_ref("Name of these tariffs, for the results.")


class BatchSettings(Shape):
    """What all setups of a batch are costed with; each is costed in every currency with every tariff set."""

    exactly_one = (("currency", "currencies"),)
    wanted = 'settings, an object with "period" and "currency" or "currencies"'
    period = Obj("The days that are costed.", Period, required=True)
    currency = a_currency("Currency of the results, an ISO 4217 code.", required=False)
    currencies = Items(
        "Currencies of the results; each setup is costed in each.", a_currency("A currency."),
        least=1, most=limits.BATCH_CURRENCIES,
    )  # fmt: skip
    as_of = Day("The day whose knowledge is used; default the day of the request.")
    routine = a_routine("Rules that add and change lines of every setup that does not say its own.")
    tariffs = Obj("What electricity and water cost.", Tariffs)
    tariff_sets = Items(
        "Several of them; each setup is costed with each.", Obj("A set.", TariffSet),
        least=1, most=limits.BATCH_TARIFF_SETS,
    )  # fmt: skip
    exchange_rates = Items("Dated exchange rates.", Obj("A rate.", ExchangeRate), most=limits.EXCHANGE_RATES)
    allow_stale_rates = Flag("Whether a rate older than seven days before 'as_of' may be used.")
    tax = Obj("How tax is counted; without it prices are taken as entered.", Tax)
    reserve = Obj("Share of all other cost that is set aside.", Quantity)
    range = Obj("How the range of each setup is found; without it there is none, which is far faster.", Range)
    detail = Word("How much each result tells; default totals.", "totals", "lines", "workings")


class BatchRow(KeptSetup):
    """One setup of a batch."""

    ref = a_ref("Name of the setup; default 'line-' and its line.", required=False)
