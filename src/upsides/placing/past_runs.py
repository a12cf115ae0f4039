"""A horse's runs as conditions ask of them, out of a library of results."""

import polars as pl

from upsides.placing.kinds import PastRun
from upsides.placing.naming import class_named, kinds_named
from upsides.results.schema import STARTED


def past_runs(runs: pl.DataFrame, races: pl.DataFrame) -> tuple[PastRun, ...]:
    """Return the runs of one horse, earliest first.

    What the winner received is not known from a library, whose prize may be the total; so conditions that ask what a
    race was worth stay open unless the yard's own record says it. What kind of race it was is told by its title alone;
    where there is none it is not known.

    Args:
        runs: rows of a library's runs, of one horse.
        races: rows of its races, those of the runs among them.
    """
    columns = ["race_key", "title", "course", "race_class", "distance_m", "surface", "code", "country"]
    joined = runs.filter(pl.col("outcome").is_in(STARTED)).join(races.select(columns), on="race_key", how="left")
    return tuple(_run(row) for row in joined.sort("date", "race_key").iter_rows(named=True))


def _run(row: dict[str, object]) -> PastRun:
    said = {name: str(value) for name, value in row.items() if value is not None}
    title, distance, position, mark = said.get("title", ""), row["distance_m"], row["position"], row["official_rating"]
    return PastRun(
        day=row["date"],  # type: ignore[arg-type]  # a date by the schema
        position=position if isinstance(position, int) else None,
        race_class=class_named(f"{said.get('race_class', '-')} {title}"),
        kinds=kinds_named(title) if title else None,
        distance_m=distance if isinstance(distance, float) else None,
        surface=said.get("surface", ""),
        code=said.get("code", "flat"),
        country=said.get("country", ""),
        mark=mark if isinstance(mark, float) else None,
        race=title or said.get("course", ""),
        course=said.get("course", ""),
    )
