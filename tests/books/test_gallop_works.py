"""Works on a gallop with the day taken out, against a morning's truth that is known."""

from datetime import UTC, datetime, time, timedelta
from pathlib import Path

import numpy as np
import pytest

from upsides.books import clock
from upsides.books.jobs.condition import ANSWERS, answer_all
from upsides.books.models import Gallop, Horse, Outing
from upsides.books.models.answer import GALLOPS
from upsides.books.queries import gallop_works, moments
from upsides.books.queries.gallop_sources import was_fast
from upsides.books.queries.gallop_works import LEAST, on_this_gallop
from upsides.recordings.work import Split, fair

pytestmark = pytest.mark.django_db
HORSES, DAYS = 7, 10
FAST_MS = 15.5


@pytest.fixture
def gallop(loaded: object) -> Gallop:
    return Gallop.objects.create(name="Straight six", surface="turf", length_m=1207)


def work(horse: Horse, gallop: Gallop, days_ago: int, speed: float, sd: float = 0.05) -> Outing:
    """Enter a fast work of a horse at an even speed, so many days ago."""
    at = datetime.combine(clock.today(), time(5), UTC) - timedelta(days=days_ago)
    marks = [[201.168, 201.168 / speed, 0.1]] * 4
    on = {"number": gallop.pk, "forward": True, "begin": 0.0, "marks": marks, "sure": 1.0}
    piece = {"kind": "fast", "start": at.timestamp(), "seconds": 804.672 / speed, "metres": 804.672, "rise": None,
             "speed": speed, "speed_sd": sd, "top": speed, "gallop": on}  # fmt: skip
    return Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=900.0, fast_m=804.0,
        measured={"bouts": [], "works": [piece]}, recorded_at=at + timedelta(hours=1),
    )  # fmt: skip


def test_the_day_is_taken_out(gallop: Gallop) -> None:
    """Of works whose day made all slower or faster by 4 %, the adjusted speeds lie near the horses' own.

    Truth is simulated: log speed is the sum of a horse's own (sd 2 %), a day's (sd 4 %) and what is left (sd 1 %). What
    the days leave behind must be well below what they did, and errors must be of the size that they say.
    """
    rng = np.random.default_rng(7)
    horses = list(Horse.objects.order_by("pk")[:HORSES])
    own = np.log(FAST_MS) + 0.02 * rng.standard_normal(HORSES)
    days = 0.04 * rng.standard_normal(DAYS)
    days -= days.mean()
    for number, horse in enumerate(horses):
        for day in range(DAYS):
            work(horse, gallop, 3 * day + 1, float(np.exp(own[number] + days[day] + 0.01 * rng.standard_normal())))
    untold = "its days are told from its horses every night, and were not yet"
    assert on_this_gallop(moments.now(), gallop.pk).why_not == untold
    answer_all(Path(), moments.now().day, {name: {} for name in ANSWERS if name != GALLOPS}, lambda *_: None)
    season = on_this_gallop(moments.now(), gallop.pk)
    assert season.why_not == ""
    assert (len(season.works), season.days, season.horses) == (HORSES * DAYS, DAYS, HORSES)
    true = {horse.pk: own[number] for number, horse in enumerate(horses)}
    raw = np.array([np.log(one.speed_ms) - true[one.horse] for one in season.works])
    left = np.array([np.log(one.adjusted_ms) - true[one.horse] for one in season.works])
    assert left.std() < 0.4 * raw.std()
    said = np.array([one.adjusted_sd_ms / one.adjusted_ms for one in season.works])
    assert np.all(said < 0.02)
    assert {one.beside for one in season.works} == {HORSES}
    assert [one.when for one in season.works] == sorted((one.when for one in season.works), reverse=True)


