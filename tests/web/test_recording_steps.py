"""How far, how fast and in how many strides a recording's page and that of its horse's works say that it went, and how
high the heart was."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Gallop, Job, Recorded
from upsides.books.queries import moments
from upsides.books.queries.recordings import track_of
from upsides.books.services.gallops import draw_gallop
from upsides.recordings.formats.fit import write_fit
from upsides.recordings.measured import OnGallop, Piece
from upsides.recordings.work import Split
from upsides.trade.units import FURLONG_M
from upsides.web.recordings import measures as m
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def trainer(loaded: Any, seat: Any, client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Client:
    """The trainer's browser."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return client_as("trainer")


def test_distance_and_strides_stand_in_half_metre_steps(trainer: Client) -> None:
    """Folded beneath the bands stand distance and strides in each step of half a metre a second: all that was gone,
    with the canter at 10 m/s in the steps about it, with the strides of Witte et al. 2006: 2.02 a second at 9 m/s,
    2.39 at 17."""
    sent = SimpleUploadedFile("a.fit", given.fit(clock.now()))
    assert trainer.post("/recordings/add/", {"files": [sent]}).status_code == 302
    run(Job.objects.get(state=Job.State.WAITING).pk)
    page = trainer.get(f"/recordings/{Recorded.objects.get().pk}/").content.decode()
    folded = re.search(r"<details><summary>In steps of half a metre a second</summary>(.*?)</details>", page, re.S)[1]
    assert re.search(r'<caption class="unseen">.*?</caption>.*<th scope="col">Speed, m/s</th>', folded, re.S)
    row = r'<th scope="row">([\d.]+)–([\d.]+)</th><td class="number">([\d.]+)\s(k?m)</td><td class="number">(.*?)</td>'
    rows = [(float(a), float(b), float(c) * (1000 if d == "km" else 1), e) for a, b, c, d, e in re.findall(row, folded)]
    assert all(high - low == 0.5 for low, high, _metres, _strides in rows)
    assert sum(one[2] for one in rows) == pytest.approx(sum(given.way()[0]) / given.HZ, rel=0.02)
    about = [one for one in rows if 9.0 <= one[0] <= 10.5]
    assert sum(one[2] for one in about) > 1200.0
    assert sum(int(one[3].removeprefix("about ")) for one in about) == pytest.approx(1300 / 10.0 * 2.066, rel=0.1)
    assert all(one[3] == "–" for one in rows if one[0] < 8.0)


def test_a_heart_lost_over_the_work_has_no_highest(trainer: Client) -> None:
    """Where the belt lost the heart over the canter, the page says that instead of the highest of the walk."""
    whole = given.recording(clock.now())
    lost = replace(whole, heart_bpm=np.where(whole.speed_ms > 4.0, np.nan, whole.heart_bpm))
    sent = SimpleUploadedFile("a.fit", write_fit(lost))
    assert trainer.post("/recordings/add/", {"files": [sent]}).status_code == 302
    run(Job.objects.get(state=Job.State.WAITING).pk)
    page = trainer.get(f"/recordings/{Recorded.objects.get().pk}/").content.decode()
    assert "<dd>no heart rate was kept in its fastest work, so that no highest is told</dd>" in page
    heart = track_of(Recorded.objects.get())[1].heart
    assert "kept" in heart
    assert not {"max", "held"} & set(heart)


def test_a_horses_works_are_told_as_far_as_the_gallop(trainer: Client) -> None:
    """A canter at 10 m/s from 50 m before a gallop of six furlongs to 50 m behind it, and jumping off and pulling
    up for 8 s each, stands among its horse's works as six furlongs at 10.0 m/s."""
    draw_gallop(Gallop(name="Straight six", surface="woodchip"), given.LINE)
    sent = SimpleUploadedFile("a.fit", given.fit(clock.now()))
    assert trainer.post("/recordings/add/", {"files": [sent]}).status_code == 302
    run(Job.objects.filter(state=Job.State.WAITING).order_by("pk").last().pk)
    horse = moments.in_training(moments.now()).order_by("pk").first()
    trainer.post(f"/recordings/{Recorded.objects.get().pk}/horse/", {"horse": horse.pk})
    page = trainer.get(f"/horse/{horse.pk}/works/").content.decode()
    assert re.search(r'data-label="Distance">6\sf</td>', page)
    assert re.search(r'data-label="Speed">10\.0\d*\s±', page)


@pytest.mark.parametrize(
    ("far", "fast", "words"),
    [
        (8.0, 7.4, "7½ f fast"),
        (8.0, 8.0, "8 f fast"),
        (8.0, 6.5, "6½ f fast (8 f with canter)"),
        (1.5, 0.4, "80 m fast (1½ f with canter)"),
    ],
)
def test_fast_work_is_told_by_what_was_fast(far: float, fast: float, words: str) -> None:
    """Of a work of nine furlongs what was fast on the gallop's line is told, and the canter where it was a furlong."""
    on = OnGallop(1, True, 0.0, (), 1.0, far * FURLONG_M, fast * FURLONG_M)
    work = Piece("fast", 0.0, 130.0, 9 * FURLONG_M, 0.0, 14.0, 0.1, 16.0, gallop=on, fast_m=8 * FURLONG_M)
    assert m.kind_words(work).replace("\xa0", " ") == words


def test_the_last_times_are_those_at_pace() -> None:
    """Three furlongs in 13.9 s before one of 16.8 are 41.7 s, before it pulled up; without that they are the last."""
    work = [Split(FURLONG_M, 13.9, 0.1)] * 4
    told = "41.7 s for the last three furlongs, 27.8 for two"
    assert m.last_times(work).replace("\xa0", " ") == told
    assert m.last_times([*work, Split(FURLONG_M, 16.8, 0.1)]).replace("\xa0", " ") == f"{told}, before it pulled up"


def test_numbers_have_the_digits_that_they_need() -> None:
    """A time has as many digits as its error, a mark stands at whole metres, and not all is more than 99 in 100."""
    assert m.seconds_words(12.34, 0.08).replace("\xa0", " ") == "12.34 ± 0.08"
    assert m.seconds_words(12.34, 0.2).replace("\xa0", " ") == "12.3 ± 0.2"
    assert m.place(1005.84).replace("\xa0", " ") == "1,006 m"
    assert [m.share_words(share) for share in (0.98, 0.996, 1.0)] == ["98 in 100", "more than 99 in 100", "100 in 100"]
