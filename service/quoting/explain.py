"""What stands beside the figures: assumptions, cautions, facts, rates and the notice."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from service.engine import money
from service.engine.money import rounded_fraction
from service.quoting.reader import obj, seq
from service.quoting.request import Reading
from service.quoting.setups import EVEN
from service.quoting.values import written

DEFER = (
    "General information, not a design or a safety assessment: follow local codes and the instructions "
    "supplied with the equipment, and use licensed practitioners where required."
)
NOTICE = (
    "This is an estimate of running costs, not an offer. It is worked out from the equipment, habits, "
    "prices and tariffs given, as they were stated or known on {as_of}. {taxes} Real costs depend on actual "
    "use, room conditions, price changes and your supplier's terms, and may be higher or lower. Charges that "
    "are paid with or without a tank, such as standing charges, are {standing}."
)
# Parts of a setup that are accepted and will count once the models for them are there.
NOT_YET = (
    ("heating", "electricity for heating"),
    ("cooling", "electricity for cooling"),
    ("salinity", "salt for the stated salinity"),
)


def facts(net_l: Fraction | None) -> dict[str, Any]:
    """Facts of a setup that follow from its inputs."""
    if net_l is None:
        return {}
    return {"net_volume": {"amount": money.text(rounded_fraction(net_l * 1000), 3), "unit": "L"}}


def assumptions(reading: Reading) -> list[dict[str, Any]]:
    """What was taken for granted, each with why it matters."""
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
    for s, setup in enumerate(seq(document.get("setups"))):
        about = f"setups.{reading.setups.refs[s]}"
        for key, what in NOT_YET:
            node = setup.get(key)
            if node is not None and obj(node).get("mode") != "none":
                add(
                    f"{about}.{key}",
                    f"{what} is not estimated by this version and not in the figures",
                    "limits",
                )
        if setup.get("vessel") is not None:
            add(f"{about}.evaporation", "water that evaporates is not estimated by this version", "limits")
        banded = any(v.get("bands") for v in reading.electricity.versions)
        for device in reading.setups.devices if banded else ():
            if device.setup == s and device.shape == EVEN:
                add(
                    f"{about}.devices.{device.ref}.on",
                    "its hours lie evenly over the whole day, since no times were given",
                    "default",
                )
        for meter in setup.get("measured", ()):
            add(
                f"{about}.measured",
                f"electricity as read from {meter['from']} to {meter['until']} stands for every day",
                "rule 8",
            )
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
    if document.get("range") is not None:
        add("range", "a range needs estimated inputs; this version has stated inputs only", "limits")
    return found


def cautions(reading: Reading) -> list[dict[str, str]]:
    """Usual cautions for what is in the request. Source: iec-60335-2-55; common-practice."""
    found = []

    def add(code: str, text: str) -> None:
        found.append({"code": code, "text": f"{text} {DEFER}"})

    setups = seq(reading.document.get("setups"))
    if any(setup.get("devices") or setup.get("heating") for setup in setups):
        add(
            "mains_near_water",
            "Mains electricity near water: supply it through a residual-current device of 30 mA, leave a "
            "drip loop in every cord, keep sockets away from spray, and unplug before putting hands in "
            "the water.",
        )
    if any(net is not None and net >= 200 for net in reading.setups.net_l):
        add(
            "floor_load",
            "A filled aquarium of 200 litres or more is a heavy load on a small area: ask a structural "
            "engineer whether the floor bears it.",
        )
    text = " ".join(label.name.lower() + " " + label.ref.lower() for label in reading.labels)
    if "co2" in text or "carbon dioxide" in text:
        add(
            "co2",
            "A CO2 cylinder must stand secured and free of leaks in a ventilated room; the gas can suffocate "
            "people and animals.",
        )
    if any(
        word in text
        for word in ("kalkwasser", "limewater", "calcium hydroxide", "sodium carbonate", "soda ash")
    ):
        add(
            "caustic",
            "Caustic additives burn eyes and skin: wear gloves and eye protection, raise no dust, never mix "
            "with acids, and keep them from children.",
        )
    if (
        "uv" in text.split()
        or "ozone" in text
        or any(
            "uv" in str(d.get("name", "")).lower().split() or "ozone" in str(d.get("name", "")).lower()
            for setup in setups
            for d in setup.get("devices", ())
        )
    ):
        add("uv_ozone", "Never look at a lit UV lamp; lead ozone through carbon and ventilate.")
    return found


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
