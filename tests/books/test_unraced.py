"""The level of horses that have not run: by what such horses are worth, and by their works beside horses that have."""

from pathlib import Path

import numpy as np
import polars as pl
import pytest

import worlds
from mornings import EVE, Hands, enter
from upsides.books.jobs import condition
from upsides.books.jobs import unraced as job
from upsides.books.models import Horse
from upsides.books.models.answer import SPEEDS, UNRACED
from upsides.books.queries import moments, trips
from upsides.books.queries.string import known_of, this_season
from upsides.books.queries.unraced import Unraced, unraced
from upsides.books.queries.yard_rules import own_place, yard_rules
from upsides.books.services.answers import store
from upsides.ratings.levels.debut import USUAL, Beforehand, Debut
from upsides.recordings.company import Outcome
from upsides.recordings.judging import Beside, JudgedWork, Ridden, age_lb, margin_lb, with_works
from upsides.recordings.stopwatch import PRESS_SD_S
from upsides.trip.from_work import CORRELATION

pytestmark = pytest.mark.django_db
PRIOR = (64.0, 12.0)
LAST_MS = 201.168 / 12.5


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    """The yard with a fit by which horses that have not run are worth 64 lb, give or take 12."""
    nothing = Beforehand(pl.DataFrame(schema=USUAL), (), (), (), np.zeros(0), np.zeros(0))
    debut = Debut(nothing, np.zeros(0), np.zeros((0, 0)), PRIOR[1] ** 2, PRIOR[0])
    monkeypatch.setattr(job, "kept_fit", lambda *_: type("Kept", (), {"folder": Path()}))
    monkeypatch.setattr(job, "read_debut", lambda _folder: debut)
    return Hands(monkeypatch, EVE)


def two() -> tuple[Horse, Horse]:
    """Return a horse in training that has not run, and one that has."""
    known = known_of(worlds.yard().library, moments.now(), figures=True)
    here = list(moments.in_training(moments.now()).order_by("pk"))
    new = next(one for one in here if one.horse_key not in known.raced)
    return new, next(one for one in here if one.horse_key in known.figures)


def clocked(hands: Hands, new: Horse, old: Horse, *, both: str = "asked", left: str = "nothing") -> None:
    """Let the two work upsides a week ago: the new one is half a second in front at the end of two furlongs."""
    at = hands.back(days=7)
    for one, other, splits in ((new, old, "1f 13.0, 2f 25.5"), (old, new, "1f 13.0, 2f 26.0")):
        enter("clocked", one, at, splits=splits, upsides=other.pk, instruction=both, left=left, rider_kg="63 kg")


def made() -> None:
    """Let the worker find out about horses that have not run, and about nothing else."""
    others = {name: {} for name in condition.ANSWERS if name != UNRACED}
    condition.answer_all(worlds.yard().library, EVE.date(), others, lambda _share, _doing: None)


def told(horse: Horse) -> Unraced:
    found = unraced(moments.now(), horse.pk)
    assert found is not None
    return found


def test_a_work_moves_what_such_horses_are_worth(hands: Hands) -> None:
    """Half a second in front of a horse of known level, both all out: the answer is what judging says of that gap, of
    the level of the other, and of what weight for age lies between them."""
    new, old = two()
    clocked(hands, new, old)
    made()
    found = told(new)
    library, day = worlds.yard().library, hands.back(days=7).date()
    level = known_of(library, moments.now(), figures=True).figures[old.horse_key].level
    mean_ms = 0.5 * (LAST_MS + 201.168 / 13.0)
    outcome = Outcome(0.5 * mean_ms, PRESS_SD_S * 2**0.5 * mean_ms, "thumb")
    overrides, season = yard_rules(library).overrides, this_season(moments.now())
    ahead, sd = margin_lb(outcome, 402.336, day, overrides=overrides)
    by_age = age_lb(
        own_place(moments.now(), overrides), day, 402.336, season - new.foaled, season - old.foaled, overrides=overrides
    )
    assert by_age is not None
    ridden = Ridden("nothing", "asked", 63.0)
    beside = Beside(old.pk, level.lb, level.sd_lb, ridden, ahead + by_age[0], float(np.hypot(sd, by_age[1])))
    belief = with_works(*PRIOR, [JudgedWork(ridden, (beside,))])
    assert (found.before.lb, found.before.sd_lb) == PRIOR
    assert (found.after.lb, found.after.sd_lb) == (
        pytest.approx(belief.mean, abs=0.02),
        pytest.approx(belief.sd, abs=0.02),
    )
    assert found.after.sd_lb < PRIOR[1]
    ((one,),) = ([*found.works],)
    assert one.horses == (old.pk,)
    assert one.moved == pytest.approx(belief.mean - PRIOR[0], abs=0.02)


