"""The calculator as a whole: what was typed goes in, what is drawn comes out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from service.documents.calculator.asked import ask
from service.documents.calculator.asking import Asked
from service.documents.calculator.compare import compare_view
from service.documents.calculator.fields import FIELDS, OTHER, VARIED
from service.documents.calculator.form import Form
from service.documents.calculator.region import initial
from service.documents.calculator.typed import Said
from service.documents.calculator.view import View, answer_view
from service.documents.speech import LANGUAGES, Speech
from service.errors import NotComputable

ADDRESS = "/calculator"
# What a script needs besides the form and the answer.
WORDS = (
    *("title", "lead", "form_name", "more", "more_hint", "compare", "compare_hint", "work_out", "answer"),
    *("amounts", "by_month", "lines", "line_name", "line_used", "line_total", "left_out", "assumptions"),
    *("assumed_models", "notes", "cautions", "request", "request_hint", "link", "link_hint", "copy_link"),
    *("copied", "failed", "language"),
)
Work = Callable[[dict[str, Any]], dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Query:
    """What an address asks: fields as typed, and the reader's language and region.

    `more` is put into the request beside what the form says, such as a kept routine.
    """

    given: Mapping[str, str]
    speech: Speech
    region: str
    today: date
    more: Mapping[str, Any]

    def values(self) -> dict[str, str]:
        """What stands in the form: what was typed, and what stands there at first."""
        first = self.first()
        return {name: self.given.get(name, first[name]) for name in FIELDS}

    def first(self) -> dict[str, str]:
        """What stands in the form at first."""
        return initial(self.region, self.today)

    def varied(self) -> dict[str, str]:
        """What was typed of the variant."""
        typed = {name: self.given.get(OTHER + name, "") for name in VARIED}
        return {name: text for name, text in typed.items() if text.strip()}

    def link(self, language: str = "") -> str:
        """The address that asks the same in any region: what was first in the form stands in it too."""
        first = self.first()
        pairs = [("language", language or self.speech.language)]
        pairs += [(name, text) for name, text in self.values().items() if text or first[name]]
        pairs += [(OTHER + name, text) for name, text in self.varied().items()]
        return f"{ADDRESS}?{urlencode(pairs)}"


def calculated(query: Query, work: Work, *, form: bool = True) -> View:
    """The view model. `work` costs a request, or raises NotComputable with every fault."""
    speech, values, varied = query.speech, query.values(), query.varied()
    one = ask(values, speech)
    costing = _worked(one, query, work)
    other = ask(values | varied, speech) if varied else None
    other_costing = _worked(other, query, work) if other else None
    faults = [*one.faults, *(_of_variant(one, other, varied) if other else ())]
    found: View = {"language": speech.language, "direction": speech.direction}
    if form:
        found["languages"] = [
            {"language": one, "name": speech.say(f"quote.language_{one}"), "link": query.link(one)}
            for one in LANGUAGES
        ]
        shown = values | {OTHER + name: text for name, text in varied.items()}
        found["form"] = Form(shown, query.first(), faults, speech).view()
        found["words"] = {name: speech.say(f"calculator.{name}") for name in WORDS}
    answer = answer_view(one, costing, speech) if costing else None
    found |= {
        "answer": answer,
        "compare": None,
        "faults": [{"field": said.field, "text": said.text, "lang": said.language} for said in faults],
        "status": answer["sentence"] if answer else "",
        "link": query.link(),
        "request": one.document | dict(query.more) if costing else None,
    }
    if other and costing and other_costing:
        after = answer_view(other, other_costing, speech)
        names = {line["ref"]: line["name"] for line in (*(answer or after)["lines"], *after["lines"])}
        found["compare"] = compare_view(costing, other_costing, names, speech)
        found["compare"]["request"] = other.document | dict(query.more)
        found["status"] = f"{found['status']} {found['compare']['sentence']}"
    if faults:
        counted = speech.count("calculator.sentence_fault", len(faults))
        found["status"] = f"{counted} {found['status']}".strip()
        found["problem"] = counted
    return found


def _worked(asked: Asked, query: Query, work: Work) -> dict[str, Any] | None:
    """The costing; None after a fault, which is then at its field."""
    if asked.faults:
        return None
    try:
        return work(asked.document | dict(query.more))
    except NotComputable as error:
        asked.add(error.faults)
    return None


def _of_variant(one: Asked, other: Asked, varied: Mapping[str, str]) -> list[Said]:
    """The faults of the variant at its own fields; what the first tank has as well is told there."""
    told = {(said.field, said.text) for said in one.faults}
    return [
        Said(OTHER + said.field if said.field in VARIED else said.field, said.text, said.language)
        for said in other.faults
        if said.field in varied or (said.field, said.text) not in told
    ]
