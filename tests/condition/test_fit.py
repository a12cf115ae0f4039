"""Fit: pieces of evidence by themselves, whether they agree, and the chances in words."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy import stats

from condition.done_yards import TODAY
from upsides.condition.fit import (
    KINDS,
    Kind,
    Odds,
    Piece,
    figures_piece,
    figures_spread,
    fit_of,
    odds,
    piece_of,
    yards_spread,
)  # fmt: skip
from upsides.condition.fresh.latest import Missing
from upsides.recordings.heart.trends import Change, Reading, trends_of


def change(share: float, low: float, high: float) -> Change:
    return Change(3, TODAY - timedelta(days=24), TODAY - timedelta(days=2), share, low, high, 0.5, 0.1)


def piece(kind: Kind, *, fitter: bool, ago: int = 2) -> Piece:
    """Return a piece that points up or down, measured so many days ago."""
    more = fitter != (kind == "recovery")
    sure = change(0.05, 0.03, 0.07) if more else change(-0.05, -0.07, -0.03)
    return replace(piece_of(kind, sure), last=TODAY - timedelta(days=ago))


def test_a_chance_is_the_normals() -> None:
    """An interval of nine in ten that begins at no change at all is fitter with 95 in 100; for a heart that comes down
    it is less fit with as much."""
    high = float(np.exp(2 * np.log1p(0.04)) - 1)
    faster, slower = (
        piece_of("speed at 200 beats", change(0.04, 0.0, high)),
        piece_of("recovery", change(0.04, 0.0, high)),
    )
    assert faster.fitter == pytest.approx(0.95, abs=1e-9)
    assert slower.fitter == pytest.approx(0.05, abs=1e-9)
    assert (faster.points, slower.points) == ("fitter", "less fit")
    assert piece_of("speed at 200 beats", change(0.01, -0.03, 0.05)).points == "cannot tell"


def test_figures_before_and_since_are_a_difference_of_means() -> None:
    """With errors that explain all the spread, the change is that of the weighted means with the variance 1/sum w on
    either side; a run of two years ago and none on one side say nothing."""
    days = [TODAY - timedelta(days=k) for k in (200, 150, 60, 20, 5, 800)]
    figures, sds = [70.0, 72.0, 71.0, 75.0, 76.0, 20.0], [3.0, 3.0, 6.0, 3.0, 3.0, 3.0]
    since = TODAY - timedelta(days=30)
    found = figures_piece(list(zip(days, figures, sds, strict=True)), since)
    assert found is not None
    w = np.array([1 / 9, 1 / 9, 1 / 36])
    change, sd = 75.5 - np.average(figures[:3], weights=w), np.sqrt(1 / w.sum() + 9 / 2)
    assert (found.change, found.fitter) == (pytest.approx(change), pytest.approx(stats.norm.cdf(change / sd)))
    assert found.high - found.low == pytest.approx(2 * stats.norm.isf(0.05) * sd)
    assert (found.since, found.last) == (days[2], days[4])
    assert figures_piece(list(zip(days[:3], figures[:3], sds[:3], strict=True)), since) is None


def test_figures_that_jump_about_say_less() -> None:
    """A horse whose figures jump by ten pounds from run to run is less surely fitter than one whose figures do not."""
    days = [TODAY - timedelta(days=k) for k in (200, 150, 100, 20, 10, 5)]
    since = TODAY - timedelta(days=30)
    steady = figures_piece([(day, lb, 3.0) for day, lb in zip(days, [70, 71, 69, 75, 76, 74], strict=True)], since)
    jumpy = figures_piece([(day, lb, 3.0) for day, lb in zip(days, [60, 80, 70, 65, 85, 75], strict=True)], since)
    assert steady is not None
    assert jumpy is not None
    assert steady.change == pytest.approx(jumpy.change) == pytest.approx(5.0)
    assert jumpy.fitter < steady.fitter


def test_a_horses_spread_is_drawn_to_the_yards() -> None:
    """By hand: with errors of 2 lb, figures of 70, 76 and 73 before and 80 since have q = (9 + 9 + 0) / 4 = 4.5, two
    degrees of freedom and c = (3 - 1) / 4 = 0.5, so 5 lb^2 from run to run of its own; a yard of 12 lb^2 counts for
    five, which makes (2 x 5 + 5 x 12) / 7 = 10. A horse with a run on either side has no spread of its own but the
    yard's; without a yard its own stands, and none lies below nought."""
    since = TODAY - timedelta(days=30)
    before = [(TODAY - timedelta(days=40 + k), lb, 2.0) for k, lb in enumerate((70.0, 76.0, 73.0))]
    runs = [*before, (TODAY - timedelta(days=3), 80.0, 2.0)]
    own = figures_spread(runs, since)
    assert (own.q, own.c, own.freedom, own.variance) == pytest.approx((4.5, 0.5, 2, 5.0))
    for yard, v in ((12.0, 10.0), (0.0, 10 / 7), (None, 5.0)):
        found = figures_piece(runs, since, yard)
        assert found is not None
        assert (found.high - found.low) / (2 * stats.norm.isf(0.05)) == pytest.approx(np.sqrt((4 + v) * (1 + 1 / 3)))
    alone = figures_piece(runs[2:], since, 12.0)
    assert alone is not None
    assert (alone.high - alone.low) / (2 * stats.norm.isf(0.05)) == pytest.approx(np.sqrt((4 + 12) * 2))
    level = figures_piece([(day, 70.0, 2.0) for day, *_ in runs], since, 0.0)
    assert level is not None
    assert (level.high - level.low) / (2 * stats.norm.isf(0.05)) == pytest.approx(np.sqrt(4 * (1 + 1 / 3)))


