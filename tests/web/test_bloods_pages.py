"""The page of a horse's blood samples: entering a report in every way, and results over time."""

import re
from datetime import UTC, datetime, timedelta
from html import unescape
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from mornings import Hands
from upsides.books import clock
from upsides.books.models import Entry, Horse, Person, Thing
from upsides.books.services.diary import Draft, record
from worlds import ClientAs

pytestmark = pytest.mark.django_db
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)
MOOR = "PCV 42 % 32-48\nHaemoglobin 14.9 g/dL 11.0-19.0\nCK 640 U/L 100-400\nSAA < 5 mg/l < 20"
CHALK = "PCV 41 % 30-46\nHaemoglobin 142 g/l 110-180\nCK 251 U/l 110-380\nSAA 210 mg/l < 15\nGGT 38 U/l"


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, NOON)


@pytest.fixture
def horse(db: None) -> Horse:
    return Horse.objects.order_by("pk")[0]


def sampled(horse: Horse, laboratory: str, results: str, days: int = 0, text: str = "") -> Entry:
    at = clock.now() - timedelta(days=days)
    values = {"laboratory": laboratory, "results": results, "text": text}
    return record(Draft(uuid4(), "bloods", horse.pk, values, at, at), Person.objects.get(login="vet"))


def read(client: Client, horse: Horse) -> str:
    answer = client.get(f"/horse/{horse.pk}/bloods/")
    assert answer.status_code == 200
    return answer.content.decode().replace("&nbsp;", " ").replace("\u00a0", " ")


def answer_of(page: str) -> str:
    return re.search(r'<p class="answer">(.*?)</p>', page, re.S)[1]


def rows(page: str) -> dict[str, list[str]]:
    """The table: of each row its name with its unit, and what its cells say."""
    found = {}
    for row in re.findall(r"<tr><th scope=.row.>(.*?)</tr>", page, re.S):
        head, *cells = re.split(r"<td[^>]*>", row)
        said = [" ".join(unescape(re.sub(r"<[^>]+>", " ", cell)).split()) for cell in (head, *cells)]
        found[said[0]] = said[1:]
    return found


def sent(client: Client, horse: Horse, **typed: str) -> tuple[int, str]:
    form = {"client_id": str(uuid4()), "laboratory": "Moor End", "results": "", "seen": "", "text": ""} | typed
    answer = client.post(f"/horse/{horse.pk}/bloods/", form, follow=True)
    return answer.status_code, unescape(answer.content.decode()).replace("\u00a0", " ")


def test_results_stand_over_time(client_as: ClientAs, horse: Horse) -> None:
    """Each thing measured is a row, each sample a column with its laboratory, the latest first; outside is in words."""
    sampled(horse, "Moor End", MOOR, days=30)
    sampled(horse, "Chalk Hill", CHALK, days=2)
    page = read(client_as("carer"), horse)
    assert rows(page) == {
        "PCV %": ["41 30–46", "42 32–48"],
        "Haemoglobin g/l elsewhere in another unit": ["142 110–180", ""],
        "Haemoglobin g/dL elsewhere in another unit": ["", "14.9 11–19"],
        "CK U/l": ["251 110–380", "640 above its interval 100–400"],
        "SAA mg/l": ["210 above its interval < 15", "<5 < 20"],
        "GGT U/l": ["38", ""],
    }
    assert [re.sub(r"<[^>]+>", " ", head).split() for head in re.findall(r"<th scope=.col.><a.*?</th>", page)] == [
        ["29", "Apr", "30", "Chalk", "Hill"],
        ["1", "Apr", "30", "Moor", "End"],
    ]
    assert answer_of(page) == (
        "2 samples, the last of 29 April 2030 by Chalk Hill: of 5 measured, SAA lies outside the interval that this "
        "laboratory prints. What it means is for the vet to say."
    )


def test_nothing_is_called_normal(client_as: ClientAs, horse: Horse) -> None:
    """No result is called normal or abnormal, healthy or not; the page says that the vet is asked."""
    sampled(horse, "Chalk Hill", CHALK, text="Look again in a week.")
    page = read(client_as("trainer"), horse)
    assert not re.search(
        r"normal|healthy|clear\b|safe\b|good\b", re.sub(r"<head>.*?</head>", "", page, flags=re.S), re.I
    )
    assert "is for the vet to say" in page
    assert "Look again in a week." in page


def test_a_horse_without_samples_says_so(client_as: ClientAs, horse: Horse) -> None:
    """Without a sample the page says that there is none, and has no table."""
    page = read(client_as("vet"), horse)
    assert answer_of(page) == f"No blood sample of {horse.name} is in the books."
    assert rows(page) == {}


def test_a_report_is_pasted(client_as: ClientAs, horse: Horse) -> None:
    """Lines of a report are kept as they are, with the day on which the sample was taken, and said back."""
    status, page = sent(client_as("vet"), horse, results=MOOR, seen="2030-04-28T06:30")
    assert status == 200
    assert "Bloods (Moor End): outside its interval CK 640 U/L; 4 measured." in page
    entry = Entry.objects.get(kind="bloods")
    assert entry.happened_at == datetime(2030, 4, 28, 5, 30, tzinfo=UTC)
    assert [one["name"] for one in entry.values["results"]] == ["PCV", "Haemoglobin", "CK", "SAA"]


