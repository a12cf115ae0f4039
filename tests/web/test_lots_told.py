"""What pages of lots tell: every order that a plan changes, who is off and on the list, partners with other work."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.conf import settings

import worlds
from mornings import DAY, Hands, only, who
from upsides import paper
from upsides.books.lot_answers import PlannedLots, kept_lots
from upsides.books.models import DayOff, Horse, Job, Person, Post
from upsides.books.services.answers import store
from upsides.books.services.lists import order
from upsides.planning.morning import Plan, Ride
from web.test_lot_pages import told, words


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Any) -> Hands:
    monkeypatch.setattr(settings, "UPSIDES_LIBRARY", tmp_path)
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses, ordered to canter in the first lot under the rider; a second rider."""
    three = only(3)
    Post.objects.create(person=Person.objects.create(name="Q. Tallow", skill=4), role="rider")
    for horse in three:
        order(horse.pk, DAY, {"exercise": "steady_canter", "lot": "1", "rider": str(who("rider").pk)}, who("trainer"))
    return three


def test_a_plan_tells_every_order_that_it_changes(string: list[Horse], seat: Any, client_as: worlds.ClientAs) -> None:
    """Horses that only get another place are told beside those with another lot or rider, and the count has both."""
    trainer, other = client_as("trainer"), Person.objects.get(name="Q. Tallow")
    for place, horse in ((2, string[0]), (1, string[1])):
        rider = other if place == 2 else who("rider")
        values = {"exercise": "steady_canter", "lot": "1", "place": str(place), "rider": str(rider.pk)}
        order(horse.pk, DAY, values, who("trainer"))
    order(string[2].pk, DAY, {"exercise": "steady_canter", "lot": "2", "rider": str(other.pk)}, who("trainer"))
    rides = [
        [string[0].pk, 1, other.pk, 1],
        [string[1].pk, 1, who("rider").pk, 2],
        [string[2].pk, 2, who("rider").pk, 1],
    ]
    values = kept_lots(PlannedLots(Plan(tuple(Ride(horse, lot, rider, place) for horse, lot, rider, place in rides))))
    store("lots", DAY, values, {})
    page = trainer.get(f"/lots/plan/?day={DAY}")
    assert "changes 1 horse of the list. It gives another place in the string to 2 more" in words(page)
    assert f"{string[0].name} lot 1, place 1; on the list place 2" in words(page)
    number = re.search(r'name="plan" value="(\d+)"', page.content.decode())
    assert number is not None
    answer = trainer.post("/lots/plan/take/", {"day": str(DAY), "plan": number[1]}, follow=True)
    assert "3 orders of the list are changed." in words(answer)


def test_a_rider_who_does_not_exist_is_refused_at_once(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """A plan without a rider of a number that nobody has is refused with its reason, and no job is asked for."""
    answer = client_as("trainer").post("/lots/plan/ask/", {"day": str(DAY), "without": "987654"})
    assert answer.status_code == 400
    assert "nobody of this number rides this morning" in words(answer)
    assert not Job.objects.exists()


def test_the_morning_names_a_rider_who_is_off(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Who is off today and on the list stands on the morning with the way to the lots without, for who orders them."""
    rider = who("rider")
    address = f'href="/lots/plan/?day={DAY}&amp;without={rider.pk}"'
    assert address not in client_as("trainer").get("/").content.decode()
    DayOff.objects.create(person=rider, first_day=DAY, last_day=DAY, why="sick")
    page = client_as("trainer").get("/")
    assert f"{rider.name} is off today and on the list. Plan the lots without {rider.name}" in words(page)
    assert address in page.content.decode()
    assert "is off today and on the list" not in words(client_as("carer").get("/"))


def test_a_partner_with_other_work_is_told(
    string: list[Horse], client_as: worlds.ClientAs, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Wherever lots are told, a partner of another exercise or distance is told to do other work, the same not."""
    one, other, third = string
    rider, printed = who("rider"), []
    for place, (horse, work, far, beside) in enumerate(
        ((one, "fast", "3.5", [other, third]), (other, "half_speed", "3.5", [one]), (third, "fast", "", [one]))
    ):
        values = {"exercise": work, "furlongs": far, "lot": str(place + 1), "rider": str(rider.pk)}
        order(horse.pk, DAY, values | {"upsides": ",".join(str(each.pk) for each in beside)}, who("trainer"))
    rides = Plan(tuple(Ride(horse.pk, place + 1, rider.pk, 1) for place, horse in enumerate(string)))
    store("lots", DAY, kept_lots(PlannedLots(rides)), {})
    monkeypatch.setattr(paper, "evening_pdf", lambda sheet, _size: printed.append(sheet) or b"%PDF")
    trainer, days = client_as("trainer"), f"?day={DAY}"
    assert trainer.get(f"/evening.pdf{days}").status_code == 200
    names = f"{other.name} (does other work), {third.name}"
    pages = {"/lots/": names, "/lots/board/": names, f"/lots/own/?rider={rider.pk}": names, f"/lots/plan/{days}": names}
    for address, wanted in (pages | {f"/evening/{days}": f"with {names}"}).items():
        text = told(trainer, address)
        assert wanted in text, address
        assert f"{third.name} (does other work)" not in text
    assert next(ride.company for lot in printed[0].lots for ride in lot.rides) == names
    order(third.pk, DAY, {"exercise": "fast", "furlongs": "5", "upsides": str(one.pk)}, who("trainer"))
    assert f"{third.name} (does other work)" in told(trainer, "/lots/")


def test_a_lot_that_pulled_out_is_told(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """Plan and board say which lot pulled out although nothing of it is written, and the board moves none of it."""
    order(string[2].pk, DAY, {"exercise": "steady_canter", "lot": "2", "rider": str(who("rider").pk)}, who("trainer"))
    hands.to(hands.at + timedelta(minutes=6))
    trainer = client_as("trainer")
    said = "Lot 1 pulled out at 5:45; nothing of it is written as done yet: 2 horses stay as ordered"
    for address in (f"/lots/plan/?day={DAY}", f"/lots/board/?day={DAY}"):
        assert said in told(trainer, address)
    board = trainer.get(f"/lots/board/?day={DAY}").content.decode()
    assert f'data-horse="{string[2].pk}"' in board
    assert f'data-horse="{string[0].pk}"' not in board


def test_the_list_leads_to_the_plan_of_lots(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Tomorrow's list has the way to the plan beside horses without a rider or two under one, and none without such."""
    trainer, one = client_as("trainer"), string[0]
    page = trainer.get(f"/evening/?day={DAY}")
    assert "The plan looks for lots and riders for 3 of these." in words(page)  # all three under one rider in one lot
    form = page.content.decode()
    assert '<form method="post" action="/lots/plan/ask/">' in form
    for lot, horse in enumerate(string, start=1):
        values = {"exercise": "steady_canter", "lot": str(lot), "rider": str(who("rider").pk)}
        order(horse.pk, DAY, values, who("trainer"))
    assert "/lots/plan/ask/" not in trainer.get(f"/evening/?day={DAY}").content.decode()
    order(one.pk, DAY, {"exercise": "steady_canter", "lot": "1"}, who("trainer"))
    assert "The plan looks for a lot and rider for 1 of these." in told(trainer, f"/evening/?day={DAY}")
