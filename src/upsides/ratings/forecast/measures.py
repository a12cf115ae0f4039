"""What a finishing position, a beaten distance and a time say about a run, before anything is known of the horse."""

import numpy as np
from scipy.special import ndtri

from upsides.ratings.forecast.starters import FURLONG_M, Floats, Starters, centred, race_mean

LENGTH_S = 0.16
"""Seconds to a length (the convention of the source tables; only the ratio to the spread of a race matters)."""
POUND_FURLONGS = 15.0
"""Pounds to a length at a trip of one furlong: 15 lb over the furlongs of the trip."""
USUAL_FURLONGS = 7.0


def lengths_behind(runs: Starters, unknown: float = 20.0, most: float = 40.0) -> Floats:
    """Return lengths behind the winner, 0 to `most`: as published, else by own times, else `unknown`, (runs,)."""
    best = np.fmin.reduceat(runs.time_s, runs.start[:-1])[runs.race]
    lengths = np.where(np.isnan(runs.lengths), (runs.time_s - best) / LENGTH_S, runs.lengths)
    return np.asarray(np.clip(np.nan_to_num(lengths, nan=unknown), 0.0, most))


def pounds_per_length(runs: Starters, power: float = 0.5) -> Floats:
    """Return pounds to a length for each race: 15/7 at seven furlongs, falling with the trip to the power `power`."""
    furlongs = np.nan_to_num(runs.distance_m / FURLONG_M, nan=USUAL_FURLONGS)
    pounds: Floats = POUND_FURLONGS / USUAL_FURLONGS * (USUAL_FURLONGS / furlongs) ** power
    return pounds


def performance(
    runs: Starters, knee: float = 15.0, power: float = 0.5, evening: float = 0.2, usual_lb: float = 8.0
) -> Floats:
    """Return each run against the mean of its race in pounds, shape (runs,).

    Args:
        runs: the runs.
        knee: lengths at which a further length counts for half.
        power: how fast the worth of a length falls with the trip (1 is the published convention; 0.5
            predicts better).
        evening: how far a strung-out race is drawn in, 0 not at all, 1 to the usual spread.
        usual_lb: spread (standard deviation in pounds) that counts as usual.
    """
    y = centred(runs, -knee * np.log1p(lengths_behind(runs) / knee) * pounds_per_length(runs, power)[runs.race])
    sd = np.sqrt(race_mean(runs, y**2))
    return y * (usual_lb / np.maximum(sd, 0.3 * usual_lb)) ** evening


def error_growth(runs: Starters, scale: float = 10.0) -> Floats:
    """Return each run's error variance as a multiple of the winner's: far beaten horses are eased, shape (runs,)."""
    return (1.0 + lengths_behind(runs) / scale) ** 2


def normal_scores(runs: Starters) -> Floats:
    """Return the normal score (Blom) of each finishing place, unknown places last; larger is better, shape (runs,)."""
    size = runs.size[runs.race].astype(float)
    place = np.clip(np.where(np.isnan(runs.position), size, runs.position), 1.0, size)
    return -ndtri((place - 0.375) / (size + 0.25))


def clocked(runs: Starters, y: Floats) -> Floats:
    """Return `y` with each race moved so that its winner stands at the pace of its time; NaN where no time is known."""
    fastest = np.fmin.reduceat(runs.time_s, runs.start[:-1])
    pace = -(fastest - runs.distance_m / 17.0) / LENGTH_S * pounds_per_length(runs)
    return y + (pace - np.maximum.reduceat(y, runs.start[:-1]))[runs.race]


def carried_before_claim(runs: Starters) -> Floats:
    """Return the weight before claims that the order of saddlecloths implies: never less than a horse below had.

    Where the saddlecloth is not known it is the weight carried.
    """
    out = np.where(np.isnan(runs.carried), -np.inf, runs.carried)
    for a, b in zip(runs.start[:-1], runs.start[1:], strict=True):
        order = a + np.argsort(-runs.cloth[a:b], kind="stable")
        numbered = order[np.isfinite(runs.cloth[order])]
        out[numbered] = np.maximum.accumulate(out[numbered])
    return np.where(np.isfinite(out) & np.isfinite(runs.carried), out, np.nan)