def test_the_yards_spread_is_that_of_all_its_horses() -> None:
    """Moments of horses add up: of 400 horses of three runs whose figures vary by 36 lb^2 beyond errors of 9 lb the
    yard tells 36 within four standard errors; of fewer than five horses that ran twice in a span it tells nothing."""
    rng = np.random.default_rng(3)
    since = TODAY - timedelta(days=30)
    ran = [TODAY - timedelta(days=k) for k in (90, 60, 40)]
    spreads = [
        figures_spread([(day, float(rng.normal(70, np.hypot(9, 6))), 9.0) for day in ran], since) for _ in range(400)
    ]
    told = yards_spread(spreads)
    assert told is not None
    assert told == pytest.approx(36, abs=4 * 117 * np.sqrt(2 / 800))
    assert yards_spread([*spreads[:4], *[figures_spread([(TODAY, 70.0, 9.0)], since)] * 9]) is None
    assert yards_spread([replace(one, q=0.0) for one in spreads[:5]]) == 0.0


def test_ranges_with_the_yards_spread_hold_the_truth() -> None:
    """Of horses with two to five runs, whose own spreads differ, ranges of nine in ten hold the true change in 87 to 93
    of 100; by the horse's own spread alone 84 do."""
    rng = np.random.default_rng(8)
    days = [TODAY - timedelta(days=k) for k in (200, 150, 110, 90, 5)]
    since = TODAY - timedelta(days=30)
    horses = []
    for place in range(1500):
        sd = float(np.hypot(9.0, np.sqrt(60 * 5 / rng.chisquare(5))))
        horses.append([(day, float(rng.normal(0, sd)), 9.0) for day in days[place % 4 :]])
    yard = yards_spread([figures_spread(runs, since) for runs in horses])
    inside = {
        which: [one.low <= 0.0 <= one.high for runs in horses if (one := figures_piece(runs, since, which)) is not None]
        for which in (yard, None)
    }
    assert 0.87 < np.mean(inside[yard]) < 0.93
    assert np.mean(inside[None]) < 0.86


def test_figures_of_simulated_horses_cover_the_truth() -> None:
    """Nine in ten intervals hold the true change of 4 lb within four standard errors, of 1500 simulated horses with
    errors of 3 lb that are known."""
    rng = np.random.default_rng(5)
    days = [TODAY - timedelta(days=k) for k in (250, 200, 150, 100, 20, 15, 10, 5)]
    truth = np.r_[np.zeros(4), np.full(4, 4.0)]
    inside = []
    for _ in range(1500):
        runs = [(day, lb, 3.0) for day, lb in zip(days, (truth + rng.normal(0, 3, 8)).tolist(), strict=True)]
        found = figures_piece(runs, TODAY - timedelta(days=30))
        assert found is not None
        inside.append(found.low <= 4.0 <= found.high)
    assert 0.9 - 4 * np.sqrt(0.09 / 1500) < np.mean(inside) < 0.96