def test_rows_offer_what_the_last_sample_had(client_as: ClientAs, horse: Horse) -> None:
    """The form holds the last sample's names, units and intervals, and no value; what gets one is entered."""
    sampled(horse, "Moor End", MOOR, days=9)
    client = client_as("secretary")
    page = read(client, horse)
    fields = dict(re.findall(r'<input name="(row-\d+-\w+)" value="([^"]*)"', page))
    assert [fields[f"row-{number}-name"] for number in range(1, 8)] == ["PCV", "Haemoglobin", "CK", "SAA", "", "", ""]
    assert (fields["row-2-unit"], fields["row-2-low"], fields["row-4-high"]) == ("g/dL", "11", "20")
    assert not any(value for name, value in fields.items() if name.endswith("value"))
    assert "from the report of Moor End of 22 April 2030" in page
    sent(client, horse, **fields | {"row-1-value": "40", "row-4-value": "<5", "row-5-name": "25-OH vitamin D",
                                    "row-5-value": "42,5"}, results="GGT 38 U/l")  # fmt: skip
    entry = Entry.objects.filter(kind="bloods").latest("pk")
    assert entry.values["results"] == [
        {"name": "PCV", "value": 40.0, "unit": "%", "low": 32.0, "high": 48.0},
        {"name": "SAA", "value": 5.0, "unit": "mg/l", "high": 20.0, "bound": "<"},
        {"name": "25-OH vitamin D", "value": 42.5},
        {"name": "GGT", "value": 38.0, "unit": "U/l"},
    ]


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ({"results": "PCV forty"}, "it cannot be read"),
        ({"results": "CK 1,250 U/L"}, "can stand for thousands or for decimals"),
        ({"results": MOOR, "laboratory": ""}, "aboratory: it is empty"),
        ({"results": ""}, "it is empty"),
        ({"row-1-name": "", "row-1-value": "4"}, "nothing says what was measured"),
        ({"row-1-name": "PCV", "row-1-value": "four"}, "it cannot be read"),
        ({"results": MOOR, "seen": "2031-01-01T10:00"}, "that is still to come"),
        ({"results": MOOR, "client_id": "seven"}, "it is no UUID"),
    ],
)
def test_what_is_refused_stays_in_the_form(
    client_as: ClientAs, horse: Horse, typed: dict[str, str], reason: str
) -> None:
    """What cannot be right is refused with its reason, nothing is entered, and what was typed stands there still."""
    status, page = sent(client_as("vet"), horse, **{"text": "Tired."} | typed)
    assert (status, Entry.objects.filter(kind="bloods").count()) == (400, 0)
    assert reason in page
    assert "Tired." in page
    for value in typed.values():
        assert value in page or value == "seven"


def test_who_enters_and_who_reads(client_as: ClientAs, client: Client, horse: Horse) -> None:
    """Those who write down what a vet found get the form; riders and carers read; owners and strangers do neither."""
    for login in ("vet", "trainer", "assistant", "head_person", "secretary"):
        assert 'class="sample"' in read(client_as(login), horse)
    for login in ("carer", "rider"):
        assert 'class="sample"' not in read(client_as(login), horse)
        status, page = sent(client_as(login), horse, results=MOOR)
        assert status == 400
        assert "is entered by" in page
    assert client_as("owner").get(f"/horse/{horse.pk}/bloods/").status_code == 403
    assert client.get(f"/horse/{horse.pk}/bloods/").status_code == 302
    assert client_as("vet").get("/horse/999999/bloods/").status_code == 404
    assert Entry.objects.filter(kind="bloods").count() == 0


def test_pressed_twice_is_entered_once(client_as: ClientAs, horse: Horse) -> None:
    """The same page sent twice enters one sample."""
    same = {"client_id": str(uuid4()), "results": MOOR, "seen": "2030-04-28T06:30"}
    for _ in range(2):
        assert sent(client_as("vet"), horse, **same)[0] == 200
    assert Entry.objects.filter(kind="bloods").count() == 1


def test_the_yards_laboratories_are_offered(client_as: ClientAs, horse: Horse) -> None:
    """Names of laboratories that the yard uses are offered, so that one is not called two things."""
    Thing.objects.create(kind="laboratory", name="Quarr Laboratory")
    assert '<option value="Quarr Laboratory"></option>' in read(client_as("vet"), horse)


def test_earlier_samples_do_not_widen_the_table(client_as: ClientAs, horse: Horse) -> None:
    """Five samples stand side by side, earlier ones below in a list; the number of queries stays."""
    client = client_as("vet")
    sampled(horse, "Moor End", MOOR, days=40)
    read(client, horse)
    with CaptureQueriesContext(connection) as few:
        read(client, horse)
    for number in range(7):
        sampled(horse, "Moor End", MOOR, days=number)
    with CaptureQueriesContext(connection) as many:
        page = read(client, horse)
    assert len(many) <= len(few) + 1
    assert {len(cells) for cells in rows(page).values()} == {5}
    earlier = page.split("Earlier samples")[1].split("</details>")[0]
    assert earlier.count("<li>") == 3
