"""Medicines on pages: the register, stand-downs, vaccination records, what is due, contacts."""

import csv
import io
import re
from collections.abc import Callable
from datetime import date, timedelta
from html import unescape
from pathlib import Path
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from medicine_yard import boosted, dose, engage, enter, horse, person, stands_in, treat
from upsides.books import clock
from upsides.books.models import Entry
from upsides.books.services.diary import correct, withdraw
from upsides.rules import CAUTION
from worlds import ClientAs

JOINT = {"what": "corticosteroid", "route": "ia"}


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


def read(client: Client, address: str, status: int = 200) -> str:
    """Return what a page says, without its tags."""
    answer = client.get(address)
    assert answer.status_code == status
    return said(answer.content.decode())


def said(page: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page))).replace("\u00a0", " ")


def medicines(query: str = "") -> str:
    return f"/horse/{horse().pk}/medicines/{query}"


def day(when: date) -> str:
    return f"{when.day} {when:%B %Y}"


def test_six_free_days_in_ireland(trainer: Client) -> None:
    """Vaccinated in Ireland a horse runs on the seventh day after: six days free (Irish board, February 2019)."""
    today = stands_in("IE")
    dose(horse(), today)
    page = read(trainer, medicines())
    assert (
        f"By the rules known here for Ireland, {horse().name} may not race before {day(today + timedelta(days=7))}"
        in page
    )
    assert f"6 days left free after {day(today)}" in page
    assert "Irish Horseracing Regulatory Board, equine influenza updates" in page


def test_fourteen_days_before_the_race_in_britain(trainer: Client) -> None:
    """After a corticosteroid into a joint the first day is D+15 in Britain, D+9 in Australia, D+7 in South Africa."""
    today = stands_in("GB")
    treat(horse(), today, product="Jointol", **JOINT)
    page = read(trainer, medicines())
    assert f"may not race before {day(today + timedelta(days=15))}, after Jointol (corticosteroid into a joint)" in page
    assert "not on race day or any of the 14 days before" in page
    abroad = read(trainer, medicines("?in=Australia&in=South Africa"))
    assert f"{day(today + timedelta(days=9))} is the first day on which it may run in a race" in abroad
    assert f"{day(today + timedelta(days=7))} is the first day on which it may run in a race" in abroad
    assert f"7 days, {day(today)} being the first of them" in abroad


def test_a_text_that_can_be_read_in_two_ways_says_so(trainer: Client) -> None:
    """Where the published wording leaves the count open, the later day stands there and that it is the later."""
    today = stands_in("FR")
    treat(horse(), today, **JOINT)
    page = read(trainer, medicines())
    assert f"may not race before {day(today + timedelta(days=15))}" in page
    assert "The wording can be read in two ways; the later day is taken." in page


@pytest.mark.parametrize(("days", "verdict"), [(60, "In order, as far as these rules know."), (61, "Not in order")])
def test_the_sixtieth_day_counts_and_the_next_does_not(trainer: Client, days: int, verdict: str) -> None:
    """A second dose on day 60 keeps the course, one on day 61 does not (Racehorse Owners Association, 2021)."""
    today = stands_in("GB")
    second = today - timedelta(days=20)
    dose(horse(), second - timedelta(days=days))
    dose(horse(), second)
    page = read(trainer, medicines())
    assert f"If it ran today {verdict}" in page
    assert ("The course begins again." in page) is (days == 61)


def test_the_day_on_which_entries_close_counts_too(trainer: Client) -> None:
    """A record that runs out between race and entry is told on each day: the entry's in order, the race's not."""
    today = stands_in("GB")
    boosted(horse(), today - timedelta(days=175))
    engage(horse(), today + timedelta(days=20), closes=today + timedelta(days=2))
    page = read(trainer, medicines())
    assert "Ling Stakes, Tarn Moor: entries close In order" in page
    assert "Ling Stakes, Tarn Moor: race day Not in order: the last dose" in page
    assert "The next dose suits every engagement on" in page


def test_another_day_can_be_asked_about(trainer: Client) -> None:
    """Whether a record is in order on a day that somebody names is answered for that day."""
    today = stands_in("GB")
    boosted(horse(), today - timedelta(days=100))
    page = read(trainer, medicines(f"?on={today + timedelta(days=200)}"))
    assert "If it ran today In order" in page
    assert "If it ran on that day Not in order" in page
    assert "2026-06-21" in read(trainer, medicines("?on=tomorrow"), 400)


def test_published_times_stay_apart_and_give_no_day(trainer: Client) -> None:
    """Detection times stand under their own heading with authority and edition; no day of the horse is made of them."""
    today = stands_in("GB")
    treat(horse(), today, substance="acepromazine", withdrawal_days="5")
    page = read(trainer, medicines())
    assert "Detection times" in page
    assert "72 hours (3 days)" in page
    assert "Britain, 2011" in page
    assert "The vet set a withdrawal time of 5 days; how they are counted is for the vet to say." in page
    assert day(today + timedelta(days=3)) not in page


