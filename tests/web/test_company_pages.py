"""Who went upsides, on the pages of a recording, of a horse's works and of a gallop's; what works say of a level."""

import re
from datetime import datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils.html import strip_tags

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Gallop, Horse, Job, Person, Recorded, Sight
from upsides.books.models.answer import UNRACED
from upsides.books.queries import moments
from upsides.books.queries.upsides import Partner
from upsides.books.services.answers import store
from upsides.books.services.diary import Draft, record
from upsides.books.services.gallops import draw_gallop
from upsides.books.services.outings import give
from upsides.recordings.company import Outcome
from upsides.web.recordings.company_words import upsides_words
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def trainer(loaded: Any, seat: Any, client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Client:
    """The trainer's browser, and a worker's seat."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return client_as("trainer")


@pytest.fixture
def pair(trainer: Client, at: datetime) -> tuple[Horse, Horse]:
    """Two horses with recordings of one canter, the second five lengths behind the first all the way."""
    draw_gallop(Gallop(name="Straight six", surface="woodchip"), given.LINE)
    files = {"a": given.fit(at, serial="1"), "b": given.fit(at, serial="2", seed=2, beside_m=4.5, behind_m=12.0)}
    sent = [SimpleUploadedFile(f"{name}.fit", data) for name, data in files.items()]
    assert trainer.post("/recordings/add/", {"files": sent}).status_code == 302
    for job in Job.objects.filter(state=Job.State.WAITING).order_by("pk"):
        run(job.pk)
    first, second = horses()[:2]
    for name, horse in (("a", first), ("b", second)):
        give(Recorded.objects.get(file=f"{name}.fit"), horse, Person.objects.get(login="trainer"))
    return first, second


def horses() -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk"))


def words(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    found = re.search(r"<main.*?</main>", response.content.decode(), re.S)
    assert found is not None
    return " ".join(unescape(strip_tags(found[0])).replace("\xa0", " ").split())


def test_each_page_tells_who_was_in_front(trainer: Client, pair: tuple[Horse, Horse]) -> None:
    """The recording, the horse's works and the gallop's say the same of the pair, each horse from its own side."""
    first, second = pair
    front = (
        rf"Upsides {second.name}: led, and was [45][¼½¾]? lengths in front at the end, give or take [^,]+, by tracker\."
    )
    behind = (
        rf"Upsides {first.name}: followed, and was [45][¼½¾]? lengths behind at the end, "
        r"give or take [^,]+, by tracker\."
    )
    one = words(trainer, f"/recordings/{Recorded.objects.get(file='a.fit').pk}/")
    assert re.search(front, one)
    assert re.search(r"At each mark.*lengths in front", one)
    assert re.search(front, words(trainer, f"/horse/{first.pk}/works/"))
    assert re.search(behind, words(trainer, f"/horse/{second.pk}/works/"))
    gallop = words(trainer, f"/gallop/{Gallop.objects.get(name='Straight six').pk}/works/")
    assert re.search(front, gallop)
    assert re.search(behind, gallop)


@pytest.mark.parametrize(
    ("metres", "fast", "words"),
    [
        (9.6, True, "finished 4 lengths in front"),
        (-9.6, True, "finished 4 lengths behind"),
        (0.0, True, "finished level as far as can be told"),
        (9.6, False, "was 4 lengths in front at the end"),
        (-9.6, False, "was 4 lengths behind at the end"),
        (0.0, False, "was level at the end as far as can be told"),
    ],
)
def test_nobody_finishes_a_canter(metres: float, fast: bool, words: str) -> None:  # noqa: FBT001 -- a value of the table
    """Of fast work it is said how it finished, of a canter how it was at the end."""
    partner = Partner(2, 0.0, Outcome(metres, 1.2, "tracker"), ())
    said = upsides_words(partner, "Wicker", fast=fast).replace("\xa0", " ")
    assert said.startswith(f"Upsides Wicker: {words}, give or take ")


@pytest.mark.parametrize("fast", [True, False])
def test_where_a_recording_breaks_off_nobody_finished(fast: bool) -> None:  # noqa: FBT001 -- a value of the table
    """Where one recording breaks off, it is said how they stood there."""
    partner = Partner(2, 0.0, Outcome(9.6, 1.2, "tracker"), (), breaks_off=True)
    said = upsides_words(partner, "Wicker", fast=fast).replace("\xa0", " ")
    assert said.startswith("Upsides Wicker: was 4 lengths in front where a recording of the two breaks off, give")


def test_a_horse_that_is_named_in_company_is_not_named_twice(
    trainer: Client, pair: tuple[Horse, Horse], at: datetime
) -> None:
    """Who was ordered upsides and was found there stands once; who was ordered and not found stands as ordered."""
    first, second = pair
    third = horses()[2]
    values = {"exercise": "half_speed", "upsides": f"{second.pk},{third.pk}"}
    record(Draft(uuid4(), "ordered", first.pk, values, clock.now(), at), Person.objects.get(login="trainer"))
    said = words(trainer, f"/horse/{first.pk}/works/")
    assert said.count(f"Upsides {second.name}:") == 1
    assert f"upsides {third.name}" in said
    assert f"upsides {second.name}" not in said


def test_works_say_a_level_to_those_who_may_know(loaded: Any, client_as: ClientAs) -> None:
    """What works say of a horse that has not run stands on the page of its works where figures are open, looking is
    written down, and nobody else reads it."""
    horse, other = horses()[:2]
    when = clock.now() - timedelta(days=3)
    told = {"before": [64.0, 12.0], "after": [67.0, 10.0], "works": [[when.isoformat(), [other.pk], 3.4]]}
    store(UNRACED, clock.today(), {str(horse.pk): told}, {})
    said = words(client_as("trainer"), f"/horse/{horse.pk}/works/")
    assert "worth 64 lb on our figures, four times in five between 49 and 79" in said
    assert "with its 1 work beside horses that have run it is 67 lb, between 54 and 80" in said
    assert f"{other.name}3.4 lb better" in said
    assert Sight.objects.filter(page=f"/horse/{horse.pk}/works/").count() == 1
    assert "on our figures" not in words(client_as("rider"), f"/horse/{horse.pk}/works/")


def test_nobodys_is_set_aside_from_its_page(trainer: Client, pair: tuple[Horse, Horse]) -> None:
    """A recording of no horse is set aside with a tap, waits no more, says so on its page, and is brought back."""
    row = Recorded.objects.get(file="a.fit")
    trainer.post(f"/recordings/{row.pk}/nobody/")
    assert "1 waits" in words(trainer, "/recordings/")
    assert trainer.post(f"/recordings/{row.pk}/aside/", {"on": "on"}).status_code == 302
    assert "waits" not in words(trainer, "/recordings/").partition("Gallops")[0]
    assert "of no horse, set aside" in words(trainer, "/recordings/")
    assert "It is of no horse, and set aside. Bring it back" in words(trainer, f"/recordings/{row.pk}/")
    trainer.post(f"/recordings/{row.pk}/aside/", {"on": ""})
    assert "1 waits" in words(trainer, "/recordings/")
