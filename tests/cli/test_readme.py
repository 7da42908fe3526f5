"""The README shows what really comes out."""

from __future__ import annotations

import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(language: str) -> str:
    found = re.search(rf"```{language}\n(.*?)```", README, re.DOTALL)
    assert found
    return found[1]


def test_the_example_prints_the_table_that_the_readme_shows(litrewise):
    done = litrewise("cost", "-", text=block("json"))
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(block("text"))


def test_every_command_in_the_readme_is_there(litrewise):
    named = set(re.findall(r"`litrewise ([a-z-]+)", README))
    listed = set(re.findall(r"^    ([a-z-]+) ", litrewise("--help").stdout, re.MULTILINE))
    assert named == listed


def test_every_file_that_a_text_links_to_is_there():
    for text in ("README.md", "DEVELOPERS.md", "CHANGELOG.md"):
        for target in re.findall(r"\]\(([^)#:]+)\)", (ROOT / text).read_text(encoding="utf-8")):
            assert (ROOT / target).exists(), target


def test_every_pinned_version_is_exact():
    pins = [text for text in (ROOT / "constraints.txt").read_text().splitlines() if not text.startswith("#")]
    assert pins and all(re.fullmatch(r"[A-Za-z0-9._-]+==[0-9A-Za-z.+!]+", pin) for pin in pins)


def test_the_demo_shows_what_it_should(demo_file: Path):
    demo = json.loads(demo_file.read_text(encoding="utf-8"))
    lines = [line for setup in demo["setups"] for line in setup["lines"]]
    assert [setup["water"] for setup in demo["setups"]] == ["marine", "fresh"]
    assert {line["share"]["by"] for line in demo["shared_lines"]} == {"fixed", "driver", "added", "equal"}
    assert {line.get("price", {}).get("currency") for line in lines} >= {"GBP", "EUR"}
    assert any(len(line.get("prices", [])) > 1 for line in lines)
    assert demo["tariffs"]["electricity"]["time_zone"] == "Europe/London"
    assert all(setup["heating"]["mode"] == "modelled" for setup in demo["setups"])
    assert demo["setups"][0]["measured"] and len(demo["setups"][0]["room"]["temperature"]) == 12
    assert "room" not in demo["setups"][1]
    assert sum("usual" in line for line in [*lines, *demo["shared_lines"]]) > 10
    assert demo["range"]["draws"] == 2000
    assert len(demo["scenarios"]) == 4
