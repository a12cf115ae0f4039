"""The page of a barn's round: what each row says and offers, entering without a script, and what tablets ask for."""

import json
import re
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import strip_tags

from upsides.books import clock
from upsides.books.models import Box, Device, Entry, Horse, Person, Stand, Yard
from upsides.books.queries.checks import LOOKED
from upsides.books.services.devices import add_shared
from upsides.books.services.diary import Draft, record
from worlds import PIN, ClientAs

pytestmark = pytest.mark.django_db
DAWN = datetime(2026, 6, 10, 4, 30, tzinfo=UTC)
"""05:30 in London, where the yard is."""
BEFORE = date(2026, 5, 1)


@pytest.fixture(autouse=True)
def string(db: None, monkeypatch: pytest.MonkeyPatch) -> list[Horse]:
    """At dawn three horses stand in the Top barn, the first in box A, and nobody else is in training."""
    Yard.objects.update(fixed_day=None)
    monkeypatch.setattr(clock, "now", lambda: DAWN)
    horses = list(Horse.objects.order_by("pk")[:3])
    Horse.objects.exclude(pk__in=[horse.pk for horse in horses]).update(left=BEFORE)
    for place, (horse, name) in enumerate(zip(horses, "ABC", strict=True), start=1):
        box = Box.objects.create(barn="Top", name=name, position=place)
        Stand.objects.create(horse=horse, box=box, first_day=BEFORE)
    return horses


def entered(horse: Horse, kind: str, login: str = "carer", **values: object) -> Entry:
    return record(Draft(uuid4(), kind, horse.pk, values, clock.now()), Person.objects.get(login=login))


def text(client: Client, address: str = "/checks/") -> str:
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def row(page: str, horse: Horse) -> str:
    found = re.search(rf'<li id="horse-{horse.pk}".*?</div>\n</li>', page, re.S) or re.search(
        rf'<li id="horse-{horse.pk}".*?(?=<li id="horse-|</ol>\n\n</main>)', page, re.S
    )
    assert found
    return found[0]


def words(page: str) -> str:
    return " ".join(strip_tags(page).split())


def offered(page: str) -> set[str]:
    return set(re.findall(r'data-opens="(\w+)"', page)) | set(re.findall(r'name="kind" value="(\w+)"', page))


def test_the_page_opens_with_how_far_the_round_is(client_as: ClientAs, string: list[Horse]) -> None:
    """One sentence says how many of the barn were looked at, on how many something is not right, and of legs."""
    client = client_as("carer")
    assert "0 of 3 in Top looked at." in text(client)
    entered(string[0], "as_usual")
    entered(string[1], "not_right", ask_vet="1")
    entered(string[1], "leg", limb="near_fore", place="fetlock", signs="heat")
    entered(string[2], "temperature", celsius="38.0")
    assert "2 of 3 in Top looked at; 1 not right. Something was found on the legs of 1 horse." in text(client)


def test_rows_stand_in_walking_order_and_say_what_was_entered(client_as: ClientAs, string: list[Horse]) -> None:
    """A row says in words who saw what and when; who was not seen is said to be so, and a look shows no number."""
    entered(string[0], "as_usual")
    entered(string[1], "temperature", celsius="38.4")
    page = text(client_as("trainer"))
    assert [int(number) for number in re.findall(r'id="horse-(\d+)"', page)] == [horse.pk for horse in string]
    looked, measured, unseen = (words(row(page, horse)) for horse in string)
    assert "Looked at, as usual. 05:30 looks after horses one" in looked
    assert "°C" not in looked
    assert "Measured, not looked at yet." in measured
    assert "38.4 °C" in measured
    assert "Not looked at yet." in unseen


def test_each_round_offers_what_is_done_on_it(client_as: ClientAs, string: list[Horse]) -> None:
    """In the morning look, temperature, feed, a shoe and not right are at hand; in the evening legs, mass, droppings
    too."""
    morning = {"as_usual", "temperature", "feed_left", "shoe", "not_right"}
    client = client_as("carer")
    assert offered(row(text(client), string[0])) == morning
    evening = text(client, "/checks/?round=evening")
    assert offered(row(evening, string[0])) == morning | {"legs_felt", "leg", "mass", "droppings"}
    assert "what is entered now stands with the morning checks" in evening


