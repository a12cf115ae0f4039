"""The morning, the lots and tomorrow's list as pages and on paper."""

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdfium2 import PdfDocument

import worlds
from mornings import DAWN, DAY, Hands, enter, horses, only, who
from upsides.books.models import Box, Engagement, Entry, Horse, Release, Sight, Stand
from upsides.books.queries import moments
from upsides.books.queries.lots import orders
from upsides.books.services.lists import make_list, order, ride_done
from upsides.web.morning import evening_page

TOMORROW = DAY + timedelta(days=1)


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Three horses in two barns; all others are out of the way."""
    three = only(3)
    for place, (barn, name, horse) in enumerate(zip(("Top", "Top", "Low"), ("1", "2", "1"), three, strict=True)):
        box = Box.objects.create(barn=barn, name=name, position=place)
        Stand.objects.create(horse=horse, box=box, first_day=date(2029, 1, 1))
    return three


def told(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200, answer.content.decode()[:400]
    text = re.sub(r"<(script|style).*?</\1>", " ", answer.content.decode(), flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def printed(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.headers["Content-Type"] == "application/pdf", answer.content.decode()
    return " ".join(page.get_textpage().get_text_bounded() for page in PdfDocument(answer.content))


def test_the_morning_opens_with_one_sentence(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """How many go out, in how many lots, and how many need eyes on first; then who, why, and since when."""
    a, b, c = string
    order(a.pk, DAY, {"exercise": "hack_canter", "lot": "1", "rider": str(who("rider").pk)}, who("trainer"))
    order(b.pk, DAY, {"exercise": "led"}, who("trainer"))
    enter("temperature", c, hands.back(hours=1), celsius="39.1")
    text = told(client_as("trainer"), "/")
    assert "1 of 3 horses goes out this morning, in 1 lot. 1 horse needs eyes on first." in text
    assert f"{c.name} Low 1 Temperature 39.1 °C. 05:00" in text
    assert "Top 2 of 2" in text
    unseen = text.partition("Not looked at yet")[2].partition("Lots")[0]
    assert f"Low 1 of 1: 1 {c.name}" in unseen  # a temperature does not say that somebody looked at the horse
    enter("as_usual", c, hands.at)
    order(c.pk, DAY, {"exercise": "hack_canter", "lot": "1", "rider": str(who("rider").pk)}, who("trainer"))
    Horse.objects.filter(pk=c.pk).update(left=DAY)
    assert "1 of 2 horses goes out this morning, in 1 lot." in told(client_as("trainer"), "/")  # one left since
    Horse.objects.filter(pk=c.pk).update(left=None)
    assert "Low" not in told(client_as("trainer"), "/").partition("Not looked at yet")[2].partition("Lots")[0]


def test_each_reason_is_one_tap_from_its_entry(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """A reason links to the entry that it comes from."""
    entry = enter("not_right", string[0], hands.back(hours=1), ask_vet="1", limb="near_fore")
    page = client_as("trainer").get("/").content.decode()
    assert f'href="/diary/{entry.pk}/"' in page


def test_an_owner_comes_to_his_horses(client_as: worlds.ClientAs) -> None:
    """The first page of somebody who does not work in the yard is the string."""
    assert client_as("owner").get("/").headers["Location"] == "/string/"


def test_deadlines_are_plans(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """Deadlines stand there for the trainer, in the course's time, logged; for a rider only once plans are released."""
    at = datetime(2030, 5, 2, 9, tzinfo=UTC)
    race = {"race": "Maiden", "course": "Tallow", "zone": "Asia/Tokyo", "day": DAY + timedelta(days=4)}
    Engagement.objects.create(horse=string[0], state="entered", declare_by=at, **race)
    text = told(client_as("trainer"), "/")
    assert "declare by 2 May, 18:00: Maiden, Tallow, 5 May" in text
    assert Sight.objects.filter(person=who("trainer"), what="plans").exists()
    assert "declare by" not in told(client_as("rider"), "/")
    Release.objects.create(what="plans", role="rider", given_by=who("trainer"), given_at=DAWN)
    assert "declare by" in told(client_as("rider"), "/")