@pytest.mark.parametrize("address", [medicines, lambda: "/medicines/", lambda: "/due/"])
def test_the_caution_stands_beside_every_date(trainer: Client, address: Callable[[], str]) -> None:
    """Wherever a stand-down or a withdrawal time is shown, all that the authorities say beside it is shown too."""
    treat(horse(), stands_in("GB") - timedelta(days=5), withdrawal_days="5", **JOINT)
    page = read(trainer, address())
    assert all(line in page for line in CAUTION)


def test_nothing_is_called_clear_or_safe(trainer: Client) -> None:
    """No page on medicines uses a word that would promise what a sample shows, with or without entries."""
    today = stands_in("GB")
    everything = [medicines("?in=Britain&in=Ireland&in=France&in=United States"), "/medicines/", "/due/?days=28",
                  "/isolation/", f"/horse/{horse().pk}/contacts/"]  # fmt: skip
    empty = [read(trainer, address) for address in everything]
    treat(horse(), today, substance="clenbuterol", what="clenbuterol", course_end=today.isoformat())
    treat(horse(), today - timedelta(days=40), **JOINT)
    boosted(horse(), today - timedelta(days=2))
    engage(horse(), today + timedelta(days=9), closes=today)
    for page in [*empty, *(read(trainer, address) for address in everything)]:
        assert not re.search(r"\b(clear\w*|safe\w*|fit to (run|race))\b", page, re.IGNORECASE)


def test_the_register_says_what_lacks_and_strikes_what_was_replaced(trainer: Client) -> None:
    """Each line says what it lacks, with the rule below; a corrected line is struck and names what took its place."""
    today = stands_in("GB")
    old = treat(horse(), today, by="head_person")
    typed = {"product": "Fernwash", "quantity": "5 ml", "route": "oral", "what": "other", "reason": "Cough"}
    correct(old, typed, person("trainer"), client_id=uuid4(), made_at=clock.now())
    answer = trainer.get("/medicines/")
    assert answer.content.decode().count('<li class="struck">') == 1
    page = said(answer.content.decode())
    assert "Replaced by 2, by trainer one on" in page
    assert "Takes the place of 1." in page
    assert "Lacks: No withdrawal time, and not said to be out of the food chain." in page
    assert "Veterinary Medicines Regulations 2013 (SI 2013/2033), regulation 19(2)" in page


def test_the_register_goes_out_as_a_sheet_and_as_a_table(trainer: Client) -> None:
    """The sheet is a PDF; the table has every line, withdrawn ones too, and no cell that a spreadsheet computes."""
    today = stands_in("GB")
    treat(horse(), today, product="=Fernwash", batch="B7")
    withdraw(treat(horse(1), today), person("trainer"), client_id=uuid4(), made_at=clock.now())
    sheet = trainer.get(f"/medicines/register.pdf?horse={horse().pk}")
    assert (sheet.status_code, sheet["Content-Type"]) == (200, "application/pdf")
    assert sheet.content.startswith(b"%PDF-")
    table = b"".join(trainer.get("/medicines/register.csv").streaming_content).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(table)))
    assert [(row["Number"], row["Product"], row["Batch"], row["Stands"]) for row in rows] == [
        ("1", "'=Fernwash", "B7", "yes"), ("2", "Fernwash", "", "no"),
    ]  # fmt: skip
    assert "Withdrawn by trainer one" in rows[1]["What took its place"]


def test_a_period_that_cannot_be_is_refused(trainer: Client) -> None:
    """A day that is none, and a period that ends before it begins, are refused in words."""
    assert "2026-06-21" in read(trainer, "/medicines/?from=soon", 400)
    assert "not after the last" in read(trainer, "/medicines/?from=2026-02-02&to=2026-02-01", 400)
    assert "1 to 366" in read(trainer, "/due/?days=0", 400)


def test_todays_dose_of_a_course_is_one_tap_and_a_second_is_asked_about(trainer: Client) -> None:
    """One tap repeats a running course's treatment as given by whoever tapped; a second one waits for a yes."""
    today = stands_in("GB")
    first = treat(horse(), today - timedelta(days=1), course_end=today.isoformat(), giver=str(person("vet").pk))
    sent = {"entry": first.pk, "client_id": str(uuid4())}
    assert trainer.post(medicines("again/"), sent).status_code == 302
    given = Entry.objects.filter(kind="treatment").order_by("pk").last()
    assert given.values == {name: value for name, value in first.values.items() if name != "giver"}
    assert given.author.login == "trainer"
    again = trainer.post(medicines("again/"), sent | {"client_id": str(uuid4())})
    assert "trainer one entered: Treatment" in said(again.content.decode())
    assert Entry.objects.filter(kind="treatment").count() == 2
    assert trainer.post(medicines("again/"), sent | {"client_id": str(uuid4()), "again": "1"}).status_code == 302
    assert Entry.objects.filter(kind="treatment").count() == 3


