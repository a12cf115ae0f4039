"""Which exercise a horse's hearts are compared within, as the page on its condition names it."""

from datetime import timedelta
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse

import worlds
from mornings import EVE, Hands, enter
from upsides.books.models import Horse, Outing
from upsides.books.queries import moments
from worlds import ClientAs


@pytest.fixture
def horse(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Horse:
    Hands(monkeypatch, EVE)
    found = moments.in_training(moments.now()).order_by("pk").first()
    assert found is not None
    return found


@pytest.fixture
def trainer(horse: Horse, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.mark.parametrize(
    ("said", "gait", "words"),
    [("fast", "fast", "fast work"), ("fast", "canter", "half-speed"), ("", "canter", "canter")],
)
def test_the_exercise_that_hearts_are_compared_within_is_named(
    trainer: Client, horse: Horse, said: str, gait: str, words: str
) -> None:
    """Beside the signs stands after which exercise hearts are compared, by the diary or by the last work's gait."""
    at = EVE - timedelta(hours=13)
    measured = {"speeds": {}, "heart": {"after": {"60": 131.0}}, "works": [{"kind": gait}]}
    Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=3000.0, fast_m=0.0, measured=measured,
        recorded_at=EVE,
    )  # fmt: skip
    if said:
        enter("exercise", horse, at, exercise=said)
    page = trainer.get(reverse("horse_condition", args=[horse.pk])).content.decode()
    assert f"with the same exercise only: {words}." in unescape(page)
