"""What stands of a horse: the handicapper's ledger, what must be declared, what whoever handles it must know."""

from datetime import date, timedelta
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import EPOCH, runs_of_true
from upsides.demo.yardbooks.medicine import ALLERGY_TO
from upsides.demo.yardbooks.seasons import Seasons

_MARKS: Final = {
    "source_horse": pl.String,
    "ground": pl.String,
    "country": pl.String,
    "value": pl.Int64,
    "effective": pl.Date,
}
_DECLARABLES: Final = {"source_horse": pl.String, "what": pl.String, "happened_on": pl.Date, "declared_on": pl.Date}
_CAUTIONS: Final = {
    "source_horse": pl.String,
    "about": pl.String,
    "text": pl.String,
    "skill": pl.Int64,
    "first_day": pl.Date,
    "heaviest_kg": pl.Float64,
    "apart": pl.Boolean,
    "apart_from": pl.String,
}
_GEAR: Final = ("blinkers", "hood", "cheekpieces")
_BEFORE = timedelta(days=2)
"""Runners are declared so long before they run."""
_OPERATIONS: Final = 4
_IN_THE_BOX: Final = (
    "Kicks. Tie it up before you go behind it.",
    "Bites when it is groomed under the belly.",
    "Do not stand between it and the manger.",
)
_COLTS: Final = "Colt: not next to fillies or other colts, in the barn or on the lorry."
_LIGHT: Final = "Light of frame: nobody heavy."
_FIGHTS: Final = "Goes for the other one in the string: never in one lot."
_STRONG: Final = ("Strong to hold.", "Whips round at the top.", "Keen in company, last in the string.")
_OTHERS: Final = (
    ("shoeing", "Will not stand on three legs behind: give it time."),
    ("travel", "Travels in a full stall, or it goes down."),
    ("feed", "Eats fast: a stone in the manger."),
)


def marks(seasons: Seasons) -> pl.DataFrame:
    """Return the ledger of official marks: a new one takes effect on a Tuesday, three days after the race at least.

    The country's handicapper keeps one list; a horse that has run on both grounds has the mark on both.
    """
    invented = seasons.invented
    runs = invented.runs.filter((pl.col("outcome") != "withdrawn") & pl.col("source_horse").is_in(seasons.grid.codes))
    runs = runs.join(invented.races.select("race_key", "surface"), on="race_key").sort("source_horse", "date")
    now = dict(invented.stays.select("source_horse", "mark").rows())
    rows = []
    for (code,), own in runs.group_by("source_horse", maintain_order=True):
        grounds = [ground for ground in ("turf", "synthetic") if ground in set(own["surface"])]
        given = [*own["official_rating"][1:].to_list(), now[str(code)]]
        last = own["official_rating"][0]
        for day, mark in zip(own["date"], given, strict=True):
            if mark is not None and mark != last and (effective := _tuesday(day)) <= invented.today:
                rows += [(code, ground, invented.yard.country, round(mark), effective) for ground in grounds]
                last = mark
    return (
        pl.DataFrame(rows, schema=_MARKS, orient="row")
        .unique(["source_horse", "ground", "effective"], keep="last")
        .sort("source_horse", "effective", "ground")
    )


def _tuesday(day: date) -> date:
    later = day + timedelta(days=3)
    return later + timedelta(days=(1 - later.weekday()) % 7)


