"""The invented yard: its name, its barns, and the horses that stand in them."""

from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from upsides.demo.horses import Ints
from upsides.demo.world import World
from upsides.demo.writing import COUNTRY, grown_sex, source_horse

_STRING = {
    "source_horse": pl.String,
    "name": pl.String,
    "foaled": pl.Int16,
    "sex": pl.String,
    "sire": pl.String,
    "dam": pl.String,
    "joined": pl.Date,
    "barn": pl.String,
    "box": pl.String,
    "carer": pl.String,
}


@dataclass(frozen=True, slots=True)
class Yard:
    """What there is to know of the yard itself.

    Args:
        name: its name.
        zone: its IANA time zone.
        country: its country, as in the races.
        barns: names of its barns.
    """

    name: str
    zone: str
    country: str
    barns: tuple[str, ...]


YARD = Yard("Dunnockfold", "Europe/London", COUNTRY, ("Brewhouse", "Chantry", "Long Row"))


def string_of_yard(rng: np.random.Generator, world: World, people: pl.DataFrame, today: date) -> pl.DataFrame:
    """Return the horses that the yard has on `today`, each with a box in a barn and somebody who looks after it.

    Returns:
        source_horse, name, foaled, sex, sire, dam, joined, barn, box, carer (a login), in order of name. Barns are of
        even size, and so are the numbers of horses that the people of a barn look after.
    """
    horses = world.horses
    here = (horses.trainer == 0) & (horses.ends > today.toordinal()) & (horses.trained_from <= today.toordinal())
    own = rng.permutation(np.flatnonzero(here))
    joined = np.maximum(horses.trained_from, horses.moved)[own]
    rows = [
        (
            source_horse(i),
            horses.names[i],
            int(horses.foaled[i]),
            grown_sex(str(horses.sex[i]), today.year - int(horses.foaled[i])),
            horses.sires[horses.sire[i]],
            horses.dams[i],
            date.fromordinal(day),
            *box,
        )
        for i, day, box in zip(own.tolist(), joined.tolist(), _boxes(people, own), strict=True)
    ]
    return pl.DataFrame(rows, schema=_STRING, orient="row").sort("name")


def _boxes(people: pl.DataFrame, own: Ints) -> list[tuple[str, str, str]]:
    """Return barn, box and carer for each horse, dealt round the barns and in each barn round its carers."""
    carers = people.filter(pl.col("roles").list.contains("carer"))
    found = []
    for turn in range(own.size):
        barn = YARD.barns[turn % len(YARD.barns)]
        hands = carers.filter(pl.col("barn") == barn)["login"]
        place = turn // len(YARD.barns)
        found.append((barn, str(place + 1), hands[place % hands.len()]))
    return found
