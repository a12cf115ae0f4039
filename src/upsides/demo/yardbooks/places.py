"""The invented yard's places and things: boxes, gallops, scales and thermometers, lorries, feeds; of invented names."""

from dataclasses import asdict, dataclass
from math import ceil
from typing import Final

import polars as pl

from upsides.demo.morning_sim.strips import CHIP, SURFACES, drawn, strips
from upsides.demo.yard import YARD

OLD_SCALE, NEW_SCALE = "Old platform", "New platform"
LABORATORY = "Fold Lane laboratory"
LORRIES = ("Green lorry", "Small lorry")
THINGS: Final = (
    ("scale", OLD_SCALE),
    ("scale", NEW_SCALE),
    ("thermometer", "Brewhouse thermometer"),
    ("thermometer", "Chantry thermometer"),
    ("thermometer", "Long Row thermometer"),
    ("laboratory", LABORATORY),
    ("lorry", LORRIES[0]),
    ("lorry", LORRIES[1]),
    ("tack", "Breaking roller"),
    ("tack", "Rubber bit, blue tape"),
)
"""Kind and name."""
FEED_TIMES = ("morning", "noon", "evening")
ROOM: Final = 34 / 30
"""So many boxes stand for each horse of today: others come while some are still here."""
ISOLATION = "Gatehouse"
"""The barn of the two boxes that stand apart."""


FAST_MOST: Final = (6, 50, 6, 30, 50, 30, 6)
"""The most horses in fast work, Monday first: Tuesdays and Fridays are its work mornings."""
RIDES_EACH: Final = 5
SLOTS: Final = {CHIP: 48}
"""The most horses of a morning on a gallop; on others there is room for all."""


@dataclass(frozen=True, slots=True)
class Feed:
    """A feed as its label has it: MJ of digestible energy a kg as fed, and shares of its mass."""

    name: str
    kind: str
    energy_mj_kg: float
    dry_matter: float
    starch: float | None
    protein: float | None


HAYLAGE = Feed("Fold haylage", "forage", 6.6, 0.65, 0.01, 0.07)
HAY = Feed("Meadow hay", "forage", 7.9, 0.86, 0.015, 0.075)
CUBES = Feed("Wainfold racing cubes", "concentrate", 12.8, 0.88, 0.24, 0.135)
OATS = Feed("Whole oats", "concentrate", 11.9, 0.87, 0.4, 0.105)
BALANCER = Feed("Dunnock balancer", "supplement", 11.0, 0.89, 0.08, 0.26)
FEEDS: Final = (HAYLAGE, HAY, CUBES, OATS, BALANCER)


def boxes_in_a_barn(horses: int) -> int:
    """Return how many boxes each barn has, in a yard of so many horses today."""
    return ceil(ROOM * horses / len(YARD.barns))


def boxes(horses: int) -> pl.DataFrame:
    """Return every box of a yard of so many horses: barn, name, position in the walk of evening stables, isolation."""
    rows = [(barn, str(n + 1), False) for barn in YARD.barns for n in range(boxes_in_a_barn(horses))]
    rows += [(ISOLATION, str(n + 1), True) for n in range(2)]
    schema = {"barn": pl.String, "name": pl.String, "isolation": pl.Boolean}
    return pl.DataFrame(rows, schema=schema, orient="row").with_row_index("position", offset=1)


def gallops() -> pl.DataFrame:
    """Return the gallops: name, surface, length_m, rise_m, line, marks, slots."""
    rows = [
        (name, SURFACES[name], round(gallop.length_m), round(gallop.rise_m), *drawn(gallop), SLOTS.get(name))
        for name, gallop in strips().items()
    ]
    schema = {
        "name": pl.String(),
        "surface": pl.String(),
        "length_m": pl.Int64(),
        "rise_m": pl.Int64(),
        "line": pl.List(pl.List(pl.Float64)),
        "marks": pl.List(pl.Float64),
        "slots": pl.Int64(),
    }
    return pl.DataFrame(rows, schema=schema, orient="row")


def things() -> pl.DataFrame:
    """Return what has a name of its own: kind, name."""
    return pl.DataFrame(list(THINGS), schema={"kind": pl.String, "name": pl.String}, orient="row")


def feeds() -> pl.DataFrame:
    """Return the feeds: name, kind, energy_mj_kg, dry_matter, starch, protein."""
    return pl.DataFrame([asdict(feed) for feed in FEEDS])
