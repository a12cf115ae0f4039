"""A past day that was not worked out: pages ask for it, say how far it is and when it was done, and show it."""

from datetime import datetime, timedelta
from html import unescape
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.urls import reverse

import worlds
from mornings import EVE, Hands, enter
from upsides.books.jobs.running import Seat, run
from upsides.books.models import Answer, Horse, Job, Person, Post, Yard
from upsides.books.models.answer import LATER, OF_A_DAY, WATCH
from upsides.books.queries import moments
from upsides.books.services.answers import store
from worlds import ClientAs

ASKED = "Not all of this day was worked out by then. It can be, by what was known at 06:00"
DONE = "What stands out was worked out on 20 June 2026, "


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    for model in (Horse, Person, Post, Yard):
        model.history.update(history_date=EVE - timedelta(days=500))
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    """A horse that was weighed for a year and lost mass in the week before the day that is looked at."""
    found = moments.in_training(moments.now()).order_by("pk").first()
    assert found is not None
    Horse.objects.filter(pk=found.pk).update(joined="2025-01-05")
    hands.to(EVE - timedelta(days=6))
    for back in range(400, 4, -2):
        enter("mass", found, hands.back(days=back), kg=f"{(480 if back > 14 else 455) + back % 3} kg")
    hands.to(EVE)
    return Horse.objects.get(pk=found.pk)


@pytest.fixture
def trainer(client_as: ClientAs) -> Client:
    return client_as("trainer")


def at(horse: Horse | None = None) -> str:
    """Return the address of a page as of noon five days ago."""
    page = reverse("look_at") if horse is None else reverse("horse_condition", args=[horse.pk])
    return f"{page}?{urlencode({'as_of': '2026-06-15T12:00'})}"


def read(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def ask(client: Client, horse: Horse | None = None) -> str:
    """Press the button of a page, and return where that leads."""
    address = f"{reverse('work_out_day')}?{urlencode({'as_of': '2026-06-15T12:00'})}"
    answer = client.post(address, {} if horse is None else {"horse": horse.pk})
    assert answer.status_code == 302
    return str(answer["Location"])


def test_a_past_day_is_worked_out_for_its_pages(trainer: Client, horse: Horse, hands: Hands, seat: Seat) -> None:
    """Pressed on either page it is a job, of which the page shows how far it is; then the pages show what stands out,
    by what was known at six that morning, and say when it was done. What is asked twice is one job."""
    enter("mass", horse, hands.back(days=5, hours=1), kg="520 kg")  # written down only now
    for address, command in ((at(), "look-at --date"), (at(horse), f'condition "{horse.name}" --as-of')):
        page = read(trainer, address)
        assert ASKED in page
        assert f"<code>upsides {command} 2026-06-15</code>" in page
    assert ask(trainer, horse) == at(horse)
    assert ask(trainer) == at()
    job = Job.objects.get()
    assert (job.kind, job.arguments) == ("condition", {"known_at": "2026-06-15T06:00:00+01:00"})
    for address in (at(), at(horse)):
        page = read(trainer, address)
        assert "This day is worked out." in page
        assert 'hx-trigger="every 2s"' in page
        assert ASKED not in page
    run(job.pk)
    job.refresh_from_db()
    assert (job.state, job.failure) == ("done", "")
    for address in (at(), at(horse)):
        page = read(trainer, address)
        assert ("Mass below its usual 48" in page) == (address == at(horse))  # the list has it from the entry
        assert ("Readings were watched up to 15 June 2026." in page) == (address == at())
        assert DONE in page
        assert "hx-trigger" not in page
        assert ASKED not in page
    assert "he condition of the string on 15 June 2026" in read(trainer, reverse("jobs"))


def test_what_is_made_later_is_of_that_day_alone(horse: Horse, hands: Hands, seat: Seat, trainer: Client) -> None:
    """It holds from the moment by which it was made to the end of its day: not now, not the day after, not before six.
    A night's answer of that day goes before it, and what was kept is not made again."""
    ask(trainer)
    run(Job.objects.get().pk)
    made = Answer.objects.filter(name__endswith=LATER)
    assert {one.name for one in made} == {f"{name}{LATER}" for name in OF_A_DAY}
    noon = datetime.fromisoformat("2026-06-15T12:00+01:00")
    found = moments.answer(WATCH, moments.as_of(noon))
    assert found is not None
    assert found.made_from["known_at"] == "2026-06-15T06:00:00+01:00"
    assert moments.answers([WATCH], moments.as_of(noon)) == {WATCH: found}
    for other in (moments.now(), moments.as_of(noon + timedelta(days=1)), moments.as_of(noon - timedelta(hours=7))):
        assert moments.answer(WATCH, other) is None
    ask(trainer)
    assert Job.objects.count() == 2
    run(Job.objects.order_by("-pk")[0].pk)
    assert made.count() == len(OF_A_DAY)
    hands.to(noon - timedelta(hours=1))
    night = store(WATCH, noon.date(), {"horses": []}, {})
    assert moments.answer(WATCH, moments.as_of(noon)) == night


def test_a_day_that_cannot_be_worked_out_says_why(trainer: Client, horse: Horse) -> None:
    """Where the job failed the page says so beside the button."""
    ask(trainer)
    Job.objects.update(state=Job.State.FAILED, failure="The disk is full.", ended_at=EVE)
    page = read(trainer, at())
    assert "The disk is full." in page
    assert ASKED in page


def test_now_and_before_the_yard_there_is_nothing_to_ask(trainer: Client, horse: Horse) -> None:
    """Of now the night's answers hold; of a day on which no horse was in training nothing can be worked out. A press
    that comes without a moment asks for nothing."""
    assert 'id="work-out"' not in read(trainer, reverse("look_at"))
    assert 'id="work-out"' not in read(trainer, f"{reverse('look_at')}?as_of=1999-01-01")
    assert trainer.post(reverse("work_out_day")).status_code == 302
    assert not Job.objects.exists()


def test_who_may_not_see_figures_asks_for_nothing(horse: Horse, client_as: ClientAs) -> None:
    """A rider without a release gets no button, and a press of his asks for no job."""
    rider = client_as("rider")
    assert 'id="work-out"' not in read(rider, at(horse))
    rider.post(f"{reverse('work_out_day')}?{urlencode({'as_of': '2026-06-15T12:00'})}")
    assert not Job.objects.exists()
