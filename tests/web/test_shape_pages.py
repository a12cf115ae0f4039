"""The pages about a horse's shape: scoring it before others' scores are seen, and how people see it."""

import re
from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from mornings import Hands
from upsides.books import clock
from upsides.books.models import Entry, Horse, Person
from upsides.books.services.diary import Draft, record
from upsides.trip.traits import TRAITS
from upsides.web.shape.forms import GROUPS
from upsides.web.shape.pages import marks_of
from upsides.web.shape.pictures import Dot, line
from worlds import ClientAs

pytestmark = pytest.mark.django_db
STAFF = ("trainer", "assistant", "head_person", "carer", "rider", "secretary", "vet")
NAMES = [trait.name for trait in TRAITS]
NOON = datetime(2030, 5, 1, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, NOON)


@pytest.fixture
def horse(db: None) -> Horse:
    return Horse.objects.order_by("pk")[0]


def scored(login: str, horse: Horse, /, **scores: int) -> Entry:
    draft = Draft(uuid4(), "shape", horse.pk, scores, clock.now())
    return record(draft, Person.objects.get(login=login))


def typed(**scores: int | str) -> dict[str, str]:
    """The form as a browser sends it: every trait, empty where none was scored."""
    given = {f"shape-{name}": str(scores.pop(name, "")) for name in NAMES}
    return {"client_id": str(uuid4()), "corrects": "", "seen": ""} | given | {k: str(v) for k, v in scores.items()}


def read(client: Client, horse: Horse, query: str = "") -> str:
    answer = client.get(f"/horse/{horse.pk}/shape/{query}")
    assert answer.status_code == 200
    return answer.content.decode()


def answer_of(page: str) -> str:
    return re.search(r'<p class="answer">(.*?)</p>', page, re.S)[1].replace("\u00a0", " ")


def sent(client: Client, horse: Horse, form: dict[str, str]) -> tuple[int, str]:
    answer = client.post(f"/horse/{horse.pk}/shape/score/", form, follow=True)
    return answer.status_code, answer.content.decode()


@pytest.mark.parametrize("login", STAFF)
def test_everybody_of_the_yard_may_score(client_as: ClientAs, horse: Horse, login: str) -> None:
    """All who work in the yard get the form, enter with it, and see then how the horse is seen."""
    client = client_as(login)
    assert 'id="score"' in read(client, horse)
    status, page = sent(client, horse, typed(frame=2))
    assert status == 200
    assert f"You see {horse.name} as: compact. Nobody else has scored it yet." in answer_of(page)
    assert Entry.objects.get(kind="shape").author.login == login


def test_nobody_else_does(client_as: ClientAs, client: Client, horse: Horse) -> None:
    """An owner is refused, strangers are sent to the door, and a horse that is not there is not there."""
    for address in (f"/horse/{horse.pk}/shape/", f"/horse/{horse.pk}/shape/score/"):
        assert client_as("owner").get(address).status_code == 403
        assert client_as("owner").post(address, typed(frame=2)).status_code == 403
        assert client.get(address).status_code == 302
    for address in ("/horse/999999/shape/", "/horse/999999/shape/score/"):
        assert client_as("trainer").get(address).status_code == 404
    assert not Entry.objects.filter(kind="shape").exists()


def test_the_form_asks_for_every_trait_and_works_without_a_script(client_as: ClientAs, horse: Horse) -> None:
    """Every trait stands once in a group, as a list of 1 to 9 with words at the ends, none of it chosen."""
    assert sorted(name for _, names in GROUPS for name in names) == sorted(NAMES)
    page = read(client_as("carer"), horse)
    lists = re.findall(r'<select id="shape-(\w+)" name="shape-\1".*?</select>', page, re.S)
    assert sorted(lists) == sorted(NAMES)
    assert page.count('<option value="">not scored</option>') == page.count('<option value="5">5, average</option>')
    assert '<option value="1">1, compact</option>' in page
    assert '<option value="9">9, rangy</option>' in page
    assert " selected" not in page
    assert page.count('type="range"') == len(NAMES)
    assert not re.search(r'type="range"[^>]* name=', page)