def declarables(rng: np.random.Generator, seasons: Seasons, gelded: pl.DataFrame) -> pl.DataFrame:
    """Return what must be declared for the next run: gelded here, wind operations, gear for the first time.

    Args:
        rng: source of chance.
        seasons: the seasons.
        gelded: source_horse and gelded_on of those that were gelded here.
    """
    invented = seasons.invented
    runs = invented.runs.filter((pl.col("outcome") != "withdrawn") & pl.col("source_horse").is_in(seasons.grid.codes))
    ran = {str(code): rows["date"].sort().to_list() for (code,), rows in runs.group_by("source_horse")}

    def declared(code: str, day: date) -> date | None:
        later = [run for run in ran.get(code, []) if run > day]
        return max(day, min(later) - _BEFORE) if later else None

    rows = [
        (code, "gelded", day, declared(code, day)) for code, day in gelded.select("source_horse", "gelded_on").rows()
    ]
    rests = [(i, begin) for i in range(len(seasons.grid.codes)) for begin, _ in runs_of_true(seasons.grid.let_down[i])]
    for i, begin in [rests[k] for k in rng.permutation(len(rests))[:_OPERATIONS].tolist()]:
        code, day = seasons.grid.codes[i], seasons.grid.on(begin + 4)
        rows.append((code, "wind_operation", day, declared(code, day)))
    joined = invented.stays.select("source_horse", "joined", "left")
    worn = (
        runs.filter(pl.col("gear").is_in(_GEAR))
        .sort("date")
        .unique(["source_horse", "gear"], keep="first", maintain_order=True)
    )
    worn = worn.join(joined, on="source_horse").filter(pl.col("date") >= pl.col("joined"))
    rows += [
        (code, gear, day - _BEFORE, day - _BEFORE)
        for code, gear, day in worn.select("source_horse", "gear", "date").rows()
    ]
    tomorrow = seasons.grid.codes[seasons.events.morning.runners[0]]
    rows.append((tomorrow, "tongue_strap", invented.today - timedelta(days=1), invented.today - timedelta(days=1)))
    return pl.DataFrame(rows, schema=_DECLARABLES, orient="row").sort("happened_on", "source_horse", "what")


def cautions(rng: np.random.Generator, seasons: Seasons) -> tuple[pl.DataFrame, int]:
    """Return what whoever handles a horse must know, and the place of the horse that may not have a product."""
    stays, rows = seasons.invented.stays, []
    joined, sex = stays["joined"].to_list(), stays["sex"].to_list()
    since = [max(day, seasons.invented.first) + timedelta(days=20) for day in joined]
    for i, code in enumerate(seasons.grid.codes):
        if rng.random() < 0.12:
            rows.append((code, "box", _IN_THE_BOX[int(rng.integers(len(_IN_THE_BOX)))], 0, since[i]))
        if sex[i] in {"colt", "horse"} and rng.random() < 0.6:
            rows.append((code, "box", _COLTS, 0, since[i]))
        if seasons.nature.skill[i]:
            rows.append((code, "riding", _STRONG[i % len(_STRONG)], int(seasons.nature.skill[i]), joined[i]))
        if rng.random() < 0.08:
            rows.append((code, *_OTHERS[i % len(_OTHERS)], 0, since[i]))
    coughed = set(seasons.events.cough.horses) if seasons.events.cough else set()
    able = [i for i in np.flatnonzero(stays["left"].is_null().to_numpy()).tolist() if i not in coughed]
    allergic = able[int(rng.integers(len(able)))]
    rows.append(
        (
            seasons.grid.codes[allergic],
            "medicine",
            f"Allergic to {ALLERGY_TO}: lumps all over, once.",
            0,
            since[allergic],
        )
    )
    today = seasons.invented.today.toordinal() - EPOCH
    whole: list[tuple[object, ...]] = [(*row, None, False, None) for row in rows]
    whole += _of_lots(seasons, since)
    known = pl.DataFrame(whole, schema=_CAUTIONS, orient="row").filter(pl.col("first_day").to_physical() <= today)
    return known, allergic


def _of_lots(seasons: Seasons, since: list[date]) -> list[tuple[object, ...]]:
    """Return the cautions that only lots heed: light horses that are still here, and two of one sex that fight."""
    codes, nature = seasons.grid.codes, seasons.nature
    light = [
        (codes[i], "riding", _LIGHT, 0, since[i], float(nature.carries_kg[i]), False, None)
        for i in np.flatnonzero(np.isfinite(nature.carries_kg)).tolist()
    ]
    pairs = nature.foes.reshape(-1, 2).tolist()
    fights = [(codes[i], "riding", _FIGHTS, 0, since[i], None, False, codes[j]) for i, j in pairs]
    return [*light, *fights]
