"""The diary's pages: entering without a script, correcting, deciding, looking back."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client

from upsides.books import clock
from upsides.books.models import Entry, Horse, Person
from upsides.books.services.diary import Draft, record, withdraw
from worlds import ClientAs

pytestmark = pytest.mark.django_db
STAFF = ("trainer", "assistant", "head_person", "carer", "rider", "secretary", "vet")


@pytest.fixture(autouse=True)
def string(db: None) -> list[Horse]:
    """Two horses of the string, the second the carer's."""
    first, second = Horse.objects.order_by("pk")[:2]
    Horse.objects.filter(pk=second.pk).update(carer=Person.objects.get(login="carer"))
    return [first, second]


def entered(login: str, celsius: str, horse: Horse, **more: object) -> Entry:
    now = clock.now()
    values = {"client_id": uuid4(), "kind": "temperature", "values": {"celsius": celsius}, "made_at": now}
    return record(Draft(**values | {"horse": horse.pk} | more), Person.objects.get(login=login))


def form(horse: Horse, /, **fields: str) -> dict[str, str]:
    return {"client_id": str(uuid4()), "kind": "temperature", "horse": str(horse.pk)} | fields


def text(client: Client, address: str) -> str:
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


@pytest.mark.parametrize("login", STAFF)
def test_everybody_of_the_yard_opens_the_diary(client_as: ClientAs, login: str) -> None:
    """All who work in the yard may open it, and the page opens with how much was entered."""
    assert '<p class="answer">' in text(client_as(login), "/diary/")


def test_nobody_else_does(client_as: ClientAs, client: Client, string: list[Horse]) -> None:
    """An owner is refused, somebody who has not signed in is sent to the door, and so for each page."""
    entry = entered("carer", "38.0", string[0])
    for address in ("/diary/", f"/diary/{entry.pk}/", "/diary/conflicts/", "/diary/author.json", "/diary/horses.json"):
        assert client_as("owner").get(address).status_code == 403
        assert client.get(address).status_code == 302
    assert client_as("carer").post(f"/diary/{entry.pk}/keep/", {}).status_code == 403


def test_only_the_string_is_counted_of_the_string(client_as: ClientAs, string: list[Horse]) -> None:
    """Of the string those count that have an entry which stands, never more than there are; horses that have left are
    told apart, and what is about no horse counts for none."""
    first, second = string
    left = Horse.objects.order_by("pk")[2]
    Horse.objects.exclude(pk__in=[first.pk, second.pk]).update(left="2026-01-01", joined="2025-01-01")
    for horse in (first, second, left):
        entered("carer", "38.0", horse)
    browser = client_as("carer")
    told = text(browser, "/diary/")
    assert "2 of 2 horses have an entry today" in told
    assert "One horse that is not in training has one too." in told
    entry = entered("carer", "38.4", first)
    for one in (entry, Entry.objects.filter(horse=first).exclude(pk=entry.pk).get()):
        withdraw(one, Person.objects.get(login="carer"), client_id=uuid4(), made_at=clock.now())
    assert "1 of 2 horses have an entry today" in text(browser, "/diary/")


def test_own_horses_stand_first(client_as: ClientAs, string: list[Horse]) -> None:
    """The horses that a person looks after stand before all others."""
    names = re.findall(r'name="horse" value="(\d+)"', text(client_as("carer"), "/diary/"))
    assert names[0] == str(string[1].pk)
    assert len(names) == len(set(names)) > 2


def test_entering_without_a_script(client_as: ClientAs, string: list[Horse]) -> None:
    """The form enters, says it back in both scales, keeps the horse chosen, and enters once if sent twice."""
    client = client_as("carer")
    sent = form(string[0], **{"temperature-celsius": "100.4 F"})
    shown = client.post("/diary/", sent, follow=True).content.decode()
    assert f"Entered for {string[0].name}: Temperature 38.0 °C (100.4 °F)." in shown
    assert f'value="{string[0].pk}" required checked' in shown
    client.post("/diary/", sent)
    entry = Entry.objects.get(client_id=sent["client_id"])
    assert (entry.author.login, entry.horse, entry.values) == ("carer", string[0], {"celsius": 38.0})


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"temperature-celsius": "50"}, "lies between 35 and 43 °C"),
        ({"temperature-celsius": "38", "horse": ""}, "Horse: none was chosen"),
        ({"kind": "", "temperature-celsius": "38"}, "no kind of entry"),
        ({"client_id": "x", "temperature-celsius": "38"}, "load the page again"),
    ],
)
def test_what_is_wrong_is_said_beside_what_was_typed(
    client_as: ClientAs, string: list[Horse], wrong: dict[str, str], said: str
) -> None:
    """A refusal stands on the page, what was typed is still in it, and nothing was entered."""
    before = Entry.objects.count()
    response = client_as("carer").post("/diary/", form(string[0], **wrong))
    assert response.status_code == 400
    shown = response.content.decode()
    assert said in shown.replace("&#x27;", "'")
    assert f'name="temperature-celsius" value="{wrong["temperature-celsius"]}"' in shown
    assert Entry.objects.count() == before


