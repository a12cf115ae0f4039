"""The worker's answers about condition: what goes in, what is kept, and going on where another stopped."""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import worlds
from mornings import Hands, enter
from upsides.books.answers import read_change
from upsides.books.jobs import condition as work
from upsides.books.jobs.running import run
from upsides.books.models import Answer, Feed, FeedBatch, Horse, Job, Outing, Ration
from upsides.books.models.answer import (
    CALLS,
    EXERCISES,
    FORM,
    GALLOPS,
    GAPS,
    HEARTS,
    SPEEDS,
    SPREADS,
    UNRACED,
    WATCH,
)
from upsides.books.queries import moments
from upsides.books.queries.condition_answers import warmth_known
from upsides.books.queries.condition_form import batches_eaten, missed_before
from upsides.books.queries.condition_hearts import heart_readings
from upsides.books.services.answers import store
from upsides.books.services.jobs import ask
from upsides.rules import OWN_RULES

pytestmark = pytest.mark.django_db
DAWN = datetime(2026, 6, 20, 4, tzinfo=UTC)
FAST = {
    "kind": "fast", "seconds": 60.0, "metres": 900.0, "rise": 9.0, "speed": 15.0, "speed_sd": 0.05, "top": 16.0,
    "gallop": {"number": 3, "forward": True, "begin": None, "marks": [], "sure": 1.0},
}  # fmt: skip

OWN_RULE = """
[[rule]]
topic = "looking first"
name = "Seldom"
jurisdiction = "anywhere"
source = "the yard"
confidence = "high"
kind = "pointed at for nothing"
unit = "horses a day"
value = 0.01
"""


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, DAWN)


@pytest.fixture
def do(seat: Any) -> Callable[[Job], Job]:
    """A function that does a job as a worker would."""

    def done(job: Job) -> Job:
        run(job.pk)
        job.refresh_from_db()
        return job

    return done


def mornings(horses: list[Horse], days: int) -> None:
    """Let horses go out every third day: the hearts of the first come down ever better, the others' stay."""
    rng = np.random.default_rng(3)
    for place, horse in enumerate(horses):
        for back in range(days, 0, -3):
            at = DAWN - timedelta(days=back)
            bpm = 140.0 - (0.5 * (days - back) if place == 0 else 0.0) + rng.normal(0, 1.5)
            piece = FAST | {"start": at.timestamp(), "speed": 15.0 + float(rng.normal(0, 0.1))}
            told = {"heart": {"after": {"60": bpm}}, "works": [piece], "speeds": {"30": [900.0, None, False]}}
            Outing.objects.create(
                horse=horse, day=at.date(), began=at, matched="hand", metres=900.0, fast_m=900.0, measured=told,
                recorded_at=at,
            )  # fmt: skip


def answers() -> dict[str, Any]:
    return {one.name: one.values for one in Answer.objects.all()}


def test_the_job_keeps_every_answer(hands: Hands, do: Callable[[Job], Job]) -> None:
    """One row for each answer, of today, and the result says what each was made from."""
    horses = list(moments.in_training(moments.now()).order_by("pk")[:4])
    mornings(horses, 60)
    for back in range(1, 9):
        enter("exercise", horses[0], hands.back(days=3 * back), exercise="fast")
    job = do(ask("condition"))
    assert (job.state, job.failure) == ("done", "")
    assert set(answers()) == {EXERCISES, SPREADS, HEARTS, GALLOPS, SPEEDS, UNRACED, GAPS, FORM, WATCH, CALLS}
    assert set(Answer.objects.values_list("day", flat=True)) == {date(2026, 6, 20)}
    assert job.result is not None
    assert job.result["hearts"]["recovery"] == 80
    assert job.result["exercises"]["outings"] == 80
    assert answers()[EXERCISES]["fast"]["measured"] == 8
    assert job.result[WATCH]["for_nothing"] == 1.0
    assert np.sum(answers()[GAPS]["runs"]) > 1000
    assert job.result["gaps"]["as_of"] == "2026-06-20"


