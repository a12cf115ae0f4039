"""The page of a horse's legs: its sentence, its picture, and the entries; and the picture where legs are entered."""

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
from upsides.books.diary.legs import LIMBS, PLACES
from upsides.books.models import Entry, Horse, Person
from upsides.books.services.diary import Draft, record, withdraw
from upsides.errors import EntryRefusedError
from upsides.web.legs.drawing import ROWS, WIDTH, limbs
from worlds import ClientAs

pytestmark = pytest.mark.django_db
NOON = datetime(2030, 6, 20, 12, tzinfo=UTC)
TENDON = {"limb": "near_fore", "place": "tendon", "side": "back", "signs": "heat,filling", "how_much": "slight"}


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, NOON)


@pytest.fixture
def horse(db: None) -> Horse:
    return Horse.objects.order_by("pk")[0]


def entered(horse: Horse, kind: str, values: dict[str, object], days: int = 0, by: str = "vet") -> Entry:
    at = clock.now() - timedelta(days=days)
    return record(Draft(uuid4(), kind, horse.pk, values, at, at), Person.objects.get(login=by))


def read(client: Client, horse: Horse, query: str = "") -> str:
    answer = client.get(f"/horse/{horse.pk}/legs/{query}")
    assert answer.status_code == 200
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def answer_of(page: str) -> str:
    return re.search(r'<p class="answer">(.*?)</p>', page, re.S)[1]