def test_only_what_was_scored_is_entered(client_as: ClientAs, horse: Horse) -> None:
    """A trait that was left alone is not in the books, and the entry is said back."""
    _, page = sent(client_as("carer"), horse, typed(quarters=9, walk=5))
    assert Entry.objects.get(kind="shape").values == {"quarters": 9, "walk": 5}
    assert f"Entered for {horse.name}: Shape: strong quarters; 2 of {len(NAMES)} traits scored." in page


def test_others_are_not_seen_before_ones_own(client_as: ClientAs, horse: Horse) -> None:
    """Until somebody has scored a horse, no page says what others scored: form, diary, entry, horse."""
    entry = scored("rider", horse, walk=9, neck_length=1)
    client = client_as("head_person")
    pages = [read(client, horse)]
    addresses = ("/diary/", f"/diary/{entry.pk}/", f"/horse/{horse.pk}/", f"/horse/{horse.pk}/shape/score/")
    pages += [client.get(address).content.decode() for address in addresses]
    assert f"1 person has scored the shape of {horse.name}; you see it once" in answer_of(pages[0])
    for page in pages:
        said = re.sub(r"<form id=.score.*?</form>", "", page, flags=re.S)
        assert "overtracks" not in said
        assert "short neck" not in said
        assert 'class="between"' not in said
    sent(client, horse, typed(bone=5))
    assert "overtracks" in answer_of(read(client, horse))
    assert "overtracks" in client.get(f"/diary/{entry.pk}/").content.decode()


def test_where_people_differ_is_said(client_as: ClientAs, horse: Horse) -> None:
    """Three points apart is seen differently, two are not, and what one person scored stands by itself."""
    scored("rider", horse, shoulder_slope=3, walk=7, bone=9)
    scored("carer", horse, shoulder_slope=6, walk=5)
    page = read(client_as("carer"), horse)
    assert "They see the slope of the shoulder differently." in answer_of(page)
    heads = re.findall(r"<h2>(.*?)</h2>", page)
    assert heads == ["Seen differently", "Seen alike", "Scored by one person"]
    apart, alike, alone = page.split("<h2>")[1:]
    assert "2 people see the slope of the shoulder differently, from 3 to 6." in apart
    assert "average 4.5" in apart
    plain = apart.replace("\u00a0", " ")
    assert "work rider one 3, looks after horses one 6" in plain
    assert "Walk" in alike
    assert "differently" not in alike
    assert "Bone" in alone
    assert "average" not in alone.split("<p class=")[0]
    assert "Nobody has scored the frame, the barrel" in page


@pytest.mark.parametrize(
    ("first", "second", "said"),
    [
        ({"walk": 5}, {"walk": 6}, "Nowhere do they differ by more than two points."),
        ({"walk": 5}, {"bone": 6}, "No trait was scored by more than one of them."),
        (
            dict.fromkeys(NAMES[:6], 2),
            dict.fromkeys(NAMES[:6], 7) | {NAMES[0]: 9},
            "They see 6 traits differently, most of all the frame, the barrel, the weight of the body and the length",
        ),
    ],
)
def test_the_first_sentence_says_how_far_they_agree(
    client_as: ClientAs, horse: Horse, first: dict[str, int], second: dict[str, int], said: str
) -> None:
    """Agreement, nothing in common and many differences are each said in words."""
    scored("rider", horse, **first)
    scored("carer", horse, **second)
    assert said in answer_of(read(client_as("carer"), horse))


def test_names_and_days_stand_beside_the_dots(client_as: ClientAs, horse: Horse, hands: Hands) -> None:
    """Everybody who scored stands with mark, name, day and how many traits; an older score keeps its own day."""
    scored("rider", horse, walk=7, bone=3)
    hands.at += timedelta(days=20)
    scored("rider", horse, walk=4)
    scored("carer", horse, walk=6, bone=4)
    page = read(client_as("carer"), horse).replace("\u00a0", " ")
    judges = re.search(r'<ul class="judges".*?</ul>', page, re.S)[0]
    assert judges.count("<li>") == 2
    assert "work rider one" in judges
    assert "21 May 2030</time>" in judges
    assert f"2 of {len(NAMES)} traits" in judges
    assert "work rider one 3 (1 May 2030)" in page
    assert "work rider one 4," in page