def test_few_works_are_left_as_they_are(gallop: Gallop) -> None:
    """Of fewer works than are asked for nothing is adjusted, and the page is told why."""
    for day in range(LEAST - 1):
        work(Horse.objects.order_by("pk")[day % 3], gallop, day + 1, 15.0 + day / 10)
    season = on_this_gallop(moments.now(), gallop.pk)
    assert season.why_not == f"it takes {LEAST} works on 3 days, and there are {LEAST - 1} on {LEAST - 1}"
    assert all(np.isnan(one.adjusted_ms) for one in season.works)


def test_no_more_than_so_many_are_taken(gallop: Gallop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of more works than a page holds the last ones are taken, and the season says that it is cut."""
    monkeypatch.setattr(gallop_works, "MOST", 3)
    for day in range(6):
        work(Horse.objects.order_by("pk")[0], gallop, day + 1, 15.0)
    season = on_this_gallop(moments.now(), gallop.pk)
    assert season.cut
    today = moments.now().day
    assert [(today - one.day).days for one in season.works] == [1, 2, 3]


def test_older_works_are_on_earlier_pages(gallop: Gallop, monkeypatch: pytest.MonkeyPatch) -> None:
    """Page by page everything that ever worked on a gallop is shown once, in whole days, however long nothing did."""
    monkeypatch.setattr(gallop_works, "MOST", 3)
    one, two = Horse.objects.order_by("pk")[:2]
    days = (1, 2, 3, 3, 4, 900, 2000)
    for place, day in enumerate(days):
        work(one if days.index(day) == place else two, gallop, day, 15.0)
    today, pages = moments.now().day, []
    for page in range(1, 7):
        season = on_this_gallop(moments.now(), gallop.pk, page)
        pages.append([(today - each.day).days for each in season.works])
        assert season.earlier == (page < 4)
    assert pages == [[1, 2], [3, 3, 4], [900], [2000], [], []]


def test_days_of_earlier_pages_are_told_too(gallop: Gallop) -> None:
    """Works of two years ago have the day taken out as those of this year have."""
    rng = np.random.default_rng(5)
    for horse in Horse.objects.order_by("pk")[:HORSES]:
        for day in (1, 4, 7, 701, 704, 707):
            work(horse, gallop, day, float(np.exp(np.log(FAST_MS) + 0.02 * rng.standard_normal())))
    answer_all(Path(), moments.now().day, {name: {} for name in ANSWERS if name != GALLOPS}, lambda *_: None)
    for page in (1, 2):
        season = on_this_gallop(moments.now(), gallop.pk, page)
        assert (season.why_not, len(season.works)) == ("", 3 * HORSES)
        assert all(np.isfinite(each.adjusted_ms) and each.beside == HORSES for each in season.works)


def test_two_recordings_of_one_work_count_once(gallop: Gallop) -> None:
    """A horse that wore two devices worked once on the gallop; two horses, and two days, stay what they are."""
    one, two = Horse.objects.order_by("pk")[:2]
    first = work(one, gallop, 1, 15.0)
    work(one, gallop, 1, 15.1)
    work(two, gallop, 1, 15.0)
    work(one, gallop, 2, 15.0)
    found = on_this_gallop(moments.now(), gallop.pk).works
    assert sorted((each.horse, (moments.now().day - each.day).days) for each in found) == [
        (one.pk, 1), (one.pk, 2), (two.pk, 1),
    ]  # fmt: skip
    assert first.horse == one


def test_a_work_by_thumb_is_fast_by_order_or_speed() -> None:
    """What was ordered counts; where nobody said, a work is fast from the border of fast work on."""
    assert [was_fast(word, 15.0) for word in ("", "steady", "half_speed")] == [True, False, True]
    assert not was_fast("", 10.0)


def test_a_length_that_no_horse_ran_is_left_out() -> None:
    """Where a circuit closes two marks are one place: a length of no time, or of a whole round in seconds, is none."""
    furlong = Split(201.2, 14.0, 0.1)
    assert fair([furlong, Split(1609.0, 25.0, 0.2), Split(1609.0, 0.0, 0.0)]) == (furlong,)
