"""Moving a day of a horse's plan on its page: presses that work without script, what is said, what is refused."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

import worlds
from mornings import EVE, Hands
from upsides.books.models import Entry, Horse, Job
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.services.answers import store
from web.test_plan_pages import BUSY, DAY, TOMORROW, keep, of_horse, only, plain, read
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    """A busy horse with a plan of ten days, the last of them a race."""
    three = only(3)
    Horse.objects.exclude(pk__in=[one.pk for one in three]).update(left="2026-06-01")
    Horse.objects.filter(pk__in=[one.pk for one in three]).update(joined="2026-01-05", left=None)
    keep(three)
    return three[0]


def _send(client: Client, horse: Horse, from_: int, to: int) -> Any:
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    sent = {"answer": str(row.pk), "from": str(DAY + timedelta(days=from_)), "to": str(DAY + timedelta(days=to))}
    return client.post(f"/horse/{horse.pk}/plan/move/", sent)


def test_every_day_but_a_race_can_be_moved_by_a_press(horse: Horse, client_as: ClientAs) -> None:
    """Each day to come has a list of the other days and a button, in a form of its own; the race day has none."""
    page = read(client_as("trainer"), f"/horse/{horse.pk}/plan/")
    rows = page.partition("<tbody>")[2].partition("</tbody>")[0].split("</tr>")[:10]
    assert all("/plan/move/" in row and row.count("<option") == 8 and 'draggable="true"' in row for row in rows[:9])
    assert "/plan/move/" not in rows[9]
    assert 'draggable="true"' not in rows[9]
    assert "planning/move" in page


def test_a_press_moves_a_day_and_has_the_rest_planned(horse: Horse, client_as: ClientAs) -> None:
    """The other day's order says where it came from, the string is planned, the page shows it and undoes it."""
    trainer = client_as("trainer")
    answer = _send(trainer, horse, 1, 2)
    assert answer.headers["Location"] == f"/horse/{horse.pk}/plan/"
    (entry,) = Entry.objects.filter(kind="ordered", horse=horse)
    assert entry.values["moved_from"] == str(TOMORROW)
    assert list(Job.objects.values_list("kind", flat=True)) == ["plans"]
    text = plain(read(trainer, f"/horse/{horse.pk}/plan/"))
    assert "Moved from Sun 21 Jun to Mon 22 Jun: fast work, 3f. The string's work is being planned round it." in text
    assert "fast three furlongs on rising ground moved here by hand from Sun 21 Jun" in text
    assert "its work was moved to Mon 22 Jun" in text
    assert "Fast work on Mon 22 Jun and Wed 24 Jun; it runs" in text
    assert "Take it back" in text
    back = trainer.post(f"/horse/{horse.pk}/plan/back/", {"day": str(TOMORROW + timedelta(days=1))})
    assert back.status_code == 302
    text = plain(read(trainer, f"/horse/{horse.pk}/plan/"))
    assert "Taken back: fast work, 3f on Mon 22 Jun. The string's work is being planned as it was before." in text
    assert "moved here by hand" not in text


def test_what_cannot_be_moved_is_said_on_the_page(horse: Horse, client_as: ClientAs) -> None:
    """A race, a day of no plan, and no day at all are refused in words beside the plan, and nothing is ordered."""
    trainer = client_as("trainer")
    for from_, to, told in ((10, 3, "a race is not moved by hand"), (1, 40, "no such day"), (2, 2, "does the same")):
        answer = _send(trainer, horse, from_, to)
        assert answer.status_code == 400
        assert told in plain(answer.content.decode())
    answer = trainer.post(f"/horse/{horse.pk}/plan/move/", {"from": "soon"})
    assert answer.status_code == 400
    answer = trainer.post(f"/horse/{horse.pk}/plan/back/", {})
    assert "it was not said from which day" in plain(answer.content.decode())
    answer = trainer.post(f"/horse/{horse.pk}/plan/back/", {"day": "2026-07-03"})
    assert "nothing was moved by hand to 3 July" in plain(answer.content.decode())
    assert not Entry.objects.filter(kind="ordered").exists()