def test_a_day_without_a_nights_work_is_worked_out_anew_and_not_kept(hands: Hands) -> None:
    """For an earlier morning of which no answer was kept it is made by what was known then: what was entered later is
    not in it, readings find it inside and no longer after, and nothing is kept. Of now, and of a kept day, none is."""
    horse = moments.in_training(moments.now()).order_by("pk")[0]
    hands.to(DAWN - timedelta(days=5))
    for back in range(400, 10, -2):
        enter("mass", horse, hands.back(days=back), kg=480 + back % 3)
    hands.to(DAWN)
    early = moments.as_of(hands.back(days=1))
    enter("mass", horse, hands.back(days=9), kg=440)  # written down only now
    library = worlds.yard().library
    assert work.anew(library, moments.now(), [WATCH]) == {}
    made = work.anew(library, early, [WATCH])
    (answer,) = made.values()
    assert (answer.name, answer.day, answer.pk) == (WATCH, early.day, None)
    assert answer.made_from["readings"] == len(range(400, 10, -2))
    with moments.with_answers(made):
        assert moments.answer(WATCH, early) is answer
        assert moments.answers([WATCH], early) == {WATCH: answer}
        assert moments.answer(WATCH, moments.now()) is None
    assert moments.answer(WATCH, early) is None
    assert not Answer.objects.exists()
    hands.to(DAWN - timedelta(days=1, hours=1))
    store(WATCH, early.day, {"horses": []}, {})
    hands.to(DAWN)
    assert work.anew(library, early, [WATCH]) == {}


def test_the_yards_own_rule_makes_the_limits_of_the_watch(hands: Hands, tmp_path: Path) -> None:
    """Where the yard's own rule lets one horse in a hundred days be pointed at for nothing, steady hearts point at none
    that the shipped rule of one a day does not, and the answer says by which it was made."""
    mornings(list(moments.in_training(moments.now()).order_by("pk")[:6]), 100)
    told, others = [], set(work.ANSWERS) - {WATCH}
    for own in ("", OWN_RULE):
        (tmp_path / OWN_RULES).write_text(own)
        work.answer_all(tmp_path, date(2026, 6, 20), {name: {} for name in others}, lambda *_: None)
        told.append(Answer.objects.filter(name=WATCH).latest("pk"))
    assert [one.made_from["for_nothing"] for one in told] == [1.0, 0.01]
    usual, rare = ({one["horse"] for one in answer.values["horses"]} for answer in told)
    assert len(rare) <= len(usual)


def test_a_horse_whose_heart_comes_down_better_is_told_so(hands: Hands) -> None:
    """Of four horses one came down better by 9 beats in three weeks: it alone changed beyond doubt."""
    horses = list(moments.in_training(moments.now()).order_by("pk")[:4])
    mornings(horses, 60)
    work.answer_all(worlds.yard().library, DAWN.date(), {}, lambda _share, _doing: None)
    found = {number: read_change(int(number), one) for number, one in answers()[HEARTS]["recovery"].items()}
    better = found.pop(str(horses[0].pk))
    assert better.high < 0
    assert better.less > 0.9
    assert len(found) == 3
    assert all(abs(one.share) < abs(better.share) / 3 for one in found.values())
    assert all(one.less < 0.5 for one in found.values())


