"""The yard's readings of heart and speed in work, from which each horse's course against itself is found."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import isfinite
from typing import Any, Final

import numpy as np

from upsides.books.models import Outing
from upsides.books.outings import read
from upsides.books.queries import moments
from upsides.books.queries.circumstances import Airs, Goings, air_at, airs_of, goings_of
from upsides.books.queries.exercised import Orders, exercise_of, orders_of
from upsides.books.queries.moments import Moment
from upsides.condition.fit import Kind
from upsides.recordings.heart.trends import Reading
from upsides.recordings.measured import Measured, Piece

DAYS: Final = 200
"""So many days are looked back on."""
MOST: Final = 1200
"""So many outings are taken, the last ones: as many are worked out in a second or two."""
AFTER: Final = "60"
"""The heart so many seconds after the last work is what is followed."""
READ_OFF: Final = "200"
"""The speed at so many beats is what is followed."""
MOST_BPM: Final = 250.0
"""A higher heart is a fault of the meter."""
WIDTH: Final = 2 * 1.6448536269514722
"""Standard errors between the ends of a 90 % interval."""


@dataclass(frozen=True, slots=True)
class _Day:
    """What is known of the days on which horses went out."""

    goings: Goings
    orders: Orders
    airs: Airs

    def reading(
        self, horse: int, day: date, piece: Piece, value: tuple[float, float], own_c: float, *, paced: bool
    ) -> Reading:
        """Return a reading with where it was, who rode, how it rode and how warm it was.

        Args:
            horse: its number.
            day: of it.
            piece: the work.
            value: what was measured, and its error.
            own_c: the device's own thermometer, degrees Celsius; NaN without one.
            paced: whether it depends on the pace that was asked for, so that readings of one exercise only are alike.
        """
        gallop = piece.gallop.number if piece.gallop else None
        exercise, rider = self.orders.get((horse, day), ("", None))
        going = self.goings.get((gallop, day), "")
        how = f"{going}, {exercise_of(exercise, [{'kind': piece.kind}])}" if paced else going
        rise = piece.rise_m / piece.metres if isfinite(piece.rise_m) and piece.metres > 0 else 0.0
        air = air_at(self.airs, day, piece.start_s, own_c)
        return Reading(horse, day, value[0], value[1], gallop, rider, how or None, rise, air)


def heart_readings(moment: Moment) -> dict[Kind, list[Reading]]:
    """Return what is followed over the weeks up to a moment's day, by kind of evidence."""
    first = moment.day - timedelta(days=DAYS)
    rows = moments.standing(Outing, moment).filter(day__range=(first, moment.day))
    parts = ("measured__heart", "measured__works", "measured__air")
    told = rows.order_by("-began", "-pk").values_list("horse_id", "day", *parts)[:MOST]
    outings = [
        (horse, day, read({"heart": heart or {}, "works": works or [], "air": air}))
        for horse, day, heart, works, air in told
    ]
    orders = orders_of(moment, first, {horse for horse, _day, _measured in outings})
    known = _Day(goings_of(moment, first), orders, airs_of(moment, first))
    found: dict[Kind, list[Reading]] = {
        "recovery": [], "speed at 200 beats": [], "speed at highest heart": [], "speed on known gallops": [],
    }  # fmt: skip
    highest = _highest(outings)
    for horse, day, measured in outings:
        if not measured.works:
            continue
        last = measured.works[-1]
        if (value := _recovery(measured)) is not None:
            found["recovery"].append(known.reading(horse, day, last, value, measured.air_c, paced=True))
        if (value := _speed(measured)) is not None:
            found["speed at 200 beats"].append(known.reading(horse, day, last, value, measured.air_c, paced=False))
        if (value := _speed_at(measured, highest.get(horse))) is not None:
            found["speed at highest heart"].append(known.reading(horse, day, last, value, measured.air_c, paced=False))
        found["speed on known gallops"] += [
            known.reading(horse, day, piece, _gone(piece), measured.air_c, paced=True)
            for piece in measured.works
            if piece.gallop is not None and piece.kind == "fast"
        ]
    return found


def _recovery(told: Measured) -> tuple[float, float] | None:
    bpm = told.heart.get("after", {}).get(AFTER)
    return (float(bpm), 0.0) if bpm else None


def _speed(told: Measured) -> tuple[float, float] | None:
    found: Sequence[Any] | None = told.heart.get("speeds", {}).get(READ_OFF)
    return (found[0], (found[2] - found[1]) / WIDTH) if found and found[0] > 0 else None


def _highest(outings: Sequence[tuple[int, date, Measured]]) -> dict[int, float]:
    """Return the highest heart that each horse held for ten seconds, of those that can be."""
    found: dict[int, float] = {}
    for horse, _day, measured in outings:
        held = measured.heart.get("held")
        if held and held <= MOST_BPM:
            found[horse] = max(float(held), found.get(horse, 0.0))
    return found


def _speed_at(told: Measured, highest: float | None) -> tuple[float, float] | None:
    """Return the speed at a horse's highest heart and its error, along the line through the two highest rates read.

    With x and 200 the two heart rates and a = (highest - x) / (200 - x), it is (1 - a) v_x + a v_200.
    """
    speeds = told.heart.get("speeds", {})
    below = max((float(bpm) for bpm in speeds if float(bpm) < float(READ_OFF)), default=None)
    if highest is None or below is None or READ_OFF not in speeds or highest <= float(READ_OFF):
        return None
    (low, *low_ends), (high, *high_ends) = speeds[f"{below:.0f}"], speeds[READ_OFF]
    a = (highest - below) / (float(READ_OFF) - below)
    speed = (1 - a) * low + a * high
    sds = [(ends[1] - ends[0]) / WIDTH for ends in (low_ends, high_ends)]
    return (speed, float(np.hypot((1 - a) * sds[0], a * sds[1]))) if high > low > 0 else None


def _gone(piece: Piece) -> tuple[float, float]:
    return piece.speed_ms, piece.speed_sd_ms if isfinite(piece.speed_sd_ms) else 0.0
