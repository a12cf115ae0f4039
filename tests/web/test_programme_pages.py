"""Pages on races to come: what each says, to whom plans and chances are shown, and what is written down of it."""

import re
from datetime import time, timedelta
from html import unescape
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pypdfium2 import PdfDocument

import worlds
from programmed_yard import code_of, engage_for, forget, handicap_ahead, race, runner, take
from upsides.books import clock
from upsides.books.models import (
    Decision,
    Engagement,
    Horse,
    Inside,
    LetGo,
    Person,
    Release,
    Shift,
    Sight,
    Yard,
)
from upsides.books.queries import moments
from upsides.books.queries.jockeys import Hindrance, Kind
from upsides.books.services.let_go import write_let_go
from upsides.web.programme.jockey_words import against
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def code(loaded: worlds.Yard) -> str:
    """The code of a handicap in eight days; a few horses of the yard are in training."""
    return handicap_ahead(loaded.library)


@pytest.fixture
def horse(code: str) -> Horse:
    """A horse with a mark, owned by the person who signs in as owner."""
    return runner()


def page(browser: Client, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200, address
    return " ".join(answer.content.decode().split())


def words(text: str) -> str:
    """Return a page without its tags."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_the_programme_says_how_many_may_run(client_as: ClientAs, code: str, horse: Horse) -> None:
    """The week's page opens with how many races there are, and tells of each by when to enter by the course's clock."""
    monday = clock.today() + timedelta(days=8)
    text = page(client_as("trainer"), f"/programme/?week={monday}")
    closes = clock.today() + timedelta(days=2)
    assert "One race is run in the week of" in text
    assert "<b>1 may run</b>" in text
    assert f"enter by {closes:%a} {closes.day} {closes:%B}, 12:00" in text


def test_what_is_not_known_of_a_race_is_not_said_to_be_so(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard
) -> None:
    """A race without deadlines is not said to be closed, one without fees not to cost nothing, one without prizes not
    to pay a dash; and contradicting conditions are called so, not unread."""
    day, trainer = clock.today() + timedelta(days=9), client_as("trainer")
    forget(loaded.library)
    bare = race(
        "7", "Ling Handicap", day, "Highest weight 9-11", Ages="3yo+", Zone="", Course="Tarn Moor", **{"1st": ""}
    )
    torn = race("8", "Torn Handicap", day, "Highest weight 9-11. Highest weight 9-7", Ages="3yo+", Fee="")
    take(loaded.library, [bare | {"2nd": ""}, torn])
    text = page(trainer, f"/programme/?week={day}")
    assert "by when to enter is not known" in text
    assert "prizes not stated" in text
    assert "entries closed" not in text
    assert "Its conditions contradict each other." in text
    assert "Not all of its conditions were read." not in text
    own = page(trainer, f"/programme/race/{code_of(loaded.library, 'Torn Handicap')}/")
    assert own.count("its highest weight is") == 1
    assert "What it costs to enter it and declare it is not stated." in own
    of_horse = page(trainer, f"/horse/{horse.pk}/races/")
    assert "entries closed" not in of_horse
    assert "costs nothing" not in of_horse


def test_without_a_programme_the_page_says_what_to_do(loaded: worlds.Yard, client_as: ClientAs) -> None:
    """A yard that took in no programme is told how."""
    forget(loaded.library)
    assert "upsides programme add FILE" in page(client_as("trainer"), "/programme/")


def test_what_was_not_read_is_shown_and_nobody_gets_a_plain_yes(
    loaded: worlds.Yard, client_as: ClientAs, code: str, horse: Horse
) -> None:
    """Words that no reading knows stand underlined among the conditions, and the sentence promises nobody a run."""
    text = page(client_as("trainer"), f"/programme/race/{code_of(loaded.library, 'Bracken Stakes')}/")
    assert '<span class="unread">Grooms sing first 3</span>' in text
    assert "it is not known whether" in text
    assert "of ours may run in it." not in text


def test_plans_are_closed_without_a_release_and_every_look_is_kept(
    client_as: ClientAs, code: str, horse: Horse, trainer_person: Person
) -> None:
    """A rider and the owner see the race but not who is meant for it; a released owner does, and that is written."""
    pages = [
        f"/horse/{horse.pk}/races/",
        f"/programme/race/{code}/horse/{horse.pk}/",
        f"/horse/{horse.pk}/races/{code}/win/",
    ]
    for login in ("owner", "rider"):
        for address in pages:
            assert "is not open to you" in page(client_as(login), address)
    assert "is not open to you" in page(client_as("rider"), f"/programme/race/{code}/")
    assert not Sight.objects.filter(what=Inside.PLANS).exists()
    owner = Person.objects.get(login="owner")
    Release.objects.create(what=Inside.PLANS, person=owner, given_by=trainer_person, given_at=clock.now())
    for address in pages:
        assert "is not open to you" not in page(client_as("owner"), address)
    assert (
        list(Sight.objects.filter(person=owner, what=Inside.PLANS, horse=horse).values_list("page", flat=True))
        == pages[::-1]
    )
    assert not Sight.objects.filter(person=owner, what=Inside.CHANCES).exists()


@pytest.fixture
def trainer_person(loaded: worlds.Yard) -> Person:
    return Person.objects.get(login="trainer")


def test_a_decision_is_written_from_the_page(client_as: ClientAs, code: str, horse: Horse) -> None:
    """Pressed, the button writes the entry with its author; the page then says where it stands and what it cost."""
    browser, address = client_as("secretary"), f"/programme/race/{code}/horse/{horse.pk}/"
    answer = browser.post(f"{address}say/", {"step": "enter", "client_id": str(uuid4())}, follow=True)
    text = answer.content.decode()
    assert Decision.objects.get().by == Person.objects.get(login="secretary")
    assert "It stands as: entered." in text
    assert "Spent so far: 40\u00a0GBP." in text


def test_a_refusal_stands_on_the_page(client_as: ClientAs, code: str, horse: Horse) -> None:
    """What cannot be is told on the page with what was asked still there, and nothing is written."""
    browser, address = client_as("trainer"), f"/programme/race/{code}/horse/{horse.pk}/"
    answer = browser.post(f"{address}say/", {"step": "declare"})
    assert answer.status_code == 400
    assert "from there it cannot be declared" in answer.content.decode()
    answer = browser.post(f"{address}say/", {"step": "enter", "said_at": "yesterday"})
    assert answer.status_code == 400
    assert not Engagement.objects.exists()


def test_no_jockey_chosen_is_said_to_be_none(client_as: ClientAs, code: str, horse: Horse) -> None:
    """Writing down nobody says that no jockey is booked, never that one is."""
    browser, address = client_as("secretary"), f"/programme/race/{code}/horse/{horse.pk}/"
    browser.post(f"{address}say/", {"step": "enter", "client_id": str(uuid4())})
    answer = browser.post(f"{address}say/", {"step": "jockey", "client_id": str(uuid4())}, follow=True)
    assert "Written down: no jockey is booked." in answer.content.decode()
    assert "jockey booked" not in answer.content.decode()


@pytest.mark.parametrize("kind", Kind)
def test_what_stands_in_a_jockeys_way_is_a_sentence_that_names_him(kind: Kind) -> None:
    """Each is a sentence of its own, so that two do not run together, on the page and on the sheet."""
    text = against(Hindrance(kind, "Marram", 110.0, 115, 5, "Larkmoor", 15), "A. Rider")
    assert "A. Rider" in text
    assert text.endswith(".")
    assert "%" not in text


def test_nobody_else_may_say_it(client_as: ClientAs, code: str, horse: Horse) -> None:
    """A rider and the owner are refused the button's address."""
    for login in ("rider", "owner", "head_person"):
        answer = client_as(login).post(f"/programme/race/{code}/horse/{horse.pk}/say/", {"step": "enter"})
        assert answer.status_code == 403
    assert not Decision.objects.exists()


def test_a_race_whose_entries_are_closed_says_so_first(client_as: ClientAs, code: str, loaded: worlds.Yard) -> None:
    """The opening sentence of a race's page says that its entries are closed, and not while they are open."""
    assert "Its entries are closed." not in page(client_as("trainer"), f"/programme/race/{code}/")
    soon = race(
        "9", "Gorse Handicap", clock.today() + timedelta(days=3), "Highest weight 9-11", Ages="3yo+", Band="0-110"
    )
    take(loaded.library, [soon])
    text = page(client_as("trainer"), f"/programme/race/{code_of(loaded.library, 'Gorse Handicap')}/")
    assert "Its entries are closed." in text


def test_of_a_race_that_was_run_nobody_may_run(client_as: ClientAs, code: str, loaded: worlds.Yard) -> None:
    """The page of a race of yesterday opens with that it is over, not with how many of ours may run in it."""
    gone = race(
        "9", "Heath Handicap", clock.today() - timedelta(days=1), "Highest weight 9-11", Ages="3yo+", Band="0-110"
    )
    take(loaded.library, [gone])
    text = page(client_as("trainer"), f"/programme/race/{code_of(loaded.library, 'Heath Handicap')}/")
    assert "It is over." in text
    assert "of ours may run in it" not in text


def test_what_a_win_costs_is_told(client_as: ClientAs, code: str, horse: Horse) -> None:
    """The page has a section for each outcome, and says that a beaten horse's open races count for nothing."""
    text = page(client_as("trainer"), f"/horse/{horse.pk}/races/{code}/win/")
    for words in ("If it wins", "If it is placed", "If it is beaten", "counts for nothing in any comparison"):
        assert words in text


def test_a_mark_is_supposed_apart(client_as: ClientAs, code: str, horse: Horse) -> None:
    """A mark that is supposed after a win has a section of its own beside what the rules say; no mark is refused."""
    address = f"/horse/{horse.pk}/races/{code}/win/"
    assert "as supposed" not in page(client_as("trainer"), address)
    text = page(client_as("trainer"), f"{address}?mark=82")
    assert "If it wins and its mark were then 82, as supposed" in text
    assert "If it is beaten" in text
    for mark in ("high", "999"):
        assert client_as("trainer").get(f"{address}?mark={mark}").status_code == 400


def test_pages_take_few_queries(client_as: ClientAs, code: str, horse: Horse, trainer_person: Person) -> None:
    """The week, one race and the deadlines take no more queries for six horses than for one."""
    browser = client_as("trainer")
    week = f"/programme/?week={clock.today() + timedelta(days=8)}"
    counts = []
    for _ in range(2):
        for address in (week, f"/programme/race/{code}/", "/deadlines/"):
            page(browser, address)
            with CaptureQueriesContext(
                connection,
            ) as found:
                page(browser, address)
            counts.append(len(found))
        Horse.objects.filter(left="2026-01-01").update(left=None)
    assert counts[:3] == counts[3:]
    assert max(counts) <= 40


def test_races_let_go_are_told_as_they_stood(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A row is written when entries have closed, with the weight then; a later mark changes nothing of it, and the
    reason that a person gives stands beside it."""
    closed = clock.now() + timedelta(days=3)
    assert write_let_go(loaded.library, moments.now(), clock.now(), closed) == 1
    assert write_let_go(loaded.library, moments.now(), clock.now(), closed) == 0
    row = LetGo.objects.get()
    assert (row.horse_id, row.known["prize"], row.known["currency"]) == (horse.pk, 6000.0, "GBP")
    before = row.known["weight"]
    horse.marks.update(value=40)
    shut = clock.today() + timedelta(days=2)
    assert row.known["closed"][:10] == str(shut)
    monday, address = shut - timedelta(days=shut.weekday()), f"/races-let-go/?week={shut}"
    text = page(client_as("trainer"), address)
    assert "one was let go that ours could have run in" in text
    assert f"Entries closed on {shut:%a} {shut.day} {shut:%B}" in text
    race_week = row.day + timedelta(days=7)
    assert race_week - timedelta(days=race_week.weekday()) > monday
    assert "Nothing is written down" in page(client_as("trainer"), f"/races-let-go/?week={race_week}")
    client_as("secretary").post(f"/races-let-go/{row.pk}/", {"reason": "ground", "note": "Firm"})
    text = page(client_as("trainer"), address)
    assert "Not its ground: Firm" in text
    assert f"Since 1 January {monday.year}" in words(text)
    counted = words(page(client_as("trainer"), f"{address}&since={shut}"))
    assert f"Since {shut.day} {shut:%B %Y}" in counted
    assert "Not its ground 1" in counted
    later = page(client_as("trainer"), f"{address}&since={shut + timedelta(days=1)}")
    assert "No race is written down as let go from then" in later
    assert client_as("trainer").get(f"{address}&since=spring").status_code == 400
    assert LetGo.objects.get(by=None).known["weight"] == before
    row.pk, row.race_code, row.known = None, "reed", row.known | {"elsewhere": "Reed Handicap, 2026-06-22"}
    row.save(force_insert=True)
    assert "It was meant for or in Reed Handicap, Mon 22 June." in page(client_as("trainer"), address)


def test_race_day_shows_the_card_and_the_sheet_prints(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard, trainer_person: Person
) -> None:
    """A declared horse stands on its day with the stall, who leads it up and when it leaves; the sheet is a PDF; among
    its races stands until when it can be taken out."""
    engage_for(horse, code, loaded.library, trainer_person, "enter")
    row = engage_for(horse, code, loaded.library, trainer_person, "declare")
    browser = client_as("trainer")
    assert "can be taken out until" in page(browser, f"/horse/{horse.pk}/races/")
    address = f"/race-day/?day={row.day}"
    seen = page(browser, address).split('name="seen" value="')[1].split('"')[0]
    card = {"seen": seen, "draw": "7", "leads_up": str(Person.objects.get(login="carer").pk),
            "leaves_at": f"{row.day}T08:15", "back_at": f"{row.day}T19:00"}  # fmt: skip
    assert browser.post(f"/race-day/runner/{row.pk}/", card).status_code == 302
    text = page(browser, address)
    assert "<dd>7</dd>" in text
    assert "The first leaves at 08:15." in text
    assert Person.objects.get(login="carer").name in text
    offered = {int(each) for each in re.findall(r'<option value="(\d+)"', text)}
    working = Person.objects.exclude(posts__role="owner").filter(is_active=True)
    assert offered == {one.pk for one in working}, "all but those who only own horses lead up or drive"
    assert browser.post(f"/race-day/runner/{row.pk}/", card | {"draw": "99"}).status_code == 400
    sheet = browser.get(f"/race-day/sheet.pdf?day={row.day}")
    assert sheet.content.startswith(b"%PDF")


def test_race_day_has_a_line_on_vaccination(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard, trainer_person: Person
) -> None:
    """Page and sheet say the last dose and by when the next is due, from when the rules let it run after that dose with
    the rule, that the passport decides and to ask the vet, and that no passport number is written down."""
    engage_for(horse, code, loaded.library, trainer_person, "enter")
    row = engage_for(horse, code, loaded.library, trainer_person, "declare")
    browser, address = client_as("trainer"), f"/race-day/?day={row.day}"
    last = clock.today() - timedelta(days=30)
    text = page(browser, address)
    free = last + timedelta(days=8)
    assert f"Equine influenza: last dose {last:%-d %B %Y}; next due by" in text
    assert f"it may run from {free:%-d %B %Y} on; that it may says nothing of how it is" in text
    assert "not on racecourse property within seven days of vaccination" in text
    assert "current code decide: read them, and ask the vet." in text
    assert 'Passport</dt><dd><span class="soft">not written down' in text
    sheet = PdfDocument(browser.get(f"/race-day/sheet.pdf?day={row.day}").content)
    words = " ".join(" ".join(sheet[k].get_textpage().get_text_range() for k in range(len(sheet))).split())
    assert "Equine influenza: last dose" in words
    assert "passport not written down" in words


def test_a_drivers_day_is_held_against_the_rules(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard, trainer_person: Person
) -> None:
    """A driver who works from six and is back at half past ten at night has 7 h 30 min of rest before six, where
    Britain asks for 11 (Working Time Regulations 1998, regulation 10); back by five nothing is over."""
    Yard.objects.update(jurisdiction="Britain")
    driver = Person.objects.get(login="carer")
    Person.objects.filter(pk=driver.pk).update(born="1990-01-01")
    engage_for(horse, code, loaded.library, trainer_person, "enter")
    row = engage_for(horse, code, loaded.library, trainer_person, "declare")
    Shift.objects.create(person=driver, weekday=row.day.weekday(), starts=time(6), ends=time(10), rides=True,
                         first_day=row.day - timedelta(days=30))  # fmt: skip
    browser, address = client_as("trainer"), f"/race-day/?day={row.day}"

    def away(leaves: str, back: str) -> str:
        seen = page(browser, address).split('name="seen" value="')[1].split('"')[0]
        card = {"seen": seen, "driver": str(driver.pk), "leaves_at": f"{row.day}T{leaves}",
                "back_at": f"{row.day}T{back}"}  # fmt: skip
        assert browser.post(f"/race-day/runner/{row.pk}/", card).status_code == 302
        return page(browser, address).replace("\u00a0", " ")

    late = away("09:00", "22:30")
    assert f"{driver.name}: " in late
    assert "7½ hours of rest between two days; at least 11 are asked for" in late
    assert "From memory: Regulation (EC) No 561/2006" in late
    early = away("09:00", "17:00")
    assert f"{driver.name}: " not in early
    assert "is away for 8 h 00 min; how much of it at the wheel stands below" in early
