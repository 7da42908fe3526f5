"""What every page must let people do: walk it with the keyboard, read its figures, and print it."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Page

from tests.documents.paper import text_of

# Of the buttons of one choice the keyboard reaches one; arrows lead to the others.
_CONTROLS = """
(within) => {
  const whole = within === null ? document : document.querySelector(within).shadowRoot;
  const kinds = "a[href], button, input, select, textarea, summary, [tabindex]";
  const groups = new Set();
  const reachable = [...whole.querySelectorAll(kinds)].filter((one) => {
    if (one.disabled || one.tabIndex < 0 || !one.checkVisibility({ visibilityProperty: true })) return false;
    if (one.type !== "radio") return true;
    const first = !groups.has(one.name);
    groups.add(one.name);
    return first;
  });
  window.controlsOfTheTest = reachable;
  return reachable.map((one) => one.outerHTML.slice(0, 120));
}
"""
_FOCUSED = """
() => {
  let one = document.activeElement;
  while (one !== null && one.shadowRoot !== null) one = one.shadowRoot.activeElement;
  if (one === null || one === document.body || one === document.documentElement) return null;
  const same = (other) => one === other || (one.type === "radio" && one.name === other.name);
  const style = getComputedStyle(one);
  const box = one.getBoundingClientRect();
  return {
    place: window.controlsOfTheTest.findIndex(same),
    shown: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0,
    seen: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth && box.width > 0,
    said: one.outerHTML.slice(0, 120),
  };
}
"""

_BROKEN = """
() => {
  const found = [];
  const texts = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  while (texts.nextNode()) {
    const text = texts.currentNode;
    if (!text.parentElement.checkVisibility()) continue;
    for (const figure of text.data.matchAll(/(?<![a-z0-9])[0-9][0-9.,]*[0-9](?![a-z0-9])/g)) {
      const range = document.createRange();
      range.setStart(text, figure.index);
      range.setEnd(text, figure.index + figure[0].length);
      const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
      if (lines.size > 1) found.push(figure[0]);
    }
  }
  return found;
}
"""


def walk(page: Page, within: str | None = None) -> list[str]:
    """Go through the page with the Tab key: what is never reached, or is reached and does not show it.

    `within`: the element in whose shadow all that can be reached lies.
    """
    page.evaluate("() => { document.activeElement?.blur(); scrollTo(0, 0); }")
    controls: list[str] = page.evaluate(_CONTROLS, within)
    assert controls, "there is nothing on the page to be reached"
    reached: set[int] = set()
    faults: list[str] = []
    for _ in range(len(controls) + 2):
        page.keyboard.press("Tab")
        focused: dict[str, Any] | None = page.evaluate(_FOCUSED)
        if focused is None or focused["place"] in reached:
            continue
        reached.add(focused["place"])
        if not focused["shown"]:
            faults.append(f"no mark of the focus: {focused['said']}")
        if not focused["seen"]:
            faults.append(f"focused out of sight: {focused['said']}")
    return faults + [f"never reached: {said}" for place, said in enumerate(controls) if place not in reached]


def broken_figures(page: Page) -> list[str]:
    """Figures of which a part stands on one line and the rest on the next; digests are no figures."""
    found: list[str] = page.evaluate(_BROKEN)
    return found


def printed(page: Page) -> str:
    """The text of the page as it is printed on A4."""
    return text_of(page.pdf(format="A4"))
