"""Facts: what a costing says of a setup that follows from the setup alone, and what rules may ask."""

from __future__ import annotations

from dataclasses import dataclass

from service.quoting.usage import NEEDED

# Name -> (unit, what it is), in the order in which they are listed.
FACTS: dict[str, tuple[str, str]] = {
    "net_volume": ("L", "water in the setup: in the vessel, less what is displaced, and in the sump"),
    "nominal_volume": ("L", "outside length by width by height, as sellers quote it"),
    "gross_volume": ("L", "inside of the vessel up to the water level, before anything is displaced"),
    "open_surface": ("m2", "surface of the water in the vessel, whether covered or not"),
    "pane_area": ("m2", "outside of the upright panes up to the water level"),
    "base_area": ("m2", "outside of the base, which is what the vessel stands on"),
    "empty_mass": ("kg", "mass of the vessel alone"),
    "filled_mass": (
        "kg",
        "mass of the vessel with its water, what lies in it, and its stand where that was given",
    ),
    "floor_load": ("kg/m2", "filled mass over the area of the base"),
    "salinity": ("g/kg", "salt in a kilogram of the water, for water that has any"),
    "practical_salinity": ("1", "the same on the practical scale, as meters show it"),
    "specific_gravity": (
        "1",
        "density of the water over that of pure water, both at 25 degrees, in five decimals",
    ),
    "conductivity": ("mS/cm", "what the water conducts at 25 degrees"),
}

QUANTITY, NUMBER, WORD, FLAG = "quantity", "number", "word", "flag"
WORD_TESTS = ("is", "one_of")
NUMBER_TESTS = ("over", "at_least", "under", "at_most")
TESTS = (*WORD_TESTS, *NUMBER_TESTS)
TESTS_OF = {QUANTITY: NUMBER_TESTS, NUMBER: NUMBER_TESTS, WORD: WORD_TESTS, FLAG: ("is",)}


@dataclass(frozen=True, slots=True)
class Askable:
    """A fact that conditions of rules may ask for; `give` is what a setup must say for it to be known.

    A quantity is asked for with a unit of its dimension; a number is a plain one, in the fact's unit.
    """

    kind: str
    text: str
    give: str
    unit: str | None = None
    words: tuple[str, ...] = ()
    stated: bool = False


_SIZES = "'vessel' with its outside measures"
_GIVE = {
    "net_volume": "'vessel'",
    "nominal_volume": f"{_SIZES} and height",
    "gross_volume": "'vessel'",
    "open_surface": "'vessel' with its open surface",
    "pane_area": "'vessel' with its panes",
    "base_area": "'vessel' with its base",
    "empty_mass": f"{_SIZES} and height",
    "filled_mass": f"{_SIZES} and height",
    "floor_load": f"{_SIZES} and height",
} | dict.fromkeys(
    ("salinity", "practical_salinity", "specific_gravity", "conductivity"),
    "'water' that is marine or brackish, or 'salinity'",
)


def _fact(name: str, unit: str, text: str) -> Askable:
    """A fact of the answer; those without a unit that quantities have are asked for by plain numbers."""
    kind = NUMBER if unit in ("1", "kg/m2") else QUANTITY
    return Askable(kind, text, _GIVE[name], unit)


def _word(text: str, give: str, *words: str) -> Askable:
    return Askable(WORD, text, give, words=words, stated=True)


# Before the name of a driver: whether a setup says enough for lines that follow it.
HAS = "has_"

# Everything that a condition may ask for, in the order in which it is listed.
ASKABLE: dict[str, Askable] = {
    **{name: _fact(name, unit, text) for name, (unit, text) in FACTS.items()},
    "water": _word("kind of water", "'water'", "marine", "brackish", "fresh"),
    "cover": _word(
        "what lies over the water, by its usual name", "'cover' as a word", "open", "mesh", "glazed"
    ),
    "surface": _word("how the surface moves", "'surface'", "still", "rippled", "broken"),
    "heating": _word("how heating is counted", "'heating'", "modelled", "none"),
    "cooling": _word("how cooling is done", "'cooling'", "none", "chiller", "fan"),
    "corals": _word("what kind of corals", "'livestock' with 'corals'", "none", "soft", "mixed", "stony"),
    "plants": _word("how well plants are fed", "'plants'", "lean", "typical", "rich"),
    "co2": _word("how carbon dioxide for plants is counted", "'co2'", "bubbles", "surface", "weighed"),
    "purified": Askable(
        FLAG, "whether the water goes through a purifier", "'source_water' with 'purified'", stated=True
    ),
    "limewater": Askable(FLAG, "whether water is topped up with limewater", "'limewater'", stated=True),
    "fish": Askable(NUMBER, "how many fish", "'livestock' with 'fish'", "1", stated=True),
    "devices": Askable(NUMBER, "how many devices", "'devices'", "1", stated=True),
    "lamps": Askable(
        NUMBER, "how many devices are placed above the water or in the hood", "'devices'", "1", stated=True
    ),
    **{
        HAS + driver: Askable(FLAG, f"whether the driver {driver} is known of the setup", needed, stated=True)
        for driver, needed in NEEDED.items()
    },
}
