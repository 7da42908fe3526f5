"""The shapes of routines: rules that fit lines to a setup from its facts."""

from __future__ import annotations

from decimal import Decimal

from service.quoting.facts_list import ASKABLE, TESTS
from service.schemas import limits, patterns
from service.schemas.basic import Quantity, a_ref
from service.schemas.fields import Day, Flag, Number, Strict, Text, Word
from service.schemas.line import Line
from service.schemas.nesting import ByType, Items, Obj, Shape


def _threshold(says: str) -> ByType:
    """A quantity, or a plain number for what has no unit of its own."""
    number = Number("A plain number, for what is counted.")
    choices: dict[type, Strict] = {dict: Obj("A quantity.", Quantity)}
    return ByType(says, choices | dict.fromkeys((str, int, Decimal), number))


def _word(says: str) -> Text:
    return Text(says, pattern=patterns.REF, longest=64, wanted='a word such as "marine"')


class Condition(Shape):
    """What must hold of one fact; what is not known of a setup does not hold."""

    exactly_one = (TESTS,)
    wanted = "a condition, an object with 'fact' and what must hold of it"
    fact = Word("The fact; see /v1/facts.", *ASKABLE, required=True)
    is_ = ByType("The word, or true or false.", {str: _word("The word."), bool: Flag("The flag.")}, key="is")
    one_of = Items("Words of which it is one.", _word("A word."), least=1, most=limits.WORDS)
    over = _threshold("What it lies above.")
    at_least = _threshold("What it reaches or lies above.")
    under = _threshold("What it lies below.")
    at_most = _threshold("What it reaches or lies below.")


class LineMembers(Line):
    """Members of a line that take the place of its own."""

    class Meta(Shape.Meta):
        # A line keeps its name, so that other rules and the answer still find it.
        exclude = ("ref",)

    wanted = "an object with members of a line other than 'ref'"


# Something must change, and none of what a whole line must have need be there.
_MEMBERS: type[Shape] = LineMembers
_MEMBERS.exactly_one = ()
_MEMBERS.at_least_one = (tuple(LineMembers().fields),)


class LineChange(Shape):
    """A change of one line, which the setup states or an earlier rule added."""

    exactly_one = (("replace", "scale", "drop"),)
    wanted = "a change, an object with 'line' and one of 'replace', 'scale' and 'drop'"
    line = a_ref("Name of the line.")
    replace = Obj("Members that take the place of the line's own.", LineMembers)
    scale = Number(
        "What the amount used is multiplied by, exactly.",
        pattern=patterns.PART,
        wanted='a factor such as "1.2" or "1/3"',
        todo="give at most 12 digits before the point and 6 after it, or a fraction",
    )
    drop = Flag("True to leave the line out.")


class Rule(Shape):
    """Lines that are added or changed where all conditions hold."""

    at_least_one = (("add", "change"),)
    wanted = "a rule, an object with 'ref', 'when' and 'add' or 'change'"
    ref = a_ref("Name of the rule in the routine and in the answer.")
    name = Text("Name for people; default the ref.")
    why = Text("Why it is done so, for people.")
    when = Items(
        "Conditions that must all hold; an empty list always does.",
        Obj("A condition.", Condition),
        most=limits.CONDITIONS,
        required=True,
    )
    add = Items("Lines that are added.", Obj("A line.", Line), most=limits.RULE_LINES)
    change = Items("Lines that are changed.", Obj("A change.", LineChange), most=limits.RULE_LINES)


class Routine(Shape):
    """Named rules, asked in their order, that make a whole schedule of a bare setup."""

    wanted = "a routine, an object with 'ref' and 'rules'"
    ref = a_ref("Name of the routine.")
    name = Text("Name for people; default the ref.")
    from_ = Day("First day on which the rules are in force.", key="from")
    rules = Items(
        "The rules, in their order.", Obj("A rule.", Rule), least=1, most=limits.RULES, required=True
    )


def a_routine(says: str) -> ByType:
    """A routine itself, or the name under which it is kept."""
    kept = Text(
        "The name under which it is kept.",
        pattern=patterns.REF,
        longest=64,
        wanted="the name of a kept routine",
    )
    return ByType(says, {str: kept, dict: Obj("The rules themselves.", Routine)})
