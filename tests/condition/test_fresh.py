"""Fresh: a horse's latest against its own past, its racing mass, what it left, and what is missing."""

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest

from condition.done_yards import TODAY
from upsides.condition.fresh.answer import Seen, Travel, fresh
from upsides.condition.fresh.latest import SIGNS, Latest, Missing, latest, yard_spread
from upsides.condition.fresh.mass import AgainstRacing, against_racing, racing_mass
from upsides.condition.fresh.words import Appetite, Word, appetite, last_word
from upsides.errors import ConditionRefusedError

MASS, TEMPERATURE, HEART, RECOVERY = SIGNS


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def series(values: list[float], first: int = 0) -> list[tuple[date, float]]:
    """Return values of days, the first of them so many days ago, each a day before the last."""
    return [(ago(first + k), value) for k, value in enumerate(values)]


def told(values: list[float], yard_sd: float | None = None) -> Latest:
    found = latest(MASS, series(values), TODAY, yard_sd)
    assert isinstance(found, Latest)
    return found


@pytest.mark.parametrize("count", [6, 10, 30])
def test_of_unchanged_horses_nine_in_ten_lie_within(count: int) -> None:
    """Where nothing changes, 90 to 96 in 100 of the latest lie within, by 1500 simulated horses, four standard errors
    apart."""
    rng = np.random.default_rng(count)
    found = [told([float(v) for v in rng.normal(480.0, 9.0, count + 1)]) for _ in range(1500)]
    within = np.mean([one.where == "within" for one in found])
    error = 4 * np.sqrt(0.09 / 1500)
    assert 0.9 - error < within < 0.96 + error


def test_one_odd_value_in_the_past_moves_nothing() -> None:
    """A past of 480 kg with one 48 kg and one 4800 typed wrongly has the usual of 480, and 470 kg now is below."""
    past = [480.0, 481.0, 479.0, 480.5, 479.5, 48.0, 4800.0, 480.0, 481.0, 479.0, 480.0, 480.5]
    found = told([460.0, *past])
    assert (found.usual, found.where, found.off) == (480.0, "below", -20.0)


def test_an_instrument_has_a_spread_of_its_own() -> None:
    """After ten times 38.0 °C a 38.2 is within what a thermometer does, and 38.6 is above."""

    def temperature(value: float) -> Latest | Missing:
        return latest(TEMPERATURE, series([value, *[38.0] * 10]), TODAY)

    mild, warm = temperature(38.2), temperature(38.6)
    assert isinstance(mild, Latest)
    assert isinstance(warm, Latest)
    assert (mild.where, warm.where) == ("within", "above")


def test_a_short_past_tells_nothing_but_its_values() -> None:
    """Of five values before nothing is called unusual, of none there is no usual at all."""
    assert told([400.0, *[480.0] * 5]).where == "cannot be told"
    alone = told([480.0])
    assert (alone.usual, alone.off, alone.where, alone.count) == (None, None, "cannot be told", 0)


def test_the_yards_spread_steadies_a_short_past() -> None:
    """Six values that happen to lie within a kilogram are not taken for a spread of one, where the yard's is nine."""
    past = [470.0, 480.0, 480.2, 479.8, 480.4, 479.6, 480.0]
    assert told(past).where == "below"
    assert told(past, yard_sd=9.0).where == "within"


def test_the_yards_spread_is_that_within_its_horses() -> None:
    """Of forty simulated horses of very different mass with a spread of 9 kg each it is 9, within the error of such a
    median; of four it is not known, nor of horses with five values."""
    rng = np.random.default_rng(8)
    horses = [list(rng.normal(centre, 9.0, 20)) for centre in rng.normal(480, 40, 40)]
    assert yard_spread(horses) == pytest.approx(9.0, abs=4 * 9.0 * 1.25 * np.sqrt(1.36 / 19 / 40))
    assert yard_spread(horses[:4]) is None
    assert yard_spread([one[:5] for one in horses]) is None


