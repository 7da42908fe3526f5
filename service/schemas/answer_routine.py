"""The shapes of what a routine did to a setup."""

from __future__ import annotations

from service.schemas import limits
from service.schemas.answer_basic import words
from service.schemas.fields import Day, Text
from service.schemas.nesting import Items, Obj, Shape


def _refs(says: str, one: str) -> Items:
    return Items(says, Text(one, longest=64), most=limits.RULE_LINES, required=True)


class ChangedLine(Shape):
    """A line that a rule changed."""

    line = Text("Name of the line.", required=True, longest=64)
    how = words("What was done to it.")


class _Told(Shape):
    rule = Text("Name of the rule.", required=True, longest=64)
    name = words("Name for people.")
    why = words("Why it is done so.", required=False)


class FiredRule(_Told):
    """A rule whose conditions all held."""

    added = _refs("Lines that it added.", "A line.")
    changed = Items(
        "Lines that it changed.", Obj("A line.", ChangedLine), most=limits.RULE_LINES, required=True
    )
    kept = _refs("Lines that it did not add, since they are stated in the request.", "A line.")
    no_line = _refs("Lines that it would have changed, and that are not there.", "A line.")


class QuietRule(_Told):
    """A rule of which a condition did not hold."""

    because = words("The first condition that did not hold, beside what is known.")


class AnswerRoutine(Shape):
    """What the routine of a setup did."""

    ref = Text("Name of the routine.", required=True, longest=64)
    name = words("Name for people.")
    from_ = Day("First day on which its rules are in force, where it says one.", key="from")
    fired = Items("Rules that held.", Obj("A rule.", FiredRule), most=limits.RULES, required=True)
    not_fired = Items(
        "Rules that did not hold, and why.", Obj("A rule.", QuietRule), most=limits.RULES, required=True
    )
