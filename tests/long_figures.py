"""Good requests with figures as long as a request may hold, so that 64 bits are not enough for them."""

from __future__ import annotations

import copy
from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from tests.requests_at_random import requests

LONG = ("999999999999.999999", "123456789012.345678", "31536000.000001", "98765432.123457", "999999999999",
        "7.654321", "0.000007", "0.000001")  # fmt: skip
LONG_RATES = ("0.864012345679", "123.000000000007", "999999999999.999999999999", "0.000000000001")
# A vessel, a share or a limit of blocks that grows would be a fault and no long figure. So would what a
# setup cannot physically be: its room, its salt, its animals and the power of its devices have bounds.
LEFT_ALONE = {
    "portion", "displaced", "returned", "reserve", "per", "blocks", "vessel", "devices", "room",
    "water_temperature", "cover", "salinity", "salt_mix", "source_water", "heating", "cooling", "livestock",
    "alkalinity", "co2", "hardness", "feeding",
}  # fmt: skip
LONG_POWERS = ("19999.999999", "12345.678901", "0.000001", "0.000007")


def grown(node: Any, draw: Any, name: str = "") -> None:
    """Make some amounts, prices and rates below a node very long, large or small."""
    if isinstance(node, list):
        for item in node:
            grown(item, draw, name)
    if name == "devices" and isinstance(node, dict) and "least_power" not in node and draw(st.booleans()):
        node["power"] = {"amount": draw(st.sampled_from(LONG_POWERS)), "unit": "W"}
    if not isinstance(node, dict) or name in LEFT_ALONE:
        return
    for key, value in node.items():
        if key == "rate" and isinstance(value, str):
            node[key] = draw(st.sampled_from((value, value, *LONG_RATES)))
        elif key in ("amount", "price", "supply_per_m3") and isinstance(value, str):
            node[key] = draw(st.sampled_from((value,) * 20 + LONG))
        else:
            grown(value, draw, key)


@st.composite
def long_requests(draw: Any) -> dict[str, Any]:
    """A good request of up to seven months with some of its figures grown."""
    document = copy.deepcopy(draw(requests()))
    start = date.fromisoformat(document["period"]["from"])
    document["period"]["until"] = (start + timedelta(days=draw(st.integers(1, 200)))).isoformat()
    for line in (
        *(line for s in document["setups"] for line in s["lines"]),
        *document.get("shared_lines", ()),
    ):
        # Portions may no longer fit into the pack, and a short period may have none of a driver.
        line.pop("portion", None)
        if line.get("share", {}).get("by") == "driver":
            line["share"] = {"by": "equal"}
    grown(document, draw)
    return document
