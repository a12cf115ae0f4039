"""The pages of working hours and of the yard's own lists."""

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from upsides.books.hours import read_hours
from upsides.books.models import Bond, DayOff, Gallop, Horse, Person, Role, Shift, Thing, Yard
from upsides.books.services import staff as writes
from upsides.books.services.lists import order
from upsides.books.services.people import add_person
from worlds import ClientAs

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 3, 23)
TODAY = MONDAY + timedelta(days=2)
KEEPS = {Role.TRAINER, Role.ASSISTANT, Role.SECRETARY, Role.HEAD_PERSON}
OFFICE = {Role.TRAINER, Role.ASSISTANT, Role.SECRETARY}
WORKS = set(Role) - {Role.OWNER, Role.VET}
HOURS = {"first_day": MONDAY.isoformat(), "monday": "6-9:30, 10-12:30", "monday_rides": "on", "tuesday": "="}


@pytest.fixture(autouse=True)
def in_britain(db: None) -> None:
    """The yard stands in Britain on a Wednesday."""
    Yard.objects.update(jurisdiction="GB", fixed_day=TODAY)


def someone(login: str) -> Person:
    return Person.objects.get(login=login)


def text_of(browser: Client, address: str, status: int = 200) -> str:
    response = browser.get(address)
    assert response.status_code == status
    return str(response.content.decode())


def works(login: str, hours: str = "6-12", *, days: int = 5, rides: bool = False) -> Person:
    """Let somebody work these hours on the first days of each week."""
    person, spans = someone(login), read_hours(hours, rides=rides)
    writes.set_hours(person, dict.fromkeys(range(days), spans), MONDAY - timedelta(days=70), someone("trainer"))
    return person


def test_every_page_is_whole(client_as: ClientAs) -> None:
    """Each page has a title, one first heading, an opening sentence, no id twice, and nothing inline."""
    person = works("rider", rides=True)
    gallop = Gallop.objects.create(name="Long Gallop", surface="turf", length_m=1006)
    thing = Thing.objects.create(kind="scale", name="Walk-on")
    trainer = client_as("trainer")
    for address in (
        "/staff/",
        "/staff/week/",
        f"/staff/person/{person.pk}/",
        f"/staff/person/{person.pk}/hours/",
        "/yard/",
        "/yard/change/",
        "/yard/limits/",
        "/yard/gallop/new/",
        f"/yard/gallop/{gallop.pk}/",
        "/yard/thing/new/",
        f"/yard/thing/{thing.pk}/",
    ):
        text = text_of(trainer, address)
        assert re.search(r"<title>[^<]+ · Upsides</title>", text)
        assert text.count("<h1") == 1
        assert text.count('class="answer"') == 1
        assert "None<" not in text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
        ids = re.findall(r'\sid="([^"]+)"', text)
        assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("role", list(Role))
def test_who_sees_the_week_and_who_enters(client_as: ClientAs, role: Role) -> None:
    """All who work here see the week, the office and head persons enter days off, the office changes hours."""
    person, browser = works("carer"), client_as(role.value)
    gets = {
        "/staff/week/": WORKS,
        "/staff/week.pdf": WORKS,
        "/staff/": KEEPS,
        f"/staff/person/{person.pk}/": KEEPS,
        "/yard/": KEEPS,
        f"/staff/person/{person.pk}/hours/": OFFICE,
    }
    found = {address: browser.get(address).status_code for address in gets}
    assert found == {address: 200 if role in roles else 403 for address, roles in gets.items()}
    browser.post(f"/staff/person/{person.pk}/sick/")
    browser.post(f"/staff/person/{person.pk}/hours/", HOURS)
    assert DayOff.objects.exists() == (role in KEEPS)
    assert Shift.objects.filter(starts="10:00").exists() == (role in OFFICE)


def test_the_opening_sentence_counts(client_as: ClientAs) -> None:
    """Of seven who work here two are at work, one rides, one is off sick; a carer is not told of the sickness."""
    works("rider", rides=True)
    works("head_person")
    person = works("carer")
    writes.off_sick(person, TODAY, someone("trainer"))
    assert "2 of 6 at work today; 1 rides work; one is off sick." in text_of(client_as("trainer"), "/staff/")
    text = text_of(client_as("rider"), "/staff/week/")
    assert "sick" not in text
    assert '<span class="off">off</span>' in text
    assert '<span class="off">off sick</span>' in text_of(client_as("head_person"), "/staff/week/")


def test_without_hours_the_page_says_so(client_as: ClientAs) -> None:
    """Before any hours are entered nobody is said to be at work or free."""
    text = text_of(client_as("trainer"), "/staff/")
    assert "No working hours are entered yet" in text
    assert text.count("no hours entered") == 6