def test_a_slip_of_today_is_corrected(client_as: ClientAs, horse: Horse) -> None:
    """The same day the form holds what was entered, and sending it replaces that; both stay to be read."""
    client = client_as("carer")
    sent(client, horse, typed(walk=7, bone=2))
    old = Entry.objects.get(kind="shape")
    page = client.get(f"/horse/{horse.pk}/shape/score/").content.decode()
    assert '<option value="7" selected>7</option>' in page
    assert f'name="corrects" value="{old.client_id}"' in page
    assert "replaces that" in answer_of(page)
    sent(client, horse, typed(walk=8, corrects=str(old.client_id)))
    new = Entry.objects.get(supersedes=old)
    assert new.values == {"walk": 8}
    assert new.happened_at == old.happened_at
    assert "2 of" not in read(client, horse).split('class="judges"')[1].split("</ul>")[0]


def test_another_day_is_another_look(client_as: ClientAs, horse: Horse, hands: Hands) -> None:
    """Later the form is empty, with one's own last scores beside it, and what is left out keeps its score."""
    client = client_as("carer")
    sent(client, horse, typed(walk=7, bone=2))
    hands.at += timedelta(days=30)
    page = client.get(f"/horse/{horse.pk}/shape/score/").content.decode().replace("\u00a0", " ")
    assert " selected" not in page
    assert "Your last score: 7, on 1 May 2030." in page
    sent(client, horse, typed(walk=4))
    assert Entry.objects.filter(kind="shape", supersedes=None).count() == 2
    shown = read(client, horse).replace("\u00a0", " ")
    assert "looks after horses one 4" in shown
    assert "looks after horses one 2 (1 May 2030)" in shown


def test_it_can_have_been_seen_earlier(client_as: ClientAs, horse: Horse) -> None:
    """The time at which the horse was seen is kept, in the yard's own zone."""
    sent(client_as("carer"), horse, typed(walk=7, seen="2030-04-28T17:30"))
    entry = Entry.objects.get(kind="shape")
    assert entry.happened_at == datetime(2030, 4, 28, 16, 30, tzinfo=UTC)
    assert entry.made_at == NOON


