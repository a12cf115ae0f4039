"""Files that are wrong in ways that happen, dropped on the page: each is taken as far as it goes, and said in words."""

from datetime import timedelta
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

import given_recordings as given
from bad_recordings import BAD, SHAPE
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Job, Recorded
from upsides.books.recordings.files import SHAPES
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def trainer(loaded: Any, seat: Any, client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Client:
    """The trainer's browser, in a yard that knows a shape of tables by the clock on the wall."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    (tmp_path / SHAPES).mkdir()
    (tmp_path / SHAPES / "local.toml").write_text(SHAPE)
    return client_as("trainer")


def words(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200, address
    return unescape(response.content.decode())


@pytest.mark.parametrize("wrong", BAD)
def test_what_is_wrong_is_said(wrong: str, trainer: Client) -> None:
    """The page lists what was read and says why the rest was not; the page of each recording opens and says what is
    wrong with it; no reading fails."""
    bad = BAD[wrong]
    sent = SimpleUploadedFile(bad.file, bad.data())
    assert trainer.post("/recordings/add/", {"files": [sent]}).status_code == 302
    job = Job.objects.get(kind="recordings")
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.failure) == (Job.State.DONE, "")
    assert Recorded.objects.count() == bad.recordings
    listed = words(trainer, "/recordings/")
    assert bad.file in listed
    if not bad.recordings:
        assert bad.says in listed
    for one in Recorded.objects.all():
        assert bad.says in words(trainer, f"/recordings/{one.pk}/")


def test_another_sport_is_named(trainer: Client) -> None:
    """What a file calls its sport stands on its page, for somebody to judge: speed alone cannot tell a bicycle."""
    trainer.post("/recordings/add/", {"files": [SimpleUploadedFile("ride.fit", BAD["another sport"].data())]})
    run(Job.objects.get(kind="recordings").pk)
    assert "cycling" in words(trainer, f"/recordings/{Recorded.objects.get().pk}/")


def test_what_an_earlier_version_kept_is_shown_as_it_was_written(trainer: Client) -> None:
    """A recording that was kept with a sentence instead of values shows that sentence, told to be in English; one kept
    with values shows its own."""
    kept = [["cut_off", "it breaks off somehow", 1], {"code": "void", "values": {"count": 2}}]
    row = Recorded.objects.create(
        sha256="a" * 64, file="old.fit", format="fit", size=1, fixes=3, messages=kept, recorded_at=clock.now()
    )
    page = words(trainer, f"/recordings/{row.pk}/")
    assert '<dd lang="en">It breaks off somehow.</dd>' in page
    assert "<dd>The receiver says of 2 fixes that it had no position: none was taken.</dd>" in page


def test_what_no_horse_does_is_the_headline(trainer: Client) -> None:
    """Of a lorry's way the headline says that no horse goes so, and no distance by speed is told."""
    lorry = given.fit(clock.now() - timedelta(hours=12), canter_ms=28.0)
    trainer.post("/recordings/add/", {"files": [SimpleUploadedFile("a.fit", lorry)]})
    run(Job.objects.get(kind="recordings").pk)
    said = words(trainer, f"/recordings/{Recorded.objects.get().pk}/")
    assert "as no horse goes: nothing of it counts as work." in said
    assert "not a horse, another sport or a lorry?" in said
    assert "Distance by speed" not in said
