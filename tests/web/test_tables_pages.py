"""The pages of the yard's own tables: a file given, read, taken in, undone; tables given out."""

import csv
import io
import re
import zipfile
from collections.abc import Callable
from datetime import timedelta
from html import unescape
from typing import Any

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

import worlds
from upsides.books import clock
from upsides.books.jobs.running import run
from upsides.books.models import Entry, Horse, Intake, Job, Person
from upsides.books.queries import moments
from upsides.web.tables import pages, views
from worlds import ClientAs

pytestmark = pytest.mark.django_db
Send = Callable[..., str]


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def names(loaded: worlds.Yard) -> list[str]:
    return list(Horse.objects.order_by("pk").values_list("name", flat=True)[:4])


def table(names: list[str], *more: str) -> str:
    rows = [f"{name},{clock.today() - timedelta(place + 1)},{480 + place}" for place, name in enumerate(names)]
    return "\n".join(["Horse,Date,Weight (kg)", *rows, *more]) + "\n"


def send(client: Client, content: str | bytes, what: str = "masses", name: str = "weights.csv") -> Any:
    data = content.encode() if isinstance(content, str) else content
    return client.post("/tables/new/", {"what": what, "file": SimpleUploadedFile(name, data)})


def text(client: Client, address: str, status: int = 200) -> str:
    response = client.get(address)
    assert response.status_code == status, response.content[:500]
    return unescape(response.content.decode())


def fields(page: str) -> dict[str, str]:
    """Return the hidden fields of the button that takes."""
    return dict(re.findall(r'<input type="hidden" name="(c\d+|every-\w+|order)" value="([^"]*)">', page))


def taking(client: Client, place: str, page: str) -> Any:
    return client.post(f"{place}take/", fields(page))


def test_without_tables_the_page_says_so(trainer: Client) -> None:
    """The page of a yard that took nothing in says so, and offers both ways."""
    page = text(trainer, "/tables/")
    assert "No table has been taken in yet." in page
    assert 'href="/tables/new/"' in page
    assert 'action="/tables/export/"' in page


def test_a_table_is_shown_as_it_would_be_read(trainer: Client, names: list[str]) -> None:
    """A file that was given is shown with its first rows in words, its columns proposed, and nothing is written."""
    place = send(trainer, table(names)).headers["Location"]
    page = text(trainer, place)
    day = clock.today() - timedelta(1)
    assert "All 4 rows can be taken." in page
    assert f"{names[0]}, {day.day} {day:%B} {day.year}: Mass 480.0 kg (1058 lb)." in page
    assert '<option value="kg" selected>Mass</option>' in page
    assert '<option value="horse" selected>Horse</option>' in page
    assert not Entry.objects.exists()
    assert not Intake.objects.exists()


def test_rows_that_are_fine_are_taken_and_the_others_kept(trainer: Client, names: list[str]) -> None:
    """Line, column, reason and remedy of each fault stand on the page and in the CSV; the other rows are taken."""
    place = send(trainer, table(names, f"Nobody,{clock.today()},12")).headers["Location"]
    page = text(trainer, place)
    assert "4 of 5 rows can be taken. 1 row cannot be taken." in page
    assert "the books have no horse of that name" in page
    assert "it can be 100 to 800 kg or 220 to 1764 lb" in page
    left = re.search(r'href="(/tables/read/[^"]*left-out\.csv[^"]*)"', page)[1]
    rows = list(csv.reader(io.StringIO(b"".join(trainer.get(left).streaming_content).decode())))
    assert [row[:2] for row in rows] == [["line", "Horse"], ["6", "Nobody"]]
    answer = taking(trainer, place, page)
    assert answer.headers["Location"] == f"/tables/{Intake.objects.get().pk}/"
    done = text(trainer, answer.headers["Location"])
    assert "4 were taken in. 1 row was left out." in done
    assert "It brought 4 entries or horses. 1 row was left out." in done
    assert Entry.objects.filter(kind="mass", author__login="trainer").count() == 4


