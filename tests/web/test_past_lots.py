"""Lots of a day that is over: ordered and done side by side, written as done late, never ordered anew in silence."""

import re
from datetime import timedelta
from html import unescape
from uuid import uuid4

import pytest

import worlds
from mornings import DAY, Hands, enter, only, who
from upsides.books.models import Entry, Horse
from upsides.books.queries import moments
from upsides.books.queries.lots import done_on, orders
from upsides.books.services.diary import correct
from upsides.books.services.lists import order, ride_done
from web.test_lot_pages import told, words


@pytest.fixture
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses, ordered to canter in the first lot."""
    three = only(3)
    for horse in three:
        order(horse.pk, DAY, {"exercise": "steady_canter", "lot": "1"}, who("trainer"))
    return three


def plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def test_the_board_of_a_past_day_is_what_was_ordered_and_done(
    string: list[Horse], hands: Hands, client_as: worlds.ClientAs
) -> None:
    """The next day the board leads to what was ordered and done, side by side, with what nobody ordered besides."""
    trainer, (a, b, _) = client_as("trainer"), string
    enter("exercise", a, hands.back(hours=1), exercise="walker", rider=who("assistant").pk)
    out = Horse.objects.exclude(pk__in=[one.pk for one in string]).order_by("name")[0]
    enter("exercise", out, hands.back(hours=1), exercise="hack_canter", lot=2)
    hands.to(hands.at + timedelta(days=1))
    order(b.pk, DAY + timedelta(days=1), {"exercise": "walk", "lot": "3"}, who("trainer"))
    assert trainer.get(f"/lots/board/?day={DAY}").headers["Location"] == f"/lots/?day={DAY}"
    page = trainer.get(f"/lots/?day={DAY}").content.decode()
    assert "That morning is over: its orders stay as they were." in page
    rows = {row.split("</a>")[0].split(">")[-1]: plain(row) for row in page.split("<tr>")[2:]}
    assert rows[a.name].endswith(f"walker, {who('assistant').name}")
    assert "long steady canter" in rows[a.name]
    assert rows[b.name].endswith("long steady canter"), "nobody wrote what it did, and today's order is another day's"
    assert "hack canter" in rows[out.name]
    assert "Done without an order" in page
    assert f'href="?day={DAY - timedelta(days=1)}"' in page


def test_a_past_day_is_done_with_one_tap_and_not_ordered_anew(
    string: list[Horse], hands: Hands, client_as: worlds.ClientAs
) -> None:
    """Yesterday's lot is written as done, under yesterday; its orders are refused anew by list, board and form."""
    trainer, (a, b, c) = client_as("trainer"), string
    hands.to(hands.at + timedelta(days=1))
    stood = {number: entry.pk for number, entry in orders(moments.now(), DAY).items()}
    trainer.post("/lots/done/", {"lot": "1", "day": str(DAY)})
    assert set(done_on(moments.now(), DAY)) == {a.pk, b.pk, c.pk}
    assert not done_on(moments.now(), DAY + timedelta(days=1))
    asked = [
        trainer.post("/evening/make/", {"day": str(DAY)}),
        trainer.post(f"/evening/{a.pk}/?day={DAY}", {"ordered-exercise": "walk"}),
        trainer.post(f"/lots/board/?day={DAY}", {"take": "1", f"lot-{a.pk}": "2"}),
    ]
    for answer in asked:
        assert answer.status_code == 400
        assert "that morning is over" in words(answer)
    assert {number: entry.pk for number, entry in orders(moments.now(), DAY).items()} == stood
    hands.to(hands.at + timedelta(days=9))
    assert "All did what was ordered" not in told(trainer, f"/lots/?day={DAY}")
    assert trainer.post("/lots/done/", {"lot": "1", "day": str(DAY)}).status_code == 400


def test_what_is_changed_afterwards_is_told(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """An order replaced after the horse was done, and a done that was corrected, both say what stood before."""
    trainer, (a, b, c) = client_as("trainer"), string
    order(c.pk, DAY, {"exercise": "walk", "lot": "1"}, who("trainer"))
    assert "ordered anew" not in told(trainer, "/lots/").lower(), "before it is done an order may change"
    ride_done(DAY, a.pk, who("trainer"))
    hands.to(hands.at + timedelta(minutes=5))
    order(a.pk, DAY, {"exercise": "walk", "lot": "1"}, who("trainer"))
    ride_done(DAY, b.pk, who("trainer"))
    entry = Entry.objects.get(kind="exercise", horse=b)
    correct(entry, {"exercise": "walker"}, who("trainer"), client_id=uuid4(), made_at=hands.at)
    text = told(trainer, "/lots/")
    assert text.count("Ordered anew on 1 May, 06:05; that morning it was long steady canter") == 1
    assert text.count("Corrected; first written: long steady canter") == 1
    hands.to(hands.at + timedelta(days=1))
    late = orders(moments.now(), DAY)[c.pk]
    correct(late, {"exercise": "fast", "lot": "1"}, who("trainer"), client_id=uuid4(), made_at=hands.at)
    assert "Ordered anew on 2 May, 06:05; that morning it was walk" in told(trainer, f"/lots/?day={DAY}")
