"""Shape: what can be scored, what people say together, how far they agree."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from upsides.errors import ShapeScoreError
from upsides.trip.traits import HIGHEST, LOWEST, MIDDLE, TRAITS, Agreement, agreement, read_score, summary

NECK = next(trait for trait in TRAITS if trait.name == "neck_length")

SHROUT_FLEISS = np.array(
    [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]], dtype=np.float64
)
"""Six targets by four judges: Shrout and Fleiss 1979, Psychological Bulletin 86:420, the worked example."""


def one_way(found: Agreement, horses: int, judges: int) -> float:
    """ICC(1,1) of a full table, put together again from the variances of the two-way model."""
    within = (judges - 1) * (found.rest + horses * found.between_judges) + (horses - 1) * (judges - 1) * found.rest
    between, within = judges * found.between_horses + found.rest, within / (horses * (judges - 1))
    return (between - within) / (between + (judges - 1) * within)


def by_projection(table: NDArray[np.float64]) -> tuple[float, float, float]:
    """The variances by Henderson's method 3 (Searle, Casella and McCulloch 1992, section 5.5), with whole matrices."""
    horse, judge = np.nonzero(~np.isnan(table))
    y = table[horse, judge]
    of_horses, of_judges = (np.eye(table.shape[axis])[place] for axis, place in ((0, horse), (1, judge)))
    nothing = np.zeros((len(y), 0))
    onto = {
        (h, j): x @ np.linalg.pinv(x)
        for h in (0, 1)
        for j in (0, 1)
        if (x := np.hstack([of_horses if h else nothing, of_judges if j else nothing])).size
    }
    full = onto[1, 1]
    rest = y @ (np.eye(len(y)) - full) @ y / (len(y) - np.trace(full))

    def of(factor: NDArray[np.float64], other: NDArray[np.float64]) -> float:
        gained = full - other
        return float(
            (y @ gained @ y - rest * np.trace(gained)) / np.trace(factor.T @ (np.eye(len(y)) - other) @ factor)
        )

    return of(of_horses, onto[0, 1]), of(of_judges, onto[1, 0]), float(rest)


def gaps(table: NDArray[np.float64], random: np.random.Generator, share: float) -> NDArray[np.float64]:
    return np.where(random.random(table.shape) < share, np.nan, table)


def test_traits_can_be_told_apart() -> None:
    """16 to 20 traits, each under its own name and title, with two ends that differ, and a direction of -1, 0 or 1."""
    assert 16 <= len(TRAITS) <= 20
    assert len({trait.name for trait in TRAITS}) == len({trait.title for trait in TRAITS}) == len(TRAITS)
    assert all(trait.low != trait.high and trait.name.isidentifier() for trait in TRAITS)
    assert {trait.longer for trait in TRAITS} == {-1, 0, 1}
    assert (LOWEST, MIDDLE, HIGHEST) == (1, 5, 9)


def test_what_the_trade_reads_from_the_ends_points_its_way() -> None:
    """Compact, short-coupled, upright and strong behind is a sprinter's shape, leggy and sloping a stayer's.

    Common practice, no source.
    """
    longer = {trait.name: trait.longer for trait in TRAITS}
    assert all(longer[name] > 0 for name in ("frame", "leg_length", "back_length", "shoulder_slope", "pasterns"))
    assert all(longer[name] < 0 for name in ("quarters", "second_thigh", "forearm"))
    assert all(longer[name] == 0 for name in ("bone", "knees", "toes", "hock_angle"))


@pytest.mark.parametrize(("typed", "score"), [(1, 1), (9, 9), ("5", 5), (" 7 ", 7), ("３", 3)])
def test_a_score_is_read(typed: object, score: int) -> None:
    """A whole number from 1 to 9 is read, also as the digit that a form sends."""
    assert read_score(NECK, typed) == score


@pytest.mark.parametrize("typed", [0, 10, -3, 5.5, 5.0, "", "0", "10", "5.5", "five", "²", None, True, [5], "1" * 200])
def test_what_is_no_score_is_refused(typed: object) -> None:
    """Anything but a whole number from 1 to 9 is refused with the trait, what was typed, the reason and the remedy."""
    with pytest.raises(ShapeScoreError, match="whole number from 1 to 9; score it again") as refused:
        read_score(NECK, typed)
    assert refused.value.trait == "Neck"
    assert repr(str(typed)[:40]) in str(refused.value)


