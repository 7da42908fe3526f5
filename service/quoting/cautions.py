"""The usual cautions for what is in a request; each defers to local codes and licensed practice."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from service.engine import vessel
from service.quoting.reader import obj, seq
from service.quoting.request import Reading

DEFER = (
    "General information, not a design or a safety assessment: follow local codes and the instructions "
    "supplied with the equipment, and use licensed practitioners where required."
)
# From this much water and this load on, a floor is worth asking about. Source: common-practice; irc-r301-5.
HEAVY_L, FLOOR_KN_PER_M2 = 200, 1.92
CAUSTIC_WORDS = ("kalkwasser", "limewater", "calcium hydroxide", "sodium carbonate", "soda ash")
CAUSTIC_USUALS = {"calcium-hydroxide", "limewater-powder", "sodium-carbonate"}
REEF = ("soft", "mixed", "stony")

# Source: iec-60335-2-55; ul-943; hse-eh40; osha-ozone; mmwr-64-31.
TEXTS = {
    "mains_near_water": (
        "Mains electricity near water: supply it through a residual-current device of 30 mA (a class A "
        "interrupter, which trips at 4 to 6 mA, where those are used) and test it monthly, leave a drip "
        "loop in every cord, keep sockets away from spray, and unplug before putting hands in the water. "
        "New circuits are work for a licensed electrician."
    ),
    "floor_load": (
        "A filled aquarium of 200 litres or more is a heavy load on a small area: ask a structural "
        "engineer whether the floor bears it."
    ),
    "heater": (
        "A heater that runs dry can crack glass and start a fire: switch it off before the water is "
        "lowered, and use one that cuts out by itself."
    ),
    "co2": (
        "A CO2 cylinder must stand secured and free of leaks in a ventilated room; the gas can suffocate "
        "people and animals. Limits at work are 5000 ppm over eight hours and 15000 ppm over fifteen "
        "minutes; a bottle of 2 kg that empties into 30 m3 adds about 36000 ppm."
    ),
    "caustic": (
        "Caustic additives burn eyes and skin: wear gloves and eye protection, raise no dust, add slowly, "
        "never mix with acids, and keep them from children."
    ),
    "uv_ozone": (
        "Never look at a lit UV lamp; close the unit before it is switched on. Lead ozone through carbon "
        "and ventilate: the limit over eight hours is 0.1 ppm."
    ),
    "palytoxin": (
        "Some corals, zoanthids among them, carry palytoxin, which has poisoned people at home through "
        "the air and the skin: do not boil, scrape or brush them dry, wear gloves, eye and mouth "
        "protection, and if unwell seek medical help and say the word palytoxin."
    ),
    "livestock": (
        "Local law may bind the keeping and disposal of species; never release animals or empty an "
        "aquarium into open water."
    ),
}


def cautions(reading: Reading, caustic: bool = False) -> list[dict[str, str]]:
    """Cautions for what is in the request, and in its doses where one is caustic, in the order of TEXTS."""
    due = dict.fromkeys(_due(reading), "")
    if caustic:
        due["caustic"] = ""
    if "floor_load" in due:
        due["floor_load"] = _loads(reading)
    return [
        {"code": code, "text": f"{text}{due[code]} {DEFER}"} for code, text in TEXTS.items() if code in due
    ]


def _due(reading: Reading) -> Iterator[str]:
    setups: list[dict[str, Any]] = [obj(setup) for setup in seq(reading.document.get("setups"))]
    labels = reading.labels
    text = " ".join(f"{label.name} {label.ref}".lower() for label in labels)
    usuals = {label.usual.key for label in labels if label.usual is not None}
    devices = [str(obj(d).get("name", "")).lower() for setup in setups for d in seq(setup.get("devices"))]
    corals = [obj(setup.get("livestock")).get("corals") for setup in setups]
    if any(setup.get(key) for setup in setups for key in ("devices", "heating", "cooling")):
        yield "mains_near_water"
    if any(model.net_l is not None and model.net_l >= HEAVY_L for model in reading.setups.models):
        yield "floor_load"
    if any(obj(setup.get("heating")).get("mode") == "modelled" for setup in setups):
        yield "heater"
    if "co2" in text or "carbon dioxide" in text or any(setup.get("co2") for setup in setups):
        yield "co2"
    if any(setup.get("limewater") is True for setup in setups) or usuals & CAUSTIC_USUALS:
        yield "caustic"
    if any(word in text for word in CAUSTIC_WORDS):
        yield "caustic"
    if "uv" in text.split() or "ozone" in text or "uv-lamp" in usuals:
        yield "uv_ozone"
    if any("uv" in name.split() or "ozone" in name for name in devices):
        yield "uv_ozone"
    if any(kind in REEF for kind in corals):
        yield "palytoxin"
    if any(setup.get("livestock") for setup in setups):
        yield "livestock"


def _loads(reading: Reading) -> str:
    """Loads beyond what floors are commonly made for, where they are known."""
    heavy: list[str] = []
    for ref, model in zip(reading.setups.refs, reading.setups.models, strict=True):
        filled = model.vessel.filled_kg(model.tank["salinity_g_per_kg"], model.tank["water_c"])
        if filled is None or not model.vessel.base_m2 or (model.net_l or 0) < HEAVY_L:
            continue
        load = vessel.floor_load_kn_per_m2(np.array([filled]), np.array([model.vessel.base_m2]))
        if float(load[0]) > FLOOR_KN_PER_M2:
            heavy.append(f"'{ref}' {float(load[0]):.1f} kN/m2")
    if not heavy:
        return ""
    return (
        f" Here: {', '.join(heavy)} on its own base, beside {FLOOR_KN_PER_M2} kN/m2, spread over the room, "
        "that living rooms are commonly designed for."
    )