def test_one_tap_and_somebody_is_off_sick(client_as: ClientAs) -> None:
    """The button beside a name enters today once, also when it is tapped twice, and leads back to the list."""
    person, browser = works("rider"), client_as("head_person")
    assert f'action="/staff/person/{person.pk}/sick/"' in text_of(browser, "/staff/")
    for _ in range(2):
        response = browser.post(f"/staff/person/{person.pk}/sick/", {"back": "staff"})
        assert response.headers["Location"] == "/staff/"
    row = DayOff.objects.get()
    assert (row.person_id, row.first_day, row.last_day, row.why) == (person.pk, TODAY, TODAY, "sick")
    assert f'action="/staff/person/{person.pk}/sick/"' not in text_of(browser, "/staff/")
    browser.post(f"/staff/off/{row.pk}/back/")
    assert not DayOff.objects.exists()


def test_who_called_in_sick_with_horses_leads_to_the_lots(client_as: ClientAs) -> None:
    """After *off sick* whoever orders work has a link to the lots without a rider who has a horse today; else none."""
    person, browser = someone("rider"), client_as("trainer")
    link = f'<a href="/lots/plan/?day={TODAY}&amp;without={person.pk}">Plan the lots without {person.name}</a>'
    browser.post(f"/staff/person/{person.pk}/sick/", {"back": "staff"})
    assert link not in browser.get("/staff/").content.decode()
    horse = Horse.objects.order_by("name")[0]
    order(horse.pk, TODAY, {"exercise": "steady_canter", "lot": "1", "rider": str(person.pk)}, someone("trainer"))
    for login, there in (("trainer", True), ("secretary", False)):
        browser = client_as(login)
        page = browser.post(f"/staff/person/{person.pk}/sick/", {"back": "staff"}, follow=True).content.decode()
        assert (link in page) == there, login


def test_hours_are_entered_as_typed(client_as: ClientAs) -> None:
    """A week is typed line by line, = stands for the day before, and the ticks say on which days work is ridden."""
    person, browser = someone("rider"), client_as("secretary")
    response = browser.post(f"/staff/person/{person.pk}/hours/", HOURS)
    assert response.headers["Location"] == f"/staff/person/{person.pk}/"
    rows = Shift.objects.values_list("weekday", "starts", "rides").order_by("weekday", "starts")
    assert [(day, starts.hour, rides) for day, starts, rides in rows] == [
        (0, 6, True), (0, 10, True), (1, 6, False), (1, 10, False),
    ]  # fmt: skip
    text = text_of(browser, f"/staff/person/{person.pk}/")
    assert "Works 12 hours a week and rides work on one day." in text
    assert "6:00–9:30, 10:00–12:30" in text_of(browser, f"/staff/person/{person.pk}/hours/")


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("monday", {"monday": "25:00-26"}),
        ("tuesday", {"tuesday": "12-6"}),
        ("sunday", {"sunday_rides": "on"}),
        ("first_day", {"first_day": ""}),
        ("first_day", {"first_day": "2206-03-23"}),
        ("first_day", {"first_day": "31 February"}),
        ("monday", {"monday": "", "monday_rides": "", "tuesday": ""}),
    ],
)
def test_hours_that_cannot_be_are_refused_at_their_field(
    client_as: ClientAs, field: str, change: dict[str, str]
) -> None:
    """What is wrong is said at its field, what was typed stays, and nothing is written."""
    person = someone("rider")
    response = client_as("trainer").post(f"/staff/person/{person.pk}/hours/", HOURS | change)
    assert response.status_code == 200
    text = response.content.decode()
    assert f'id="id_{field}_error"' in text
    assert change.get(field, "") in text
    assert not Shift.objects.exists()


def test_hours_over_a_limit_are_told_before_they_are_kept(client_as: ClientAs) -> None:
    """At 17 nine hours a day are shown with their rule and kept only once shown; other hours are shown anew."""
    person, browser = someone("rider"), client_as("trainer")
    Person.objects.filter(pk=person.pk).update(born=date(2008, 9, 1))
    address, long = f"/staff/person/{person.pk}/hours/", HOURS | {"monday": "6-10, 10:30-15:30", "tuesday": ""}
    text = browser.post(address, long).content.decode()
    assert "Monday 23 March: 9 hours of work; at most 8 in a day." in text
    assert "Britain, young workers, day" in text
    assert not Shift.objects.exists()
    seen = re.search(r'name="seen" value="([^"]+)"', text)
    assert seen is not None
    other = browser.post(address, long | {"monday": "6-10, 10:30-16:30", "seen": seen[1]}).content.decode()
    assert "10 hours of work" in other
    assert not Shift.objects.exists()
    assert browser.post(address, long | {"seen": seen[1]}).status_code == 302
    assert Shift.objects.count() == 2
    for page in ("/staff/", "/staff/week/", f"/staff/person/{person.pk}/"):
        assert "9 hours of work; at most 8 in a day." in text_of(browser, page)
    assert "9 hours of work; at most 8 in a day." in text_of(client_as("rider"), "/me/")
    assert "at most 8 in a day" not in text_of(client_as("carer"), "/staff/week/")


