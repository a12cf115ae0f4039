"""The whole answer about one horse's trip, as values to print, to keep or to send."""

from collections.abc import Collection
from typing import Any

import numpy as np

from upsides.errors import PieceUnknownError
from upsides.trip.case import Case
from upsides.trip.disagreement import disagreements
from upsides.trip.family import sprint_and_stay
from upsides.trip.kinds import kind_chances
from upsides.trip.next_best import next_best
from upsides.trip.posterior import Posterior, expected_figure
from upsides.trip.pulls import best_furlongs, pulls, range_furlongs
from upsides.trip.scale import furlongs

ASKED_F = (5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0)


def answer(case: Case, *, what_if: Collection[float] = (), without: Collection[str] = ()) -> dict[str, Any]:
    """Return the answer.

    Args:
        case: the horse.
        what_if: trips in furlongs to say an expected figure for; the usual ones where none is named.
        without: pieces to leave out.

    Returns:
        best_furlongs (as likely shorter as longer), most_likely_furlongs, range50, range90 (furlongs), kinds (chances),
        curve (furlongs and chance per grid step), ability_lb with ability_sd_lb (figure today at the best trip), runs,
        evidence, disagreements, what_if, next_best, without, family (what relatives say; None where there are none).

    Raises:
        PieceUnknownError: a piece to leave out is none that this horse has.
    """
    for piece in without:
        if piece not in case.available:
            raise PieceUnknownError(piece, case.available)
    post = case.answer(set(case.available) - set(without))
    level, sd = ability(post)
    return {
        "best_furlongs": best_furlongs(post),
        "most_likely_furlongs": most_likely(post),
        "range50": list(range_furlongs(post, 0.5)),
        "range90": list(range_furlongs(post, 0.9)),
        "kinds": kind_chances(post, case.given),
        "curve": {"furlongs": furlongs(post.grid).tolist(), "chance": post.density.tolist()},
        "ability_lb": level,
        "ability_sd_lb": sd,
        "runs": post.runs,
        "evidence": [
            {"name": p.name, "pull_furlongs": p.pull, "share_furlongs": p.share, "information": p.information}
            for p in pulls(case)
        ],
        "disagreements": [
            {"shorter": d.shorter, "shorter_kind": d.shorter_kind, "longer": d.longer, "longer_kind": d.longer_kind}
            for d in disagreements(case)
        ],
        "what_if": figures_at(post, what_if or ASKED_F),
        "next_best": [
            {"what": n.what, "furlongs": n.furlongs or None, "narrows_furlongs": n.narrows} for n in next_best(case)
        ],
        "without": sorted(without),
        "family": family_word(case),
    }


def family_word(case: Case) -> dict[str, float] | None:
    """Return what relatives say, None where there are none.

    Keys: sprint_lb and stay_lb (over six and over nine furlongs, against the population's usual horse),
    reliability_trip and reliability_ability (shares of what is inherited that are known), kin_runs.
    """
    told = case.known.relatives
    if told is None:
        return None
    sprint, stay = sprint_and_stay(case.p, told)
    ability, trip = (float(share) for share in told.reliability)
    return {
        "sprint_lb": sprint,
        "stay_lb": stay,
        "reliability_trip": trip,
        "reliability_ability": ability,
        "kin_runs": told.records,
    }


def most_likely(post: Posterior) -> float:
    """Return the trip of the highest chance, furlongs."""
    return float(furlongs(post.grid[int(np.argmax(post.density))]))


def ability(post: Posterior) -> tuple[float, float]:
    """Return what the horse is worth today at its best trip, lb, and the standard deviation of that."""
    keep = 1.0 - post.form_slope
    level = keep * post.ability + post.form
    mean = float((post.weight * level).sum())
    variance = (post.weight * (keep**2 * post.variance + post.form_variance + (level - mean) ** 2)).sum()
    return mean, float(np.sqrt(variance))


def figures_at(post: Posterior, trips: Collection[float]) -> list[dict[str, float]]:
    """Return the expected figure over each trip (furlongs), four times in five between low and high, lb."""
    at = np.array(sorted(trips))
    mean, sd = expected_figure(post, np.log2(at))
    return [
        {"furlongs": float(f), "figure_lb": float(m), "low_lb": float(m - 1.2816 * s), "high_lb": float(m + 1.2816 * s)}
        for f, m, s in zip(at, mean, sd, strict=True)
    ]
