"""The shape of what the calculator answers; finished texts, so most of it is for drawing as it stands."""

from __future__ import annotations

from service.schemas.answer_basic import words as a_text
from service.schemas.fields import Anything, Text, Word
from service.schemas.nesting import Items, Obj, Shape

_MOST_FAULTS = 1000


class CalculatorFault(Shape):
    """What cannot be taken as it is."""

    field = Text("The parameter that it belongs to; empty where it belongs to none.", required=True)
    text = a_text("What was got and what is wanted.")
    lang = Text("Language of the text.", required=True)


class Calculation(Shape):
    """The form with what stands in it, and the answer in words of the language."""

    language = Text("Language of the texts.", required=True)
    direction = Word("Direction of its writing.", "ltr", "rtl", required=True)
    languages = Items(
        "The same in each language; left out with 'part' answer.", Anything("A language."), most=20
    )
    form = Anything("The questions; left out with 'part' answer.")
    words = Anything("Headings and other texts for a script that draws it; left out with 'part' answer.")
    answer = Anything(
        "What it costs and why; null where something cannot be taken.", nullable=True, required=True
    )
    compare = Anything("What the variant costs more or less; null without one.", nullable=True, required=True)
    faults = Items("All faults.", Obj("A fault.", CalculatorFault), most=_MOST_FAULTS, required=True)
    problem = a_text("How many faults there are, in a sentence.", required=False)
    status = a_text("The answer in a sentence, for those who hear it.")
    link = Text("The address that asks the same.", required=True, longest=8000)
    request = Anything(
        "The request of POST /v1/costings behind it; null after a fault.", nullable=True, required=True
    )


class EmbeddedScript(Shape):
    """The script that draws the calculator in a page of another site."""

    element = a_text("The element that it defines.")
    src = a_text("Its address, which names its content: another script has another address.")
    integrity = a_text("Its digest for the attribute of that name.")
    example = a_text("How a page takes it in.")


class Embeds(Shape):
    """What pages of other sites can take in."""

    calculator = Obj("The calculator.", EmbeddedScript, required=True)