def test_where_no_limits_are_kept_the_pages_say_so(client_as: ClientAs) -> None:
    """In a country without rules of working time nothing is said to be within them."""
    works("rider", "4-20", days=7)
    Yard.objects.update(jurisdiction="HK")
    text = text_of(client_as("trainer"), "/staff/week/")
    assert "For Hong Kong no limits on working hours are kept here" in text
    assert "As planned" not in text


@pytest.mark.parametrize(
    ("field", "change"),
    [
        ("last_day", {"last_day": "2026-03-01"}),
        ("first_day", {"first_day": ""}),
        ("first_day", {"first_day": "2206-03-30", "last_day": "2206-04-01"}),
        ("why", {"why": "bored"}),
    ],
)
def test_days_off_that_cannot_be_are_refused(client_as: ClientAs, field: str, change: dict[str, str]) -> None:
    """Days that end before they begin, no day, a far year and an unknown reason are refused at their field."""
    person = works("rider")
    form = {"why": "holiday", "first_day": "2026-03-30", "last_day": "2026-04-05"} | change
    text = client_as("trainer").post(f"/staff/person/{person.pk}/off/", form).content.decode()
    assert f'id="id_{field}_error"' in text
    assert not DayOff.objects.exists()


def test_days_off_stand_in_the_week(client_as: ClientAs) -> None:
    """A holiday from Friday to Monday is in both weeks; the same once more is refused."""
    person, browser = works("rider", days=7), client_as("head_person")
    form = {"why": "holiday", "first_day": "2026-03-27", "last_day": "2026-03-30"}
    assert browser.post(f"/staff/person/{person.pk}/off/", form).status_code == 302
    cells = [
        text_of(browser, f"/staff/week/?monday={day}").count('<span class="off">holiday</span>')
        for day in ("2026-03-25", "2026-03-30", "2026-04-06")
    ]
    assert cells == [3, 1, 0]
    text = browser.post(f"/staff/person/{person.pk}/off/", form).content.decode()
    assert "The same stands already from 27 March 2026 to 30 March 2026" in text
    assert DayOff.objects.count() == 1


def test_a_retainer_and_its_end(client_as: ClientAs) -> None:
    """A retainer is entered with its owner, shown, and ended; without an owner it is refused at that field."""
    person, browser, owner = works("rider"), client_as("secretary"), someone("owner")
    form = {"kind": "retainer", "first_day": TODAY.isoformat(), "owner": owner.pk}
    text = browser.post(f"/staff/person/{person.pk}/bind/", form | {"owner": ""}).content.decode()
    assert 'id="bond_owner_error"' in text
    text = browser.post(f"/staff/person/{person.pk}/bind/", form | {"country": "Ruritania"}).content.decode()
    assert 'id="bond_country_error"' in text
    browser.post(f"/staff/person/{person.pk}/bind/", form | {"country": "uk"})
    row = Bond.objects.get()
    assert f"Rides for {owner.name} first" in text_of(browser, f"/staff/person/{person.pk}/")
    browser.post(f"/staff/bond/{row.pk}/end/")
    assert not Bond.objects.exists()


@pytest.mark.parametrize("day", ["yesterday", "2026-02-30", "0001-01-01", "9999-12-31"])
def test_a_week_that_is_none_is_refused(client_as: ClientAs, day: str) -> None:
    """A day that cannot be read, or has no year around it, is refused in words that show how to write one."""
    for address in ("/staff/week/", "/staff/week.pdf"):
        assert "2026-07-27" in text_of(client_as("trainer"), f"{address}?monday={day}", 400)


def test_the_week_on_paper(client_as: ClientAs) -> None:
    """The sheet is a PDF of the week asked for."""
    works("rider")
    response = client_as("rider").get("/staff/week.pdf?monday=2026-03-23")
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")
    assert "week-2026-03-23.pdf" in response.headers["Content-Disposition"]


def test_ones_own_page_shows_ones_own(client_as: ClientAs) -> None:
    """Somebody's own page has weight, hours and days off with why; on a barn phone neither weight nor why."""
    person = works("rider", rides=True)
    Person.objects.filter(pk=person.pk).update(weight_kg=58.0, born=date(1999, 4, 5))
    writes.take_off(person, TODAY, TODAY, DayOff.Why.COURSE, someone("trainer"))
    browser = client_as("rider")
    text = text_of(browser, "/me/")
    for words in ("9st 2lb (58 kg)", "5 April 1999", "on a course", "Works 30 hours a week"):
        assert words in text
    session = browser.session
    session["barn"] = True
    session.save()
    text = text_of(browser, "/me/")
    for words in ("58 kg", "1999", "on a course"):
        assert words not in text
    assert "Works 30 hours a week" in text