def test_columns_are_chosen_by_hand(trainer: Client, names: list[str]) -> None:
    """What the headings do not say is chosen by a select, and what no column says is said of every row."""
    day = clock.today() - timedelta(3)
    place = send(trainer, f"Horse,A,B\n{names[0]},487,x\n{names[1]},488,y\n").headers["Location"]
    first = text(trainer, place)
    assert "Say first where this stands: day." in first
    assert 'name="every-day"' in first
    assert "/take/" not in first
    chosen = f"{place}?c0=horse&c1=kg&c2=scale&every-day={day}&order=day"
    page = text(trainer, chosen)
    assert "All 2 rows can be taken." in page
    assert "scale x" in page
    taking(trainer, place, page)
    assert [entry.values for entry in Entry.objects.order_by("pk")] == [
        {"kg": 487.0, "scale": "x"},
        {"kg": 488.0, "scale": "y"},
    ]


def test_the_same_file_is_known_again(trainer: Client, names: list[str]) -> None:
    """A file that was taken in is recognised, its rows are counted and not doubled, and the button is gone."""
    place = send(trainer, table(names)).headers["Location"]
    taking(trainer, place, text(trainer, place))
    page = text(trainer, send(trainer, table(names), name="other name.csv").headers["Location"])
    assert "This very file was taken in before, as masses:" in page
    assert "0 of 4 rows can be taken. 4 entries are in the books already and are not doubled." in page
    assert "/take/" not in page
    again = trainer.post(f"{place}take/", {"order": "day", "c0": "horse", "c1": "day", "c2": "kg"})
    assert again.status_code == 400
    assert "no row of it can be taken" in again.content.decode()
    assert Intake.objects.count() == 1


def test_an_import_is_undone(trainer: Client, names: list[str]) -> None:
    """Undone, nothing of it stands, and both pages say when that was and what it came to."""
    place = send(trainer, table(names)).headers["Location"]
    one = taking(trainer, place, text(trainer, place)).headers["Location"]
    assert "Undo this import" in text(trainer, one)
    trainer.post(f"{one}undo/")
    page = text(trainer, one)
    assert "Undone: 4 entries withdrawn, 0 horses taken out." in page
    assert "Undo this import" not in page
    assert not moments.entries(moments.now()).exists()
    assert 'class="gone"' in text(trainer, "/tables/")
    assert trainer.post(f"{one}undo/").status_code == 400


def test_what_is_no_table_is_told_beside_the_file(trainer: Client) -> None:
    """A file that cannot be read, none at all, or rows that are not said come back with the reason, and 400."""
    for given, words in (
        ({"what": "masses", "file": SimpleUploadedFile("a.csv", b"x,y\n1,2\n")}, "no row of headings was found"),
        (
            {"what": "masses", "file": SimpleUploadedFile("a.xlsx", b"PK\x03\x04")},
            "no workbook",
        ),
        ({"what": "masses", "file": SimpleUploadedFile("a.csv", b"")}, "That file is empty"),
        ({"what": "masses"}, "Choose the file."),
        ({"file": SimpleUploadedFile("a.csv", b"Horse,Date,Mass\n")}, "Choose what its rows are."),
    ):
        answer = trainer.post("/tables/new/", given)
        assert answer.status_code == 400
        assert re.search(words, unescape(answer.content.decode())), words


