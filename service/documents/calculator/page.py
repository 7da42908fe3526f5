"""The calculator as a page that needs no script."""

from __future__ import annotations

import json
from typing import Any

from markupsafe import Markup

from service.documents.calculator.script import address
from service.documents.calculator.view import View
from service.documents.calculator.whole import ADDRESS
from service.documents.chart import year_chart
from service.documents.speech import Speech, speech
from service.documents.templating import template


def page(view: View) -> str:
    """The view model with its form as HTML."""
    chart, form = (view["answer"] or {}).get("chart"), view["form"]
    variant = form["variant"]
    return template("calculator.html").render(
        view=view,
        w=view["words"],
        action=ADDRESS,
        script=address(),
        # Our own SVG, whose texts are escaped where it is made.
        chart=Markup(_chart(chart, speech(view["language"]))) if chart else "",  # noqa: S704
        request=json.dumps(view["request"], indent=2, ensure_ascii=False),
        open=_touched(form["groups"]),
        varied=_touched(variant["questions"]) or _touched(variant["groups"]),
        varied_more=_touched(variant["groups"]),
    )


def _touched(sets: list[View]) -> bool:
    """Whether something in them was typed or is at fault, so that it must be seen."""
    return any(one["touched"] for one in sets)


def _chart(chart: dict[str, Any], spoken: Speech) -> str:
    series = [(one["key"], one["name"], one["amounts"]) for one in chart["series"]]
    return year_chart(
        chart["labels"],
        series,
        chart["title"],
        chart["description"],
        lambda amount: spoken.money(amount, chart["currency"]),
    )
