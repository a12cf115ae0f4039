"""Horses as their papers have them: birth, colour, passport, microchip, life number, when they were gelded."""

from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.invented import Invented
from upsides.demo.yardbooks.seasons import Seasons

HORSES: Final = {
    "source_horse": pl.String,
    "name": pl.String,
    "named": pl.Boolean,
    "foaled": pl.Int16,
    "sex": pl.String,
    "sex_before": pl.String,
    "sire": pl.String,
    "dam": pl.String,
    "joined": pl.Date,
    "left": pl.Date,
    "foaled_on": pl.Date,
    "gelded_on": pl.Date,
    "colour": pl.String,
    "markings": pl.String,
    "passport": pl.String,
    "microchip": pl.String,
    "life_number": pl.String,
    "carer": pl.String,
}
_COLOURS, _COLOUR_ODDS = ("bay", "chestnut", "brown", "grey", "black"), (0.54, 0.26, 0.1, 0.07, 0.03)
_MARKINGS = (
    "",
    "Star.",
    "Star and snip.",
    "Stripe.",
    "Blaze, near hind white to the fetlock.",
    "Both hinds white to the coronet.",
)
_MAKER, _DATABASE = 985, "826001"
"""A manufacturer's code of three digits, and the country and number of a database: for horses that do not exist."""
_UNNAMED: Final = 2
_GELDED_HERE: Final = 7


def horses_of(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return every horse that the yard ever had.

    Returns:
        Columns of `HORSES`: sex as it is now, sex_before as it was when the horse came; a few were gelded here before
        they ever ran, gelded_on being the day; two of the two-year-olds that have not run are not named yet and are
        called by dam and year.
    """
    invented = seasons.invented
    raced = set(invented.runs["source_horse"])
    gelded = _gelded(rng, seasons)
    unraced = [row for row in invented.string.rows(named=True) if row["source_horse"] not in raced]
    unnamed = {row["source_horse"] for row in unraced if row["foaled"] == invented.today.year - 2}
    unnamed = set(sorted(unnamed)[:_UNNAMED])
    rows = []
    for i, row in enumerate(invented.stays.to_dicts()):
        code = row["source_horse"]
        named, on = code not in unnamed, gelded.get(code)
        born = date(row["foaled"], 2, 1) + timedelta(days=int(rng.integers(100)))
        castrated = row["sex"] == "gelding"
        known = born + timedelta(days=int(rng.integers(500, 760))) if castrated and rng.random() < 0.6 else None
        known = known if known and known < row["joined"] else None
        name = row["name"] if named else f"{row['dam']} {row['foaled']}"
        rows.append(
            (
                code,
                name,
                named,
                row["foaled"],
                row["sex"],
                "colt" if on else row["sex"],
                row["sire"],
                row["dam"],
                row["joined"],
                row["left"],
                born,
                on or known,
                str(rng.choice(_COLOURS, p=_COLOUR_ODDS)),
                str(rng.choice(_MARKINGS)),
                f"XU{row['foaled'] % 100:02d}-{1000 + 7 * i}",
                f"{_MAKER}{141_000_000_000 + int(rng.integers(10**9)):012d}",
                f"{_DATABASE}{row['foaled'] % 100:02d}{int(rng.integers(10**7)):07d}",
                seasons.own.carer[i],
            )
        )
    return pl.DataFrame(rows, schema=HORSES, orient="row")


def _gelded(rng: np.random.Generator, seasons: Seasons) -> dict[str, date]:
    """Return geldings that were gelded here: after they came, and before they first ran, while in no hurry."""
    invented, grid = seasons.invented, seasons.grid
    first_run = dict(invented.runs.group_by("source_horse").agg(pl.col("date").min()).rows())
    found: dict[str, date] = {}
    rows = (
        invented.stays.with_row_index()
        .filter(pl.col("sex") == "gelding")
        .sample(fraction=1, shuffle=True, seed=int(rng.integers(2**31)))
    )
    for row in rows.to_dicts():
        horse, code = row["index"], row["source_horse"]
        ran = first_run.get(code, invented.today - timedelta(days=20))
        quiet = grid.at_work[horse] & (grid.due[horse][grid.week] == 0)
        quiet &= grid.first + np.arange(grid.days) > row["joined"].toordinal() + 10
        quiet &= grid.first + np.arange(grid.days) < ran.toordinal() - 40
        quiet[grid.today - 14 :] = False
        if quiet.any():
            found[code] = grid.on(int(np.flatnonzero(quiet)[0]))
        if len(found) == _GELDED_HERE:
            break
    return found


def shares_of(seasons: Seasons, past: pl.DataFrame, invented: Invented) -> pl.DataFrame:
    """Return all shares: those of today's horses and those of horses that left, which end on the day they did.

    Args:
        seasons: the seasons.
        past: shares of horses that left, columns of `Invented.shares`.
        invented: the world.

    Returns:
        Columns of `Invented.shares`, and last_day, managing (one of each horse's owners, who has the largest part),
        leased_from (who owns what somebody leases).
    """
    left = seasons.invented.stays.select("source_horse", last_day="left")
    found = pl.concat([invented.shares, past]).join(left, on="source_horse", how="left", maintain_order="left")
    part = pl.col("numerator") / pl.col("denominator")
    managing = part.rank("ordinal", descending=True).over("source_horse") == 1
    owners = invented.shares["owner"].unique().sort()
    leased = pl.when(pl.col("kind") == "lease").then(pl.lit(owners[0]))
    return found.with_columns(managing=managing, leased_from=leased)