def test_what_was_not_measured_is_a_finding() -> None:
    """A mass of 19 days ago is no mass for 19 days, one of tomorrow is none at all, and never is never."""
    assert latest(MASS, [(ago(19), 480.0)], TODAY) == Missing("mass", 19)
    assert latest(MASS, [(ago(-1), 480.0)], TODAY) == Missing("mass", None)
    assert latest(RECOVERY, [], TODAY) == Missing("recovery", None)
    assert latest(HEART, [(ago(2), float("nan"))], TODAY) == Missing("resting heart", None)


def test_racing_mass_is_the_mean_before_the_best_runs() -> None:
    """Of seven runs the five best count, each by the last weighing of the week before it; one that nobody weighed for
    does not."""
    runs = [(ago(30 * k), figure) for k, figure in enumerate([0.0, 80.0, 90.0, 70.0, 60.0, 50.0, 10.0, 95.0], 1)]
    masses = [(day - timedelta(days=2), 470.0 + k) for k, (day, _) in enumerate(runs[:-1])]
    masses += [(runs[1][0] - timedelta(days=5), 300.0), (runs[1][0] - timedelta(days=9), 200.0)]
    found = racing_mass(masses, runs, TODAY)
    assert found is not None
    assert (found.kg, found.runs, found.how) == (473.0, 5, "best runs")
    assert found.sd_kg == pytest.approx(np.std([471, 472, 473, 474, 475], ddof=1))


def test_few_runs_all_count_and_none_is_none() -> None:
    """Three runs are too few to choose from, so all count, with a figure or without; a run of today is not evidence."""
    runs = [(ago(10), float("nan")), (ago(40), 70.0), (ago(80), 60.0), (TODAY, 99.0)]
    masses = [(day, 480.0 + k) for k, (day, _) in enumerate(runs)]
    found = racing_mass(masses, runs, TODAY)
    assert found is not None
    assert (found.kg, found.runs, found.how) == (481.0, 3, "all runs")
    assert racing_mass(masses[:1], [(ago(30), 70.0)], TODAY) is None


@pytest.mark.parametrize(("kg", "band"), [(482.0, "within 0.5 %"), (470.0, "between"), (466.0, "beyond 2.5 %")])
def test_the_latest_stands_among_the_published_shares(kg: float, band: str) -> None:
    """Of 480 kg 2 kg lie within half a per cent, 10 kg (2.1 %) between, 14 kg (2.9 %) beyond 2.5 % (Korea 2008)."""
    found = against_racing([(ago(30), 480.0), (ago(1), kg)], [(ago(30), 70.0)], TODAY)
    assert isinstance(found, AgainstRacing)
    assert (found.band, found.off_kg, found.since_run) == (band, kg - 480.0, 30)
    assert found.off_share == pytest.approx(kg / 480.0 - 1)


@pytest.mark.parametrize(("days", "missing"), [(0, (3.5, 0.3)), (1, (5.3, 0.5)), (2, None)])
def test_what_a_race_takes_is_told_while_it_is_published(days: int, missing: tuple[float, float] | None) -> None:
    """On the day of a race 3.5 kg (0.3) and the day after 5.3 kg (0.5) were missing in a published group (Equine
    Veterinary Journal Supplement 2002); of later days nothing is published."""
    found = against_racing([(ago(30), 480.0), (TODAY, 475.0)], [(ago(30), 70.0), (ago(days), 70.0)], TODAY)
    assert isinstance(found, AgainstRacing)
    assert found.after_race == missing


def test_a_mass_without_runs_or_none_lately_is_told_as_missing() -> None:
    """Without a run that was weighed for there is no racing mass; without a mass for 19 days there is that."""
    assert against_racing([(ago(1), 480.0)], [], TODAY) == Missing("racing mass", None)
    assert against_racing([(ago(19), 480.0)], [(ago(19), 70.0)], TODAY) == Missing("mass", 19)


