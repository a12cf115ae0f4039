"""What phones send: taken by the mark of each entry's author, whoever is signed in."""

import json
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from upsides.books import clock
from upsides.books.models import Device, Entry, Horse, Person, Yard
from upsides.books.services import devices
from upsides.web.diary.sending import LONGEST, MOST

pytestmark = pytest.mark.django_db
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def moved_clock(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """A yard whose clock does not stand still, at noon."""
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: NOON)


@pytest.fixture
def phone(db: None) -> Device:
    return devices.add_shared("Top barn", who("trainer"))[0]


@pytest.fixture
def client() -> Client:
    """A browser in which nobody is signed in, and that checks forgery as a real one would."""
    return Client(headers={"host": "localhost"}, enforce_csrf_checks=True)


def who(login: str) -> Person:
    return Person.objects.get(login=login)


def kept(phone: Device, login: str = "carer", **more: Any) -> dict[str, Any]:
    """Return an entry as a phone keeps it."""
    made = (NOON - timedelta(hours=2)).isoformat()
    whole = {"kind": "temperature", "values": {"celsius": "38.0"}, "made_at": made, "horse": Horse.objects.first().pk}
    return {"client_id": str(uuid4()), "token": devices.author_token(phone, who(login))} | whole | more


def send(client: Client, *entries: Any, **more: Any) -> Any:
    parcel = {"sent_at": NOON.isoformat(), "entries": list(entries)} | more
    return client.post("/diary/send/", json.dumps(parcel), content_type="application/json")


def answers(client: Client, *entries: Any) -> list[dict[str, Any]]:
    response = send(client, *entries)
    assert response.status_code == 200
    return response.json()["answers"]


def test_entries_arrive_without_anybody_signed_in(client: Client, phone: Device) -> None:
    """Each counts as its author's, on the phone that it was entered on, with its time on the phone."""
    mine, yours = kept(phone), kept(phone, "rider", kind="looked_at", values={})
    assert [one["outcome"] for one in answers(client, mine, yours)] == ["recorded", "recorded"]
    rows = Entry.objects.filter(client_id__in=[mine["client_id"], yours["client_id"]]).order_by("pk")
    assert [(row.author.login, row.device, row.kind) for row in rows] == [
        ("carer", phone, "temperature"),
        ("rider", phone, "looked_at"),
    ]
    assert rows[0].made_at == NOON - timedelta(hours=2) == rows[0].happened_at
    assert rows[0].recorded_at == NOON


def test_sending_again_records_nothing_more(client: Client, phone: Device) -> None:
    """What is sent a second time is said to be there already."""
    entry = kept(phone)
    first, second = answers(client, entry)[0], answers(client, entry)[0]
    assert (first["outcome"], second["outcome"]) == ("recorded", "already")
    assert first["number"] == second["number"]
    assert Entry.objects.filter(client_id=entry["client_id"]).count() == 1


def test_whoever_is_signed_in_changes_nothing(client_as: Any, phone: Device) -> None:
    """An entry sent from a browser where somebody else is signed in stays its author's."""
    entry = kept(phone)
    assert answers(client_as("rider"), entry)[0]["outcome"] == "recorded"
    assert Entry.objects.get(client_id=entry["client_id"]).author == who("carer")


def test_a_mark_that_does_not_hold_is_refused_with_the_way_out(client: Client, phone: Device) -> None:
    """No mark, a changed one, one from before a sign-out everywhere or of an ended phone: each is refused."""
    entry = kept(phone)
    assert answers(client, entry | {"token": ""})[0]["again"]
    assert answers(client, entry | {"token": entry["token"] + "x"})[0]["again"]
    Person.objects.filter(login="carer").update(trust=7)
    assert "sign in" in answers(client, entry)[0]["reason"]
    Person.objects.filter(login="carer").update(trust=1)
    devices.revoke(phone)
    said = answers(client, entry)[0]
    assert said["outcome"] == "refused"
    assert "Top barn" in said["reason"]
    assert not Entry.objects.filter(client_id=entry["client_id"]).exists()


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"values": {"celsius": "50"}}, "measure again"),
        ({"values": {"celsius": "38", "furlongs": 3}}, "leave it out"),
        ({"values": [1]}, "no names"),
        ({"kind": "furlongs"}, "no kind of entry"),
        ({"kind": None}, "no kind of entry"),
        ({"horse": "1"}, "choose the horse again"),
        ({"horse": None}, "choose the horse first"),
        ({"horse": 10**8}, "no horse of that number"),
        ({"client_id": "x"}, "no UUID"),
        ({"made_at": "yesterday"}, "no moment"),
        ({"made_at": "2030-05-01T12:00"}, "no moment"),
        ({"made_at": "0001-01-01T00:00Z"}, "no moment"),
        ({"happened_at": 7}, "no moment"),
        ({"supersedes": str(uuid4())}, "not in the diary"),
        ({"kind": "note", "values": {"text": "a\x00b"}}, "no text"),
        ({"kind": "note", "values": {"text": "a\ud800b"}}, "no text"),
    ],
)
def test_one_wrong_entry_does_not_hold_up_the_rest(
    client: Client, phone: Device, wrong: dict[str, Any], said: str
) -> None:
    """An entry with something wrong in it is refused in words, with those beside it recorded."""
    bad, good = kept(phone, **wrong), kept(phone)
    first, second = answers(client, bad, good)
    assert (first["outcome"], second["outcome"]) == ("refused", "recorded")
    assert said in first["reason"]
    assert first["client_id"] == bad["client_id"]
    assert not first["again"]