def test_summary_counts_who_scored() -> None:
    """A trait's mean, judges and spread are those of who scored it; a trait that nobody scored is not there."""
    found = summary([{"walk": 8, "frame": 2}, {"walk": 5}, {"walk": 5, "bone": 9}])
    assert list(found) == ["frame", "bone", "walk"]
    assert (found["walk"].mean, found["walk"].judges, found["walk"].spread) == (6.0, 3, 3)
    assert (found["frame"].mean, found["frame"].judges, found["frame"].spread) == (2.0, 1, 0)
    assert summary([]) == summary([{}]) == {}


def test_agreement_is_that_of_shrout_and_fleiss() -> None:
    """ICC(2,1) = .29, ICC(3,1) = .71 and ICC(1,1) = .17 (Shrout and Fleiss 1979, printed to two digits)."""
    each, overall = agreement(SHROUT_FLEISS[:, :, None])
    assert each[0] is not None
    assert each[0] == overall
    assert round(each[0].absolute, 2) == 0.29
    assert round(each[0].between_horses / (each[0].between_horses + each[0].rest), 2) == 0.71
    assert round(one_way(each[0], 6, 4), 2) == 0.17
    assert (each[0].horses, each[0].judges) == (6, 4)


@pytest.mark.parametrize("seed", range(20))
def test_with_gaps_the_variances_are_hendersons(seed: int) -> None:
    """Where not everybody scored every horse, the sums agree with whole projection matrices to 1e-10."""
    random = np.random.default_rng(seed)
    table = gaps(random.normal(size=(9, 1)) + random.normal(size=4) + random.normal(size=(9, 4)), random, 0.35)
    each, _ = agreement(table[:, :, None])
    assert each[0] is not None
    found = each[0].between_horses, each[0].between_judges, each[0].rest
    assert np.allclose(found, by_projection(table), rtol=0, atol=1e-10)


def test_variances_that_are_known_are_found_again() -> None:
    """Over 2000 tables with half of the scores missing, mean estimates are the truth within 4 Monte Carlo errors."""
    random = np.random.default_rng(1)
    truth, found = np.array([1.6, 0.5, 0.9]), []
    for _ in range(2000):
        horse, judge, rest = (np.sqrt(part) * random.normal(size=shape) for part, shape in
                              zip(truth, ((12, 1), (1, 5), (12, 5)), strict=True))  # fmt: skip
        one = agreement(gaps(5 + horse + judge + rest, random, 0.5)[:, :, None])[1]
        assert one is not None
        found.append((one.between_horses, one.between_judges, one.rest))
    error = np.std(found, axis=0) / np.sqrt(len(found))
    assert np.all(np.abs(np.mean(found, axis=0) - truth) < 4 * error), (np.mean(found, axis=0), error)


def test_over_all_traits_variances_are_added_up() -> None:
    """Over all, each variance is the sum over the traits that have one, and those that nobody shares add nothing."""
    alone = np.full((6, 4), np.nan)
    alone[:, 0] = SHROUT_FLEISS[:, 0]
    alike = SHROUT_FLEISS[:, :1] + np.zeros(4)
    each, overall = agreement(np.dstack([SHROUT_FLEISS, alone, alike]))
    assert each[1] is None
    assert each[0] is not None
    assert each[2] is not None
    assert overall is not None
    assert each[2].absolute == pytest.approx(1.0, abs=1e-10)
    for part in ("between_horses", "between_judges", "rest"):
        assert getattr(overall, part) == pytest.approx(getattr(each[0], part) + getattr(each[2], part), abs=1e-10)


@pytest.mark.parametrize(
    "table",
    [
        np.full((3, 2), np.nan),
        np.empty((0, 0)),
        np.array([[4.0, 6.0]]),
        np.array([[4.0], [6.0], [5.0]]),
        np.array([[4.0, 6.0], [5.0, np.nan]]),
        np.array([[4.0, np.nan], [np.nan, 6.0]]),
        np.full((3, 3), 5.0),
    ],
)
def test_what_cannot_be_told_is_not_told(table: NDArray[np.float64]) -> None:
    """Without two horses that the same two people scored, or where all scores are one, nothing is told."""
    assert agreement(table[:, :, None]) == ((None,), None)


@given(st.integers(0, 10_000), st.floats(-3, 3), st.floats(0.1, 4))
def test_agreement_does_not_depend_on_where_the_scale_begins(seed: int, shift: float, scale: float) -> None:
    """Moving or stretching the scale for everybody leaves the correlation as it is, to 1e-9."""
    random = np.random.default_rng(seed)
    table = gaps(random.normal(size=(8, 3)), random, 0.2)
    one, other = (agreement(some[:, :, None])[1] for some in (table, shift + scale * table))
    if one is None or one.between_horses + one.between_judges + one.rest < 0.05:
        return
    assert other is not None
    assert other.absolute == pytest.approx(one.absolute, abs=1e-9)
