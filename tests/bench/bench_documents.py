"""What a quote's page and PDF cost to make, beside floors that any way of making them has.

Run: python -m tests.bench.bench_documents [--smoke]. The quote fills two sheets; each round takes another
number, so that nothing is remembered from the last. The page's floor reads the same JSON and lets the
template engine write as many bytes from as many cells; the PDF's floor typesets an empty sheet to the same
standards. Times are medians of single calls in one process, floor and work in turn.
"""

from __future__ import annotations

import argparse
import re
import statistics
import time
from collections.abc import Callable
from typing import Any

import orjson
import typst
from jinja2 import Environment

from service.documents.html import page
from service.documents.pdf import STANDARDS, pdf
from service.documents.told import State
from service.documents.view import view
from tests.kept.issuing import frozen
from tests.pieces import TODAY, life, line, money, quantity, request

EMPTY = b'#set document(title: "Empty")\n#set text(lang: "en")\n#set page(paper: "a4")\n= Empty'
CELLS = "<table>{% for cell in cells %}<td class='figure'>{{ cell }}</td>{% endfor %}</table>"
STATE = State("ab" * 32, expired=False, superseded=False)
LINES = 4
PLACES = ("energy", "salt", "filtration", "food", "wear")


def two_pages() -> dict[str, Any]:
    """The frozen document of a small quote."""
    lines = [
        line(f"l{at}", name=f"Something bought {at}", category=PLACES[at % 5], usage=life("P6M"),
             pack=quantity("1", "1"), price=money(f"{at + 3}.50"))
        for at in range(LINES)
    ]  # fmt: skip
    return dict(orjson.loads(frozen(request(*lines, reserve=quantity("10", "%")), TODAY)[0]))


def median_ms(rounds: int, *works: Callable[[int], object]) -> list[float]:
    """Milliseconds of each work, one after the other in each round, after one round that is not counted."""
    times: list[list[float]] = [[] for _ in works]
    for at in range(rounds + 1):
        for work, taken in zip(works, times, strict=True):
            began = time.perf_counter()
            work(at)
            taken.append((time.perf_counter() - began) * 1000)
    return [statistics.median(taken[1:]) for taken in times]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--smoke", action="store_true", help="a quick run to see that it works")
    rounds = 5 if parser.parse_args().smoke else 200
    document = two_pages()
    raw = [orjson.dumps(document | {"number": at + 1}) for at in range(rounds + 1)]
    issued = str(document["issued_at"])

    def as_page(at: int) -> str:
        return page(view(orjson.loads(raw[at]), "en-GB", STATE))

    def as_pdf(at: int) -> bytes:
        return pdf(view(orjson.loads(raw[at]), "en-GB", STATE), issued)

    cell = "1,234.56"
    cells = [cell] * (len(as_page(0)) // len(f"<td class='figure'>{cell}</td>"))
    template = Environment(autoescape=True).from_string(CELLS)

    def floor_page(at: int) -> str:
        orjson.loads(raw[at])
        return template.render(cells=cells)

    compiler = typst.Compiler(EMPTY, ignore_system_fonts=True)

    def floor_pdf(at: int) -> object:
        return compiler.compile(
            input=EMPTY + b" %d" % at, format="pdf", pdf_standards=STANDARDS, timestamp=at
        )

    html_ms, html_floor, pdf_ms, pdf_floor = median_ms(rounds, as_page, floor_page, as_pdf, floor_pdf)
    sheets = len(re.findall(rb"/Type\s*/Page\b", as_pdf(0)))
    if sheets != 2:
        raise SystemExit(f"the quote of the bench must fill two sheets (got {sheets}); change LINES")
    print(f"page of {len(as_page(0)) / 1024:.0f} KiB: {html_ms:.2f} ms, floor {html_floor:.2f} ms, "
          f"{html_ms / html_floor:.1f} times")  # fmt: skip
    print(
        f"PDF of {sheets} sheets: {pdf_ms:.1f} ms, floor {pdf_floor:.1f} ms, {pdf_ms / pdf_floor:.1f} times"
    )


if __name__ == "__main__":
    main()
