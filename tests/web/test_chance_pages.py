"""Chances and the draw on pages: of which moment they are, to whom they are shown, and what a web process loads."""

import subprocess
import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from django.test import Client

import worlds
from fresh import fresh
from medicine_yard import boosted
from programmed_yard import a_chance, code_of, engage_for, keep_chances, marked, programmed
from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Release, Share, Sight
from upsides.books.queries import draw
from upsides.errors import DrawMissingError
from upsides.ratings.draw.fitting import Block, DrawFit, Slopes
from upsides.ratings.draw.starts import Place
from upsides.ratings.draw.worth import Start, draw_at
from upsides.results.library import Library
from worlds import ClientAs

pytestmark = pytest.mark.django_db
FEW = 6


@pytest.fixture
def horse(loaded: worlds.Yard) -> Horse:
    """A horse with a mark; the few others in training have none."""
    Horse.objects.filter(pk__gt=Horse.objects.order_by("pk")[FEW].pk).update(left="2026-01-01", joined="2025-01-01")
    programmed(loaded.library)
    one = marked(Horse.objects.order_by("pk")[0])
    boosted(one, clock.today() - timedelta(days=30))
    return one


@pytest.fixture
def code(loaded: worlds.Yard, horse: Horse) -> str:
    return code_of(loaded.library, "Sedge Handicap")


def page(browser: Client, address: str) -> str:
    answer = browser.get(address)
    assert answer.status_code == 200, address
    return " ".join(answer.content.decode().replace("\u00a0", " ").split())


def test_a_horses_races_are_compared_by_chance_rank_and_earnings(client_as: ClientAs, code: str, horse: Horse) -> None:
    """Each race that was worked out says the chance with its range, the rank with its range, and what is left of the
    prize to expect after shares and fees: 0.8 of 1,200 less 80 is 880."""
    keep_chances(code, {horse.pk: a_chance()})
    text = page(client_as("trainer"), f"/horse/{horse.pk}/races/")
    assert "Chance to win 12 % (7 to 19); 3rd of 11 (1st to 6th) among the runners" in text
    assert "; 80 GBP in all to the start" in text
    assert "880 GBP to expect after shares and fees" in text
    assert f"Worked out on {clock.today():%a} {clock.today().day} {clock.today():%B}" in text


def test_an_entry_says_of_which_moment_its_chance_is(client_as: ClientAs, code: str, horse: Horse) -> None:
    """Before anything was worked out the page says so; then it says when, and where the weight has changed since."""
    address = f"/programme/race/{code}/horse/{horse.pk}/"
    assert "nobody has worked it out yet" in page(client_as("trainer"), address)
    keep_chances(code, {horse.pk: a_chance(weight=119.0)})
    text = page(client_as("trainer"), address)
    assert "12 % (7 to 19)" in text
    assert "Worked out on" in text
    assert "It was worked out at 8-7; it would carry" in text
    assert f'href="{address}chance/"' in text
    keep_chances(code, {}, why="too few races are like it")
    assert "too few races are like it" in page(client_as("trainer"), address)


def test_the_evidence_is_one_tap_away(client_as: ClientAs, code: str, horse: Horse) -> None:
    """The page of a chance names each piece with what it says and leads to the page where its evidence stands."""
    keep_chances(code, {horse.pk: a_chance()})
    text = page(client_as("trainer"), f"/programme/race/{code}/horse/{horse.pk}/chance/")
    assert f"{horse.name} has a chance to win of 12 % (7 to 19); by what each would show it stands 3rd of 11" in text
    for address in (f"/horse/{horse.pk}/trip/", f"/programme/race/{code}/", "/draw/?course=Larkmoor"):
        assert f'href="{address}' in text
    for words in ("74 lb (68 to 79)", "24 past races most like it", "1.7 lb either way", "1,200 GBP", "−240 GBP"):
        assert words in text
    taken = client_as("trainer").get(f"/programme/race/{code}/horse/{horse.pk + 999}/chance/")
    assert taken.status_code == 404


def test_the_page_says_who_is_known(client_as: ClientAs, code: str, horse: Horse) -> None:
    """The page of a chance names the rivals that count as themselves and those that are drawn."""
    keep_chances(code, {horse.pk: a_chance(races=0, known=("Marram", "Reed"), drawn=("Fern",), size=(4.0, 4.0, 4.0))})
    text = page(client_as("trainer"), f"/programme/race/{code}/horse/{horse.pk}/chance/")
    assert "count as themselves: Marram and Reed." in text
    assert "stand for them: Fern." in text
    assert "2 of 3 rivals known" in text


