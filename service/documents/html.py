"""The document of a quote as a page: no script, no style of its own, everything from this service."""

from __future__ import annotations

from markupsafe import Markup

from service.documents.blocks import Chart, View
from service.documents.speech import LANGUAGES, speech
from service.documents.templating import template

HTML = "text/html"
# The forms that the page leads to, by the name that the query knows them by.
FORMS = ("pdf", "csv", "calendar")


def page(view: View) -> str:
    """A view as HTML. Its links lead to the other forms and languages at the same address."""
    words = speech(view.language)

    def say(name: str) -> str:
        return words.say(f"quote.{name}")

    return template("quote.html").render(
        view=view,
        say=say,
        picture=_picture,
        forms=[(say(f"form_{form}"), f"?as={form}&language={view.language}") for form in FORMS],
        languages=[
            (language, say(f"language_{language}"), f"?as=html&language={language}")
            for language in LANGUAGES
            if language != view.language
        ],
    )


def _picture(chart: Chart) -> Markup:
    # It was made here, by a template that escapes all that it is given.
    return Markup(chart.svg)  # noqa: S704
