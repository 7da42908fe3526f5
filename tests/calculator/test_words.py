"""The calculator's words: the same in every language, and none that nobody says."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from service.documents import calculator
from service.documents.speech import LANGUAGES, speech

FOLDER = Path(calculator.__file__).parent
SOURCE = "".join(
    path.read_text(encoding="utf-8")
    for path in (*FOLDER.glob("*.py"), FOLDER.parent / "templates" / "calculator.html")
)
# Their names are put together from those of fields, lines and steps.
MADE = (
    "label_", "hint_", "option_", "group_", "question_", "unit_", "amount_", "left_out_", "assumed_",
    "about_", "value_", "note_", "step_", "fault_", "good_", "device_", "compare_", "sentence_",
    "heating", "cooling",
)  # fmt: skip


def own(language: str) -> dict[str, str]:
    words = speech(language).words
    return {key.partition(".")[2]: text for key, text in words.items() if key.startswith("calculator.")}


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_says_the_same_with_the_same_placeholders(language: str):
    def placeholders(words: dict[str, str]) -> dict[str, list[str]]:
        return {name: sorted(set(re.findall(r"\{(\w+)\}", text))) for name, text in words.items()}

    assert placeholders(own(language)) == placeholders(own("en-GB"))
    assert all(text.strip() == text and text for text in own(language).values())


def test_no_word_is_left_over():
    for name in own("en-GB"):
        said = re.search(rf"""[."']{name}["' ]""", SOURCE)
        assert name.startswith(MADE) or said, name