def test_a_horse_begun_on_fast_work_is_not_less_fit_for_it(hands: Hands) -> None:
    """Of five horses whose hearts are 12 % higher after fast work one does its first two fast mornings last: it has not
    changed; and the readings of one exercise only are alike."""
    rng = np.random.default_rng(4)
    horses = list(moments.in_training(moments.now()).order_by("pk")[:5])
    for place, horse in enumerate(horses):
        for n, back in enumerate(range(60, 0, -3)):
            fast = back <= 6 if place == 0 else n % 3 == 0
            at = DAWN - timedelta(days=back)
            bpm = (118.0 + 3 * place) * (1.12 if fast else 1.0) + rng.normal(0, 2.0)
            piece = FAST | {"kind": "fast" if fast else "canter", "start": at.timestamp()}
            Outing.objects.create(
                horse=horse, day=at.date(), began=at, matched="hand", metres=900.0, fast_m=0.0, recorded_at=at,
                measured={"heart": {"after": {"60": bpm}}, "works": [piece], "speeds": {}},
            )  # fmt: skip
    assert {one.going for one in heart_readings(moments.now())["recovery"]} == {", fast", ", canter"}
    work.answer_all(worlds.yard().library, DAWN.date(), {}, lambda _share, _doing: None)
    found = read_change(horses[0].pk, answers()[HEARTS]["recovery"][str(horses[0].pk)])
    assert abs(found.share) < 0.03
    assert found.more < 0.3
    assert answers()[SPREADS]["recovery"] < 4.0


def test_a_reading_knows_where_and_who(hands: Hands) -> None:
    """A reading has gallop, rise, rider and how the gallop rode; speeds are told apart by what was ordered."""
    horse = moments.in_training(moments.now()).order_by("pk").first()
    assert horse is not None
    mornings([horse], 3)
    enter("exercise", horse, hands.back(days=3), exercise="half_speed")
    found = heart_readings(moments.now())
    (recovery,), (speed,) = found["recovery"], found["speed on known gallops"]
    assert (recovery.gallop, recovery.rise, recovery.going) == (3, 0.01, ", half_speed")
    assert (speed.going, speed.sd) == (", half_speed", 0.05)
    assert found["speed at 200 beats"] == []


def test_a_reading_knows_how_warm_it_was(hands: Hands) -> None:
    """What the diary says nearest in time that day counts, else the device's own thermometer, else nothing is known;
    and the answer says of how many it was known."""
    horses = list(moments.in_training(moments.now()).order_by("pk")[:3])
    mornings(horses, 3)
    assert {one.temperature_c for one in heart_readings(moments.now())["recovery"]} == {None}
    warm = Outing.objects.filter(horse=horses[0]).get()
    correction = {"measured": warm.measured | {"air": 19.5}, "supersedes": warm, "recorded_at": DAWN}
    row = {name: getattr(warm, name) for name in ("horse", "day", "began", "matched", "metres", "fast_m")}
    Outing.objects.create(**row, **correction)
    told = {one.horse: one.temperature_c for one in heart_readings(moments.now())["recovery"]}
    assert told == {horses[0].pk: 19.5, horses[1].pk: None, horses[2].pk: None}
    work.answer_all(worlds.yard().library, DAWN.date(), {}, lambda _share, _doing: None)
    assert warmth_known(moments.now()) == (2, 6)  # of two kinds
    enter("weather", None, hands.back(days=3, hours=-9), air="24")
    enter("weather", None, hands.back(days=3), air="54 F")
    assert {one.temperature_c for one in heart_readings(moments.now())["recovery"]} == {12.2}


def test_what_was_done_is_not_done_again(hands: Hands) -> None:
    """Taken up by another worker, answers that were kept stand and only the others are made; of the day it began."""
    horse = Horse.objects.first()
    assert horse is not None
    done_before: dict[str, Any] = {name: {} for name in work.ANSWERS if name != SPREADS}
    told: list[str] = []
    done = work.answer_all(
        worlds.yard().library, date(2026, 6, 19), done_before, lambda _share, doing: told.append(doing)
    )
    assert list(answers()) == [SPREADS]
    assert Answer.objects.get().day == date(2026, 6, 19)
    assert set(done) == {EXERCISES, SPREADS, HEARTS, GALLOPS, SPEEDS, UNRACED, GAPS, FORM, WATCH, CALLS}
    assert len(told) == len(work.ANSWERS)


