"""The plots beside the model pages are those that the engine draws now, and they can be read by everybody."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from service.api.pages import PLOTS as SERVED
from tests.plots.draw import PAGES, PLOTS
from tests.plots.pages import NAMES, text_of

SVG = "{http://www.w3.org/2000/svg}"


def kept(name: str) -> bytes:
    return (PAGES / f"{name}.svg").read_bytes()


def test_every_plot_is_drawn_served_and_shown_once() -> None:
    shown = [plot for name in NAMES for plot in re.findall(r"\]\(([a-z-]+)\.svg\)", text_of(name))]
    assert (
        sorted(shown) == sorted(PLOTS) == sorted(SERVED) == sorted(path.stem for path in PAGES.glob("*.svg"))
    )


@pytest.mark.parametrize("name", PLOTS)
def test_the_kept_plot_is_the_one_that_the_engine_draws_now(name: str) -> None:
    """If this fails on purpose: python -m tests.plots.draw."""
    assert kept(name).decode() == PLOTS[name]()


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_says_in_words_what_it_shows(name: str) -> None:
    root = ElementTree.fromstring(kept(name))  # noqa: S314 - our own file
    named = {node.get("id"): node.text or "" for node in root if node.tag in (f"{SVG}title", f"{SVG}desc")}
    assert (root.get("role"), root.get("aria-labelledby")) == ("img", "title desc")
    assert len(named["title"]) > 15 and len(named["desc"]) > 80


@pytest.mark.parametrize("name", PLOTS)
def test_text_and_axes_take_the_colour_of_the_page_and_lie_on_the_paper(name: str) -> None:
    root = ElementTree.fromstring(kept(name))  # noqa: S314 - our own file
    width, height = float(root.get("width", 0)), float(root.get("height", 0))
    texts, rules = root.findall(f"{SVG}text"), root.findall(f"{SVG}line")
    assert len(texts) > 5 and len(rules) > 5
    assert {node.get("fill") for node in texts} == {"currentColor"}
    assert {node.get("stroke") for node in rules} == {"currentColor"}
    for node in texts:
        # Wide fonts take 8.2 pixels a letter on average at this size; none may be cut off.
        x, long = float(node.get("x", 0)), 8.2 * len(node.text or "")
        left = {"start": x, "middle": x - long / 2, "end": x - long}[str(node.get("text-anchor"))]
        assert node.get("transform") or (left > -1 and left + long < width + 1), node.text
        assert 0 < float(node.get("y", 0)) < height
    for node in root.findall(f"{SVG}polyline"):
        for point in str(node.get("points")).split():
            x, y = map(float, point.split(","))
            assert 0 <= x <= width and 0 <= y <= height, point


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_is_small_and_needs_nothing_from_elsewhere(name: str) -> None:
    text = kept(name).decode()
    assert len(kept(name)) < 15_000
    assert "\r" not in text and text.count("http") == 1  # The name of the format, not an address to fetch.
    assert not re.search(r"url\(|<image|<script|@import|@font-face|href", text)
    assert not re.search(r'="[^"]*\d\.\d{3}', text)  # Two decimals at most.
