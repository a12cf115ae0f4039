"""Published figures beside a horse's own sums: as they were published, and told as what they are."""

from datetime import timedelta
from typing import get_args

import numpy as np
import pytest

from condition.done_yards import TODAY, yard
from upsides.condition.done.summary import Yard
from upsides.condition.exposure.figures import Grade, Kind, Quantity, Relation, figures
from upsides.condition.exposure.held import Held, of_note, string_held
from upsides.trade.units import FURLONG_M

BY_KEY = {one.key: one for one in figures()}
Work = tuple[int, float, float]
"""Days ago, m/s, metres."""


def held(works: list[Work], age: int | None = 4, one: Yard | None = None, **given: float) -> dict[str, Held]:
    """Return every figure for a horse that did this; quantities that are given are named with underscores."""
    known = one or yard([(0, TODAY - timedelta(days=ago), speed, far) for ago, speed, far in works])
    numbers = {name.replace("_", " "): np.array([value]) for name, value in given.items()}
    return {h.figure.key: h for h in string_held(known, [0], TODAY, [age], numbers)[0]}


@pytest.mark.parametrize(
    ("key", "ratio", "low", "high"),
    [
        ("35 furlongs in 60 days", 3.9, 2.1, 7.1), ("0.6 furlongs a day", 1.8, None, None),
        ("a furlong more", 1.04, None, None), ("10 days after a lay-up", 71.0, None, None),
        ("21 days after a lay-up", 45.0, None, None), ("121 to 214 days after a lay-up", 3.4, None, None),
        ("more than 320 days after a lay-up", 5.9, None, None), ("high-speed distance in a career", 1.02, 1.01, 1.03),
        ("high-speed distance a day", 1.73, 1.29, 2.31), ("long preparation", 5.56, 1.59, 19.46),
        ("slow days", 0.09, 0.03, 0.28),
    ],
)  # fmt: skip
def test_effects_are_as_published(key: str, ratio: float, low: float | None, high: float | None) -> None:
    """Ratios and intervals of Estberg and others 1996, Hill and others, Carrier and others 1998, Crawford and others
    2020 and 2021."""
    effect = BY_KEY[key].effect
    assert effect is not None
    assert (effect.ratio, effect.low, effect.high) == (ratio, low, high)


def test_borders_are_as_published() -> None:
    """44 km at or below 14 m/s with 6 km above in 30 days, 50 km, 35 furlongs in 60 days and 0.6 a day, 25 furlongs in
    30 days, 6 in a week, 10 and 21 days, 8 km a month from 13.3 m/s."""
    told = {
        one.key: [(part.days, part.from_ms, part.to_ms, part.value) for part in one.parts if part.value is not None]
        for one in figures()
    }
    infinite = float("inf")
    assert told["canter and gallop in 30 days"] == [(30, 5.0, 14.0, 44e3), (30, 14.0, infinite, 6e3)]
    assert told["canter near 50 km in 30 days"] == [(30, 5.0, 14.0, 50e3)]
    assert told["35 furlongs in 60 days"] == [(60, 14.0, infinite, pytest.approx(35 * FURLONG_M))]
    assert told["0.6 furlongs a day"] == [(60, 14.0, infinite, pytest.approx(0.6 * FURLONG_M))]
    assert told["25 furlongs in 30 days"] == [(30, 14.0, infinite, pytest.approx(25 * FURLONG_M))]
    assert told["6 furlongs in a week"] == [(7, 14.0, infinite, pytest.approx(6 * FURLONG_M))]
    assert [told[f"{n} days after a lay-up"][0][3] for n in (10, 21)] == [10.0, 21.0]
    assert told["usual gallop in a month"] == [(30, 13.3, infinite, 8000.0)]


def test_ten_furlongs_more_mean_three_things() -> None:
    """Ten furlongs more are 3.9, 1.48 or 1.04 by three publications: two of them say that both others disagree."""
    keys = {"35 furlongs in 60 days": 1, "a furlong more": 10, "high-speed distance in a career": 2}
    effects = {key: BY_KEY[key].effect for key in keys}
    grown = [round(effect.ratio ** keys[key], 2) for key, effect in effects.items() if effect is not None]
    assert grown == [3.9, 1.48, 1.04]
    assert {"a furlong more", "high-speed distance in a career"} <= set(BY_KEY["35 furlongs in 60 days"].disagrees)
    assert {"35 furlongs in 60 days", "high-speed distance in a career"} <= set(BY_KEY["a furlong more"].disagrees)