def test_a_course_that_has_ended_is_not_gone_on_with(trainer: Client) -> None:
    """What has ended, or is another horse's, is refused and nothing is written."""
    today = stands_in("GB")
    over = treat(horse(), today - timedelta(days=3), course_end=(today - timedelta(days=1)).isoformat())
    other = treat(horse(1), today - timedelta(days=3), course_end=today.isoformat())
    for number in (over.pk, other.pk, ""):
        assert trainer.post(medicines("again/"), {"entry": number}).status_code == 400
    assert Entry.objects.filter(kind="treatment").count() == 2


def test_a_dose_from_the_passport_stands_on_its_own_day(trainer: Client) -> None:
    """A dose of an earlier day is entered for that day; one of a day to come is refused with what was typed kept."""
    today = stands_in("GB")
    sent = {"vaccination-disease": "influenza", "vaccination-product": "Gustavac", "client_id": str(uuid4())}
    past = today - timedelta(days=100)
    assert trainer.post(medicines("dose/"), sent | {"on": past.isoformat()}).status_code == 302
    entry = Entry.objects.get(kind="vaccination")
    assert entry.happened_at.astimezone(clock.place().zone).date() == past
    refused = trainer.post(medicines("dose/"), sent | {"on": (today + timedelta(days=1)).isoformat()})
    assert refused.status_code == 400
    assert "It is yet to come" in said(refused.content.decode()) or "it is yet to come" in said(
        refused.content.decode()
    )
    assert 'value="Gustavac"' in refused.content.decode()
    assert Entry.objects.filter(kind="vaccination").count() == 1


def test_broken_rules_of_the_yard_are_said(trainer: Client, loaded: worlds.Yard) -> None:
    """A rules.toml that cannot be used is said on the pages, and the shipped rules answer all the same."""
    today, file = stands_in("GB"), Path(loaded.library) / "rules.toml"
    before = file.read_text() if file.exists() else None
    treat(horse(), today, **JOINT)
    file.write_text("topic = nonsense")
    try:
        for address in (medicines(), "/due/", "/medicines/"):
            assert "The yard's own rules cannot be used" in read(trainer, address)
        assert f"may not race before {day(today + timedelta(days=15))}" in read(trainer, medicines())
    finally:
        file.unlink() if before is None else file.write_text(before)


def test_due_tells_what_and_by_when(trainer: Client) -> None:
    """The list names horse, day and what is due, overdue first, and the horses without any dose."""
    today = stands_in("GB")
    dose(horse(), today - timedelta(days=61))
    enter("farrier", horse(1), {"done": "new", "again": today.isoformat()}, today - timedelta(days=30))
    page = read(trainer, "/due/")
    assert "1 thing is due in the next 7 days, and 1 is overdue." in page
    assert page.index("Overdue") < page.index(horse().name) < page.index("Farrier again") < page.index(horse(1).name)
    assert "Against equine influenza a course begins again" in page
    assert "horses have no dose entered" in page


def test_contacts_and_isolation_are_told(trainer: Client) -> None:
    """The page of contacts says how, and how surely; that of arrivals where each stands and what is not measured."""
    today = stands_in("GB")
    for place in (0, 1):
        enter("travel", horse(place), {"lorry": "Blue lorry", "to": "Moor"}, today)
    page = read(trainer, f"/horse/{horse().pk}/contacts/")
    assert f"{horse().name} was in contact with 1 horse in the 14 days to {day(today)}" in page
    assert "Sure: the same lorry to the same place on the same day." in page
    new = horse(2)
    new.joined = today
    new.save()
    arrived = read(trainer, "/isolation/")
    assert "1 horse has come in the last 14 days. 1 does not stand in an isolation box." in arrived
    assert f"{new.name}" in arrived
    assert "not measured" in arrived


def test_owners_and_riders_see_none_of_it(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """What a horse was given, what is due and whom it met is not for owners, riders or those who look after horses."""
    addresses = ["/medicines/", "/medicines/register.pdf", "/medicines/register.csv", "/due/", "/isolation/",
                 medicines(), f"/horse/{horse().pk}/contacts/"]  # fmt: skip
    for login in ("owner", "rider", "carer"):
        assert {client_as(login).get(address).status_code for address in addresses} == {403}
    for login in ("vet", "head_person", "secretary", "assistant"):
        assert {client_as(login).get(address).status_code for address in addresses} == {200}


def test_more_entries_cost_no_more_reads(trainer: Client) -> None:
    """The register, the list of what is due and a horse's page take as many reads for many entries as for few."""
    today = stands_in("GB")

    def fill(place: int) -> None:
        treat(horse(place), today, by="head_person", prescriber=str(person("vet").pk), course_end=today.isoformat())
        boosted(horse(place), today - timedelta(days=170))
        enter("travel", horse(place), {"lorry": "Blue lorry", "to": "Moor"}, today)

    def reads(address: str) -> int:
        with CaptureQueriesContext(connection) as told:
            assert trainer.get(address).status_code == 200
        return len(told)

    pages = ["/medicines/", "/due/", medicines(), f"/horse/{horse().pk}/contacts/"]
    for place in range(2):
        fill(place)
    assert all(reads(page) for page in pages)  # what the first request of a process loads is kept
    first = [reads(page) for page in pages]
    for place in range(2, 10):
        fill(place)
    assert [reads(page) for page in pages] == first
