"""What was assumed: first what was taken for granted, then the reviewed values that were taken."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from service.cli.estimates import share_words
from service.cli.naming import figure, good_of, name_of, span, unit_of_good, unit_words
from service.cli.text import columns, item, left, title, wrapped

Answer = dict[str, Any]

ROWS = 12
NARROWEST_NAME = 24
HEADS = ("Range", "Taken", "Low to high", "What it is")
COMMON = "common-practice"


@dataclass(frozen=True)
class Taken:
    """One reviewed value in words."""

    name: str
    value: str
    ends: str
    source: str
    share: str

    @property
    def text(self) -> str:
        return self.name if self.source == COMMON else f"{self.name} [{self.source}]"

    @property
    def cells(self) -> tuple[str, str, str]:
        return self.share, self.value, self.ends


def assumptions(answer: Answer, width: int) -> Iterator[str]:
    """What was taken as given because the request did not say."""
    found = answer.get("assumptions") or []
    if not found:
        return
    yield from title("What was assumed")
    for text in _granted(answer, [a for a in found if "setups" not in a]):
        yield from item(text, width)
    taken = _taken(answer, {a["about"]: a for a in found if "setups" in a})
    if taken:
        yield from _table(taken, width, bool(answer.get("range")))


def _granted(answer: Answer, found: list[Answer]) -> Iterator[str]:
    """What has no range, each text once with the setups that it holds for."""
    # The longest name first, for a name may go on where another ends.
    refs = sorted((s["ref"] for s in answer["setups"]), key=len, reverse=True)
    setups: dict[tuple[str, str], list[str]] = {}
    for a in found:
        about = str(a["about"])
        owner = next((ref for ref in refs if about.startswith(f"setups.{ref}.")), "")
        about = about.removeprefix(f"setups.{owner}.")
        text = f": {a['value']}" if a.get("value") is not None else ""
        if a.get("low") is not None and a.get("high") is not None:
            text += f" (from {a['low']} to {a['high']})"
        if a.get("source") not in (None, "", "default"):
            text += f" [{a['source']}]"
        setups.setdefault((about, text), []).extend([owner] if owner else [])
    for (about, text), owners in setups.items():
        yield about + (f" ({', '.join(owners)})" if owners else "") + text


def _taken(answer: Answer, found: dict[str, Answer]) -> list[Taken]:
    """Those that move the range most first, then in their order, constants last."""
    shares = {d["input"]: d["share"] for d in (answer.get("range") or {}).get("drivers_of_range", [])}
    order = sorted(found.values(), key=lambda a: (-float(shares.get(a["about"], 0)), a["low"] == a["high"]))
    return [_in_words(a, shares.get(a["about"])) for a in order]


def _in_words(a: Answer, share: str | None) -> Taken:
    good = good_of(a["about"])
    unit = unit_words(a.get("unit") or "") if good is None else unit_of_good(good)
    low, value, high = a["low"], a["value"], a["high"]
    keeps = good.shelf_life if good is not None and low == high else None
    if keeps is not None:
        # What varies is then how long it keeps.
        low, value, high, unit = keeps.low, keeps.typical, keeps.high, "once open"
    return Taken(
        name_of(a["about"]), f"{_said(value)} {unit}".rstrip(), _ends(low, high), a.get("source") or "",
        "" if share is None else share_words(share).rjust(len(HEADS[0])),
    )  # fmt: skip


def _said(text: str) -> str:
    """A figure, a duration in words, or the ends of what differs by month."""
    if "," in text:
        months = sorted(text.split(", "), key=float)
        return f"{figure(months[0])} to {figure(months[-1])}"
    return span(text) if text.startswith("P") else figure(text)


def _ends(low: str, high: str) -> str:
    """From the lowest to the highest; nothing where they are one."""
    if low == high:
        return ""
    first, last = _said(low).split(" to ")[0], _said(high).split(" to ")[-1]
    (amount, _, unit), of = first.partition(" "), last.partition(" ")[2]
    # `1 to 5 years`, for the unit is read once.
    return f"{amount if unit.rstrip('s') == of.rstrip('s') else first} to {last}"


def _table(taken: list[Taken], width: int, ranged: bool) -> Iterator[str]:
    first = 0 if ranged else 1
    # With a range, those that have no part in it are not worth the reading.
    shown = [t for t in taken if t.share][:ROWS] or taken[:ROWS]
    cells = [HEADS[first:3], *(t.cells[first:] for t in shown)]
    widths = [max(columns(row[k]) for row in cells) for k in range(3 - first)]
    room = width - sum(widths) - 2 * len(widths)
    yield ""
    head = "Reviewed values, taken where nothing was stated"
    head += ", and how much of the range each makes" if ranged else ""
    yield from item(f"{head}. They are common practice where no source is named.", width, "")
    yield ""
    if room < NARROWEST_NAME:
        for t in shown:
            ends = f" ({t.ends})" if t.ends else ""
            part = f", {t.share.strip()} of the range" if t.share else ""
            yield from item(f"{t.text}: {t.value}{ends}{part}", width)
    else:
        yield _row(HEADS[first:3], widths) + HEADS[3]
        yield "-" * width
        for t in shown:
            head = _row(t.cells[first:], widths)
            text = wrapped(t.text, room)
            yield head + text[0]
            yield from (" " * columns(head) + more for more in text[1:])
    if len(taken) > len(shown):
        yield ""
        yield from item(f"{len(taken) - len(shown)} more with --json.", width, "")


def _row(cells: tuple[str, ...], widths: list[int]) -> str:
    return "".join(left(cell, wide) + "  " for cell, wide in zip(cells, widths, strict=True))