def test_each_owner_is_told_his_part(client_as: ClientAs, code: str, horse: Horse) -> None:
    """Of 880 after shares and fees the owners on the day of the race have theirs by their parts, a share that ends
    before it none; whose part of a prize it is says the rule, with its source."""
    Share.objects.filter(horse=horse).delete()
    owners = list(Person.objects.order_by("pk")[:3])
    for owner, numerator, last in ((owners[0], 3, None), (owners[1], 1, None), (owners[2], 4, clock.today())):
        Share.objects.create(horse=horse, owner=owner, numerator=numerator, denominator=4, first_day="2025-01-01",
                             last_day=last)  # fmt: skip
    keep_chances(code, {horse.pk: a_chance()})
    text = page(client_as("trainer"), f"/programme/race/{code}/horse/{horse.pk}/chance/")
    assert f"{owners[0].name}, 3/4" in text
    assert "660 GBP" in text
    assert f"{owners[1].name}, 1/4" in text
    assert "220 GBP" in text
    assert "4/4" not in text
    assert "Of the winner's prize: owners 76.7 %" in text.replace("&#x27;", "'")
    assert "Schedule F9" in text


def test_chances_are_closed_without_a_release(client_as: ClientAs, code: str, horse: Horse) -> None:
    """The owner with plans but not chances sees none anywhere; each look of one to whom they are open is written."""
    keep_chances(code, {horse.pk: a_chance()})
    owner, trainer = (Person.objects.get(login=login) for login in ("owner", "trainer"))
    Release.objects.create(what=Inside.PLANS, person=owner, given_by=trainer, given_at=clock.now())
    addresses = [f"/horse/{horse.pk}/races/", f"/programme/race/{code}/horse/{horse.pk}/chance/"]
    for address in addresses:
        assert "12 %" not in page(client_as("owner"), address)
    assert not Sight.objects.filter(person=owner, what=Inside.CHANCES).exists()
    for address in addresses:
        assert "12 %" in page(client_as("trainer"), address)
    assert Sight.objects.filter(person=trainer, what=Inside.CHANCES, horse=horse).count() == 2


def test_a_race_says_the_chances_of_those_in_it(
    client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard
) -> None:
    """The race's page has the chance of a horse that is meant for it, and of which moment it is."""
    engage_for(horse, code, loaded.library, Person.objects.get(login="trainer"))
    keep_chances(code, {horse.pk: a_chance()})
    text = page(client_as("trainer"), f"/programme/race/{code}/")
    assert "chance to win 12 % (7 to 19)" in text
    assert "Worked out on" in text


def test_a_drawn_stall_says_what_it_is_worth(client_as: ClientAs, code: str, horse: Horse, loaded: worlds.Yard) -> None:
    """After the draw the chance shows that stall's pounds and range, not the stall alone."""
    engage_for(horse, code, loaded.library, Person.objects.get(login="trainer"))
    keep_chances(code, {horse.pk: a_chance(stall=3, stall_worth=(-1.24, -2.0, 0.3))})
    text = page(client_as("trainer"), f"/programme/race/{code}/horse/{horse.pk}/chance/")
    assert "−1.2 lb (−2.0 to +0.3) from stall 3" in text


@pytest.fixture
def slope(monkeypatch: pytest.MonkeyPatch) -> DrawFit:
    """A draw that gives the highest stall 6 lb, known to 1, everywhere."""
    block = Block(("whole",), np.array([6.0]), np.array([[1.0]]), 120)
    fit = DrawFit(date(2026, 5, 1), Slopes({(): block}, {"race": 2.0}, 7.0), None)

    def answered(_folder: Path, _moment: object, asked: draw.Asked) -> object:
        return draw_at(fit, Start(asked.course, asked.distance_m, asked.surface, runners=asked.runners))

    monkeypatch.setattr("upsides.web.programme.draw_page.draw_of", answered)
    return fit


def test_the_draw_is_told_in_pounds_and_lengths(client_as: ClientAs, slope: DrawFit, horse: Horse) -> None:
    """With 5 runners and 6 lb from lowest to highest the stalls are worth -3, -1.5, 0, +1.5 and +3 lb by hand."""
    text = page(client_as("trainer"), "/draw/?course=Larkmoor&trip=1m&runners=5")
    assert "high stalls have the best of it: with 5 runners the highest is worth 6.0 lb more than the lowest" in text
    for lb in ("−3.0", "−1.5", "0.0", "+1.5", "+3.0"):
        assert f'class="number">{lb} <span' in text
    assert "Before the draw the stall may be worth" in text
    assert "from all 120 races of the library" in text