@pytest.mark.parametrize(
    ("form", "said"),
    [
        ({}, "Shape: no trait was scored"),
        ({"walk": 10}, "a score is a whole number from 1 to 9"),
        ({"walk": 7, "seen": "2030-05-01T14:00"}, "that is still to come"),
        ({"walk": 7, "seen": "1999-05-01T14:00"}, "it was foaled in"),
        ({"walk": 7, "seen": "yesterday"}, "it is no time"),
        ({"walk": 7, "client_id": "x"}, "load the page again"),
        ({"walk": 7, "corrects": "x"}, "load the page again"),
        ({"walk": 7, "corrects": "00000000-0000-0000-0000-000000000007"}, "is not in the diary"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    client_as: ClientAs, horse: Horse, form: dict[str, str | int], said: str
) -> None:
    """A refusal stands on the page with what was typed, and nothing was entered."""
    status, page = sent(client_as("carer"), horse, typed(**{"bone": 3} | form if form else {}))
    assert status == 400
    assert said in page.replace("&#x27;", "'")
    assert not form or '<option value="3" selected>3</option>' in page
    assert not Entry.objects.filter(kind="shape").exists()


def test_nobody_corrects_another_persons_eye(client_as: ClientAs, horse: Horse) -> None:
    """Even the trainer cannot put scores into somebody else's entry; it can only be withdrawn in the diary."""
    entry = scored("carer", horse, walk=9)
    status, _ = sent(client_as("trainer"), horse, typed(walk=1, corrects=str(entry.client_id)))
    assert status == 400
    page = client_as("trainer").get(f"/diary/{entry.pk}/").content.decode()
    assert 'name="withdraw"' in page
    assert 'name="shape' not in page


def test_pressing_twice_enters_once(client_as: ClientAs, horse: Horse) -> None:
    """The form carries a number, so that what is sent again after a lost answer is the same entry."""
    client, form = client_as("carer"), typed(walk=7)
    assert [sent(client, horse, form)[0] for _ in range(2)] == [200, 200]
    entry = Entry.objects.get(kind="shape")
    assert f'data-entered="{entry.client_id}"' in read(client, horse)


def test_an_earlier_moment_is_as_it_was(client_as: ClientAs, horse: Horse, hands: Hands) -> None:
    """As of before one's own scores there is neither form nor score, and as of after them what stood then."""
    scored("rider", horse, walk=9)
    hands.at += timedelta(hours=1)
    scored("carer", horse, walk=5)
    hands.at += timedelta(hours=1)
    scored("rider", horse, walk=1)
    client = client_as("carer")
    before, after = (read(client, horse, f"?as_of=2030-05-01T{time}") for time in ("13:30", "14:30"))
    assert "1 person has scored" in answer_of(before)
    assert 'id="score"' not in before
    assert 'class="between"' not in before
    assert "2 people see the walk differently, from 5 to 9." in after
    assert "from 1 to 5" in read(client, horse)
    assert f"/horse/{horse.pk}/shape/score/" not in after


def test_the_diary_leaves_it_to_its_own_page(client_as: ClientAs, horse: Horse) -> None:
    """The diary's form does not offer it, with and without signal, and says where it is."""
    client = client_as("carer")
    for address in ("/diary/", "/diary/shell/"):
        page = client.get(address).content.decode()
        assert 'value="shape"' not in page
        assert "have pages of their own" in page


def test_how_far_the_yard_agrees_is_said_once_it_can_be(client_as: ClientAs, horse: Horse) -> None:
    """With five horses scored by two people the share that lies in the horses is said, and the best and least trait."""
    assert "How far people agree" not in read(client_as("carer"), horse)
    for place, one in enumerate(Horse.objects.order_by("pk")[:5]):
        scored("carer", one, walk=2 + place, bone=5 + place % 2)
        if place == 1:
            assert "That is little to go by yet." not in read(client_as("carer"), horse)
        scored("rider", one, walk=2 + place, bone=6 - place % 2)
        if place == 1:
            assert "That is little to go by yet." in read(client_as("carer"), horse)
    page = read(client_as("carer"), horse)
    assert "5 horses of the yard have been scored by two people or more" in page
    assert re.search(r"differ by, \d+% lies in the horses", page)
    assert "People agree best about the walk and least about the bone." in page


def test_queries_do_not_grow_with_those_who_scored(client_as: ClientAs, horse: Horse) -> None:
    """A page asks the books as often for six judges as for two."""
    asked = []
    for logins in (("carer", "rider"), ("vet", "trainer", "assistant", "secretary")):
        for login in logins:
            scored(login, horse, walk=5, bone=4)
        client = client_as("carer")
        read(client, horse)
        with CaptureQueriesContext(connection) as queries:
            read(client, horse)
        asked.append(len(queries))
    assert asked[0] == asked[1]


def test_marks_tell_people_apart() -> None:
    """Marks are the first and last initials, numbered where two would be the same."""
    assert marks_of(["Ann Hazel", "Al Hart", "Tom", "Jo van der Reed", "Abe Holm", ""]) == [
        "AH", "AH2", "T", "JR", "AH3", "?",
    ]  # fmt: skip


def test_dots_stand_where_people_scored() -> None:
    """A dot stands at its score, equal ones over one another, the band between the ends and the mean under them."""
    drawn = line([Dot("AH", 1, own=True), Dot("TR", 9, own=False), Dot("JR", 9, own=False)], 19 / 3)
    places = re.findall(r'<g class="(\w+)" transform="translate\((\d+) (\d+)\)">.*?>(\w+)</text>', drawn)
    base = places[0][2]
    assert places == [
        ("own", "20", base, "AH"),
        ("other", "340", base, "TR"),
        ("other", "340", str(int(base) - 27), "JR"),
    ]
    assert f'class="way" d="M20 {base}H340"' in drawn
    assert re.search(r'class="mean" d="M233 ', drawn)
    assert 'class="mean"' not in line([Dot("AH", 5, own=True)], None)
    assert 'class="way"' not in line([Dot("AH", 5, own=True)], None)
