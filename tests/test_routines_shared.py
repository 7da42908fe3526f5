"""The three routines that come with the project make a whole schedule of a bare tank."""

from __future__ import annotations

import json
from pathlib import Path
from random import Random
from typing import Any

import pytest

from service.cli.report import report
from service.engine.supply import CATEGORIES
from service.quoting import cost
from service.schemas import check
from service.schemas.body import read_json
from service.schemas.faults import faults_of
from service.schemas.verdict import compiled
from tests.api.mutation import HOSTILE, places, resolved
from tests.estimates.asking import asked, box, celsius, lamp, per_cent, pump
from tests.pieces import TODAY, Document, quantity, request, setup
from tests.requests_at_random import to_json

FOLDER = Path(__file__).parent.parent / "shared" / "routines"
ROUTINES = {path.stem: json.loads(path.read_text(encoding="utf-8")) for path in sorted(FOLDER.glob("*.json"))}
WEEKLY = {"portion": per_cent(10), "every": "P7D"}
SMALL = box("60", "30", "38", "35") | {"pane": quantity("5", "mm")}

BARE: dict[str, tuple[Document, set[str], dict[str, str]]] = {
    # What was sent; lines that its routine must have given; some of their costs, worked out beside them.
    "planted-freshwater": (
        setup(
            "desk", water="fresh", vessel=SMALL, water_temperature=celsius(25), plants="lean",
            water_change=WEEKLY, source_water={"purified": False}, heating={"mode": "modelled"},
            co2={"mode": "bubbles", "per_second": "1", "hours_per_day": "8"}, devices=[lamp(12, "8", "hood")],
        ),
        {"dechlorinator", "nitrate", "iron", "co2", "indicator", "diffuser", "floss", "sponge", "impeller",
         "dry-food", "nitrate-test", "heating-rod", "lamp-wear"},
        # Half a piece of floss a week of a pack of twelve for 5.90: 365/7 x 1/2 x 5.90/12 = 12.818.
        {"floss": "12.82", "diffuser": "8.30"},
    ),
    "fish-only-marine": (
        setup("hall", water="marine", vessel=box(), water_temperature=celsius(25), water_change=WEEKLY,
              livestock={"fish": [{"count": "12", "length": quantity("10", "cm")}]}),
        {"salt", "carbon", "rotor", "phosphate", "sock", "element-test", "dry-food", "nitrate-test",
         "salinity-standard"},
        # Two tests at 36.00; a sock of 7.20 every ten weeks: 365/70 x 7.20 = 37.543.
        {"element-test": "72.00", "sock": "37.54"},
    ),
    "reef": (
        setup("den", water="marine", vessel=box(), water_temperature=celsius(25), water_change=WEEKLY,
              livestock={"corals": "stony"}, source_water={"purified": True}, devices=[pump(), lamp()]),
        {"salt", "sediment", "carbon-cartridge", "membrane", "resin", "carbon", "rotor", "bicarbonate",
         "calcium", "magnesium", "trace", "phosphate", "sock", "element-test", "alkalinity-test",
         "calcium-test", "salinity-standard", "dry-food", "dosing-tube", "lamp-wear"},
        # Every other month: six tests at 36.00; calcium tests last a year: one pack of 15.60 is opened.
        {"element-test": "216.00", "calcium-test": "15.60"},
    ),
}  # fmt: skip


def bare(name: str, **more: Any) -> Document:
    own, _, _ = BARE[name]
    return asked({k: v for k, v in own.items() if k != "lines"}, routine=ROUTINES[name], **more)


def test_every_routine_of_the_project_is_tried() -> None:
    assert ROUTINES.keys() == BARE.keys()


@pytest.mark.parametrize("name", BARE)
def test_a_bare_tank_becomes_a_whole_schedule(name: str) -> None:
    document = bare(name, range={"draws": 100}, detail="workings")
    assert check(document) == []
    answer = cost(document, TODAY)
    found = answer["setups"][0]
    totals = {line["ref"]: line["total"] for line in found["lines"]}
    assert {ref for rule in found["routine"]["fired"] for ref in rule["added"]} >= BARE[name][1]
    assert totals.keys() >= BARE[name][1]
    assert all(float(totals[ref]) > 0 for ref in BARE[name][1])
    assert {ref: totals[ref] for ref in BARE[name][2]} == BARE[name][2]
    assert found["routine"]["not_fired"]


@pytest.mark.parametrize("name", BARE)
@pytest.mark.parametrize(
    "own",
    [
        setup("nothing"),
        setup("water", water="marine"),
        setup("brackish", water="brackish", vessel=box(), source_water={"purified": True}),
        setup("soft", water="marine", vessel=box(), livestock={"corals": "soft"}, limewater=True),
        setup("rich", water="fresh", vessel=box(), plants="rich", source_water={"purified": True},
              hardness={"target": quantity("6", "dGH")}),
    ],
    ids=lambda own: str(own["ref"]),
)  # fmt: skip
def test_a_routine_fits_any_setup_without_a_fault(name: str, own: Document) -> None:
    answer = cost(request(setups=[own], routine=ROUTINES[name]), TODAY)
    assert answer["setups"][0]["lines"]


@pytest.mark.parametrize("name", BARE)
def test_each_rule_says_why_and_each_line_has_a_category_and_pounds(name: str) -> None:
    for rule in ROUTINES[name]["rules"]:
        assert rule["why"].endswith("Common practice, no source.")
        for line in rule.get("add", []):
            assert line["category"] in CATEGORIES
            assert line["price"]["currency"] == "GBP"


def test_the_report_prints_what_the_rules_did() -> None:
    text = "\n".join(report(cost(bare("planted-freshwater"), TODAY), 150))
    told = text.split("What the rules gave\n-------------------\n")[1]
    for sentence in (
        "Planted freshwater habits (desk)",
        "- Filter media: added floss, sponge and impeller",
        "- A small tank's filter: changed floss (scaled by 0.5) and impeller (replaced price)",
        "- Lean plants live on the fish's phosphate: changed phosphate (dropped) and iron (scaled by 0.5)",
        "- not Purifier: purified is false, not true",
    ):
        assert sentence in told


def test_both_verdicts_on_shape_agree_on_routines_gone_wrong() -> None:
    random, tally = Random(7), [0, 0]
    for _ in range(400):
        document = json.loads(to_json(bare(random.choice(sorted(BARE)))))
        inside = [place for place in places(document["routine"]) if place[1] != "why"]
        node, key = random.choice(inside)
        node[key] = random.choice(HOSTILE)
        document = read_json(to_json(document))
        faults = faults_of(document)
        assert compiled().is_valid(document) == (not faults), (key, node[key])
        for fault in faults:
            resolved(document, fault.pointer.replace("%", "%25"))
        tally[bool(faults)] += 1
    assert min(tally) > 20