def test_the_draw_is_asked_by_what_was_run_there(
    client_as: ClientAs, slope: DrawFit, horse: Horse, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a surface that of the course's races over the trip is taken, and two are asked about; the bend is theirs;
    an unknown course or rail is told.
    """
    run = (Place("Larkmoor", "turf", 1600.0, 9, "straight", ("A",)), Place("Larkmoor", "turf", 2000.0, 9),
           Place("Larkmoor", "dirt", 2000.0, 3))  # fmt: skip
    monkeypatch.setattr("upsides.web.programme.draw_page.places_raced", lambda *_: run)
    text = page(client_as("trainer"), "/draw/?course=LARKMOOR&trip=1m&rail=B")
    assert "Over 8f at Larkmoor" in text or "at Larkmoor high stalls" in text
    assert "By the results the course there is straight." in text
    assert "No race from this start was run with the rail called B (the library has A)" in text
    text = page(client_as("trainer"), "/draw/?course=Larkmoor&trip=2000m")
    assert "races are run on dirt / turf; say which" in text
    assert "high stalls" not in text
    text = page(client_as("trainer"), "/draw/?course=Larkmor&trip=1m")
    assert "The library knows no course called Larkmor (it has Larkmoor)" in text


def test_what_cannot_be_asked_of_the_draw_is_refused(client_as: ClientAs, slope: DrawFit, horse: Horse) -> None:
    """A distance or a number of runners that cannot be is refused in words that show how to write one."""
    for query, words in (("trip=far", "far"), ("trip=1m&runners=900", "a number from 2 to 40")):
        answer = client_as("trainer").get(f"/draw/?course=Larkmoor&{query}")
        assert answer.status_code == 400
        assert words in answer.content.decode()


def test_an_address_asks_the_draw_of_no_other_start(
    client_as: ClientAs, slope: DrawFit, horse: Horse, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A distance may be called so too, a course alone means its start with most races, and half an address is refused
    instead of answered for another course."""
    run = (Place("Tarn Moor", "turf", 1200.0, 30), Place("Larkmoor", "turf", 1600.0, 9))
    monkeypatch.setattr("upsides.web.programme.draw_page.places_raced", lambda *_: run)
    browser = client_as("trainer")
    first, second = (
        page(browser, f"/draw/?course=Larkmoor&{name}=1m").partition("<main")[2].partition("</main>")[0]
        for name in ("distance", "trip")
    )
    assert first == second
    assert "at Larkmoor high stalls" in page(browser, "/draw/?course=larkmoor")
    for query in ("distance=1m", "course=Larkmor"):
        assert browser.get(f"/draw/?{query}").status_code == 400


def test_without_a_fit_the_draw_says_what_is_missing(
    client_as: ClientAs, horse: Horse, loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nothing was learned of the draw the page says so and why."""

    def none(*_: object) -> None:
        raise DrawMissingError(loaded.library, date(2026, 5, 1))

    monkeypatch.setattr("upsides.web.programme.draw_page.draw_of", none)
    text = page(client_as("trainer"), "/draw/?course=Larkmoor&trip=1m")
    assert "Nothing is known of the draw there." in text
    assert "has nothing on the draw" in text


RENDERED = """
import sys
from datetime import timedelta
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
import upsides.web.wsgi
from django.test import Client
from upsides.books import clock
from upsides.books.models import Horse, Person
from upsides.books.services.people import add_person
from programmed_yard import a_chance, code_of, engage_for, keep_chances, programmed
person = add_person("A trainer", ["trainer"], login="trainer", password="quiet-stable-morning")
horse = Horse.objects.create(name="Marram", horse_key="x:1", foaled=clock.today().year - 4, sex="gelding",
                             joined=clock.today() - timedelta(days=300))
programmed(Path(sys.argv[1]))
code = code_of(Path(sys.argv[1]), "Fern Maiden")
engage_for(horse, code, Path(sys.argv[1]), person)
keep_chances(code, {horse.pk: a_chance()})
browser = Client(headers={"host": "localhost"})
browser.force_login(person)
mine = f"/programme/race/{code}/horse/{horse.pk}/"
shown = [browser.get(address) for address in (f"/programme/race/{code}/", mine, f"{mine}chance/")]
heavy = {"scipy", "numba", "highspy", "upsides.placing.chance", "upsides.trip.model"} & set(sys.modules)
print(*(one.status_code for one in shown), all("12\\u00a0%" in one.content.decode() for one in shown), *sorted(heavy))
"""


def test_a_web_process_works_no_chance_out(tmp_path: Path) -> None:
    """A process that has shown chances has loaded nothing that makes them, no compiled mathematics, and no solver."""
    Library.create(tmp_path)
    with fresh(tmp_path, ready=True) as env:
        done = subprocess.run(
            [sys.executable, "-c", RENDERED, str(tmp_path)], env=env | {"PYTHONPATH": ":".join(sys.path)},
            capture_output=True, text=True, check=False,
        )  # fmt: skip
    assert done.stdout.split() == ["200", "200", "200", "True"], done.stderr


def test_the_trainer_says_what_black_type_is_worth(client_as: ClientAs, horse: Horse) -> None:
    """The page keeps a worth by currency and build, says who said it and when, and what is wrong with what cannot be;
    an assistant may not say it."""
    browser = client_as("trainer")
    assert "so it counts for nothing" in page(browser, "/black-type/")
    sent = browser.post("/black-type/", {"currency": "gbp", "female": "20000", "entire": "", "gelding": "0"})
    assert sent.status_code == 302
    text = page(browser, "/black-type/")
    assert "A filly or mare 20,000 GBP, A colt or horse 0 GBP, A gelding 0 GBP" in text
    assert Person.objects.get(login="trainer").name in text
    wrong = browser.post("/black-type/", {"currency": "g1", "female": "5"}).content.decode()
    assert "three letters" in wrong
    assert client_as("assistant").get("/black-type/").status_code == 403
