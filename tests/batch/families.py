"""Families of tanks: what those of one family are described by, their figures, and ways to spoil a row."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from service.schemas.import_columns import SETUP_COLUMNS

Cells = dict[str, str]
Draw = Callable[[Random], str]
_KINDS = ("Plain", "Bright", "Calm", "Wide", "Tall", "Quiet", "Low", "Clear")
_PLACES = ("Hall", "Desk", "Window", "Corner", "Den", "Shop", "School", "Study")


def _of(low: float, high: float, places: int = 0) -> Draw:
    """A decimal from low to high; without trailing noughts, as people write."""

    def draw(random: Random) -> str:
        text = f"{random.uniform(low, high):.{places}f}"
        return text.rstrip("0").rstrip(".") if places else text

    return draw


def _one_of(*words: str) -> Draw:
    return lambda random: random.choice(words)


class Family:
    """Tanks that are described alike. The members they have are drawn once, the figures for each."""

    def __init__(self, random: Random) -> None:
        def some(share: float) -> bool:
            return random.random() < share

        self.shape = random.choice(("box", "box", "box", "bow", "cylinder", "other"))
        self.high, self.named = some(0.8), some(0.8)
        self.same: Cells = {}
        self.drawn: dict[str, Draw] = {}
        same, drawn = self.same, self.drawn
        same["shape"] = self.shape
        same["water"] = random.choice(("marine", "marine", "fresh", "fresh", "brackish"))
        if some(0.5):
            same["material"] = random.choice(("glass", "acrylic"))
        if some(0.7):
            drawn["displaced_percent"] = _of(2, 18, 1)
        if some(0.4):
            drawn["sump_water_l"] = _of(8, 120)
        if some(0.7):
            drawn["water_temperature_c"] = _of(23, 27, 1)
        if some(0.6):
            drawn["room_temperature_c"] = _of(16, 24, 1)
        if some(0.4):
            drawn["room_humidity_percent"] = _of(38, 58)
        if some(0.7):
            same["cover"] = random.choice(("open", "mesh", "glazed"))
        if some(0.6):
            same["surface"] = random.choice(("still", "rippled", "broken"))
        if same["water"] != "fresh" and some(0.6):
            drawn["salinity_g_per_kg"] = _of(30, 36, 1) if same["water"] == "marine" else _of(8, 16, 1)
        if some(0.8):
            portion = ("water_change_percent", _of(5, 30)) if some(0.6) else ("water_change_l", _of(5, 60))
            drawn |= (portion,)
            same["water_change_every"] = random.choice(("P7D", "P14D", "P1W", "P1M"))
        if some(0.7):
            same["purified"] = random.choice(("true", "false"))
            if some(0.5):
                drawn["reject_ratio"] = _of(1, 4, 1)
        if some(0.8):
            same["heating"] = random.choice(("modelled", "modelled", "modelled", "none"))
            if same["heating"] == "modelled" and some(0.6):
                drawn["heating_w"] = _one_of("50", "100", "150", "200", "300", "400", "600")
        if some(0.4):
            same["cooling"] = random.choice(("none", "chiller", "fan"))
            if same["cooling"] == "chiller" and some(0.7):
                drawn["chiller_cop"] = _of(1.8, 3.4, 1)
            if same["cooling"] == "fan":
                drawn["fan_w"] = _of(3, 20)
        if some(0.9):
            drawn["pump_w"] = _of(4, 85, 1)
        if some(0.6):
            drawn["lamp_w"] = _of(12, 240)
            drawn["lamp_hours_per_day"] = _one_of("8", "9", "9.5", "10", "12")

    def cells(self, line: int, random: Random) -> Cells:
        """One tank, its cells in the order of the columns."""
        found = self.same | {name: draw(random) for name, draw in self.drawn.items()}
        found |= self._size(random)
        found |= {"ref": f"tank-{line}", "sku": f"{random.choice('+=ABCDEF')}{line:08}"}
        if self.named:
            found["name"] = f"{random.choice(_KINDS)} {random.choice(_PLACES)}, number {line}"
        return {name: found[name] for name in SETUP_COLUMNS if name in found}

    def _size(self, random: Random) -> Cells:
        depth = random.randrange(25, 66)
        if self.shape == "other":
            litres = random.randrange(20, 900)
            return {
                "water_l": str(litres),
                "open_surface_m2": f"{litres / 500:.3f}",
                "pane_area_m2": f"{litres / 210:.2f}",
            }
        length = random.randrange(40, 200)
        found = {
            "pane_mm": random.choice(("5", "6", "8", "10", "12", "15")),
            "water_depth_cm": random.choice((str(depth), f"{depth}.5")),
        }
        if self.shape == "cylinder":
            found["diameter_cm"] = str(random.randrange(35, 120))
        else:
            found |= {"length_cm": str(length), "width_cm": str(random.randrange(25, 80))}
        if self.shape == "bow":
            found["bow_cm"] = str(random.randrange(5, 20))
        if self.high:
            found["height_cm"] = str(depth + random.randrange(3, 9))
        return found


def _put(**cells: str) -> Callable[[Cells], None]:
    return lambda row: row.update(cells)


def _spoil_vessel(row: Cells) -> None:
    row.pop("length_cm" if "length_cm" in row else "diameter_cm" if "diameter_cm" in row else "water_l")


WAYS: tuple[Callable[[Cells], None], ...] = (
    _spoil_vessel,
    _put(shape="ball"),
    _put(water="sea"),
    _put(cover="lid"),
    _put(ref="no good"),
    _put(sku="x" * 65),
    _put(name="bell \x07"),
    _put(room_temperature_c="80"),
    _put(room_humidity_percent="101"),
    _put(water_temperature_c="3"),
    _put(displaced_percent="140"),
    _put(displaced_percent="-4"),
    _put(sump_water_l="12.12345678"),
    _put(sump_water_l="1e2"),
    _put(pump_w="strong"),
    _put(lamp_w="40", lamp_hours_per_day="25"),
    _put(water_change_every="weekly"),
    _put(water_change_percent="10", water_change_l="10"),
    _put(heating="none", heating_w="100"),
    _put(cooling="fan", chiller_cop="3"),
    _put(pane_mm="0.0000001"),
    _put(routine="house rules"),
    _put(routine="kept-elsewhere"),
)


def spoilt(cells: Cells, random: Random) -> None:
    """Make a good row bad in one of many ways; its cells stay in the order of the columns."""
    if "pane_mm" in cells and random.random() < 0.2:
        cells["pane_mm"] = random.choice(("700", "1000"))
        return
    if "height_cm" in cells and random.random() < 0.1:
        cells["water_depth_cm"] = "300"
        return
    random.choice(WAYS)(cells)
    ordered = {name: cells[name] for name in SETUP_COLUMNS if name in cells}
    cells.clear()
    cells.update(ordered)
