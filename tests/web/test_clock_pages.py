"""The stopwatch's page: what it says of the day, what a phone gets to keep, and what becomes of what it sends."""

import json
import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils.html import strip_tags

from mornings import DAWN, DAY, Hands, enter, horses, who
from upsides.books.diary.clocked import LEFT
from upsides.books.models import Entry, Gallop, Person, Role
from upsides.books.services import devices
from upsides.books.services.lists import order
from worlds import ClientAs

pytestmark = pytest.mark.django_db
THREE = "1f 15.4, 2f 29.1, 3f 42.8"


@pytest.fixture(autouse=True)
def hands(loaded: object, monkeypatch: pytest.MonkeyPatch) -> Hands:
    """A yard at dawn whose clock does not stand still."""
    return Hands(monkeypatch)


@pytest.fixture
def trainer(client_as: ClientAs) -> Client:
    return client_as("trainer")


def text(client: Client, address: str = "/clock/") -> str:
    response = client.get(address)
    assert response.status_code == 200
    return response.content.decode()


def today(page: str) -> str:
    """Return what the page says of the day, in words."""
    found = re.search(r'<section id="today".*?</section>', page, re.S)
    return " ".join(strip_tags(found[0]).split())


def setting(page: str) -> dict[str, Any]:
    """Return what the page's script begins with."""
    found = re.search(r'data-setting="([^"]*)"', page)
    return dict(json.loads(found[1].replace("&quot;", '"').replace("&#x27;", "'").replace("&amp;", "&")))


def test_the_day_is_said_in_a_sentence(trainer: Client) -> None:
    """How many horses have been clocked today, and when the last of them began; nothing where nothing was."""
    assert "Nothing has been clocked today." in today(text(trainer))
    one, other = horses(2)
    enter("clocked", one, DAWN, splits=THREE)
    assert "1 horse has been clocked today, at 06:00." in today(text(trainer))
    enter("clocked", other, DAWN + timedelta(minutes=10), splits=THREE)
    assert "2 horses have been clocked today, the last at 06:10." in today(text(trainer))


def test_each_work_is_told_furlong_by_furlong(trainer: Client) -> None:
    """A work says what was done, each furlong with its seconds, how well they are known, and leads to its entry."""
    one, other = horses(2)
    enter("clocked", one, DAWN, splits=THREE, left="plenty", upsides=other.pk)
    page = text(trainer)
    said = today(page)
    assert f"3f in 42.8 s (15.4, 13.7, 13.7), plenty left; upsides {other.name}." in said
    assert "1f15.42f13.73f13.7" in said.replace(" ", "")
    assert "Each is known to about 0.2 s." in said
    assert who("trainer").name in said
    entry = Entry.objects.get(kind="clocked")
    assert f'href="/diary/{entry.pk}/"' in page
    assert "How much was left" in text(trainer, f"/diary/{entry.pk}/")  # and can be corrected there, field by field


@pytest.mark.parametrize(
    ("splits", "said", "said_of_other"),
    [
        ("1f 15.4, 2f 29.8", "0.7 s behind {other} at 2f, give or take 0.2.", "0.7 s in front of {one} at 2f"),
        ("1f 15.4, 2f 29.2", "With {other} at 2f, as far as a thumb can tell: 0.1 s apart.", "With {one} at 2f"),
    ],
)
def test_two_that_were_clocked_together_are_compared(
    trainer: Client, splits: str, said: str, said_of_other: str
) -> None:
    """Who was in front at the last mark is said with its error, sqrt(2) times 0.15 s, and not where that is more."""
    one, other = horses(2)
    enter("clocked", one, DAWN, splits=splits, upsides=other.pk)
    enter("clocked", other, DAWN, splits="1f 15.4, 2f 29.1", upsides=one.pk)
    page = today(text(trainer))
    for words in (said, said_of_other):
        assert words.format(one=one.name, other=other.name) in page


def test_furlongs_without_a_mark_are_said_to_be_guessed(trainer: Client) -> None:
    """Where marks do not stand at furlongs, furlongs are taken at an even speed, and the page says so."""
    enter("clocked", horses(1)[0], DAWN, splits="400 m 26, 800 m 50")
    said = today(text(trainer))
    assert "1f13.12f13.13f12.1" in said.replace(" ", "")
    assert "Taken at an even speed where there was no mark" in said