@pytest.mark.parametrize("one", [None, 7, "entry", [], {}])
def test_what_is_no_entry_is_refused(client: Client, one: Any) -> None:
    """Anything that is not an entry at all is refused like one."""
    assert answers(client, one)[0]["outcome"] == "refused"


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"{", b"[" * 100_000, b'{"entries": []}', b'{"sent_at": 1, "entries": []}', b"\xff"]
)
def test_what_is_no_parcel_is_refused_whole(client: Client, body: bytes) -> None:
    """Anything but JSON with a time and a list is refused in words."""
    response = client.post("/diary/send/", body, content_type="application/json")
    assert response.status_code == 400
    assert "cannot be read as entries" in response.json()["reason"]


def test_parcels_are_bounded(client: Client, phone: Device) -> None:
    """A parcel of too many entries, or of too many bytes, is refused and nothing of it recorded."""
    before = Entry.objects.count()
    assert send(client, *[kept(phone)] * (MOST + 1)).status_code == 400
    assert send(client, kept(phone, padding="x" * LONGEST)).status_code == 400
    assert Entry.objects.count() == before
    assert client.get("/diary/send/").status_code == 405


def test_a_chain_arrives_in_one_parcel(client: Client, phone: Device) -> None:
    """An entry, its correction and the correction's withdrawal, all made without signal, arrive in order."""
    first = kept(phone)
    second = kept(phone, supersedes=first["client_id"], values={"celsius": "38.7"})
    third = kept(phone, supersedes=second["client_id"], values={}, withdrawn=True)
    assert [one["outcome"] for one in answers(client, first, second, third)] == ["recorded"] * 3
    rows = [Entry.objects.get(client_id=one["client_id"]) for one in (first, second, third)]
    assert (rows[1].supersedes, rows[2].supersedes, rows[2].withdrawn) == (rows[0], rows[1], True)


def test_others_entries_are_not_mended_from_a_barn_phone(client: Client, phone: Device) -> None:
    """The trainer too counts as one who looks after horses there; the entry is refused, not lost."""
    first = kept(phone)
    said = answers(client, first, kept(phone, "trainer", supersedes=first["client_id"]))
    assert [one["outcome"] for one in said] == ["recorded", "refused"]
    assert "somebody else's" in said[1]["reason"]


def test_a_clock_that_went_back_keeps_everything_on_the_phone(
    client: Client, phone: Device, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is recorded, the words say why, and the same parcel goes through once the clock is right."""
    answers(client, kept(phone))
    entry = kept(phone)
    monkeypatch.setattr(clock, "now", lambda: NOON - timedelta(hours=1))
    response = send(client, entry)
    assert response.status_code == 503
    assert "clock of this computer" in response.json()["reason"]
    monkeypatch.setattr(clock, "now", lambda: NOON)
    assert answers(client, entry)[0]["outcome"] == "recorded"


def test_in_an_invented_yard_a_phones_time_moves_to_the_yards_day(client: Client, phone: Device) -> None:
    """What the clock on the wall said when it was entered is kept, on the yard's own day."""
    Yard.objects.update(fixed_day=NOON.date())
    real = datetime(2026, 12, 3, 12, tzinfo=UTC)
    entry = kept(phone, made_at=(real - timedelta(hours=2)).isoformat())
    send(client, entry, sent_at=real.isoformat())
    by_the_wall = NOON.replace(hour=9)  # ten o'clock in London: GMT in December, an hour ahead of it in May
    assert Entry.objects.get(client_id=entry["client_id"]).made_at == by_the_wall