def test_today_says_who_when_and_how_late(client_as: ClientAs, string: list[Horse]) -> None:
    """An entry stands with its words, its author and, where it came late, by how much."""
    entered("rider", "38.4", string[0], made_at=clock.now() - timedelta(hours=3))
    page = text(client_as("vet"), f"/diary/?horse={string[0].pk}")
    assert "Temperature 38.4 °C (101.1 °F)." in page
    assert "work rider one" in page
    assert re.search(r"Entered without signal; it arrived 3\shours later", page)


def test_each_may_mend_his_own(client_as: ClientAs, string: list[Horse]) -> None:
    """A carer finds the forms for mending beside his own entries only, a head person beside all."""
    entered("carer", "38.0", string[0])
    entered("rider", "38.1", string[1])
    mend = re.compile(r'action="/diary/\d+/mend/"')
    assert len(mend.findall(text(client_as("carer"), "/diary/"))) == 1
    assert len(mend.findall(text(client_as("head_person"), "/diary/"))) == 2


def test_correcting_and_withdrawing(client_as: ClientAs, string: list[Horse]) -> None:
    """A correction and a withdrawal leave every row to be read, the last in force."""
    entry, client = entered("carer", "38.0", string[0]), client_as("carer")
    client.post(f"/diary/{entry.pk}/mend/", {"client_id": str(uuid4()), "temperature-celsius": "38.6"})
    second = Entry.objects.get(supersedes=entry)
    page = text(client, f"/diary/{entry.pk}/")
    assert '<p class="answer">Temperature 38.6 °C (101.5 °F).</p>' in page
    assert "Temperature 38.0 °C (100.4 °F)." in page
    client.post(f"/diary/{second.pk}/mend/", {"withdraw": "1"})
    page = text(client, f"/diary/{entry.pk}/")
    assert "This was withdrawn; nothing of it stands." in page
    assert client_as("rider").post(f"/diary/{entry.pk}/mend/", {"withdraw": "1"}).status_code == 400
    assert client.get("/diary/999999/").status_code == 404


def test_a_conflict_is_shown_and_settled(client_as: ClientAs, string: list[Horse]) -> None:
    """Whoever opens the diary is told of it; one in charge says which is right, and the other stays to be read."""
    entry = entered("carer", "38.0", string[0])
    rivals = [entered("carer", value, string[0], supersedes=entry.client_id) for value in ("38.5", "39.5")]
    client = client_as("head_person")
    assert "1 entry was corrected in more than one way" in text(client, "/diary/")
    page = text(client_as("vet"), "/diary/conflicts/")
    assert all(words in page for words in ("38.5 °C", "39.5 °C", "says which is right"))
    assert "/keep/" not in page
    assert f"/diary/{rivals[0].pk}/keep/" in text(client, "/diary/conflicts/")
    client.post(f"/diary/{rivals[0].pk}/keep/", {"drop": [rivals[1].pk, "x"]})
    assert "No corrections disagree" in text(client, "/diary/conflicts/")
    assert "39.5 °C" in text(client, f"/diary/{entry.pk}/")
    assert client.post(f"/diary/{rivals[0].pk}/keep/", {"drop": [rivals[1].pk]}).status_code == 400


def test_an_earlier_moment_has_no_forms(client_as: ClientAs, string: list[Horse]) -> None:
    """Looked at as of before, the diary is as it stood, with nothing to fill in."""
    entered("carer", "38.0", string[0])
    then = (clock.now() - timedelta(days=1)).strftime("%Y-%m-%dT%H:%M")
    page = text(client_as("trainer"), f"/diary/?as_of={then}")
    assert "38.0 °C" not in page
    assert 'id="enter"' not in page


def test_notes_are_text_and_nothing_else(client_as: ClientAs, string: list[Horse]) -> None:
    """What somebody writes is shown as written, never run."""
    client = client_as("carer")
    client.post("/diary/", form(string[0], **{"kind": "note", "note-text": "<script>alert(1)</script>\nate up"}))
    page = text(client, "/diary/")
    assert "&lt;script&gt;alert(1)&lt;/script&gt;<br>ate up" in page