def test_what_is_left_is_held_against_how_much_it_was() -> None:
    """A quarter on three days of seven, after half on three of sixty, is as improbable as simulation says.

    Drawn 200,000 times from the same Dirichlet and multinomial, within four standard errors. A horse that always leaves
    a quarter is as usual.
    """
    lately = [(ago(k), 0.25 if k < 3 else 0.0) for k in range(7)]
    past = [(ago(7 + k), 0.5 if k < 3 else 0.0) for k in range(60)]
    found = appetite(lately + past, TODAY)
    assert isinstance(found, Appetite)
    assert (found.left, found.days_told, found.past_told) == (0.25, 7, 60)
    assert (found.lately, found.before) == (pytest.approx(0.75 / 7), pytest.approx(1.5 / 60))
    rng = np.random.default_rng(6)
    drawn = rng.multinomial(7, rng.dirichlet([57.5, 0.125, 3.125, 0.125, 0.125], 200_000))
    share = float(np.mean(drawn @ [0.0, 0.25, 0.5, 0.75, 1.0] >= 0.75))
    assert found.chance is not None
    assert abs(found.chance - share) < 4 * np.sqrt(share * (1 - share) / 200_000)
    picky = appetite([(ago(k), 0.25) for k in range(67)], TODAY)
    assert isinstance(picky, Appetite)
    assert picky.chance is not None
    assert picky.chance > 0.9


def test_a_whole_feed_left_says_more_than_a_little() -> None:
    """On a single day of the week the chance falls with what was left; leaving nothing is never improbable."""
    past = [(ago(7 + k), 0.25 if k < 4 else 0.0) for k in range(60)]
    chances = []
    for share in (0.0, 0.25, 0.5, 1.0):
        found = appetite([(TODAY, share), *((ago(k), 0.0) for k in range(1, 7)), *past], TODAY)
        assert isinstance(found, Appetite)
        assert found.chance is not None
        chances.append(found.chance)
    assert chances[0] == pytest.approx(1.0)
    assert all(more > less for more, less in pairwise(chances))
    assert chances[-1] < 0.05 < chances[1]


def test_the_most_that_was_left_of_a_day_counts() -> None:
    """Of two feeds of a day the one that was left counts; without a past there is no chance; none lately is missing."""
    found = appetite([(TODAY, 0.75), (TODAY, 0.0)], TODAY)
    assert isinstance(found, Appetite)
    assert (found.left, found.chance) == (0.75, None)
    assert appetite([(ago(3), 0.0)], TODAY) == Missing("appetite", 3)


def test_the_last_word_and_how_often_it_fell() -> None:
    """Flat today, and on two of the four days before; a word of five days ago says nothing of today."""
    said = [
        (TODAY, "flat"),
        (ago(2), "flat"),
        (ago(3), "usual"),
        (ago(5), "flat"),
        (ago(9), "usual"),
        (ago(99), "flat"),
    ]
    assert last_word("rider's word", said, TODAY, 3) == Word("rider's word", "flat", 0, 2, 4)
    assert last_word("rider's word", said[3:], TODAY, 3) == Missing("rider's word", 5)


def _seen() -> Seen:
    return Seen(
        mass=series([466.0, *[480.0, 481.0, 479.0] * 4]),
        temperature=series([38.0, 38.1, 37.9, 38.0, 38.0, 38.1, 37.9, 38.0]),
        recovery=series([128.0, 120.0, 119.0, 121.0, 122.0, 118.0, 120.0, 121.0], 3),
        left=[(ago(k), "some" if k < 4 else "nothing") for k in range(60)],
        runs=[(ago(11), 70.0)],
        mind=[(ago(2), "dull")],
        journeys=[(ago(3), 9.5), (ago(12), float("nan")), (ago(30), 2.0)],
        fast_works=3,
    )


