"""A weight-for-age scale as its authority shapes it, unfolded into cells that can be asked one by one."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from upsides.rules.rule import Entry, Rule
from upsides.trade.units import FURLONG_M, YARD_M

MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
NEAR_M: Final = 1.0
"""A distance given in whole metres counts as the listed one when it is this near: 1609 m is the mile."""
FEW: Final = 6
"""Up to so many cells are listed one by one."""

Place = str | int | float | None


@dataclass(frozen=True, slots=True)
class Cell:
    """One question to a scale: which half month, how far, how old, what class of race and what sex.

    Attributes:
        half: half month of the year, 0 for 1-15 January to 23 for 16-31 December.
        distance_m: distance of the race in metres.
        age: official age.
        race_class: class of race, where the scale distinguishes them.
        sex: "male" or "female".
    """

    half: int
    distance_m: float
    age: int
    race_class: str
    sex: str


@dataclass(frozen=True, slots=True)
class AgeScale:
    """One scale.

    Attributes:
        rule: where it comes from.
        form: "allowance" or "weight".
        unit: "lb" or "kg".
        classes: classes of race that it distinguishes; empty when none.
        mature_age: age from which an allowance is nothing; None where the scale says nothing of it.
        halves: whether its step is half a month.
        place: turns metres into the scale's own distance.
        cells: (place, class, sex, age, step) to value; class or sex "" where not distinguished.
        oldest: place to the age whose row also serves older horses.
        by_age: for a scale of ages only, (age, class) to value, everything else being nothing.
    """

    rule: Rule
    form: str
    unit: str
    classes: tuple[str, ...]
    mature_age: int | None
    halves: bool
    place: Callable[[float], Place]
    cells: Mapping[tuple[Place, str, str, int, str], float]
    oldest: Mapping[Place, int]
    by_age: Mapping[tuple[int, str], float] | None = None

    def value(self, cell: Cell) -> float | None:
        """Return what the scale gives, or None where it gives nothing."""
        if self.by_age is not None:
            return self.by_age.get((cell.age, cell.race_class), 0.0)
        if self.mature_age is not None and cell.age >= self.mature_age:
            return 0.0
        place = self.place(cell.distance_m)
        age = min(cell.age, self.oldest.get(place, cell.age))
        step = MONTHS[cell.half // 2] + (str(cell.half % 2 + 1) if self.halves else "")
        group = cell.race_class if self.classes else ""
        for sex in (cell.sex, ""):
            if (found := self.cells.get((place, group, sex, age, step))) is not None:
                return found
        return None

    @property
    def listed(self) -> str:
        """Every cell with its value, in words."""
        cells = self.cells.items()
        parts = (f"{step} {place} age {age} {sex} {value:g}" for (place, _, sex, age, step), value in cells)
        return "; ".join(part.replace("  ", " ") for part in parts)

    @property
    def covers(self) -> str:
        """What the scale gives, in words."""
        if self.by_age is not None:
            return f"{self.rule.name}: every case"
        if len(self.cells) <= FEW:
            return f"{self.rule.name}: {self.listed}"
        ages = sorted({age for _, _, _, age, _ in self.cells})
        steps = list(dict.fromkeys(step for *_, step in self.cells))
        places = list(dict.fromkeys(str(place) for place, *_ in self.cells))
        span = f"ages {ages[0]} to {ages[-1]}" if len(ages) > 1 else f"age {ages[0]}"
        return f"{self.rule.name}: {span}, {steps[0]} to {steps[-1]}, distances {places[0]} to {places[-1]}"


@lru_cache(maxsize=512)
def age_scale(entry: Entry) -> AgeScale:
    """Unfold a rule of weight for age into a scale."""
    body = entry.body
    cells: dict[tuple[Place, str, str, int, str], float] = {}
    oldest: dict[Place, int] = {}
    for row in (*body.get("rows", ()), *body.get("points", ())):
        place = next(row[key] for key in ("band", "yards", "furlongs", "metres") if key in row)
        steps = [row["step"]] if "step" in row else body["columns"]
        values = [row["value"]] if "step" in row else row["values"]
        if row.get("and_older"):
            oldest[place] = row["age"]
        for step, value in zip(steps, values, strict=True):
            if value != "-":
                key = (place, row.get("race_class", ""), row.get("sex", ""), row["age"], step)
                cells[key] = float(value)
    return AgeScale(
        entry.rule,
        body["form"],
        body["unit"],
        tuple(body.get("classes", ())),
        body.get("mature_age"),
        body.get("step") == "half-month",
        _place_rule(body),
        cells,
        oldest,
        _by_age(body) if body["shape"] == "ages" else None,
    )


def _by_age(body: Mapping[str, Any]) -> dict[tuple[int, str], float]:
    return {(row["age"], row["race_class"]): float(row["value"]) for row in body["values"]}


def _place_rule(body: Mapping[str, Any]) -> Callable[[float], Place]:
    match body.get("distance_rule"):
        case "bands":
            return lambda metres: _band(body["bands"], metres)
        case "shorter listed distance":
            listed = sorted({row["yards"] for row in body["rows"]})
            return lambda metres: max((yd for yd in listed if yd * YARD_M <= metres + NEAR_M), default=None)
        case "nearest furlong":
            return lambda metres: int(metres / FURLONG_M + 0.5)
        case _:
            points = sorted({row["metres"] for row in (*body.get("rows", ()), *body.get("points", ()))})
            return lambda metres: next((m for m in points if abs(m - metres) <= NEAR_M), None)


def _band(bands: list[dict[str, Any]], metres: float) -> str | None:
    for band in bands:
        low, high = band["from_m"], band.get("to_m", float("inf"))
        above = metres > low or (metres == low and band["from_included"])
        below = metres < high or (metres == high and band["to_included"])
        if above and below:
            return str(band["band"])
    return None