def test_every_figure_says_where_it_comes_from() -> None:
    """Population, outcome, effect, speeds and source are there, keys are named once, and who disagrees exists; where
    somebody does, it is said how."""
    assert len(BY_KEY) == len(figures())
    for one in figures():
        words = (one.says, one.population, one.outcome, one.effect_words, one.speeds, one.source)
        assert all(words), one.key
        assert one.parts, one.key
        assert set(one.disagrees) <= set(BY_KEY), one.key
        assert bool(one.disagreement) or not one.disagrees, one.key
        assert one.key not in one.disagrees
        assert one.kind in get_args(Kind)
        assert one.grade in get_args(Grade)
        assert all(part.quantity in get_args(Quantity) for part in one.parts), one.key
        assert all(part.relation in get_args(Relation) for part in one.parts), one.key
        assert all(part.relation == "no border" or part.value is not None for part in one.parts), one.key


def test_nothing_says_what_must_not_be_said() -> None:
    """No figure speaks of safety, of a forecast, of a score or of this week as a ratio of the last four."""
    for one in figures():
        words = " ".join((one.says, one.effect_words, one.note, one.disagreement, one.speeds)).lower()
        assert not [bad for bad in ("safe", "predict", "score", "acute", "chronic", "will ") if bad in words], one.key


def test_the_two_distances_of_thirty_days_count_together() -> None:
    """45 km of canter with 6.1 km of gallop reach the figure, with 5.5 km it is near; 30 km with 9 km do not."""

    def works(canter: float, gallop: float) -> list[Work]:
        return [(k, 9.2, canter / 10) for k in range(10)] + [(k, 15.2, gallop / 5) for k in range(5)]

    key = "canter and gallop in 30 days"
    assert held(works(45e3, 6.1e3))[key].standing == "reached"
    assert held(works(45e3, 5.5e3))[key].standing == "near"
    apart = held(works(30e3, 9e3))[key]
    assert (apart.standing, [part.standing for part in apart.parts]) == ("not reached", ["not reached", "reached"])
    assert [part.own for part in apart.parts] == pytest.approx([30e3, 9e3])
    assert [part.published_told for part in apart.parts] == [44e3, 6e3]


@pytest.mark.parametrize(
    ("km", "standing"),
    [(40.4, "near"), (39.0, "not reached"), (46.0, "reached"), (54.0, "reached"), (58.0, "near"), (61.0, "past")],
)
def test_a_peak_is_about_and_goes_past(km: float, standing: str) -> None:
    """About 50 km of canter the peak is reached, farther off it is near, and beyond it is past."""
    assert held([(k, 9.2, km * 100) for k in range(10)])["canter near 50 km in 30 days"].standing == standing


def test_furlongs_are_told_in_furlongs() -> None:
    """36 furlongs of fast work in 60 days stand beside 35, and 0.6 a day is not passed at 36 in 60."""
    found = held([(10 * k, 15.2, 6 * FURLONG_M) for k in range(6)])
    part = found["35 furlongs in 60 days"].parts[0]
    assert (part.own_told, part.published_told) == (pytest.approx(36.0), pytest.approx(35.0))
    assert (part.standing, part.measured, part.whole) == ("reached", 1.0, True)
    assert found["0.6 furlongs a day"].standing == "near"
    assert held([(10 * k, 15.2, 6.1 * FURLONG_M) for k in range(6)])["0.6 furlongs a day"].standing == "reached"


def test_a_return_from_a_lay_up_is_told_day_by_day() -> None:
    """Still laid up it is near while it works, and not while no work of it is known in a fortnight; on days 0 to 10
    both figures are reached, to 21 the longer one, then they are past, and it is later that the suspensory
    apparatus comes in, which disagrees."""
    keys = ("10 days after a lay-up", "21 days after a lay-up", "121 to 214 days after a lay-up")

    def after(days: int) -> list[str]:
        found = held([(k, 15.2, 800.0) for k in {days, *range(0, days, 20)}] + [(days + 90, 15.2, 800.0)])
        return [found[key].standing for key in keys]

    working = held([(70, 15.2, 800.0), (14, 9.2, 1600.0)])
    assert [working[key].standing for key in keys] == ["near", "near", "not reached"]
    for idle in (held([(70, 15.2, 800.0)]), held([(70, 15.2, 800.0), (15, 9.2, 1600.0)])):
        assert [idle[key].standing for key in keys] == ["not reached"] * 3
    assert after(0) == after(10) == ["reached", "reached", "not reached"]
    assert after(21) == ["past", "reached", "not reached"]
    assert after(115) == ["past", "past", "near"]
    assert after(130) == ["past", "past", "reached"]
    assert after(215) == ["past", "past", "past"]
    assert "121 to 214 days after a lay-up" in [one.key for one in held([(70, 15.2, 800.0)])[keys[0]].against[:1]]