def test_every_sign_stands_by_itself() -> None:
    """A horse that lost mass and leaves its feed is told by these two and by no number of all; what was compared and is
    as usual is told too, and what is missing is told with its days."""
    found = fresh(_seen(), TODAY)
    assert (found.unusual, found.usual) == (("mass", "recovery", "appetite", "mind"), ("temperature",))
    assert found.missing == (Missing("resting heart", None), Missing("rider's word", None))
    assert isinstance(found.racing_mass, AgainstRacing)
    assert found.travel == Travel(3, 9.5, 2)
    assert (found.travel.long, found.fast_works) == (True, 3)
    assert isinstance(found.mind, Word)


def test_nothing_known_is_all_missing() -> None:
    """A horse of which nothing was written down has every sign missing, nothing usual and nothing unusual."""
    found = fresh(Seen(), TODAY)
    assert {one.what for one in found.missing} == {
        "mass", "temperature", "resting heart", "recovery", "appetite", "rider's word", "mind",
    }  # fmt: skip
    assert (found.unusual, found.usual, found.travel) == ((), (), Travel(None, None, 0))
    assert found.travel.long is None


def test_a_mind_that_is_not_shown_yet_is_not_missing() -> None:
    """A word of another that the reader may not know yet was said all the same: it is missing only where that is too
    long ago, and then for as long as nobody said anything."""

    def missing(unheard: list[date], said: list[tuple[date, str]]) -> list[int | None]:
        found = fresh(Seen(mind=said, unheard=unheard), TODAY)
        assert isinstance(found.mind, Missing)
        return [one.days for one in found.missing if one.what == "mind"]

    assert missing([], []) == [None]
    assert missing([ago(40), ago(7)], []) == []
    assert missing([ago(7)], [(ago(30), "dull")]) == []
    assert missing([ago(8)], [(ago(30), "dull")]) == [8]
    assert missing([ago(40)], [(ago(30), "dull")]) == [30]


def test_a_word_that_something_is_wrong_is_not_as_usual() -> None:
    """A horse that is called dull for the first time, or that its rider calls flat, is not as usual for it; one that
    was called so on two days of ten is as it was, and bright or as usual is never odd."""

    def odd(**said: list[tuple[date, str]]) -> tuple[str, ...]:
        return fresh(Seen(**said), TODAY).unusual  # type: ignore[arg-type]  # rider and mind alone

    usual = [(ago(k), "usual") for k in range(1, 11)]
    assert odd(rider=[*usual, (TODAY, "flat")], mind=[(TODAY, "dull")]) == ("rider's word", "mind")
    assert odd(rider=[(ago(12), "flat"), *usual[:9], (TODAY, "flat")]) == ("rider's word",)
    assert odd(rider=[*usual[2:], (ago(1), "flat"), (ago(2), "flat"), (TODAY, "flat")]) == ()
    assert odd(rider=[(TODAY, "usual")], mind=[(TODAY, "bright")]) == ()
    assert odd(mind=[(ago(8), "dull")]) == ()


def test_a_word_not_yet_heard_counts_for_some_days() -> None:
    """Of words of others on its mind those of the last seven days wait for the reader's own; older ones do not."""
    assert fresh(Seen(unheard=[ago(99), ago(8), ago(7), TODAY]), TODAY).unheard == 2


def test_more_mass_is_not_tiredness() -> None:
    """A mass above its own past is told as above, and not among what a tired horse shows."""
    found = fresh(Seen(mass=series([495.0, *[480.0, 481.0, 479.0] * 4])), TODAY)
    assert isinstance(found.signs[0], Latest)
    assert (found.signs[0].where, found.unusual) == ("above", ())


def test_a_word_that_the_diary_does_not_have_is_refused() -> None:
    """A word for what was left that is none of the diary's is refused with those it has."""
    with pytest.raises(ConditionRefusedError, match="nothing, some, half, most, all"):
        fresh(Seen(left=[(TODAY, "crumbs")]), TODAY)