def plain(html: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def filled(page: str) -> dict[tuple[str, str], tuple[str, set[str]]]:
    """The spots that are filled: whether of the last day or older, and which halves."""
    found = {}
    for limb, drawn in re.findall(r'<div class="limb (\w+?)(?: told)?">(.*?)</div>', page, re.S):
        for place, age, svg in re.findall(r'<span class="spot at-(\w+)(?: (\w+))?">(.*?)</span>', drawn, re.S):
            halves = set(re.findall(r'class="(front|back) is"', svg))
            if age or halves:
                found[limb, place] = (age, halves)
    return found


def test_what_was_found_opens_the_page(client_as: ClientAs, horse: Horse) -> None:
    """The last finding is said first, with its day, and whether anybody has felt the legs as usual since."""
    entered(horse, "leg", TENDON, days=2)
    client = client_as("vet")
    said = "Near fore, tendon, back, on 18 June: heat, filling, slight."
    assert answer_of(read(client, horse)) == f"{said} No entry since says that the legs were felt and as usual."
    entered(horse, "legs_felt", {}, days=3)
    assert "No entry since" in answer_of(read(client, horse))
    entered(horse, "legs_felt", {}, days=1)
    assert answer_of(read(client, horse)) == f"{said} Legs felt since, as usual, last on 19 June."


def test_not_felt_felt_and_found_are_three_things(client_as: ClientAs, horse: Horse) -> None:
    """A horse whose legs nobody felt is not one whose legs were felt and as usual, and looking at it is neither."""
    client = client_as("carer")
    entered(horse, "looked_at", {})
    entered(horse, "as_usual", {})
    assert answer_of(read(client, horse)) == "Nothing has been entered about the legs yet."
    entered(horse, "legs_felt", {}, days=50)
    assert answer_of(read(client, horse)) == (
        "Nothing was entered about the legs in the last 4 weeks; the last was on 1 May."
    )
    entered(horse, "legs_felt", {}, days=4)
    assert answer_of(read(client, horse)) == (
        "Legs felt and as usual, last on 16 June; no finding in the last 4 weeks."
    )


def test_the_picture_is_filled_where_something_was_found(client_as: ClientAs, horse: Horse) -> None:
    """A place is filled, its half where that was said; the last day apart from those before; in words beside it."""
    entered(horse, "leg", TENDON, days=2)
    entered(horse, "leg", {"limb": "near_fore", "place": "knee", "side": "front", "signs": "wound"}, days=2)
    entered(horse, "leg", {"limb": "off_hind", "place": "fetlock", "signs": "filling"}, days=12)
    entered(horse, "leg", {"limb": "off_fore", "place": "foot", "side": "inside", "signs": "heat"}, days=13)
    entered(horse, "leg", {"limb": "off_fore", "place": "coronet", "signs": "heat"}, days=28)
    page = read(client_as("vet"), horse)
    both = {"front", "back"}
    assert filled(page) == {
        ("near_fore", "tendon"): ("newest", both),
        ("near_fore", "knee"): ("newest", {"front"}),
        ("off_hind", "fetlock"): ("older", both),
        ("off_fore", "foot"): ("older", both),
    }
    words = [plain(item) for item in re.findall(r"<li><p><span class=.place.>.*?</li>", page, re.S)]
    assert words == [
        "Near fore, knee, front : wound 2 days ago, 18 Jun 30 , vet one",
        "Near fore, tendon, back : heat, filling, slight 2 days ago, 18 Jun 30 , vet one",
        "Off hind, fetlock : filling 12 days ago, 8 Jun 30 , vet one",
        "Off fore, foot, inside : heat 13 days ago, 7 Jun 30 , vet one",
    ]


def test_scales_of_lameness_are_named_and_kept_apart(client_as: ClientAs, horse: Horse) -> None:
    """Grades stand under the scale that the vet used, each by itself; no mean of any is made."""
    graded = {"limb": "near_hind", "gait": "trot"}
    entered(horse, "lameness", graded | {"scale": "5", "grade": "1.5", "circle": "left"}, days=1)
    entered(horse, "lameness", graded | {"scale": "5", "grade": "2.5"}, days=3)
    entered(horse, "lameness", graded | {"scale": "10", "grade": "4"}, days=5)
    entered(horse, "not_right", {"limb": "near_hind", "ask_vet": "1", "text": "Short behind"}, days=6)
    page = read(client_as("trainer"), horse)
    assert answer_of(page).startswith(
        "Near hind, on 19 June: lame, grade 1.5 on the scale 0 to 5, at the trot, on a left circle."
    )
    heads = re.findall(r"<h2>(.*?)</h2>", page)
    assert heads == ["Not right", "Lameness on the scale 0 to 5", "Lameness on the scale 0 to 10"]
    five, ten = page.split("<h2>")[2:]
    assert ("grade 1.5" in five, "grade 2.5" in five, "grade 4" in five) == (True, True, False)
    assert "grade 4" in ten
    assert not re.search(r"average|mean\b|grade 2[ ,]|2\.7|2\.67", plain(page.split("<main")[1]).replace("means", ""))
    assert filled(page) == {}


def test_shoes_have_their_own_heading(client_as: ClientAs, horse: Horse) -> None:
    """A loose shoe stands under "Shoes" with its foot, and marks nothing on the picture, since it says nothing of the
    foot."""
    entered(horse, "shoe", {"wrong": "lost,clenches", "feet": "near_fore,off_hind"})
    page = read(client_as("vet"), horse)
    assert re.findall(r"<h2>(.*?)</h2>", page) == ["Shoes"]
    assert "Shoe: lost, clenches risen; near fore, off hind." in plain(page)
    assert filled(page) == {}


def test_what_was_withdrawn_is_not_shown(client_as: ClientAs, horse: Horse, hands: Hands) -> None:
    """A withdrawn finding goes from sentence, picture and list; as of before, it stands."""
    entry = entered(horse, "leg", TENDON)
    hands.at += timedelta(hours=1)
    then = hands.at.isoformat().replace("+", "%2B")
    hands.at += timedelta(hours=1)
    withdraw(entry, entry.author, client_id=uuid4(), made_at=hands.at)
    client = client_as("vet")
    page = read(client, horse)
    assert answer_of(page) == "Nothing has been entered about the legs yet."
    assert filled(page) == {}
    assert ("near_fore", "tendon") in filled(read(client, horse, f"?as_of={then}"))


def test_who_opens_it(client_as: ClientAs, client: Client, horse: Horse) -> None:
    """Those who work in the yard or come there to work open it; owners and strangers do not."""
    for login in ("trainer", "carer", "rider", "vet", "secretary"):
        assert client_as(login).get(f"/horse/{horse.pk}/legs/").status_code == 200
    assert client_as("owner").get(f"/horse/{horse.pk}/legs/").status_code == 403
    assert client.get(f"/horse/{horse.pk}/legs/").status_code == 302
    assert client_as("vet").get("/horse/999999/legs/").status_code == 404


def test_the_number_of_queries_stays(client_as: ClientAs, horse: Horse) -> None:
    """However much was found, the page asks the books as often."""
    client = client_as("vet")
    entered(horse, "leg", TENDON)
    read(client, horse)
    with CaptureQueriesContext(connection) as few:
        read(client, horse)
    for days in range(8):
        entered(horse, "leg", TENDON, days=days)
        entered(horse, "legs_felt", {}, days=days)
    with CaptureQueriesContext(connection) as many:
        read(client, horse)
    assert len(many) <= len(few) + 1


def test_every_place_of_every_limb_is_drawn_once() -> None:
    """The picture has each limb with each place that it has: a knee in front, a hock behind; its pieces fill it."""
    assert list(limbs()) == list(LIMBS)
    for limb, spots in limbs().items():
        other = "hock" if limb.endswith("fore") else "knee"
        assert sorted(spot.place for spot in spots) == sorted(set(PLACES) - {other})
        boxes = [tuple(map(float, spot.box.split())) for spot in spots]
        assert sum(width * height for _, _, width, height in boxes) == pytest.approx(WIDTH * ROWS[-1][1])
        for spot, (left, _top, width, _height) in zip(spots, boxes, strict=True):
            xs = [float(pair.split()[0]) for pair in re.findall(r"[\d.]+ [\d.]+", spot.front + spot.back)]
            assert left <= min(xs)
            assert max(xs) <= left + width


def test_the_off_side_is_the_near_side_turned_round() -> None:
    """An off limb is its near limb seen in a mirror, so that front is front on both."""
    for part in ("fore", "hind"):
        for near, off in zip(
            sorted(limbs()[f"near_{part}"], key=lambda spot: spot.place),
            sorted(limbs()[f"off_{part}"], key=lambda spot: spot.place),
            strict=True,
        ):
            pairs = [
                [tuple(map(float, pair.split())) for pair in re.findall(r"[\d.]+ [\d.]+", spot.front)]
                for spot in (near, off)
            ]
            for (x, y), (turned, same) in zip(*pairs, strict=True):
                assert (turned, same) == (pytest.approx(WIDTH - x, abs=0.11), y)


def test_a_leg_has_a_knee_or_a_hock(horse: Horse) -> None:
    """A hock of a foreleg and a knee of a hind one are refused."""
    for limb, place in (("near_fore", "hock"), ("off_hind", "knee")):
        with pytest.raises(EntryRefusedError, match="this leg has none"):
            entered(horse, "leg", {"limb": limb, "place": place, "signs": "heat"})


@pytest.mark.parametrize("address", ["/diary/", "/diary/shell/"])
def test_where_legs_are_entered_the_picture_waits(client_as: ClientAs, address: str) -> None:
    """The diary's page, kept on a phone or not, holds the picture once, each place a choice, and plain ones."""
    page = client_as("carer").get(address).content.decode()
    (picture,) = re.findall(r'<template id="leg-picture">(.*?)</template>', page, re.S)
    choices = re.findall(
        r'<input type="radio" name="spot" value="(\w+) (\w+)"><span class="unseen">(.*?)</span>', picture
    )
    assert len(choices) == 32
    assert all(words == f"{LIMBS[limb]}, {PLACES[place]}" for limb, place, words in choices)
    rest = page.replace(picture, "")
    assert rest.count('name="leg-limb" value="near_fore"') == 1
    assert rest.count('name="leg-place"') == 1
    assert rest.count('name="leg-side" value="back"') == 1
    assert "legs/legs" in re.search(r"<head>.*?</head>", page, re.S)[0]


def test_a_phone_keeps_what_the_picture_needs(client: Client) -> None:
    """The worker's list of what is kept holds the picture's script and style."""
    worker = client.get("/worker.js").content.decode()
    assert re.search(r'"/diary/scripts/\w+/legs\.js"', worker)
    assert re.search(r'"/static/legs/legs\.\w+\.css"', worker)