def test_a_file_too_large_is_refused_before_it_is_read(trainer: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file above the limit is refused with the limit."""
    from upsides.web.tables import forms

    monkeypatch.setattr(forms, "MOST_BYTES", 10)
    answer = send(trainer, "Horse,Date,Mass\n")
    assert "That file is too large: 20 MB is the most." in unescape(answer.content.decode())


def test_addresses_that_lead_nowhere(trainer: Client) -> None:
    """Rows that nothing can be are not found, a file that is gone is told, and an import of no number is not found."""
    assert trainer.get("/tables/read/dogs/abc/").status_code == 404
    gone = trainer.get(f"/tables/read/masses/{'0' * 64}/")
    assert gone.status_code == 400
    assert "give the file again" in gone.content.decode()
    assert trainer.get("/tables/999999/").status_code == 404


def test_a_long_table_goes_through_a_job(
    trainer: Client, names: list[str], seat: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of a long table all rows are looked at by a job, then taken in by another, with their progress on the pages."""
    monkeypatch.setattr(pages, "SHORT", 3)
    monkeypatch.setattr(views, "SHORT", 3)
    place = send(trainer, table(names, f"Nobody,{clock.today()},480")).headers["Location"]
    page = text(trainer, place)
    assert "The table is long. Have all its rows looked at before any is taken." in page
    looked = trainer.post(f"{place}check/", fields(page)).headers["Location"]
    assert "All its rows are being looked at." in text(trainer, looked)
    run(Job.objects.get().pk)
    page = text(trainer, looked)
    assert "4 of 5 rows can be taken." in page
    one = taking(trainer, place, page).headers["Location"]
    assert "It is being taken in; what stands so far is whole." in text(trainer, one)
    assert trainer.post(f"{one}undo/").status_code == 400
    run(Job.objects.latest("pk").pk)
    assert "It brought 4 entries or horses. 1 row was left out." in text(trainer, one)
    trainer.post(f"{one}undo/")
    assert "It is being undone." in text(trainer, one)
    job = Job.objects.latest("asked_at", "pk")
    run(job.pk)
    assert "Undone: 4 entries withdrawn" in text(trainer, one)
    assert "4 entries withdrawn, 0 horses taken out; 0 stay." in text(trainer, f"/job/{job.pk}/")


def test_a_stopped_import_says_so_and_goes_on(trainer: Client, names: list[str], seat: Any) -> None:
    """An import that was stopped says what stands of it; going on with it finishes it without doubling."""
    place = send(trainer, table(names)).headers["Location"]
    one = taking(trainer, place, text(trainer, place)).headers["Location"]
    intake = Intake.objects.get()
    intake.columns = {name: value for name, value in intake.columns.items() if name != "told"}
    intake.save()
    assert "It was stopped before its end; 4 entries and horses of it stand." in text(trainer, one)
    trainer.post(f"{one}go-on/")
    run(Job.objects.get().pk)
    assert "It brought 4 entries or horses." in text(trainer, one)
    assert Entry.objects.count() == 4


@pytest.mark.parametrize("login", ["head_person", "carer", "rider", "vet", "owner"])
def test_only_the_office_opens_them(client_as: ClientAs, loaded: worlds.Yard, login: str) -> None:
    """Nobody but trainer, assistant and secretary takes tables in or gives them out."""
    for address in ("/tables/", "/tables/new/", "/tables/export/", "/tables/1/", "/tables/read/masses/abc/"):
        assert client_as(login).get(address).status_code == 403


def test_tables_are_given_out(client_as: ClientAs, names: list[str]) -> None:
    """The secretary gets a workbook with a sheet a table, or CSV files in a ZIP, those that were asked for."""
    secretary = client_as("secretary")
    book = openpyxl.load_workbook(io.BytesIO(secretary.get("/tables/export/?form=xlsx&what=horses").content))
    assert book.sheetnames == ["horses"]
    assert sorted(row[0] for row in book["horses"].iter_rows(min_row=2, values_only=True)) == sorted(
        Horse.objects.values_list("name", flat=True)
    )
    packed = zipfile.ZipFile(io.BytesIO(secretary.get("/tables/export/?form=csv").content))
    assert {"horses.csv", "people.csv", "diary.csv"} <= set(packed.namelist())
    assert packed.read("people.csv").startswith(b"\xef\xbb\xbfName,")
    refused = secretary.get("/tables/export/?form=csv&what=figures")
    assert refused.status_code == 400
    assert secretary.get("/tables/export/?form=csv&first=x").status_code == 400


def test_the_list_needs_few_queries(trainer: Client, names: list[str]) -> None:
    """Ten imports are listed with as many queries as one."""

    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            text(trainer, "/tables/")
        return len(seen)

    by = Person.objects.get(login="trainer")
    values = {"what": "masses", "file": "a.csv", "sha256": "0" * 64, "by": by, "at": clock.now()}
    Intake.objects.create(**values)
    asked()  # what the first page of a process looks up once
    one = asked()
    for _ in range(9):
        Intake.objects.create(**values)
    assert asked() == one


def test_the_ways_to_the_tables(trainer: Client, loaded: worlds.Yard) -> None:
    """The pages of jobs and of people lead to the tables."""
    for address in ("/jobs/", "/people/"):
        assert 'href="/tables/"' in text(trainer, address)
