"""A sale of yearlings that the invented yard will go to: its list, which lots it likes, and what was seen of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.names import sentences
from upsides.results.lot_rows import LOTS

NAME: Final = "Summer yearlings"
AHEAD: Final = timedelta(days=24)
"""How long after today the sale begins; it goes on for two days."""
COUNT: Final = 160
_LIKED, _DROPPED = 11, 2
_DAM_AGE: Final = (4, 20)
_SEEN: Final = (
    ("look", "seen_standing", "assistant", _LIKED, 0),
    ("walk", "seen_walking", "trainer", 7, 2),
    ("vetting", "vetted", "vet", 4, 5),
)
"""Kinds of notes, the words for them, whose they are, of how many liked lots, and how many days after the first."""
_COLOURS: Final = {"bay": 0.55, "chestnut": 0.25, "brown": 0.1, "grey": 0.1}
_STAMP: Final = pl.Datetime("us", "UTC")
_MARKS: Final = {"number": pl.String(), "by": pl.String(), "at": _STAMP, "on": pl.Boolean(), "reason": pl.String()}
_NOTES: Final = {"number": pl.String(), "kind": pl.String(), "text": pl.String(), "author": pl.String(), "at": _STAMP}


@dataclass(frozen=True, slots=True)
class Sale:
    """A sale as values.

    Args:
        lots: columns of `upsides.results.lot_rows.LOTS`.
        marks: lots put on the shortlist and taken off: number, by (a login), at, on, reason.
        notes: number, kind (look, walk, vetting), text, author (a login), at.
    """

    lots: pl.DataFrame
    marks: pl.DataFrame
    notes: pl.DataFrame


def sale_of_yearlings(
    rng: np.random.Generator, sires: Sequence[str], register: pl.DataFrame, people: pl.DataFrame, today: date
) -> Sale:
    """Make up the list of a coming sale, and what the yard has made of it.

    Args:
        rng: source of chance.
        sires: names of the country's sires.
        register: source_horse, name, foaled, sire and dam of every horse and its ancestors.
        people: login and roles of everybody.
        today: the invented yard's today.

    Returns:
        Lots by these sires, each out of a dam whose earlier foals are in the register.
    """
    lots = _lots(rng, sires, _dams(register, today), today)
    liked = [str(number) for number in rng.choice(lots["number"].to_numpy(), _LIKED, replace=False)]
    seen = datetime.combine(today - timedelta(days=9), time(9), UTC)
    roles = pl.col("roles")
    who = {part: str(people.filter(roles.list.contains(part))["login"][0]) for part in ("trainer", "assistant", "vet")}
    return Sale(lots, _marks(rng, liked, who, seen), _notes(rng, liked, who, seen))


def _dams(register: pl.DataFrame, today: date) -> pl.DataFrame:
    """Return the dams that may have a yearling now: name and sire of each."""
    had = register["dam"].unique().implode()
    age = today.year - 1 - pl.col("foaled")
    return register.filter(pl.col("name").is_in(had), age.is_between(*_DAM_AGE)).select("name", "sire")


def _lots(rng: np.random.Generator, sires: Sequence[str], dams: pl.DataFrame, today: date) -> pl.DataFrame:
    begins = today + AHEAD
    chosen = dams[rng.choice(dams.height, COUNT, replace=False)]
    nothing: dict[str, object] = dict.fromkeys(("name", "price", "currency"))
    rows = [
        nothing
        | {
            "sale": NAME,
            "year": begins.year,
            "day": begins + timedelta(days=int(place >= COUNT // 2)),
            "number": str(place + 1),
            "sex": str(rng.choice(["colt", "filly"])),
            "foaled": today.year - 1,
            "colour": str(rng.choice(list(_COLOURS), p=list(_COLOURS.values()))),
            "sire": str(rng.choice(sires)),
            "dam": dam,
            "dam_sire": dam_sire or None,
            "line": place + 2,
        }
        for place, (dam, dam_sire) in enumerate(chosen.rows())
    ]
    return pl.DataFrame(rows, schema=LOTS)


def _marks(rng: np.random.Generator, liked: list[str], who: dict[str, str], seen: datetime) -> pl.DataFrame:
    """Put each liked lot on the shortlist, and take two off again a few days later."""
    by = [who["trainer"] if rng.random() < 0.6 else who["assistant"] for _ in liked]
    rows = [(number, by[i], seen + timedelta(minutes=20 * i), True, "") for i, number in enumerate(liked)]
    later = seen + timedelta(days=4)
    for i, number in enumerate(liked[-_DROPPED:]):
        rows.append((number, who["trainer"], later + timedelta(minutes=i), False, "Likely to go for too much."))
    return pl.DataFrame(rows, schema=_MARKS, orient="row")


def _notes(rng: np.random.Generator, liked: list[str], who: dict[str, str], seen: datetime) -> pl.DataFrame:
    """Look at every liked lot, see some of them walk, and have the vet look at a few."""
    rows = [
        (number, kind, str(rng.choice(sentences(words))), who[role], seen + timedelta(days=days, minutes=20 * i + 10))
        for kind, words, role, count, days in _SEEN
        for i, number in enumerate(liked[:count])
    ]
    return pl.DataFrame(rows, schema=_NOTES, orient="row")