def test_a_persons_weight_is_echoed_in_both_units(client_as: ClientAs) -> None:
    """Typed as 9-2 a weight reads 9st 2lb (58 kg) on the page, and 9-15 is refused at its field."""
    person, browser = someone("rider"), client_as("secretary")
    form = {"name": "R. Rider", "roles": "rider", "login": "rider", "weight": "9-15", "skill": "3", "minimum": "8-4"}
    text = browser.post(f"/person/{person.pk}/change/", form).content.decode()
    assert 'id="id_weight_error"' in text
    assert 'value="9-15"' in text
    assert someone("rider").weight_kg is None
    assert browser.post(f"/person/{person.pk}/change/", form | {"weight": "9-2"}).status_code == 302
    text = text_of(browser, f"/person/{person.pk}/")
    for words in ("9st 2lb (58 kg)", "8st 4lb", "most horses"):
        assert words in text
    assert 'value="9-2"' in text_of(browser, f"/person/{person.pk}/change/")


def test_the_yards_lists(client_as: ClientAs) -> None:
    """A gallop and a thing are entered, renamed and taken out of use; what is wrong is said at its field."""
    browser = client_as("head_person")
    form = {"name": "Long Gallop", "surface": "turf", "length": "5f", "rise": "22"}
    assert browser.post("/yard/gallop/new/", form).headers["Location"] == "/yard/"
    assert 'id="id_name_error"' in browser.post("/yard/gallop/new/", form).content.decode()
    wrong = browser.post("/yard/gallop/new/", form | {"name": "New", "length": "long"}).content.decode()
    assert 'id="id_length_error"' in wrong
    row = Gallop.objects.get()
    browser.post(f"/yard/gallop/{row.pk}/", form | {"name": "Longer Gallop"})
    browser.post(f"/yard/gallop/{row.pk}/use/", {"used": "0"})
    browser.post("/yard/thing/new/", {"kind": "scale", "name": "Walk-on"})
    browser.post("/yard/change/", {"name": "Tallowmere", "feed_times": "early\nlate"})
    text = text_of(browser, "/yard/")
    for words in ("Longer Gallop", "1,006\u00a0m", "about 5f", "out of use", "Walk-on", "early, late"):
        assert words in text
    assert Yard.objects.get().feed_times == ["early", "late"]
    assert Gallop.objects.count() == 1


def test_the_reads_of_a_page_do_not_grow_with_people(client_as: ClientAs) -> None:
    """The week's page takes as many reads with ten people more."""

    def reads() -> int:
        with CaptureQueriesContext(connection) as asked:
            text_of(browser, "/staff/")
        return len(asked)

    works("rider")
    browser = client_as("trainer")
    reads()
    before = reads()
    for n in range(10):
        person = add_person(f"Extra {n}", [Role.RIDER])
        writes.set_hours(person, {0: read_hours("6-12")}, MONDAY, someone("trainer"))
    assert reads() == before


def test_the_trainer_says_what_a_morning_takes(client_as: ClientAs) -> None:
    """Numbers are kept with their history, told on the yard's page, refused by field, and the trainer's to change."""
    gallop = Gallop.objects.create(name="Long Gallop", surface="turf", length_m=1006)
    browser, address = client_as("trainer"), "/yard/limits/"
    assert "Half of the string at most" in text_of(browser, "/yard/")
    form = {"fast_1": "30", "fast_4": "25", "each": "5", f"slots_{gallop.pk}": "40"}
    assert browser.post(address, form).headers["Location"] == "/yard/"
    row = Yard.objects.get()
    assert (row.fast_most, row.rides_each) == ([None, 30, None, None, 25, None, None], 5)
    assert Gallop.objects.get(pk=gallop.pk).slots == 40
    assert row.history.order_by("-history_id")[0].history_user == someone("trainer")
    text = text_of(browser, "/yard/").replace("\xa0", " ")
    assert "Horses in fast work at most: Tue 30, Fri 25." in text
    assert "One rider rides 5 horses in a morning." in text
    assert "40 horses at most are on Long Gallop in a morning." in text
    for wrong in ({"each": "0"}, {"fast_0": "-1"}, {"fast_0": "501"}, {"each": "21"}, {"each": "many"}):
        field = next(iter(wrong))
        assert f'id="id_{field}_error"' in browser.post(address, form | wrong).content.decode()
    assert Yard.objects.get().rides_each == 5
    assert client_as("head_person").get(address).status_code == 403
    assert "Change what a morning takes" not in text_of(client_as("head_person"), "/yard/")
    browser.post(address, {"each": ""})
    assert Yard.objects.get().fast_most == []
