"""Terms of the second stage, one small function for each group; a missing column makes its terms 0 for all."""

from dataclasses import dataclass

import numpy as np
from numba import njit

from upsides.ratings.forecast import history as h
from upsides.ratings.forecast import measures
from upsides.ratings.forecast.effects import Effect, filter_effects
from upsides.ratings.forecast.starters import Floats, Ints, Starters, centred, race_mean
from upsides.ratings.forecast.strengths import OWN, Strengths

Terms = dict[str, Floats]


@dataclass(frozen=True, slots=True)
class Past:
    """What the groups share: day and field of each run, the horse's last runs, its record and its strengths."""

    runs: Starters
    strengths: Strengths
    day: Ints
    size: Floats
    before: Ints
    last: Ints
    runs_before: Floats
    won: Floats
    stall: Floats

    def then(self, x: Floats, back: int = 0) -> Floats:
        """Return `x` at the horse's last run (or `back` more before), NaN when there was none."""
        return h.at(x, self.last[:, back])

    def since(self, x: Floats) -> Floats:
        """Return the change of `x` since the last run, 0 when it or a value is missing."""
        return np.nan_to_num(x - self.then(x))

    def usual(self, x: Floats, days: float) -> Floats:
        """Return the fading mean of `x` over earlier runs, NaN when there was none."""
        total, count = h.decayed(self.before, self.day, x, days)
        return np.where(count > 0, total / np.maximum(count, 1e-9), np.nan)


def level(p: Past) -> Terms:
    """Return horse and form in pounds, suitability of the surface, and how far the clock disagrees with the margins."""
    lb = p.strengths.lb
    return {
        "horse": lb.of("horse"),
        "form": lb.of("form"),
        "clock": p.strengths.clock.total(OWN) - p.strengths.own,
        "suits_surface": lb.of("surface"),
    }


def level_certainty(p: Past) -> Terms:
    """Return how unsure the level is, and the level in proportion to it."""
    sd = np.sqrt(p.strengths.variance)
    return {"level_sd": sd, "level_by_sd": centred(p.runs, p.strengths.own) * sd}


def level_by_surface(p: Past) -> Terms:
    """Return strength on each surface but the first, so that form may tell less on some."""
    strength = centred(p.runs, p.strengths.strength)
    surface = p.runs.surface[p.runs.race]
    return {f"level_surface{k}": strength * (surface == k) for k in range(1, int(surface.max(initial=0)) + 1)}


def gap(p: Past) -> Terms:
    """Return days since the last run as a bent line in their logarithm, and second run after a break."""
    today = p.day.astype(float)
    days = np.nan_to_num(today - p.then(today), nan=30.0)
    log = np.log(np.maximum(days, 1.0))
    earlier = np.nan_to_num(p.then(days), nan=30.0)
    return {
        "gap": log,
        "gap_short": np.maximum(np.log(14.0) - log, 0.0),
        "gap_longer": np.maximum(log - np.log(120.0), 0.0),
        "second_after_break": ((earlier > 75) & (days < 60)).astype(float),
    }


def experience(p: Past) -> Terms:
    """Return runs so far, and how few."""
    return {"runs_log": np.log1p(p.runs_before), "few_runs": np.maximum(4 - p.runs_before, 0.0)}


def race_class(p: Past) -> Terms:
    """Return the prize against the usual prize of its races."""
    prize = np.log(p.runs.prize)[p.runs.race]
    return {"prize_up": np.nan_to_num(prize - p.usual(prize, 1e5))}


def weight(p: Past) -> Terms:
    """Return weight carried, the rider's claim as implied, and the change of weight."""
    carried = p.runs.carried
    return {
        "carried": carried,
        "claim": measures.carried_before_claim(p.runs) - carried,
        "carried_up": p.since(carried),
    }


@njit("f8[:, ::1](i8[::1], f8[::1], f8[::1])", cache=True)
def _marks(before: Ints, mark: Floats, won: Floats) -> Floats:
    """Return each run's highest earlier mark, and its mark when it last won off one; NaN where there is none."""
    out = np.full((before.size, 2), np.nan)
    for i in range(before.size):
        j = before[i]
        if j < 0:
            continue
        out[i, 0] = mark[j] if np.isnan(out[j, 0]) else max(out[j, 0], mark[j])
        if np.isnan(mark[j]):
            out[i, 0] = out[j, 0]
        out[i, 1] = mark[j] if won[j] > 0 and not np.isnan(mark[j]) else out[j, 1]
    return out