def test_less_than_a_furlong_is_told_between_marks(trainer: Client) -> None:
    """A work over less than a furlong has no furlong to tell, so its sections are told."""
    enter("clocked", horses(1)[0], DAWN, splits="60 m 4, 120 m 7.5")
    assert "60m4.0120m3.5" in today(text(trainer)).replace(" ", "")


def test_what_was_corrected_stands_as_corrected(trainer: Client) -> None:
    """Of a corrected work the correction is shown, of a withdrawn one nothing."""
    entry = enter("clocked", horses(1)[0], DAWN, splits=THREE)
    fields = {"clocked-splits": "1f 15.4, 2f 29.1", "clocked-left": "some"}
    assert trainer.post(f"/diary/{entry.pk}/mend/", fields).status_code == 302
    assert "2f in 29.1 s (15.4, 13.7), some left." in today(text(trainer))
    last = Entry.objects.filter(kind="clocked").latest("pk")
    trainer.post(f"/diary/{last.pk}/mend/", {"withdraw": "1"})
    assert "Nothing has been clocked today." in today(text(trainer))


def test_the_script_begins_with_what_was_ordered(trainer: Client) -> None:
    """The page carries this morning's works with riders and their weights, gallops and the marks of each."""
    one, other = horses(2)
    rider = Person.objects.get(login="rider")
    Person.objects.filter(pk=rider.pk).update(weight_kg=57.5)
    gallop = Gallop.objects.create(name="Cowslip Strip", surface="turf", length_m=700, marks=[201, 402, 603])
    for horse, beside in ((one, other), (other, one)):
        typed = {"exercise": "half_speed", "upsides": str(beside.pk), "gallop": str(gallop.pk), "rider": str(rider.pk)}
        order(horse.pk, DAY, typed, who("trainer"))
    found = setting(text(trainer))
    assert found["marks"] == {str(gallop.pk): [201, 402, 603]}
    assert found["weights"] == {str(rider.pk): 57.5}
    assert [gallop.pk, "Cowslip Strip"] in found["gallops"]
    (work,) = found["mornings"][0]
    assert [(runner["horse"], runner["rider"]) for runner in work["runners"]] == [
        (one.pk, rider.pk),
        (other.pk, rider.pk),
    ]
    assert work["runners"][0]["instruction"] == "half_speed"


def test_a_phone_keeps_today_and_tomorrow(trainer: Client, hands: Hands) -> None:
    """What was ordered in the evening for the next day is kept on the phone, which then opens without signal."""
    order(horses(1)[0].pk, DAY + timedelta(days=1), {"exercise": "fast"}, who("trainer"))
    told = trainer.get("/clock/works.json")
    assert told.headers["Cache-Control"] == "no-store"
    assert [len(morning) for morning in told.json()["mornings"]] == [0, 1]
    hands.to(DAWN + timedelta(days=1))
    assert [len(morning) for morning in trainer.get("/clock/works.json").json()["mornings"]] == [1, 0]


def test_the_list_of_gallops_has_their_marks(client_as: ClientAs) -> None:
    """Marks are kept with the names of gallops, the same for everybody, because they are nobody's."""
    gallop = Gallop.objects.create(name="Cowslip Strip", surface="turf", length_m=500)
    lists = [client_as(login).get("/diary/horses.json").json() for login in ("trainer", "carer")]
    assert lists[0] == lists[1]
    assert lists[0]["marks"][str(gallop.pk)] == [201.2, 402.3]


@pytest.mark.parametrize("role", [Role.RIDER, Role.CARER, Role.SECRETARY, Role.VET, Role.OWNER])
def test_others_do_not_get_what_is_ordered_or_weighed(client_as: ClientAs, role: Role) -> None:
    """Whoever does not clock is refused page and works, and the pages of the diary do not carry them either."""
    client = client_as(role.value)
    assert client.get("/clock/").status_code == client.get("/clock/works.json").status_code == 403
    if role is not Role.OWNER:
        assert "clocked" not in client.get("/diary/author.json").json()["author"]["kinds"]
        assert "mornings" not in text(client, "/diary/")


def test_everybody_who_works_there_reads_what_was_clocked(client_as: ClientAs) -> None:
    """A clocked work stands in the diary of the day for riders and those who look after horses."""
    enter("clocked", horses(1)[0], DAWN, splits=THREE)
    for login in ("rider", "carer"):
        assert "3f in 42.8 s (15.4, 13.7, 13.7)" in text(client_as(login), "/diary/")


def parcel(*entries: dict[str, Any]) -> dict[str, Any]:
    return {"sent_at": DAWN.isoformat(), "entries": list(entries)}


