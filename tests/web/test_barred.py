"""Horses that cannot run where they are engaged: nothing is asked for them, and what follows is told everywhere."""

import json
from datetime import timedelta
from smtplib import SMTPRecipientsRefused
from types import SimpleNamespace

import icalendar
import pytest
from django.core import mail
from django.test import Client

import worlds
from programmed_yard import at, code_of, engage_for, handicap_ahead, race, runner, take
from upsides.books import clock
from upsides.books.jobs.races import reminders
from upsides.books.models import Horse, Job, Person
from upsides.books.queries import moments
from upsides.books.queries.barred import barred
from upsides.books.queries.engaged import engaged
from upsides.books.services.race_day import write_runners
from upsides.web.jobs.sentences import result_sentences
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def code(loaded: worlds.Yard) -> str:
    """The code of a handicap in eight days that closes tomorrow."""
    handicap_ahead(loaded.library)
    day = clock.today()
    take(loaded.library, [race("8", "Reed Handicap", day + timedelta(days=8), "Highest weight 9-11", Ages="3yo+",
                               Band="0-110", Enter=f"{day + timedelta(days=1)} 23:00",
                               Declare=f"{day + timedelta(days=1)} 23:30")])  # fmt: skip
    return code_of(loaded.library, "Reed Handicap")


@pytest.fixture
def trainer(code: str) -> Person:
    """The trainer, with an e-mail address."""
    Person.objects.exclude(login="trainer").update(email="")
    Person.objects.filter(login="trainer").update(email="trainer@yard.example")
    return Person.objects.get(login="trainer")


@pytest.fixture
def horse(code: str, trainer: Person, loaded: worlds.Yard) -> Horse:
    """A horse that is entered for it."""
    one = runner()
    engage_for(one, code, loaded.library, trainer, "enter")
    return one


def letter(loaded: worlds.Yard) -> tuple[str, str]:
    mail.outbox.clear()
    running = SimpleNamespace(folder=loaded.library, checkpoint=None, progress=lambda *_: None, keep=lambda _: None)
    reminders(running)  # type: ignore[arg-type]  # as much of a job as this one asks for
    return (str(mail.outbox[0].subject), str(mail.outbox[0].body)) if mail.outbox else ("", "")


def feed(client_as: ClientAs) -> str:
    text = client_as("trainer").post("/deadlines/calendar/").content.decode()
    return "/calendar/" + text.split("/calendar/")[1].split("<")[0]


def events(client: Client, address: str) -> list[icalendar.Event]:
    return list(icalendar.Calendar.from_ical(client.get(address).content).walk("VEVENT"))


def test_nobody_is_reminded_to_declare_a_horse_that_was_sold(
    client: Client, client_as: ClientAs, loaded: worlds.Yard, horse: Horse
) -> None:
    """Letter and calendar remind of the declaration; once the horse was sold they say that it cannot run, why, that
    without a word it is out and what it has cost, and the calendar warns no more, under the same name."""
    address = feed(client_as)
    (before,) = events(client, address)
    subject, text = letter(loaded)
    assert subject == "1 thing to be said of a race within two days"
    assert f"{horse.name}: declare by" in text
    Horse.objects.filter(pk=horse.pk).update(left=clock.today())
    subject, text = letter(loaded)
    assert subject == "1 horse cannot run where it is engaged"
    assert "declare by" not in text
    assert f"{horse.name} cannot run in Reed Handicap" in text
    assert f"It is not in the yard from {clock.today():%-d %B %Y} on." in text
    assert "Nothing has to be said: without a word it is out on" in text
    assert "It has cost 40 GBP." in text
    (after,) = events(client, address)
    assert (after["uid"], after["dtstart"].dt) == (before["uid"], before["dtstart"].dt)
    assert str(after["summary"]) == f"{horse.name} cannot run: Reed Handicap"
    assert "It is not in the yard from" in str(after["description"])
    assert (len(before.walk("VALARM")), len(after.walk("VALARM"))) == (2, 0)


def test_a_declared_horse_that_cannot_run_is_to_be_taken_out(
    client: Client, client_as: ClientAs, loaded: worlds.Yard, horse: Horse, code: str, trainer: Person
) -> None:
    """Of a declared one the calendar still reminds: take it out; *Deadlines* and the calendar say from when it may race
    again with a vet's certificate and without."""
    engage_for(horse, code, loaded.library, trainer, "declare")
    address = feed(client_as)
    Horse.objects.filter(pk=horse.pk).update(left=clock.today())
    (event,) = events(client, address)
    assert event["dtstart"].dt == at(clock.today() + timedelta(days=8), 14, 35)
    assert len(event.walk("VALARM")) == 2
    told = str(event["description"])
    assert "Take it out by" in told
    moment = moments.now()
    (kept,) = barred(loaded.library, moment, engaged(loaded.library, moment)).values()
    assert kept.otherwise is not None
    assert "Without a vet's certificate it may not race again before" in told
    page = client_as("trainer").get("/deadlines/").content.decode()
    assert "Cannot run by what is known now" in page
    assert "it may not race again before" in page


def test_a_horse_that_was_balloted_out_has_nothing_to_declare(
    client: Client, client_as: ClientAs, loaded: worlds.Yard, horse: Horse, code: str
) -> None:
    """A horse that the settled card does not name is not reminded of: letter, calendar, morning and *Deadlines* say
    that the card does not name it, and what to do."""
    browser = client_as("trainer")
    assert "Declare by" in " ".join(browser.get("/").content.decode().split()).replace("declare by", "Declare by")
    write_runners(loaded.library, code, "Marram 4 9-0\nSea Holly 2 8-12")
    _subject, text = letter(loaded)
    assert "The card does not name it: ask the authority" in text
    assert "declare by" not in text
    (event,) = events(client, feed(client_as))
    assert "The card does not name it" in str(event["description"])
    assert "cannot run by what is known now, so nothing has to be said" in browser.get("/").content.decode()
    assert "Nothing has to be said of a race as far as it is known here." in browser.get("/deadlines/").content.decode()


def test_one_refused_address_keeps_nobody_elses_letter_back(
    monkeypatch: pytest.MonkeyPatch, loaded: worlds.Yard, horse: Horse
) -> None:
    """Where the mail server refuses the trainer's address the secretary's letter goes out all the same, and the job
    and its page say whose was refused, by a number that outlives no erasure."""
    Person.objects.filter(login="secretary").update(email="office@yard.example")
    told: list[str] = []

    def send(_subject: str, _text: str, _sender: str, to: list[str]) -> None:
        if to == ["trainer@yard.example"]:
            raise SMTPRecipientsRefused({to[0]: (550, b"no such user")})
        told.extend(to)

    monkeypatch.setattr("upsides.books.jobs.races.send_mail", send)
    running = SimpleNamespace(folder=loaded.library, checkpoint=None, progress=lambda *_: None, keep=lambda _: None)
    answer = reminders(running)  # type: ignore[arg-type]  # a stand-in for a running job
    assert told == ["office@yard.example"]
    trainer = Person.objects.get(login="trainer")
    assert answer["refused"] == [trainer.pk]
    assert trainer.name not in json.dumps(answer)
    assert result_sentences(Job(kind="reminders", state=Job.State.DONE, result=answer)) == [
        "1 letter went out.",
        f"The mail server refused the address of {trainer.name}; it can be put right on the page of the person.",
    ]
