"""The form of the calculator as data: five questions, then groups of everything else.

A field's name is its parameter in the address, kept short since the address holds the whole form.
Numbers have a least and a most, which only keep out slips of the hand; the engine knows the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

NUMBER, CHOICE, TEXT, DAY = "number", "choice", "text", "day"
# What the second of two compared tanks is asked with: the same names after this.
OTHER = "b_"
YES, NO = "yes", "no"
USUAL = ""


@dataclass(frozen=True, slots=True)
class Field:
    """One question. `unit` is a UCUM code, or one of %size, %money, %money_kwh, %money_m3 and %months.

    initial: what stands in the form at first; where it is empty the field may be left empty.
    both: the same for both of two compared tanks.
    """

    name: str
    kind: str = NUMBER
    unit: str = ""
    least: str = "0"
    most: str = "100000"
    options: tuple[str, ...] = ()
    initial: str = ""
    needed: bool = False
    both: bool = False

    @property
    def longest(self) -> int:
        """Most characters that can be typed."""
        return {NUMBER: 12, TEXT: 24, DAY: 10}.get(self.kind, 12)


def _size(name: str, needed: bool = True) -> Field:
    return Field(name, unit="%size", least="5", most="1000", needed=needed)


def _price(name: str) -> Field:
    return Field(name, unit="%money", most="1000000")


def _choice(name: str, *options: str, initial: str = "", both: bool = False) -> Field:
    return Field(name, CHOICE, options=options, initial=initial, both=both)


QUESTIONS: dict[str, tuple[Field, ...]] = {
    "water": (_choice("water", "fresh", "marine", "brackish", initial="fresh"),),
    "size": (
        _size("length"),
        _size("width"),
        _size("height"),
        _size("depth", needed=False),
        _choice("size", "cm", "in", initial="cm", both=True),
    ),
    "room": (Field("room", unit="Cel", least="-10", most="45", initial="21"),),
    "lid": (_choice("cover", "open", "mesh", "glazed", initial="glazed"),),
    "electricity": (
        Field("price", unit="%money_kwh", most="10000"),
        Field("currency", CHOICE, both=True),
    ),
}

DEVICES = ("d1", "d2", "d3", "d4")

GROUPS: dict[str, tuple[Field, ...]] = {
    "tank": (
        Field("pane", unit="mm", least="1", most="100"),
        _choice("material", "glass", "acrylic", initial="glass"),
        Field("inside", unit="%", most="90"),
        Field("sump", unit="L", most="20000"),
        Field("temp", unit="Cel", least="5", most="40"),
        _choice("surface", USUAL, "still", "rippled", "broken"),
        Field("humidity", unit="%", least="1", most="100"),
        Field("salinity", unit="g/kg", most="45"),
    ),
    "changes": (
        Field("portion", unit="%", most="100"),
        Field("every", unit="d", least="1", most="365"),
        _choice("purified", USUAL, YES, NO),
        Field("reject", unit="1", most="20"),
    ),
    "climate": (
        _choice("heating", YES, NO, initial=YES),
        Field("heater", unit="W", least="1", most="20000"),
        _choice("cooling", NO, "fan", "chiller", initial=NO),
        Field("fan", unit="W", most="2000"),
    ),
    "devices": (
        Field("pump", unit="W", most="5000"),
        Field("lamp", unit="W", most="5000"),
        Field("lit", unit="h", most="24"),
        *(
            field
            for name in DEVICES
            for field in (
                Field(f"{name}n", TEXT),
                Field(f"{name}w", unit="W", most="5000"),
                Field(f"{name}h", unit="h", most="24"),
            )
        ),
    ),
    "supply": (
        Field("tap", unit="%money_m3", most="100000"),
        Field("sewer", unit="%money_m3", most="100000"),
    ),
    "goods": (
        Field("saltk", unit="kg", most="1000", initial="20"),
        _price("saltp"),
        Field("foodd", unit="g", most="10000"),
        Field("foodg", unit="g", most="100000", initial="100"),
        _price("foodp"),
        Field("mediaw", unit="wk", least="1", most="520", initial="6"),
        _price("mediap"),
        Field("cartl", unit="mo", least="1", most="60", initial="6"),
        _price("cartp"),
        Field("teste", unit="d", least="1", most="365"),
        Field("testn", unit="1", least="1", most="10000", initial="50"),
        _price("testp"),
        Field("addw", unit="mL", most="100000"),
        Field("addm", unit="mL", most="100000", initial="500"),
        _price("addp"),
    ),
    "period": (
        Field("reserve", unit="%", most="100", both=True),
        Field("start", DAY, both=True),
        Field("months", unit="%months", least="1", most="36", initial="12", both=True),
        _choice("range", NO, YES, initial=NO, both=True),
    ),
}

FIELDS: dict[str, Field] = {
    field.name: field for group in (*QUESTIONS.values(), *GROUPS.values()) for field in group
}
# What can differ between two compared tanks.
VARIED = tuple(name for name, field in FIELDS.items() if not field.both)
# Each good with its price, and what must stand beside a price.
GOODS: dict[str, tuple[str, tuple[str, ...]]] = {
    "salt": ("saltp", ("saltk",)),
    "food": ("foodp", ("foodd", "foodg")),
    "media": ("mediap", ("mediaw",)),
    "cartridges": ("cartp", ("cartl",)),
    "tests": ("testp", ("teste", "testn")),
    "additives": ("addp", ("addw", "addm")),
}
