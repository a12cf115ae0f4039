"""What was said of a run on the evening of the race, by what could be seen of it."""

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import Grid
from upsides.demo.yardbooks.hands import Hands
from upsides.demo.yardbooks.lines import lines, said

_SAID, _SLOW = 0.6, 0.08
"""Share of runs after which somebody wrote down what was said; and of those in which the horse was slow away."""
_EVENING_S = 19 * 3600
_WORDS = {
    "won": "Won. Did it well and pulled up sound.",
    "near": "Ran its race; beaten by better on the day.",
    "beaten": "Well beaten. Nothing came to light on the course.",
    "failed": "Did not finish. Walked back to the box.",
}


def race_reports(rng: np.random.Generator, grid: Grid, runs: pl.DataFrame, hands: Hands) -> pl.DataFrame:
    """Return the reports of races (runs: source_horse, date, position or null, beaten_lengths or null)."""
    told = runs.sort("date", "source_horse").filter(pl.Series(rng.random(runs.height) < _SAID))
    day = told["date"].to_physical().to_numpy() + 719163
    slow = rng.random(told.height) < _SLOW
    rows = zip(told["position"].to_list(), told["beaten_lengths"].to_list(), slow.tolist(), strict=True)
    return lines(
        "race_report",
        horse=told["source_horse"].to_list(),
        day=day,
        second=_EVENING_S + rng.integers(0, 3600, told.height),
        author=hands.names[hands.lead[day - grid.first]].tolist(),
        values=[_report(position, lengths, late) for position, lengths, late in rows],
    )


def _report(position: int | None, lengths: float | None, late: bool) -> str:  # noqa: FBT001 -- a run's own
    if position is None:
        return said(what="race", text=_WORDS["failed"])
    how = "won" if position == 1 else "near" if lengths is not None and lengths <= 5.0 else "beaten"
    trouble = {"trouble": ["slow_away"]} if late else {}
    return said(what="race", asked="asked", text=_WORDS[how], **trouble)