def test_pieces_that_agree_and_those_that_do_not() -> None:
    """All up is agreement, up and down is none, one alone is told as that; a piece that cannot tell takes no side."""
    up, down = piece("speed at 200 beats", fitter=True), piece("recovery", fitter=False)
    also = piece("speed on known gallops", fitter=True)
    vague = piece_of("speed at highest heart", change(0.0, -0.05, 0.05))
    assert fit_of([up, also, vague], TODAY).together == "agree"
    both = fit_of([up, down], TODAY)
    assert (both.together, both.pointing("fitter"), both.pointing("less fit")) == (
        "disagree", ("speed at 200 beats",), ("recovery",),
    )  # fmt: skip
    assert (both.lowest, both.highest) == (down.fitter, up.fitter)
    assert (fit_of([up, vague], TODAY).together, fit_of([vague], TODAY).together) == ("one alone", "none tells")
    assert (fit_of([vague], TODAY).lowest, fit_of([vague], TODAY).highest) == (None, None)


def test_a_stale_piece_is_missing_with_its_days() -> None:
    """Recovery of 40 days ago is no piece of today: it is missing for 40 days; what was never measured is missing."""
    found = fit_of([piece("recovery", fitter=True, ago=40), piece("speed at 200 beats", fitter=True)], TODAY)
    assert [one.kind for one in found.pieces] == ["speed at 200 beats"]
    assert Missing("recovery", 40) in found.missing
    assert {one.what for one in found.missing} == set(KINDS) - {"speed at 200 beats"}


def test_what_was_measured_and_says_nothing_is_not_called_unmeasured() -> None:
    """A kind read lately without a piece has too little before it to hold it against, or nobody worked it out; one that
    was read too long ago was not measured lately, whatever else; one never read is never."""
    measured = {kind: TODAY - timedelta(days=ago) for kind, ago in zip(KINDS, (3, 0, 21, 22), strict=False)}
    found = fit_of([], TODAY, measured=measured, untold={KINDS[1], KINDS[3]})
    assert found.missing == (
        Missing(KINDS[0], 3, "nothing before"), Missing(KINDS[1], 0, "not worked out"),
        Missing(KINDS[2], 21, "nothing before"), Missing(KINDS[3], 22), Missing(KINDS[4], None),
    )  # fmt: skip
    later = fit_of([piece("recovery", fitter=True, ago=40)], TODAY, measured={"recovery": TODAY}, untold={"recovery"})
    assert Missing("recovery", 0, "not worked out") in later.missing


@pytest.mark.parametrize(
    ("chance", "told"),
    [(0.9, (9, 10)), (0.5, (5, 10)), (0.84, (8, 10)), (0.95, (19, 20)), (0.985, (98, 100)), (0.9999, (99, 100)),
     (0.08, (1, 10)), (0.03, (1, 20)), (0.0, (1, 100))],
)  # fmt: skip
def test_chances_are_told_as_so_many_in_so_many(chance: float, told: tuple[int, int]) -> None:
    """Nine in ten, nineteen in twenty, 99 in 100, and never all of them or none."""
    assert odds(chance) == Odds(*told)


def test_trends_of_simulated_horses_say_the_right_thing() -> None:
    """Of twenty horses whose speed at 200 beats rises by 8 % in nine weeks and twenty where it falls, no piece points
    the wrong way, and at least thirty point the right one."""
    rng = np.random.default_rng(11)
    readings = [
        Reading(horse, TODAY - timedelta(days=7 * week), 13.7 * (1 + (0.08 if horse < 20 else -0.08) * (9 - week) / 9)
                * float(np.exp(rng.normal(0, 0.01))), 0.13)
        for horse in range(40) for week in range(10)
    ]  # fmt: skip
    changes = trends_of(readings, TODAY, days=42).changes
    points = {one.horse: piece_of("speed at 200 beats", one).points for one in changes}
    right = ["fitter" if horse < 20 else "less fit" for horse in range(40)]
    assert sum(points[horse] == right[horse] for horse in range(40)) >= 30
    assert not [h for h in range(40) if points[h] not in {right[h], "cannot tell"}]