def test_two_horses_sent_from_a_phone_are_in_the_books_once(client: Client) -> None:
    """Sent twice, as when the answer was lost, the two entries of a work are two rows, at the moment of the start."""
    phone, _ = devices.add_own(who("head_person"), "hers")
    one, other = horses(2)
    began = (DAWN - timedelta(minutes=20)).isoformat()
    entries = [
        {
            "client_id": str(uuid4()), "token": devices.author_token(phone, who("head_person")), "kind": "clocked",
            "horse": horse.pk, "made_at": (DAWN - timedelta(minutes=18)).isoformat(), "happened_at": began,
            "values": {"splits": splits, "upsides": str(beside.pk), "left": "some", "rider_kg": "9-2", "clock": "thumb",
                       "gallop": "", "instruction": "bridle", "rider": "", "text": ""},
        }
        for horse, beside, splits in ((one, other, "201.2:15.42 402.3:29.10"), (other, one, "201.2:15.50 402.3:29.40"))
    ]  # fmt: skip
    outcomes = []
    for _ in range(2):
        answer = client.post("/diary/send/", json.dumps(parcel(*entries)), content_type="application/json")
        outcomes.append([one["outcome"] for one in answer.json()["answers"]])
    assert outcomes == [["recorded", "recorded"], ["already", "already"]]
    rows = Entry.objects.filter(kind="clocked").order_by("pk")
    assert [row.horse_id for row in rows] == [one.pk, other.pk]
    assert rows[0].values == {
        "splits": [[201.2, 15.42], [402.3, 29.1]],
        "instruction": "bridle",
        "left": "some",
        "rider_kg": 58.1,
        "upsides": [other.pk],
        "clock": "thumb",
    }
    assert {row.happened_at for row in rows} == {DAWN - timedelta(minutes=20)}


def test_the_diarys_own_form_takes_times_from_paper(trainer: Client) -> None:
    """Who clocked with a stopwatch of his own types the times into the diary; a fault is told there."""
    horse = horses(1)[0]
    typed = {"kind": "clocked", "horse": str(horse.pk), "clocked-splits": "1f 15.4, 2f 16.0"}
    refused = trainer.post("/diary/", typed)
    assert refused.status_code == 400
    assert "would be 335" in refused.content.decode()
    assert trainer.post("/diary/", typed | {"clocked-splits": THREE}).status_code == 302
    assert Entry.objects.get(kind="clocked").values["splits"][-1] == [603.5, 42.8]


def test_the_kept_page_asks_the_same(client: Client, trainer: Client) -> None:
    """The page that a phone keeps has every control of the page with signal, and nothing of a day."""
    kept, live = text(client, "/clock/shell/"), text(trainer)
    for page in (kept, live):
        assert page.count('class="lane"') == 2
        assert set(LEFT) <= set(re.findall(r'name="clocked-left" value="(\w+)"', page))
        assert 'data-field="rider_kg"' in page
    assert 'id="today"' not in kept
    assert "data-setting" not in kept


def test_an_earlier_moment_has_no_clock(trainer: Client, hands: Hands) -> None:
    """As of an earlier moment the page opens with what was clocked by then, and has no stopwatch and no orders."""
    enter("clocked", horses(1)[0], DAWN, splits=THREE)
    moment = (DAWN + timedelta(hours=1)).isoformat().replace("+", "%2B")
    hands.to(DAWN + timedelta(days=3))
    page = text(trainer, f"/clock/?as_of={moment}")
    assert "1 horse has been clocked today" in today(page)
    assert 'id="running"' not in page
    assert "data-setting" not in page


def test_the_number_of_queries_does_not_grow(trainer: Client) -> None:
    """Twice as many clocked works and orders ask the database no more often."""

    def asked() -> int:
        text(trainer)
        with CaptureQueriesContext(connection) as queries:
            text(trainer)
        return len(queries)

    def more(some: list[Any]) -> None:
        for one, other in zip(some[::2], some[1::2], strict=True):
            enter("clocked", one, DAWN, splits=THREE, upsides=other.pk)
            order(one.pk, DAY, {"exercise": "fast", "upsides": str(other.pk)}, who("trainer"))
            order(other.pk, DAY, {"exercise": "fast", "upsides": str(one.pk)}, who("trainer"))

    rows = horses(8)
    more(rows[:4])
    before = asked()
    more(rows[4:])
    assert asked() == before
