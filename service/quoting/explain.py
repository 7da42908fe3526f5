"""What stands beside the figures: assumptions, rates and the notice."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from service.parameters.defaults import defaults
from service.parameters.usual import Usual
from service.quoting.devices import EVEN
from service.quoting.reader import obj, seq
from service.quoting.request import Reading
from service.quoting.values import written

NOTICE = (
    "This is an estimate of running costs, not an offer. It is worked out from the equipment, habits, "
    "prices and tariffs given, as they were stated or known on {as_of}. {taxes} Real costs depend on actual "
    "use, room conditions, price changes and your supplier's terms, and may be higher or lower. Charges that "
    "are paid with or without a tank, such as standing charges, are {standing}."
)


def assumptions(reading: Reading, dosed: Sequence[list[str]] = ()) -> list[dict[str, Any]]:
    """What was taken for granted, each with why it matters; dosed are the defaults of each setup's doses."""
    found: list[dict[str, Any]] = []

    def add(about: str, value: str, source: str) -> None:
        found.append({"about": about, "value": value, "low": None, "high": None, "source": source})

    document, tariffs = reading.document, obj(reading.document.get("tariffs"))
    if "until" not in obj(document.get("period")):
        add("period.until", "twelve months", "default")
    if not tariffs.get("electricity"):
        add("tariffs.electricity", "no tariff was given, so electricity is not charged", "request")
    elif reading.electricity.zone is None:
        add(
            "tariffs.electricity.time_zone", "every day has 24 hours, since no time zone was given", "default"
        )
    if not tariffs.get("water"):
        add("tariffs.water", "no tariff was given, so water and sewerage are not charged", "request")
    banded = any(v.get("bands") for v in reading.electricity.versions)
    for s, model in enumerate(reading.setups.models):
        about = f"setups.{reading.setups.refs[s]}"
        for name, value in model.assumed:
            add(f"{about}.{name}", value, "default")
        for device in reading.setups.devices if banded else ():
            if device.setup == s and device.shape == EVEN:
                add(
                    f"{about}.devices.{device.ref}.on",
                    "its hours lie evenly over the whole day, since no times were given",
                    "default",
                )
        if banded and (model.heated or model.cooled):
            add(f"{about}.heating", "heating and cooling lie evenly over the whole day", "default")
        if "electricity" in model.readings:
            for meter in seq(obj(seq(document["setups"])[s]).get("measured")):
                if meter.get("what") == "electricity":
                    add(
                        f"{about}.measured",
                        f"electricity as read from {meter['from']} to {meter['until']} stands for every day",
                        "rule 8",
                    )
    found += default_assumptions(reading, dosed)
    for version in seq(obj(tariffs.get("electricity")).get("versions")):
        stated = version.get("other_use", obj(tariffs.get("electricity")).get("other_use"))
        if version.get("blocks") is not None and stated is None:
            add("tariffs.electricity.other_use", "the household uses no other electricity", "default")
    for version in seq(obj(tariffs.get("water")).get("versions")):
        if version.get("returned") is None and version.get("sewerage_per_m3") is not None:
            add("tariffs.water.returned", "all water supplied goes to the sewer", "default")
    if document.get("allow_stale_rates") is True:
        for code, conversion in sorted(reading.purse.conversions.items()):
            add(f"exchange_rates.{code}", f"the rate of {conversion.oldest} may be old", "request")
    if reading.labels:
        last = max(
            (row["from"] for label in reading.labels for _, _, row in label.prices if row.get("from")),
            default=None,
        )
        add(
            "prices",
            "the last price known stays in force until the end of the period"
            + (f" (the latest begins on {last})" if last else ""),
            "rule 4",
        )
    return found


def default_assumptions(reading: Reading, dosed: Sequence[list[str]]) -> list[dict[str, Any]]:
    """Each reviewed default that was taken, once, with the setups that it was taken for."""
    taken: dict[str, list[str]] = {}
    for s, (ref, model) in enumerate(zip(reading.setups.refs, reading.setups.models, strict=True)):
        for key in dict.fromkeys([*model.used, *(dosed[s] if dosed else ())]):
            taken.setdefault(key, []).append(ref)
    found = []
    for key, refs in taken.items():
        default = defaults()[key]
        found.append(
            {
                "about": key,
                "value": _told(default.value_text),
                "low": _told(default.low_text),
                "high": _told(default.high_text),
                "unit": default.unit,
                "source": default.source,
                "setups": refs,
            }
        )
    for label in reading.labels:
        usual = label.usual
        if usual is None:
            continue
        low, typical, high = usual_texts(usual)
        found.append(
            {
                "about": f"usual.{usual.key}",
                "value": typical,
                "low": low,
                "high": high,
                "unit": usual.unit or "d",
                "source": usual.source,
                "setups": [label.ref],
            }
        )
    return found


def usual_texts(usual: Usual) -> tuple[str, str, str]:
    """Low, typical and high of a usual value."""
    if usual.lasts is not None:
        return usual.lasts.low, usual.lasts.typical, usual.lasts.high
    amount = usual.amount
    return (amount.low_text, amount.typical_text, amount.high_text) if amount else ("", "", "")


def _told(text: str | tuple[str, ...]) -> str:
    return text if isinstance(text, str) else ", ".join(text)


def rates_used(reading: Reading) -> list[dict[str, Any]]:
    """The exchange rates that the figures rest on."""
    rates = {rate for found in reading.purse.conversions.values() for rate in found.rates}
    return [
        {
            "from": rate.source,
            "to": rate.target,
            "rate": _as_stated(reading, rate),
            "on": str(rate.on),
            "source": rate.origin,
        }
        for rate in sorted(rates, key=lambda rate: (rate.source, rate.target, rate.on))
    ]


def _as_stated(reading: Reading, rate: Any) -> str:
    for row in seq(reading.document.get("exchange_rates")):
        if (row["from"], row["to"], row["on"]) == (rate.source, rate.target, str(rate.on)):
            return str(row["rate"])
    return written(rate.rate)


def notice(reading: Reading) -> str:
    """The neutral wording that goes with every estimate. Source: consumer-display."""
    if not reading.purse.taxed:
        taxes = "Amounts are as the prices were entered, with or without tax."
    elif reading.purse.basis == "gross":
        taxes = "Amounts include the taxes shown."
    else:
        taxes = "Amounts are before tax; the taxes are shown apart."
    charges = reading.electricity.standing or (reading.water and reading.water.standing)
    return NOTICE.format(
        as_of=reading.as_of,
        taxes=taxes,
        standing="shown apart and not included" if charges else "not included",
    )