def test_gaps_and_form_are_made_from_what_was_known_before_each_run(hands: Hands) -> None:
    """Gaps count the runs that have one before and of which something was expected; what is expected of a run does not
    change with a later look; the invented string, with which nothing is wrong, is not told from luck."""
    library = worlds.yard().library
    work.answer_all(library, DAWN.date(), {HEARTS: {}, EXERCISES: {}, SPREADS: {}, WATCH: {}, CALLS: {}},
                    lambda _share, _doing: None)  # fmt: skip
    now = missed_before(library, DAWN.date())
    assert now["date"].max() < DAWN.date()
    assert np.sum(answers()[GAPS]["runs"]) == now.drop_nulls().height
    earlier = missed_before(library, DAWN.date() - timedelta(days=200))
    both = earlier.join(now, on=["race_key", "horse_key"], suffix="_now").drop_nulls()
    assert both.height > 1000
    assert both["off_lb"].to_list() == pytest.approx(both["off_lb_now"].to_list(), abs=1e-9)
    yard = answers()[FORM]["yard"]
    assert yard["low"] < 0 < yard["high"]
    assert yard["runs"] > 0


def test_the_speed_at_the_highest_heart_is_read_along_the_line(hands: Hands) -> None:
    """With 180 at 12 m/s and 200 at 14, a horse whose heart held 220 on another day goes 16 there.

    Its error is that of twice the second less the first. A heart above 250 is a fault of the meter, and a morning
    without both rates says nothing.
    """
    horse = moments.in_training(moments.now()).order_by("pk").first()
    assert horse is not None
    width = 2 * 1.6448536269514722
    speeds = {"180": [12.0, 12.0 - 0.1 * width / 2, 12.0 + 0.1 * width / 2],
              "200": [14.0, 14.0 - 0.1 * width / 2, 14.0 + 0.1 * width / 2]}  # fmt: skip
    hearts = ({"speeds": speeds, "held": 205.0}, {"held": 220.0}, {"held": 254.0}, {"speeds": {"200": speeds["200"]}})
    for back, heart in enumerate(hearts, start=1):
        at = hands.back(days=back)
        told = {"heart": heart, "works": [FAST | {"start": at.timestamp()}], "speeds": {"30": [900.0, None, False]}}
        Outing.objects.create(
            horse=horse, day=at.date(), began=at, matched="hand", metres=900.0, fast_m=900.0, measured=told,
            recorded_at=at,
        )  # fmt: skip
    (reading,) = heart_readings(moments.now())["speed at highest heart"]
    assert reading.value == pytest.approx(16.0)
    assert reading.sd == pytest.approx(0.1 * np.sqrt(5))


def test_a_run_knows_which_batch_its_horse_had_eaten(hands: Hands) -> None:
    """It is the one open batch of the concentrate of which the ration has most; of two open ones nobody knows."""
    horse = moments.in_training(moments.now()).order_by("pk").first()
    assert horse is not None
    day = DAWN.date()
    made = {"energy_mj_kg": 12.0, "dry_matter": 0.88}
    nuts = Feed.objects.create(name="Nuts", kind="concentrate", **made)
    oats, hay = (
        Feed.objects.create(name="Oats", kind="concentrate", **made),
        Feed.objects.create(name="Hay", kind="forage", **made),
    )
    amounts = [{"time": "noon", "feed": feed.pk, "kg": kg} for feed, kg in ((nuts, 3.0), (oats, 1.0), (hay, 8.0))]
    Ration.objects.create(horse=horse, first_day=day - timedelta(days=50), amounts=amounts)
    spans = ((nuts, "N1", 40, 20), (nuts, "N2", 22, 10), (oats, "O1", 50, 0), (hay, "H1", 50, 0))
    batches = {
        number: FeedBatch.objects.create(
            feed=feed, number=number, delivered_on=day - timedelta(days=60), kg=900.0,
            opened_on=day - timedelta(days=first), finished_on=day - timedelta(days=last) if last else None,
        )
        for feed, number, first, last in spans
    }  # fmt: skip
    eats, names = batches_eaten(moments.now())
    told = [eats(horse.pk, day - timedelta(days=back)) for back in (55, 45, 30, 21, 15, 5)]
    assert told == [None, None, batches["N1"].pk, None, batches["N2"].pk, None]
    assert names[batches["N1"].pk] == "Nuts N1"