@pytest.mark.parametrize("login", ["rider", "carer", "vet", "owner"])
def test_only_who_orders_work_moves_it(horse: Horse, client_as: ClientAs, login: str) -> None:
    """Nobody else can move a day, or take it back."""
    client = client_as(login)
    assert _send(client, horse, 1, 2).status_code in {403, 404}
    assert client.post(f"/horse/{horse.pk}/plan/back/", {"day": str(TOMORROW)}).status_code in {403, 404}


def test_what_changed_stands_before_the_routine(horse: Horse, client_as: ClientAs) -> None:
    """How many days are other than in the plan before comes first, then each with its reason; the week counts them."""
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    own = of_horse(BUSY, BUSY, changed=[[0, "off"]], changes=["Sun 21 Jun: fast, where it had off, because so it is."])
    more = {"horses": {**row.values["horses"], str(horse.pk): own}, "held": 2, "changes": 1, "least": 1}
    store(PLAN, DAY, {**row.values, **more}, {})
    text = plain(read(client_as("trainer"), f"/horse/{horse.pk}/plan/"))
    assert "1 day is other than in the plan before. Sun 21 Jun: fast, where it had off, because so it is." in text
    assert "No plan that keeps every limit changes fewer days of a plan that still holds" in text
    assert "1 day is other than in the plan before, of 1 horse." in plain(read(client_as("trainer"), "/plan/"))


def test_a_plan_afresh_is_asked_for_by_a_press_of_its_own(horse: Horse, client_as: ClientAs) -> None:
    """The second press asks for a plan from the routine, whatever stands."""
    trainer = client_as("trainer")
    assert "Plan afresh from the routine" in read(trainer, "/plan/")
    trainer.post("/plan/again/", {"afresh": "1"})
    assert Job.objects.get().arguments == {"afresh": True}


def test_a_moved_day_of_a_horse_without_a_plan_can_be_taken_back(horse: Horse, client_as: ClientAs) -> None:
    """Where the move clashes its page has no days, but says what was moved, with the press that takes it back."""
    trainer = client_as("trainer")
    _send(trainer, horse, 1, 2)
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    others = {number: one for number, one in row.values["horses"].items() if number != str(horse.pk)}
    clash = {"sets": [["it does fast", "it has days between"]], "any_one": True, "without": []}
    store(PLAN, DAY, {**row.values, "horses": others, "clashes": {str(horse.pk): clash}, "pairs": []}, {})
    page = read(trainer, f"/horse/{horse.pk}/plan/")
    assert "Give up any one of these" in page
    assert "moved here by hand from Sun 21 Jun" in plain(page)
    assert "/plan/back/" in page


def test_an_evening_order_says_nothing_of_moves(horse: Horse, client_as: ClientAs) -> None:
    """Its form has no field for the day that work came from, and one that is sent is not kept."""
    trainer, address = client_as("trainer"), f"/evening/{horse.pk}/?day={TOMORROW}"
    page = read(trainer, address)
    assert "ordered-exercise" in page
    assert "moved_from" not in page
    assert "Moved from" not in page
    trainer.post(address, {"ordered-exercise": "walk", "ordered-moved_from": "2031-01-01"})
    (entry,) = Entry.objects.filter(kind="ordered", horse=horse)
    assert (entry.values["exercise"], entry.values.get("moved_from")) == ("walk", None)


@pytest.mark.parametrize(("furlongs", "moved"), [("3", str(TOMORROW)), ("5", None)])
def test_moved_work_in_another_lot_is_still_moved(
    horse: Horse, client_as: ClientAs, furlongs: str, moved: str | None
) -> None:
    """A moved day that goes in another lot still says where it came from; one with other work does not."""
    trainer, to = client_as("trainer"), TOMORROW + timedelta(days=1)
    _send(trainer, horse, 1, 2)
    sent = {"ordered-exercise": "fast", "ordered-furlongs": furlongs, "ordered-lot": "3"}
    trainer.post(f"/evening/{horse.pk}/?day={to}", sent)
    entry = Entry.objects.get(kind="ordered", horse=horse, superseded_by=None)
    assert (entry.values["lot"], entry.values.get("moved_from")) == (3, moved)