def test_easy_work_says_next_to_nothing(hands: Hands) -> None:
    """The same gap at an easy canter, both hard held, moves a horse far less than all out, and leaves the range."""
    new, old = two()
    clocked(hands, new, old, both="easy", left="hard_held")
    made()
    found = told(new)
    assert abs(found.after.lb - PRIOR[0]) < 2.0
    assert found.after.sd_lb > 0.97 * PRIOR[1]


def test_without_works_it_is_worth_what_such_horses_are(hands: Hands) -> None:
    """A horse that never worked beside one that has run keeps what such horses are worth; one that has run is not in
    the answer; before the worker looked nothing was known."""
    new, old = two()
    assert unraced(moments.now(), new.pk) is None
    made()
    found = told(new)
    assert (found.after.lb, found.works) == (PRIOR[0], ())
    assert unraced(moments.now(), old.pk) is None


def test_speed_in_work_reaches_the_trip_and_hardly_moves_it(
    with_trips: worlds.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A horse that works two standard deviations faster than others has one more piece of evidence of its trip, as wide
    as a correlation of -0.1 leaves it."""
    horse = moments.in_training(moments.now()).order_by("pk").first()
    assert horse is not None
    store(SPEEDS, moments.now().day, {str(horse.pk): [2.0, 0.0]}, {})
    found = trips.read_trips(with_trips.library, moments.now().day)
    yard = trips.yard_of(with_trips.library, moments.now(), [horse], found.model.given)
    (case,) = trips.cases_of(trips.cases(found, yard.scored), [yard.facts[horse.pk]])
    (piece,) = case.known.measures
    spread = found.model.population.trip_sd
    assert "measures" in case.available
    assert piece.sd == pytest.approx(spread * (1 - CORRELATION**2) ** 0.5 / abs(CORRELATION))
    without = case.answer(set(case.available) - {"measures"})
    best = [float(post.grid @ post.density / post.density.sum()) for post in (case.answer(), without)]
    assert -0.05 < best[0] - best[1] < 0.0


def trial(new: Horse, old: Horse, hands: Hands, asked: str) -> None:
    """Let the new one finish twelve lengths behind the old one in a trial a week ago; the old one was asked."""
    at = hands.back(days=7)
    said = {"what": "trial", "text": "Said", "metres": "1000"}
    enter("race_report", old, at, **said, asked="asked")
    enter("race_report", new, at, **said, asked=asked, beside=old.pk, finished="behind", lengths="12")


@pytest.mark.parametrize(("asked", "lowered"), [("asked", True), ("not_asked", False)])
def test_a_trial_far_behind_lowers_a_horse_that_was_asked_alone(
    hands: Hands, asked: str, lowered: bool  # noqa: FBT001 -- a case
) -> None:  # fmt: skip
    """Twelve lengths behind a horse of known level a debutant that was asked is thought worse of by pounds; one that
    was not asked is thought of as before."""
    new, old = two()
    trial(new, old, hands, asked)
    made()
    found = told(new)
    assert len(found.works) == lowered
    assert (found.after.lb < PRIOR[0] - 0.2 * PRIOR[1]) if lowered else (found.after.lb == PRIOR[0])
