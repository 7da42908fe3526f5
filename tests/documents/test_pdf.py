"""The PDF: the figures of the page, the same bytes each time, tagged and for keeping."""

from __future__ import annotations

import hashlib
import re
import subprocess
import sys
import threading
from pathlib import Path

import orjson
import pytest

from service.documents.blocks import View
from service.documents.pdf import pdf
from service.documents.speech import LANGUAGES
from service.documents.told import State
from service.documents.view import view
from tests.documents.making import DIGEST, HOLDS, demo, document_of, page_of
from tests.documents.paper import needs_pdftotext, text_of
from tests.documents.reading import Page
from tests.pieces import line, request

AGAIN = """
import hashlib, sys, orjson
from service.documents.pdf import pdf
from service.documents.told import State
from service.documents.view import view
document = orjson.loads(sys.stdin.buffer.read())
made = pdf(view(document, "de", State("ab" * 32, False, False)), document["issued_at"])
print(hashlib.sha256(made).hexdigest())
"""
SMALL = request(line("food", name="Flakes"))


def _made(document: dict, language: str = "en-GB", state: State = HOLDS) -> bytes:
    return pdf(view(document, language, state), document["issued_at"])


def _squeezed(text: str) -> str:
    return "".join(text.split())


@needs_pdftotext
@pytest.mark.parametrize("language", LANGUAGES)
def test_its_months_and_lines_are_those_of_the_page(language: str):
    # Some languages have a space within figures, so rows are compared without any.
    lines = {_squeezed(one) for one in text_of(_made(demo(), language)).splitlines()}
    page = Page(page_of(demo(), language))
    (months,) = page.in_section("months")
    for cells in [*months.body, *months.foot]:
        assert _squeezed("".join(cells)) in lines, cells
    for table in page.in_section("lines"):
        for cells in [*table.body, *table.foot]:
            assert _squeezed("".join(cells)) in lines, cells


@needs_pdftotext
@pytest.mark.parametrize("language", LANGUAGES)
def test_it_says_all_that_the_page_says(language: str):
    """Each paragraph, heading and cell, letter for letter, whatever the breaks of its lines."""
    shown = set(re.findall(r"\w{4,}", text_of(_made(demo(), language))))
    found: View = view(demo(), language, HOLDS)
    for section in found.sections:
        for words in re.findall(r"\w{4,}", section.heading):
            assert words in shown, words
    for text in found.answer:
        assert set(re.findall(r"\w{4,}", text)) <= shown


@needs_pdftotext
def test_pages_are_numbered_and_heads_of_tables_repeated():
    pages = text_of(_made(demo())).split("\f")[:-1]
    assert len(pages) > 3
    for at, text in enumerate(pages, 1):
        assert f"Page {at} of {len(pages)}" in text
    starts = [text.strip().splitlines()[0].split() for text in pages[1:]]
    heads = (
        ["What", "Kind"],
        ["What", "Aquarium"],
        ["About", "Taken"],
        ["Month", "Energy"],
        ["Aquarium", "Likely"],
    )
    continued = [start for start in starts if start[:2] in [list(head) for head in heads]]
    assert len(continued) >= 2


@needs_pdftotext
def test_that_it_no_longer_holds_is_said():
    text = text_of(_made(demo(), state=State(DIGEST, expired=True, superseded=True)))
    assert "This estimate held until the end of 24 Dec 2026 and holds no longer." in text
    assert "Another estimate has taken the place of this one." in text
    assert "holds no longer" not in text_of(_made(demo()))


def test_it_is_tagged_and_for_keeping():
    made = _made(demo(), "fr")
    assert made.startswith(b"%PDF-1.7")
    assert b"/MarkInfo" in made and b"/StructTreeRoot" in made and b"/Lang" in made
    assert re.search(rb"pdfaid:part>2<.*pdfaid:conformance>A<", made, re.DOTALL)
    assert re.search(rb"pdfuaid:part>1<", made)
    # No moment but that of issue.
    assert set(re.findall(rb"D:(\d{8})", made)) == {b"20261125"}


def test_the_same_bytes_come_out_each_time_and_elsewhere():
    document = document_of(SMALL)
    made = _made(document, "de")
    assert made == _made(document, "de")
    second = subprocess.run([sys.executable, "-c", AGAIN], input=orjson.dumps(document), capture_output=True,
                            check=True, cwd=Path(__file__).parents[2])  # fmt: skip
    assert second.stdout.decode().strip() == hashlib.sha256(made).hexdigest()


def test_several_threads_make_them_at_once():
    document = document_of(SMALL)
    alone = {language: _made(document, language) for language in LANGUAGES}
    found: list[tuple[str, bytes]] = []

    def work(language: str) -> None:
        found.extend((language, _made(document, language)) for _ in range(3))

    threads = [threading.Thread(target=work, args=(language,)) for language in LANGUAGES * 2]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 18 and all(made == alone[language] for language, made in found)


@pytest.mark.parametrize("name", ["海水鹽", "ملح البحر", "🐠", "\ue000", "a\uffffb", "s" + "\u0301" * 40])
def test_a_name_in_letters_that_no_font_has_still_makes_one(name: str):
    made = _made(document_of(request(line("food", name=name))))
    assert made.startswith(b"%PDF-1.7") and len(made) > 10_000


def test_a_long_one_is_bounded():
    lines = [line(f"l{at}", name=f"Line {at}") for at in range(200)]
    setups = [{"ref": f"s{at}", "lines": lines} for at in range(12)]
    document = document_of(request(setups=setups))
    page = Page(page_of(document))
    tables = page.in_section("lines")
    assert sum(len(table.body) for table in tables) == 1500 + 5
    assert tables[7].body[-1][0] == "100 more lines, in the CSV form"
    assert tables[8].body == [["200 more lines, in the CSV form", "", "", "", "6,936.00"]]
