"""Of what tells of fitness: what was measured on which day, and what stands in the way of an answer."""

from datetime import datetime, timedelta

import pytest

import worlds
from condition_yard import of, unraced
from mornings import EVE, Hands
from upsides.books.models import Horse, Outing
from upsides.books.models.answer import HEARTS
from upsides.books.queries import moments
from upsides.books.queries.condition_measured import measured_days
from upsides.books.services.answers import store
from upsides.condition.fit import KINDS
from upsides.condition.fresh.latest import Missing

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    return unraced()


def worked(horse: Horse, at: datetime, bpm: float) -> None:
    """Write down an outing with a piece of work and the heart a minute after it."""
    measured = {"speeds": {}, "heart": {"after": {"60": bpm}}, "works": [{"kind": "canter"}]}
    Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0, measured=measured, recorded_at=at
    )


def test_what_was_measured_today_is_not_called_missing(horse: Horse, hands: Hands) -> None:
    """A heart read this morning for the first time has nothing before it to be held against; with one of a month ago
    its change is not worked out until a night's answer holds it; that of the night before does not."""

    def missing() -> Missing:
        return next(one for one in of(horse).fit.missing if one.what == "recovery")

    assert missing() == Missing("recovery", None)
    worked(horse, hands.back(hours=13), 120.0)
    assert missing() == Missing("recovery", 0, "nothing before")
    worked(horse, hands.back(days=30), 124.0)
    assert missing() == Missing("recovery", 0, "not worked out")
    store(HEARTS, EVE.date(), {"recovery": {}}, {})
    assert missing() == Missing("recovery", 0, "not worked out")
    hands.to(EVE + timedelta(days=1))
    store(HEARTS, hands.at.date(), {"recovery": {}}, {})
    assert missing() == Missing("recovery", 1, "nothing before")
    assert {one.why for one in of(horse).fit.missing if one.days is None} == {"not measured"}


def test_each_kind_of_evidence_has_its_last_day(horse: Horse, hands: Hands) -> None:
    """Speeds by the heart and on gallops have the day on which they were read last; an outing without a piece of work
    tells none of them."""
    heart = {"after": {"60": 120.0}, "held": 221.0, "speeds": {"180": [12.0, 11.8, 12.2], "200": [13.5, 13.2, 13.8]}}
    for back, works in ((2, []), (9, [{"kind": "fast", "gallop": {"number": 1}}])):
        at = hands.back(days=back)
        Outing.objects.create(
            horse=horse, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0,
            measured={"speeds": {}, "heart": heart, "works": works}, recorded_at=at,
        )  # fmt: skip
    assert measured_days(moments.now(), horse.pk) == {kind: [at.date()] for kind in KINDS[:4]}
