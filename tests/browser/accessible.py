"""What axe-core finds on a page, and what makes it scroll sideways, on every screen."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from playwright.sync_api import Page

from tests.browser.chromium import NARROW, SCREENS

AXE = Path(__file__).parent / "axe" / "axe.min.js"
# Every rule, those of good practice too, and those still on trial but one: a wide table that scrolls by
# itself takes the focus so that the keyboard can scroll it, whatever its role. Nothing is fetched for it.
_RUN = """
async ([within, besides, colours]) => {
  const trial = axe.getRules(["experimental"]).map((rule) => rule.ruleId);
  const all = { rules: Object.fromEntries(
    trial.map((name) => [name, { enabled: name !== "focus-order-semantics" }])) };
  const found = await axe.run({ include: [within], exclude: besides }, {
    preload: false,
    resultTypes: ["violations"],
    ...(colours ? { runOnly: { type: "rule", values: ["color-contrast", "link-in-text-block"] } } : all),
  });
  return found.violations.flatMap((rule) => rule.nodes.map((node) =>
    rule.id + " at " + node.target.join(" ") + ": " + (node.failureSummary || rule.help)));
}
"""
# 320 is a window of 1280 at a zoom of 400 % (WCAG 2.2, 1.4.10).
WIDTHS = (320, 360, 640, 1280)
_WIDER = """
() => {
  const room = document.scrollingElement.clientWidth;
  if (document.scrollingElement.scrollWidth <= room) return [];
  const every = [...document.body.querySelectorAll("*")];
  const wider = every.filter((one) => one.getBoundingClientRect().right > room + 1);
  return ["the page is too wide"].concat(wider.map((one) => "too wide: " + one.outerHTML.slice(0, 120)));
}
"""


@lru_cache(maxsize=1)
def _axe() -> str:
    return AXE.read_text(encoding="utf-8")


def violations(page: Page, besides: tuple[str, ...] = (), *, colours: bool = False) -> list[str]:
    """Each breach of a rule: the rule, where, what to do. `colours`: of the rules about colours alone."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(_axe())
    found: list[str] = page.evaluate(_RUN, ["html", [[one] for one in besides], colours])
    return found


def faults(page: Page, besides: tuple[str, ...] = ()) -> list[str]:
    """What is wrong with a page at either width and in either scheme of colours.

    Between the schemes only colours differ, so a dark page is asked about those alone.
    """
    found: list[str] = []
    for screen in SCREENS:
        page.set_viewport_size({"width": screen.width, "height": screen.height})
        page.emulate_media(color_scheme=screen.scheme)
        dark = screen.scheme == "dark"
        found += [f"{screen}: {one}" for one in violations(page, besides, colours=dark)]
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": NARROW.height})
        wider: list[str] = page.evaluate(_WIDER)
        found += [f"{width}: {one}" for one in wider]
    return found