def test_without_a_lay_up_its_figures_are_not_known() -> None:
    """A horse without fast work before has had no lay-up: no figure on one is reached or near."""
    found = held([(3, 15.2, 800.0)])
    assert {found[key].standing for key in found if "lay-up" in key} == {"not known", "no border"}


def test_no_gallop_at_all_is_a_finding_too() -> None:
    """No fast work since entering training reaches its figure, 150 m is near, 500 is past; where the yard did not know
    the horse all that time nothing is said."""
    key = "no gallop in training"
    assert held([(3, 9.2, 1600.0)])[key].standing == "reached"
    assert held([(3, 9.2, 1600.0), (2, 15.2, 150.0)])[key].standing == "near"
    assert held([(3, 15.2, 500.0)])[key].standing == "past"
    late = yard([(0, TODAY, 9.2, 1600.0)], known_from=TODAY - timedelta(days=20))
    assert held([], one=late)[key].standing == "not known"
    strange = yard([(0, TODAY, 9.2, 1600.0)], entered=None)
    assert held([], one=strange)[key].standing == "not known"


def test_shins_are_for_two_year_olds() -> None:
    """The two figures on shins are told of a horse of two and of one whose age is not known, and of no other; each
    says that the other goes against it."""
    keys = {"short-term distance and shins", "distance since entering and shins"}
    assert all(keys <= set(held([(3, 9.2, 1e3)], age=age)) for age in (2, None))
    assert not keys & set(held([(3, 9.2, 1e3)], age=4))
    first, second = (held([(3, 9.2, 1e3)], age=2)[key] for key in sorted(keys))
    assert second.figure.key in [one.key for one in first.against]
    assert first.figure.key in [one.key for one in second.against]


def test_a_figure_without_a_border_has_the_horses_number_and_no_standing() -> None:
    """Distance in a career is told in furlongs with no border; a loss of mass that is given is told as given."""
    found = held([(3, 15.2, 10 * FURLONG_M)], loss_of_mass=4.5)
    career, lost = found["high-speed distance in a career"], found["loss of mass since the last run"]
    assert (career.standing, career.parts[0].own_told) == ("no border", pytest.approx(10.0))
    assert (lost.standing, lost.parts[0].own) == ("no border", 4.5)
    assert held([(3, 15.2, 800.0)])["loss of mass since the last run"].parts[0].own is None


def test_the_first_year_of_racing_ends() -> None:
    """365 days after the first run it is the first year still, 366 days after it is past; without a run it is not
    known, and days since the last run are told."""

    def after(days: int) -> Held:
        return held([], one=yard([(0, TODAY, 9.2, 1e3)], [(0, TODAY - timedelta(days=k)) for k in (days, 9)]))[
            "first year of racing"
        ]

    assert (after(365).standing, after(366).standing) == ("reached", "past")
    assert held([(3, 9.2, 1e3)])["first year of racing"].standing == "not known"


def test_of_note_are_the_reached_and_then_the_near() -> None:
    """What is told of first is what is reached, then what is near, and nothing else."""
    works = [(k, 9.2, 4.1e3) for k in range(10)] + [(k, 15.2, 1.3e3) for k in range(5)]
    told = of_note(list(held(works).values()))
    standings = [one.standing for one in told]
    assert standings == sorted(standings, reverse=True)
    assert set(standings) == {"reached", "near"}


def test_a_string_is_told_horse_by_horse() -> None:
    """What is told of a horse is the same alone and among others, whichever order they are asked in."""
    listed = [(h, TODAY - timedelta(days=k), 15.2, 300.0 * (h + 1)) for h in range(4) for k in range(0, 40, 4)]
    one = yard(listed, entered=TODAY - timedelta(days=200))
    string = string_held(one, [2, 0], TODAY, [4, 2])
    assert string[0] == string_held(one, [2], TODAY, [4])[0]
    assert string[1] == string_held(one, [0], TODAY, [2])[0]
