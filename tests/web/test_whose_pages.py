"""Whose a waiting recording is said to be, on the pages."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

import given_recordings as given
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Job, Recorded
from upsides.books.queries import moments
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def test_another_horse_is_any_horse(
    loaded: Any, seat: Any, client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Whatever is known of a waiting recording, every horse can be chosen for it, one with a recording of then too."""
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    trainer, horses = client_as("trainer"), list(moments.in_training(moments.now()))
    at = clock.now()
    sent = [SimpleUploadedFile(f"{serial}.fit", given.fit(at, serial=serial)) for serial in ("8", "9")]
    assert trainer.post("/recordings/add/", {"files": sent}).status_code == 302
    run(Job.objects.get(state=Job.State.WAITING).pk)
    first, second = Recorded.objects.order_by("pk")
    trainer.post(f"/recordings/{first.pk}/horse/", {"horse": horses[0].pk})
    for address in ("/recordings/", f"/recordings/{second.pk}/"):
        page = trainer.get(address).content.decode()
        assert all(f'<option value="{horse.pk}">{horse.name}</option>' in page for horse in horses)
