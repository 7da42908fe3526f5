"""Fixed texts of the engine have their like in every language, and a change of one is noticed here."""

from __future__ import annotations

import pytest

from service.documents.speech import LANGUAGES, speech
from service.documents.told import Told
from service.documents.view_terms import cautions, wording
from service.quoting.cautions import DEFER, TEXTS
from service.quoting.explain import NOTICE
from tests.documents.making import demo, document_of, page_of
from tests.pieces import electricity, line, request

TAXES: tuple[dict | None, ...] = (None, {"basis": "gross"}, {"basis": "net"})


def _told(language: str, found: list[dict[str, str]]) -> Told:
    return Told(demo()["costing"] | {"cautions": found}, speech(language))


@pytest.mark.parametrize("code", TEXTS)
def test_a_caution_is_told_in_every_language(code: str):
    frozen = [{"code": code, "text": f"{TEXTS[code]} {DEFER}"}]
    texts = []
    for language in LANGUAGES:
        section = cautions(_told(language, frozen))
        assert section is not None
        (item,), last = section.blocks[0].items, section.blocks[1].parts
        assert item[0].lang == "" and last[0].text == speech(language).say("quote.caution_defer")
        texts.append(item[0].text)
    assert texts[0] == TEXTS[code] and len(set(texts)) == len(LANGUAGES)
    assert speech("en-GB").say("quote.caution_defer") == DEFER


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_caution_of_other_words_is_shown_in_those(language: str):
    for code, text in (("heater", "An older text."), ("surely_new", "Something else.")):
        section = cautions(_told(language, [{"code": code, "text": text}]))
        assert section is not None and len(section.blocks) == 1
        assert section.blocks[0].items[0][0].text == text and section.blocks[0].items[0][0].lang == "en-GB"


def test_the_load_on_the_floor_is_told_with_its_figures():
    german = page_of(demo(), "de")
    assert "Hier: Marine reef in the hall 7,6\u00a0kN/m² auf der eigenen Standfläche" in german
    assert "gegenüber 1,92 kN/m²" in german


@pytest.mark.parametrize("tax", TAXES)
@pytest.mark.parametrize("standing", [False, True])
def test_the_notice_is_translated_whatever_stands_in_it(tax: dict | None, standing: bool):
    asked = request(line(), as_of="2026-11-25")
    if tax is not None:
        asked["tax"] = tax | {"rates": {"standard": "20"}}
    if standing:
        asked["tariffs"] = electricity({"price": "0.27", "standing_per_day": "0.50"})
    document = document_of(asked)
    frozen = document["wording"]
    told = [Told(document["costing"], speech(language)) for language in LANGUAGES]
    notices = [wording(one, frozen).blocks[0].parts[0] for one in told]
    assert notices[0].text == frozen["text"]
    assert notices[1].text.startswith("Dies ist eine Schätzung") and "25.11.2026" in notices[1].text
    assert notices[2].text.startswith("Ceci est une estimation") and "25 nov. 2026" in notices[2].text
    assert [one.lang for one in notices[1:]] == ["", ""]


def test_the_english_words_are_those_of_the_engine():
    """The translations were made of these; a change of the engine's needs new ones, and a new name."""
    start, _, rest = NOTICE.partition("{as_of}")
    ours = speech("en-GB").say("quote.notice", day="{as_of}", taxes="{taxes}", standing="*")
    assert ours.startswith(start)
    assert ours.partition("{as_of}")[2].startswith(rest.partition("Charges that")[0])
    for name, end in (("standing", "shown apart and not included"), ("no_standing", "not included")):
        whole = "Charges that" + rest.partition("Charges that")[2].format(standing=end)
        assert speech("en-GB").say(f"quote.notice_{name}") == whole