def test_the_evening_knows_what_the_morning_found(client_as: ClientAs, string: list[Horse]) -> None:
    """On the evening's page a row says what the morning found, and still that nobody looked this evening."""
    entered(string[0], "not_right", limb="off_hind")
    said = words(row(text(client_as("carer"), "/checks/?round=evening"), string[0]))
    assert "In the morning: Not right: off hind." in said
    assert "Not looked at yet." in said


def test_what_is_known_stands_above_what_was_seen(client_as: ClientAs, string: list[Horse]) -> None:
    """What the vet allows with its last day, and what the horse is treated with, stand in the row."""
    entered(string[0], "vet_finding", "trainer", text="knock", advice="walk", until="2026-06-21")
    given = {"product": "Linctus", "quantity": "10 ml", "route": "oral", "what": "other", "reason": "cough"}
    entered(string[0], "treatment", "trainer", **given)
    said = words(row(text(client_as("carer")), string[0]))
    assert "Vet: walk only until 21 June." in said
    assert "Treated today: Linctus, 10 ml." in said


def test_entering_and_withdrawing_without_a_script(client_as: ClientAs, string: list[Horse]) -> None:
    """A tap and a temperature go in as forms, twice the same form once; the tap is taken back from the row."""
    client = client_as("carer")
    tap = {"kind": "as_usual", "horse": str(string[0].pk), "client_id": str(uuid4())}
    for _ in range(2):
        response = client.post("/checks/?barn=Top&round=morning", tap)
        assert response.headers["Location"] == f"/checks/?barn=Top&round=morning#horse-{string[0].pk}"
    client.post("/checks/", {"kind": "temperature", "horse": str(string[0].pk), "temperature-celsius": "101.1 F"})
    assert [(one.kind, one.values) for one in Entry.objects.order_by("pk")] == [
        ("as_usual", {}),
        ("temperature", {"celsius": 38.39}),
    ]
    (address, *_rest) = re.findall(r'action="(/diary/\d+/mend/)"', row(text(client), string[0]))
    client.post(address, {"withdraw": "1"})
    assert "Measured, not looked at yet." in words(row(text(client), string[0]))


def test_what_cannot_be_right_is_said(client_as: ClientAs, string: list[Horse]) -> None:
    """A temperature that no horse has is refused with the reason, and nothing is entered."""
    asked = {"kind": "temperature", "horse": str(string[0].pk), "temperature-celsius": "50"}
    response = client_as("carer").post("/checks/", asked)
    assert response.status_code == 400
    assert "35 and 43 °C" in response.content.decode()
    assert not Entry.objects.exists()


def test_links_for_want_of_a_script_lead_to_the_kind(client_as: ClientAs, string: list[Horse]) -> None:
    """Where no script opens a panel its button is a link to the diary with horse and kind chosen."""
    client = client_as("carer")
    address = re.search(r'data-opens="not_right" href="([^"]+)"', row(text(client), string[0]))
    assert address
    page = text(client, address[1].replace("&amp;", "&"))
    assert re.search(rf'name="horse" value="{string[0].pk}" required checked', page)
    assert re.search(r'data-kind="not_right"[^>]* open', page)


def test_each_takes_back_his_own_and_the_head_person_any(client_as: ClientAs, string: list[Horse]) -> None:
    """Another's tap is taken back by the head person, the assistant or the trainer, and by nobody else."""
    entered(string[0], "as_usual")
    may = {login: "/mend/" in row(text(client_as(login)), string[0]) for login in ("carer", "rider", "head_person")}
    assert may == {"carer": True, "rider": False, "head_person": True}


def test_who_may_walk_a_round(client_as: ClientAs, client: Client, string: list[Horse]) -> None:
    """All who work in the yard may, also on a barn phone; an owner may not, and a stranger is sent to the door."""
    for login in ("trainer", "assistant", "head_person", "carer", "rider", "secretary", "vet"):
        assert client_as(login).get("/checks/").status_code == 200
    assert client_as("owner").get("/checks/").status_code == 403
    assert client.get("/checks/").status_code == 302
    phone = barn_phone(client, "carer")
    assert phone.get("/checks/").status_code == 200
    assert phone.get("/diary/news/").status_code == 204


def barn_phone(client: Client, login: str) -> Client:
    """Return a barn phone on which somebody has come in by PIN."""
    _device, token = add_shared("Top barn", Person.objects.get(login="trainer"))
    client.cookies["upsides_device"] = token
    person = Person.objects.get(login=login)
    assert client.post(f"/barn/{person.pk}/", {"pin": PIN}).status_code == 302
    return client