def handicap_mark(p: Past) -> Terms:
    """Return the implied handicap mark (top of the band less weight below the top weight) against earlier ones."""
    gross = measures.carried_before_claim(p.runs)
    top = np.fmax.reduceat(gross, p.runs.start[:-1])[p.runs.race]
    mark = p.runs.band_high[p.runs.race] + gross - top
    found = _marks(p.before, mark, p.won)
    below = np.nan_to_num(found[:, 1] - mark)
    return {
        "below_peak": np.nan_to_num(found[:, 0] - mark),
        "below_win": below,
        "below_win5": np.maximum(below - 5.0, 0.0),
        "never_won": (h.decayed(p.before, p.day, p.won, 1e9)[0] < 0.5).astype(float),
    }


def draw(p: Past) -> Terms:
    """Return the learned stall effect of the course and trip, and of the rail on top."""
    lb = p.strengths.lb
    return {"stall": lb.of("stall") * p.stall, "stall_rail": lb.of("stall_rail") * p.stall}


def style(p: Past) -> Terms:
    """Return where it usually races early (-1/2 leads, 1/2 last), how likely it leads, and how alone it would."""
    early = (p.runs.early - 1) / np.maximum(p.size - 1, 1) - 0.5 - 0.3 * p.stall
    usual = h.shrunk(*h.decayed(p.before, p.day, early, 300.0), 0.0, 1.5)
    lead = np.exp(-6.0 * (usual + 0.5))
    rivals = race_mean(p.runs, lead) * p.size - lead
    trip = np.nan_to_num(np.log(p.runs.distance_m / 1400.0))[p.runs.race]
    return {
        "style": usual,
        "lead": lead,
        "lead_alone": lead / (0.3 + rivals),
        "style_by_trip": usual * trip,
    }


def people(p: Past) -> Terms:
    """Return rider and trainer by margins net of the horse, by places with the horses they get, and change of rider."""
    runs, lb = p.runs, p.strengths.lb
    scores = measures.normal_scores(runs)
    rider = Effect("jockey", runs.jockey, 0.15, 500.0)
    trainer = Effect("trainer", runs.trainer, 0.03, 500.0)
    by_place = filter_effects(runs.day, runs.start, scores, np.full(p.size.size, 0.85), [rider, trainer])
    rider = Effect("jockey", runs.jockey, 0.005, 500.0)
    trainer = Effect("trainer", runs.trainer, 0.001, 500.0)
    by_win = filter_effects(runs.day, runs.start, p.won, np.full(p.size.size, 0.08), [rider, trainer])
    wins = by_win.of("jockey")
    few = np.exp(-p.runs_before / 3.0)
    return {
        "jockey": lb.of("jockey"),
        "jockey_places": by_place.of("jockey"),
        "jockey_up": p.since(wins),
        "jockey_than_usual": np.nan_to_num(wins - p.usual(wins, 300.0)),
        "jockey_of_new_horse": few * centred(runs, wins),
        "trainer": lb.of("trainer"),
        "trainer_surface": lb.of("trainer_surface"),
        "trainer_course": lb.of("trainer_course"),
    }


def body(p: Past) -> Terms:
    """Return body mass, its change in per cent, weight carried against it, and mass at the first run."""
    mass = p.runs.mass
    first = (p.before < 0).astype(float)
    return {
        "mass": mass,
        "mass_up": np.nan_to_num(p.since(mass) / mass * 100.0),
        "load": p.runs.carried / mass,
        "mass_first_run": first * centred(p.runs, mass),
    }


def origin(p: Past) -> Terms:
    """Return the effect of the country of foaling, and the same while the horse is new."""
    country = p.strengths.lb.of("country")
    return {"country": country, "country_new": country * np.exp(-p.runs_before / 5.0)}


def trip_change(p: Past) -> Terms:
    """Return how much further it goes than last time (logarithm of the ratio, 0 when shorter)."""
    metres = p.runs.distance_m[p.runs.race]
    return {"trip_up": np.nan_to_num(np.maximum(np.log(metres / p.then(metres)), 0.0))}


GROUPS = (
    level,
    level_certainty,
    level_by_surface,
    gap,
    experience,
    race_class,
    weight,
    handicap_mark,
    draw,
    style,
    people,
    body,
    origin,
    trip_change,
)
