"""Small invented results whose truth is known, in the columns that the ratings room reads."""

from datetime import date, timedelta

import numpy as np
import polars as pl

FIRST = date(2001, 1, 1)
OUTCOME_COLUMNS = ("position", "beaten_lengths", "time_s", "section_position", "odds")
"""What is known of a run only after it."""


def random_results(
    rng: np.random.Generator,
    races: int = 40,
    horses: int = 25,
    most: int = 8,
    skill: np.ndarray | None = None,
    missing: float = 0.1,
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Return races and runs: a race or two a day, fields drawn afresh for each race, a horse twice a day at times.

    With `skill` (horses,) the order of each field is a Plackett-Luce draw from it, so that a horse's chance is
    exp(skill) over the field's sum; else it is pure luck. `missing` is the share of cells left empty.
    """
    worth = np.zeros(horses) if skill is None else skill
    race_rows, run_rows = [], []
    for r in range(races):
        day = FIRST + timedelta(days=7 * (r // 2) + int(r % 4 == 3))
        field = rng.choice(horses, size=int(rng.integers(2, most + 1)), replace=False)
        race_rows.append(_race(rng, r, day, missing))
        run_rows += _runs(rng, r, field, worth, missing)
    return pl.DataFrame(race_rows, infer_schema_length=None), pl.DataFrame(run_rows, infer_schema_length=None)


def _race(rng: np.random.Generator, r: int, day: date, missing: float) -> dict[str, object]:
    known = {
        "course": str(rng.choice(["Moor", "Vale"])),
        "surface": str(rng.choice(["turf", "dirt", "synthetic"], p=[0.7, 0.25, 0.05])),
        "going": str(rng.choice(["good", "soft"])),
        "rail": str(rng.choice(["in", "out"])),
        "race_class": str(rng.integers(1, 4)),
        "distance_m": float(rng.choice([1000, 1400, 2000])),
        "rating_high": float(rng.choice([60, 80])),
        "prize": float(rng.choice([0, 5000, 20000])),
    }
    return {"race_key": f"r{r:04}", "date": day, "race_no": r % 2 + 1} | _holes(rng, known, missing)


def _runs(
    rng: np.random.Generator, r: int, field: np.ndarray, worth: np.ndarray, missing: float
) -> list[dict[str, object]]:
    size = field.size
    value = worth[field] + rng.gumbel(size=size)
    place = (-value).argsort().argsort() + 1
    behind = np.round(3.0 * (value.max() - value), 2)
    draw, early = rng.permutation(size) + 1, rng.permutation(size) + 1
    weight = np.sort(rng.integers(112, 134, size))[::-1]
    return [
        {"race_key": f"r{r:04}", "horse_key": f"h{field[i]:03}", "saddlecloth": i + 1, "position": int(place[i])}
        | _holes(
            rng,
            {
                "jockey": f"j{rng.integers(6)}",
                "trainer": f"t{field[i] % 5}",
                "suffix": ("IRE", "GB", "FR")[field[i] % 3],
                "beaten_lengths": float(behind[i]),
                "time_s": 80.0 + 0.16 * float(behind[i]),
                "section_position": [int(early[i]), int(place[i])],
                "carried_lb": float(weight[i]),
                "draw": int(draw[i]),
                "body_mass_kg": 480.0 + float(rng.normal(0, 20)),
                "odds": float(rng.uniform(2, 30)),
            },
            missing,
        )
        for i in range(size)
    ]


def _holes(rng: np.random.Generator, known: dict[str, object], missing: float) -> dict[str, object]:
    return {name: None if rng.random() < missing else value for name, value in known.items()}


def scrambled(rng: np.random.Generator, runs: pl.DataFrame, keys: set[str]) -> pl.DataFrame:
    """Return `runs` with everything that was known only afterwards dealt out anew within each race of `keys`."""
    parts = []
    for (key,), field in runs.group_by("race_key", maintain_order=True):
        if key in keys:
            dealt = field.select(name for name in OUTCOME_COLUMNS if name in field.columns)
            order = rng.permutation(field.height)
            field = field.with_columns(dealt[order.tolist()])  # noqa: PLW2901 -- the field with its new results
        parts.append(field)
    return pl.concat(parts)
