"""A gallop's page, from the last works back to the first."""

import json
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from upsides.books import clock
from upsides.books.models import Gallop, Horse, Outing, Recorded
from upsides.cli.work import work as command
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def work(horse: Horse, gallop: Gallop, days_ago: int) -> None:
    """Enter a fast work of half a mile at 15 m/s."""
    at = datetime.combine(clock.today(), time(5), UTC) - timedelta(days=days_ago)
    on = {"number": gallop.pk, "forward": True, "begin": 0.0, "marks": [[201.168, 13.4, 0.1]] * 4, "sure": 1.0}
    piece = {"kind": "fast", "start": at.timestamp(), "seconds": 53.6, "metres": 804.672, "rise": None, "speed": 15.0,
             "speed_sd": 0.1, "top": 15.0, "gallop": on}  # fmt: skip
    Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=900.0, fast_m=804.0,
        measured={"bouts": [], "works": [piece]}, recorded_at=clock.now(),
    )  # fmt: skip


def test_a_gallops_page_leads_to_earlier_works_and_back(loaded: object, client_as: ClientAs) -> None:
    """A work of three years ago stands on the page of earlier works, with its chart; the narrowing to a horse is kept,
    and a page that is none is the first."""
    gallop = Gallop.objects.create(name="Straight six", surface="turf", length_m=1207)
    horse, client = Horse.objects.order_by("pk")[0], client_as("trainer")
    work(horse, gallop, 3)
    work(horse, gallop, 1100)
    address = f"/gallop/{gallop.pk}/works/"
    last = client.get(f"{address}?horse={horse.pk}").content.decode()
    assert "1 work on Straight six in twelve months." in last
    assert f'href="?horse={horse.pk}&amp;page=2">Earlier works' in last
    assert "Later works" not in last
    first = client.get(f"{address}?page=2").content.decode()
    assert "1 earlier work on Straight six, up to" in first
    assert 'href="?page=1">Later works' in first
    assert "Earlier works" not in first
    assert len(client.get(f"/gallop/{gallop.pk}/works.json?page=2").json()["datasets"]["works"]) == 1
    assert "in twelve months" in client.get(f"{address}?page=-1").content.decode()


@pytest.fixture
def long_work(loaded: object) -> tuple[Horse, Gallop, Recorded]:
    """Enter a work of 1,310 m at pace, with a run-up before it and 300 m beyond the gallop."""
    gallop = Gallop.objects.create(name="Straight seven", surface="turf", length_m=1408)
    horse = Horse.objects.order_by("pk")[0]
    at = datetime.combine(clock.today(), time(5), UTC) - timedelta(days=1)
    marks = [[201.168, seconds, 0.1] for seconds in (15.3, 13.9, 13.9, 13.9, 13.9, 13.9, 13.9)]
    on = {"number": gallop.pk, "forward": True, "begin": 0.0, "marks": marks, "sure": 1.0, "metres": 1408.0,
          "fast": 1310.0}  # fmt: skip
    piece = {"kind": "fast", "start": at.timestamp(), "seconds": 130.0, "metres": 1900.0, "rise": None, "speed": 14.0,
             "speed_sd": 0.1, "top": 15.0, "gallop": on, "fast": 1610.0}  # fmt: skip
    walk = piece | {"kind": "walk", "start": at.timestamp() - 600, "seconds": 500.0, "metres": 800.0, "speed": 1.6}
    recorded = Recorded.objects.create(
        sha256="a" * 64, part=0, file="one.fit", format="fit", size=1, began=at, ended=at + timedelta(hours=1), fixes=9,
        recorded_at=clock.now(),
    )  # fmt: skip
    Outing.objects.create(
        horse=horse, recorded=recorded, day=at.date(), began=at, matched="hand", metres=4000.0, fast_m=1610.0,
        measured={"bouts": [walk], "works": [piece]}, recorded_at=clock.now(),
    )  # fmt: skip
    return horse, gallop, recorded


def test_every_page_tells_the_same_distance(long_work: tuple[Horse, Gallop, Recorded], client_as: ClientAs) -> None:
    """The list of recordings, the gallop's page and the horse's all tell 6½ f fast."""
    horse, gallop, _recorded = long_work
    for page in map(client_as("trainer").get, ("/recordings/", *_pages(horse, gallop))):
        text = page.content.decode()
        assert "6½" in text
        assert "8\N{NO-BREAK SPACE}f" not in text


def _pages(horse: Horse, gallop: Gallop) -> tuple[str, str]:
    return f"/gallop/{gallop.pk}/works/", f"/horse/{horse.pk}/works/"


def _commanded(horse: Horse, monkeypatch: pytest.MonkeyPatch, folder: Path) -> tuple[str, Any]:
    """Return what `upsides work` says of a horse, in words and as JSON."""
    monkeypatch.setattr("upsides.books.services.opening.open_books", lambda _folder: None)
    said = [
        CliRunner().invoke(command, [horse.name, "--library", str(folder), *more], catch_exceptions=False).stdout
        for more in ([], ["--json"])
    ]
    return said[0], json.loads(said[1])


def test_a_work_has_one_speed(
    long_work: tuple[Horse, Gallop, Recorded], client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The gallop's page, the horse's, the recording's and `upsides work` tell one speed, that over the lengths at pace;
    the mean over all of it, jumping off and pulling up too, is only in the JSON."""
    horse, gallop, recorded = long_work
    client, told = client_as("trainer"), "14.5\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}0.1\N{NO-BREAK SPACE}m/s"
    for address in (*_pages(horse, gallop), f"/recordings/{recorded.pk}/"):
        text = client.get(address).content.decode()
        assert told in text
        assert told.replace("14.5", "14.0") not in text
    lines, value = _commanded(horse, monkeypatch, tmp_path)
    assert "14.5 ± 0.1 m/s" in lines
    (one,) = value["works"]
    assert (one["pace_ms"], one["speed_ms"]) == (pytest.approx(201.168 / 13.9, abs=0.001), 14.0)


CAPTION = "In brackets: still jumping off, or pulling up already."


def test_a_length_that_is_no_pace_stands_in_brackets(
    long_work: tuple[Horse, Gallop, Recorded], client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """6½ f beside seven times: the run-up of 15.3 s stands in brackets on every page and in `upsides work`, with what
    they mean beside it; the JSON says that nothing of it counts."""
    horse, gallop, recorded = long_work
    client = client_as("trainer")
    for address in _pages(horse, gallop):
        text = client.get(address).content.decode()
        assert "(15.3) · 13.9 · 13.9" in text
        assert CAPTION in text
    text = client.get(f"/recordings/{recorded.pk}/").content.decode()
    assert '<td class="number">(15.3\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}0.1)</td>' in text
    assert CAPTION in text
    assert "min\N{NO-BREAK SPACE}10\N{NO-BREAK SPACE}s in all; 14.5" in text
    lines, value = _commanded(horse, monkeypatch, tmp_path)
    assert "(15.3) 13.9 13.9" in lines
    assert CAPTION in lines.splitlines()[-1]
    assert [split["counts"] for split in value["works"][0]["splits"]] == [0.0] + [1.0] * 6


def test_nothing_in_brackets_has_no_caption(
    loaded: object, client_as: ClientAs, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Of an even work no time stands in brackets, and nothing is said of them."""
    gallop, horse = Gallop.objects.create(name="Straight six", surface="turf"), Horse.objects.order_by("pk")[0]
    work(horse, gallop, 3)
    for address in _pages(horse, gallop):
        assert CAPTION not in client_as("trainer").get(address).content.decode()
    assert CAPTION not in _commanded(horse, monkeypatch, tmp_path)[0]
