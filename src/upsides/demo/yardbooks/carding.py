"""What the cards of declared horses say, and how they travel; and why races were let go."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.driving import Driving
from upsides.demo.yardbooks.seasons import Seasons

_STAMP: Final = pl.Datetime("us", "UTC")
CARDS: Final = {
    "source_horse": pl.String(),
    "race": pl.String(),
    "course": pl.String(),
    "day": pl.Date(),
    "draw": pl.Int64(),
    "gear": pl.String(),
    "colours": pl.String(),
    "leads_up": pl.String(),
    "driver": pl.String(),
    "leaves_at": _STAMP,
    "back_at": _STAMP,
    "rider": pl.String(),
    "jockey": pl.String(),
    "claim_lb": pl.Int64(),
}
PASSED: Final = (
    ("other_race", "the race a week later"),
    ("not_ready", ""),
    ("trip", "wants further"),
    ("ground", "too firm for it"),
    ("weight", ""),
    ("too_good", ""),
    ("cost", "four hours away"),
)
"""Why races are passed, and what else was said."""
_GEAR: Final = ("", "", "", "", "cheekpieces", "hood", "tongue strap")
_BODIES: Final = ("moss green", "straw", "plum", "white", "dark blue", "tan", "silver grey")
_SLEEVES: Final = ("hooped sleeves", "striped cap", "spotted sleeves", "quartered cap", "plain cap")
_FIELD: Final = 12


def cards(
    rng: np.random.Generator, seasons: Seasons, engagements: pl.DataFrame, driving: Driving
) -> pl.DataFrame:  # fmt: skip
    """Return the cards of declared horses: columns of `CARDS`; of races that were run the stall and rider they had.

    Args:
        rng: chance of its own.
        seasons: what the books are written from.
        engagements: `meant.ENGAGEMENTS`.
        driving: the lorries.
    """
    invented = seasons.invented
    declared = engagements.filter(pl.col("state") == "declared").sort("day", "source_horse")
    ran = invented.runs.select("source_horse", pl.col("date").alias("day"), "draw", "jockey", "claim_lb")
    known = declared.join(ran.unique(["source_horse", "day"]), on=["source_horse", "day"], how="left",
                          maintain_order="left")  # fmt: skip
    people = seasons.staff.people
    riding = people.filter(pl.col("minimum_lb").is_not_null()).select("name", "login", "claim_lb").rows()
    names = {name: login for name, login, _ in riding}
    free = [one for one in riding if not _suspended(seasons, one[1])]
    leaders = people.filter(pl.col("roles").list.contains("carer"))["login"].to_list()
    rows = []
    for row in known.iter_rows(named=True):
        name, claim = row["jockey"], row["claim_lb"]
        if name is None:
            name, _login, claim = free[int(rng.integers(len(free)))]
        stall = row["draw"] if row["draw"] is not None else int(rng.integers(1, _FIELD + 1))
        told = (_pick(rng, _GEAR), f"{_pick(rng, _BODIES)}, {_pick(rng, _SLEEVES)}", _pick(rng, leaders))
        travel = driving.lorries[row["day"], row["course"]]
        who = (names.get(name), "" if name in names else name, int(claim) if claim else None)
        rows.append((row["source_horse"], row["race"], row["course"], row["day"], stall, *told, *travel, *who))
    return pl.DataFrame(rows, schema=CARDS, orient="row")


def _pick(rng: np.random.Generator, some: Sequence[str]) -> str:
    return some[int(rng.integers(len(some)))]


def _suspended(seasons: Seasons, login: str) -> bool:
    today: date = seasons.invented.today
    bonds = seasons.staff.bonds.filter(pl.col("login") == login, pl.col("kind") == "suspension")
    return not bonds.filter(pl.col("first_day") <= today + timedelta(days=1), pl.col("last_day") >= today).is_empty()


def reasons(seed: int, count: int) -> list[tuple[str, str] | None]:
    """Return why each of some races was passed, None where nobody said: a third of them."""
    rng = np.random.default_rng([seed, 11])
    said, which = rng.random(count) < 2 / 3, rng.integers(len(PASSED), size=count)
    return [PASSED[k] if told else None for told, k in zip(said.tolist(), which.tolist(), strict=True)]
