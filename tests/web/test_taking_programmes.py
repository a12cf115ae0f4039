"""Taking in a programme on the page: dropped, shown before anything is written, put right, taken, taken back."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

import worlds
from programmed_yard import code_of, engage_for, forget, marked, table, usual_rows
from upsides.books import clock
from upsides.books.models import Engagement, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.programme import programme
from upsides.results.programme_drafting import About, draft_programme
from upsides.results.shape import read_shape
from worlds import ClientAs

pytestmark = pytest.mark.django_db


@pytest.fixture
def office(client_as: ClientAs, loaded: worlds.Yard) -> Iterator[Client]:
    forget(loaded.library)
    yield client_as("secretary")
    forget(loaded.library)


def drop(office: Client, rows: list[dict[str, str]]) -> str:
    """Drop a table; return the address of the page that shows it."""
    answer = office.post("/programme/new/", {"file": SimpleUploadedFile("calendar.csv", table(rows).encode())})
    assert answer.status_code == 302
    return str(answer["Location"])


def page(browser: Client, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200, address
    return " ".join(answer.content.decode().replace("\u00a0", " ").split())


def test_a_programme_is_shown_before_it_is_taken(office: Client, loaded: worlds.Yard) -> None:
    """The headings say which column is what; nothing is written until the button is pressed, then the races stand."""
    rows = [row | {"Cur": "GBP"} for row in usual_rows(clock.today())]
    address = drop(office, rows)
    text = page(office, address)
    assert "It names 3 races; 3 say something new." in text
    assert "Sedge Handicap" in text
    assert not programme(loaded.library, moments.now()).races
    assert office.post(f"{address}take/").status_code == 302
    races = {race.title: race for race in programme(loaded.library, moments.now()).races.values()}
    assert set(races) == {"Sedge Handicap", "Fern Maiden", "Bracken Stakes"}
    sedge = races["Sedge Handicap"]
    assert (sedge.course, sedge.day, sedge.band) == ("Larkmoor", clock.today() + timedelta(days=8), (None, 110.0))
    assert sedge.distance_m == pytest.approx(1609.344)
    assert sedge.prize is not None
    assert sedge.prize.by_place == (6000.0, 3000.0)
    assert "It names 3 races; 0 say something new." in page(office, drop(office, rows))


def test_what_cannot_be_read_is_told_by_its_line(office: Client) -> None:
    """A race without a day is told with its line, and the others can be taken."""
    rows = usual_rows(clock.today())
    text = page(office, drop(office, [rows[0], rows[1] | {"Date": "some day"}]))
    assert "Line 3" in text
    assert "some day" in text
    assert "Take it in" in text


def test_slips_spoil_neither_the_draft_nor_the_page(office: Client) -> None:
    """One time that cannot be leaves the others read; a row of which no race can be made is told with its line and
    reason; and what is taken where a row says no zone and no currency stands on the page."""
    rows = usual_rows(clock.today()) * 2
    rows = [row | {"Id": f"{k}", "No": f"{k}", "Off": "14:35"} for k, row in enumerate(rows)]
    rows[1]["Off"], rows[2]["Band"] = "25:35", "90-80"
    text = page(office, drop(office, rows))
    assert text.count("not a date") == 1
    assert "Line 4" in text
    assert "write it as 66-80" in text
    assert "Refused(" not in text
    assert "One line cannot be read." in text
    assert "are taken by the clock of" in text


def test_a_shape_is_put_right_on_the_page(office: Client, loaded: worlds.Yard) -> None:
    """Where the draft is wrong a person writes another; one that cannot be used is told and nothing can be taken."""
    address = drop(office, usual_rows(clock.today()))
    office.post(address, {"shape": "format = 1\nwrong = 2\n"})
    text = page(office, address)
    assert "The table cannot be read yet." in text
    assert "Take it in" not in text
    assert office.post(f"{address}take/").status_code == 400
    assert not programme(loaded.library, moments.now()).races


def test_the_last_programme_is_taken_back(office: Client, loaded: worlds.Yard) -> None:
    """Taken back, races are as the earlier programme has them and an engagement's deadline follows; one that is not the
    last cannot be, and as of yesterday what was heard by then would still be known."""
    rows = usual_rows(clock.today())
    office.post(f"{drop(office, rows)}take/")
    code, horse = code_of(loaded.library, "Sedge Handicap"), marked(Horse.objects.order_by("pk")[0])
    engage_for(horse, code, loaded.library, Person.objects.get(login="trainer"))
    before = Engagement.objects.get().enter_by
    later = clock.today() + timedelta(days=3)
    office.post(f"{drop(office, [rows[0] | {'Enter': f'{later} 12:00'}])}take/")
    assert Engagement.objects.get().enter_by != before
    assert "names one race" in page(office, "/programme/new/")
    assert office.post("/programme/taken/1/back/").status_code == 400
    assert office.post("/programme/taken/2/back/").status_code == 302
    assert Engagement.objects.get().enter_by == before
    assert len(programme(loaded.library, Moment(clock.today() + timedelta(days=1))).races) == 3


def test_only_the_office_takes_programmes_in(client_as: ClientAs, loaded: worlds.Yard) -> None:
    """A rider and an owner are refused the page."""
    for login in ("rider", "owner"):
        assert client_as(login).get("/programme/new/").status_code == 403


def test_a_draft_knows_ordinary_headings(tmp_path: Path) -> None:
    """Days, times of day, bands, metres and prizes by place are found by headings and samples, and the shape loads."""
    file = tmp_path / "list.csv"
    file.write_text("Racecourse,Date,Off time,Race name,Trip,Rating band,1st prize,2nd prize,Whatever\n"
                    "Larkmoor,03/07/2026,14:35,Sedge Handicap,1600,66-82,6000,3000,x\n")  # fmt: skip
    text = draft_programme(file, About("calendar", "GB", "GBP", "Europe/London"))
    assert read_shape(text, "draft") is not None
    for line in ('course = "Racecourse"', 'format = "%d/%m/%Y"', 'format = "%H:%M"', 'unit = "m"',
                 'prizes = { from = ["1st prize", "2nd prize"] }'):  # fmt: skip
        assert line in text
    assert "Whatever" not in text
