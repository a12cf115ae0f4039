"""What waiting for the last word on a race would teach: the runs that a horse has before it."""

from datetime import timedelta

import pytest

import worlds
from medicine_yard import boosted
from programmed_yard import code_of, engage_for, forget, marked, race, take
from upsides.books import clock
from upsides.books.models import Horse, Person
from worlds import ClientAs

pytestmark = pytest.mark.django_db


def test_only_a_run_that_the_horse_can_have_by_then_is_told(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """Entered for Sedge in eight days and asked about a race in thirty, it has run in Sedge by then; not once it leaves
    the yard on the day of Sedge, nor once it is taken out of it; the day after Sedge it still runs for this yard."""
    horse, today, browser = Horse.objects.order_by("pk")[0], clock.today(), client_as("trainer")
    boosted(marked(horse), today - timedelta(days=30))
    forget(loaded.library)
    sedge = today + timedelta(days=8)
    take(loaded.library, [
        race("1", "Sedge Handicap", sedge, "Highest weight 9-11", Ages="3yo+", Band="0-110"),
        race("2", "Bracken Stakes", today + timedelta(days=30), "Weights: 9st 7lb each", Ages="3yo+"),
    ])  # fmt: skip
    trainer = Person.objects.get(login="trainer")
    there, asked = code_of(loaded.library, "Sedge Handicap"), code_of(loaded.library, "Bracken Stakes")
    engage_for(horse, there, loaded.library, trainer, "enter")

    def told() -> bool:
        page = browser.get(f"/programme/race/{asked}/horse/{horse.pk}/").content.decode()
        assert "No can still be said" in page
        return "has run in Sedge Handicap" in page

    assert told()
    for left, runs in ((sedge, False), (sedge + timedelta(days=1), True), (None, True)):
        Horse.objects.filter(pk=horse.pk).update(left=left)
        assert told() is runs, left
    engage_for(horse, there, loaded.library, trainer, "withdraw")
    assert not told()