def test_the_list_is_made_changed_and_marked(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """One press orders the usual for all; a change says what it was today; the same change twice writes nothing."""
    trainer, (a, b, _) = client_as("trainer"), string
    for one in (a, b):
        enter("exercise", one, hands.back(days=6), exercise="steady_canter")
        order(one.pk, DAY, {"exercise": "steady_canter", "lot": "1", "rider": str(who("rider").pk)}, who("trainer"))
    assert "Nothing is ordered for Thursday 2 May yet." in told(trainer, "/evening/")
    trainer.post("/evening/make/", {"day": str(TOMORROW)})
    assert "Every horse has an order for Thursday 2 May." in told(trainer, "/evening/")
    form = {
        "ordered-exercise": "fast",
        "ordered-lot": "2",
        "ordered-furlongs": "3f",
        "ordered-rider": str(who("rider").pk),
    }
    for _twice in range(2):
        answer = trainer.post(f"/evening/{a.pk}/?day={TOMORROW}", form)
        assert answer.headers["Location"] == f"/evening/?day={TOMORROW}#horse-{a.pk}"
    assert Entry.objects.filter(kind="ordered", horse=a, happened_at__date=TOMORROW).count() == 2
    text = told(trainer, "/evening/")
    assert "fast work, 3f" in text
    assert "was long steady canter; lot 1" in text


def test_a_wrong_order_is_said_and_kept_on_the_page(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """A distance that cannot be is refused in words, and what else was typed stands there still."""
    answer = client_as("trainer").post(
        f"/evening/{string[0].pk}/?day={TOMORROW}", {"ordered-exercise": "fast", "ordered-furlongs": "90"}
    )
    assert answer.status_code == 400
    assert "Distance '90'" in unescape(answer.content.decode())
    assert 'value="fast" selected' in answer.content.decode()
    assert orders(moments.now(), TOMORROW) == {}


def test_a_lot_is_written_as_done_on_the_page(string: list[Horse], client_as: worlds.ClientAs) -> None:
    """One press writes of a lot that all did what was ordered."""
    trainer = client_as("assistant")
    order(string[0].pk, DAY, {"exercise": "hack_canter", "lot": "1"}, who("trainer"))
    assert "1 lot with 1 horse; none is written as done yet." in told(trainer, "/lots/")
    trainer.post("/lots/done/", {"lot": "1"})
    assert "1 written as done." in told(trainer, "/lots/")


def test_a_lot_of_which_one_is_done_is_not_said_to_have_none_done(
    string: list[Horse], client_as: worlds.ClientAs
) -> None:
    """With one horse of two written as done no lot is done, but a horse is: both are said."""
    for one in string[:2]:
        order(one.pk, DAY, {"exercise": "hack_canter", "lot": "1"}, who("trainer"))
    ride_done(DAY, string[0].pk, who("trainer"))
    text = told(client_as("assistant"), "/lots/")
    assert "1 lot with 2 horses; no lot is written as done yet, but 1 horse is." in text


@pytest.mark.parametrize("sheet", ["morning", "evening", "checks"])
def test_sheets_print(sheet: str, string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """Each sheet names the yard, the day and every horse, on A4 and on letter paper; an unknown size is refused."""
    enter("temperature", string[0], hands.back(hours=1), celsius="39.1")
    for day in (DAY, TOMORROW):
        make_list(day, who("trainer"), {})
    trainer = client_as("trainer")
    text = printed(trainer, f"/{sheet}.pdf")
    assert "Tallowmere" in text
    assert all(one.name in text for one in string)
    assert ("2 May 2030" if sheet == "evening" else "1 May 2030") in text
    assert printed(trainer, f"/{sheet}.pdf?paper=letter")
    assert trainer.get(f"/{sheet}.pdf?paper=napkin").status_code == 400


def test_days_that_are_none_are_refused(client_as: worlds.ClientAs) -> None:
    """An address with a day that is none, or that no yard has books of, is refused with what was typed."""
    for address in ("/lots/?day=someday", "/evening/?day=2030-13-01", "/evening/?day=9999-12-31"):
        answer = client_as("trainer").get(address)
        assert answer.status_code == 400
        assert address.partition("=")[2] in answer.content.decode()


def test_the_morning_takes_as_many_queries_for_many_horses(hands: Hands, client_as: worlds.ClientAs) -> None:
    """The page asks the books as often for ninety horses as for one."""
    trainer = client_as("trainer")
    make_list(DAY, who("trainer"), {})

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            trainer.get("/")
        return len(queries)

    trainer.get("/")
    many = asked()
    Horse.objects.exclude(pk=horses(1)[0].pk).update(left=date(2030, 1, 1))
    assert many <= asked() + 2


def test_on_a_phone_the_next_lot_stands_open(string: list[Horse], hands: Hands, client_as: worlds.ClientAs) -> None:
    """Lots are folded but the next that goes out and those of which a vet said something; a link leads into its own."""
    trainer = client_as("trainer")
    for place, horse in enumerate(string):
        values = {"exercise": "hack_canter", "lot": str(place + 1), "rider": str(who("rider").pk)}
        order(horse.pk, DAY, values, who("trainer"))

    def opens() -> list[bool]:
        page = trainer.get("/lots/").content.decode()
        assert f'</summary>\n<table class="plain cards rides" id="lot-{len(string)}">' in page
        return [bool(found) for found in re.findall(r'<details class="of-lot"( open)?>', page)]

    folded = [False] * len(string)
    assert opens() == [True, *folded[1:]]
    trainer.post("/lots/done/", {"lot": "1"})
    assert opens() == [False, True, *folded[2:]]
    enter("vet_finding", string[-1], hands.back(minutes=5), "vet", text="lame", advice="walk", until=str(DAY))
    assert opens() == [False, True, *folded[3:], True]


def test_tomorrow_s_list_is_folded_by_barn(
    string: list[Horse], monkeypatch: pytest.MonkeyPatch, client_as: worlds.ClientAs
) -> None:
    """Each barn says how many horses it has and how many lack an order; of few horses all stand open on a phone."""
    trainer = client_as("trainer")
    order(string[0].pk, TOMORROW, {"exercise": "walk", "lot": "1"}, who("trainer"))
    page = trainer.get("/evening/").content.decode()
    assert page.count('<details class="of-lot" open>') == page.count('class="of-lot"') > 1
    assert "2 horses, 1 not ordered yet" in page or "2 horses, 2 not ordered yet" in page
    monkeypatch.setattr(evening_page, "FEW", 2)
    assert '<details class="of-lot" open>' not in trainer.get("/evening/").content.decode()
    past = trainer.get(f"/evening/?day={DAY - timedelta(days=1)}").content.decode()
    assert "Change what" not in past
    assert "Order the usual" not in past
    assert "<h1>The list</h1>" in past