def test_a_round_of_the_past_is_to_be_read_only(
    client_as: ClientAs, string: list[Horse], monkeypatch: pytest.MonkeyPatch
) -> None:
    """As of a moment the page says what stood then, and has nothing to tap, no script, and no news."""
    for model in (Horse, Person, Box, Stand, Yard):
        model.history.update(history_date=DAWN - timedelta(days=40))
    entered(string[0], "as_usual")
    monkeypatch.setattr(clock, "now", lambda: DAWN + timedelta(days=3))
    entered(string[1], "as_usual")
    page = text(client_as("trainer"), "/checks/?as_of=2026-06-10T05:31")
    assert "1 of 3 in Top looked at." in page
    assert "Not looked at yet." in words(row(page, string[1]))
    main = page[page.index("<main") : page.index("</main>")]
    assert not re.search(r"<button|<form|data-opens|data-news", main)
    assert "checks.js" not in page


def test_a_barn_that_is_not_chosen_keeps_moment_and_round(client_as: ClientAs, string: list[Horse]) -> None:
    """The links to other barns and rounds keep what else was chosen."""
    Stand.objects.create(horse=string[2], box=Box.objects.create(barn="Low", position=9), first_day=date(2026, 6, 10))
    page = text(client_as("trainer"), "/checks/?round=evening&as_of=2026-07-01T05:30")
    assert 'href="?barn=Low&amp;round=evening&amp;as_of=2026-07-01T05%3A30"' in page


def test_a_yard_without_boxes_has_a_round_too(client_as: ClientAs, string: list[Horse]) -> None:
    """Where no boxes were entered all horses in training stand on one round."""
    Stand.objects.all().delete()
    page = text(client_as("carer"))
    assert "0 of 3 looked at." in page
    assert all(horse.name in page for horse in string)


def test_the_number_of_queries_does_not_grow(client_as: ClientAs, string: list[Horse]) -> None:
    """A page with many entries asks the books no more often than one with few."""
    client = client_as("trainer")
    entered(string[0], "as_usual")
    text(client)
    with CaptureQueriesContext(connection) as few:
        text(client)
    for horse in string:
        entered(horse, "as_usual")
        entered(horse, "temperature", celsius="38.1")
    with CaptureQueriesContext(connection) as many:
        text(client)
    assert len(many) <= len(few) <= 40


def test_news_are_not_modified_until_something_was_entered(client_as: ClientAs, string: list[Horse]) -> None:
    """Asked with the last answer's mark the books say that nothing is new, at the cost of one query of their own."""
    client = client_as("carer")
    page = text(client)
    seen = re.search(r'data-seen="([^"]+)"', page)
    assert seen
    asked = {"if-none-match": f'"{seen[1]}"', "x-by-itself": "1"}
    assert client.get("/diary/news/", headers=asked).status_code == 304
    entered(string[0], "as_usual")
    with CaptureQueriesContext(connection) as queries:
        response = client.get("/diary/news/", headers=asked)
    assert response.status_code == 204
    assert len([one for one in queries.captured_queries if "books_entry" in one["sql"]]) == 1
    assert len(queries) <= 7
    assert client.get("/diary/news/", headers={"if-none-match": response.headers["ETag"]}).status_code == 304


def test_asking_for_news_keeps_no_barn_phone_signed_in(client: Client, string: list[Horse]) -> None:
    """What a page asks by itself is no use of a barn phone, so its session ends ten minutes after the last tap."""
    phone = barn_phone(client, "carer")
    phone.get("/checks/")
    asked = {"x-by-itself": "1"}
    by_itself = [phone.get(address, headers=asked).cookies for address in ("/diary/news/", "/checks/")]
    assert all("sessionid" not in cookies for cookies in by_itself)
    assert "sessionid" in phone.get("/checks/").cookies
    assert Device.objects.filter(shared=True).count() == 1


def test_the_kept_page_knows_every_kind_and_no_horse(client_as: ClientAs) -> None:
    """The page that a phone keeps has a row to copy with all controls, and the titles of all kinds."""
    page = text(client_as("carer"), "/checks/shell/")
    assert offered(page) >= {
        "as_usual",
        "legs_felt",
        "temperature",
        "feed_left",
        "leg",
        "shoe",
        "mass",
        "droppings",
        "not_right",
    }
    said = json.loads(re.search(r'data-words="([^"]+)"', page)[1].replace("&quot;", '"').replace("&#x27;", "'"))
    assert {"as_usual", "note", "temperature"} <= said["titles"].keys()
    assert set(said["looked"]) == LOOKED
