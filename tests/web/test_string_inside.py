"""Figures are inside information: whom pages show them, and that every showing is written down."""

import re
from html import unescape
from uuid import uuid4

import polars as pl
import pytest
from django.test import Client

import worlds
from upsides.books import clock
from upsides.books.models import Entry, Horse, Inside, Person, Release, Role, Share, Sight
from upsides.books.queries import levels
from upsides.books.queries.levels import Levels
from upsides.web.shell.middleware import BARN
from worlds import ClientAs

SHIFT = 70_000.0
FIGURE = re.compile(r"(?<!\d)(?:69|70)\d{3}(?!\d)")
"""A level or a figure of the fit below: no other number on any page looks like it."""
BETRAYS = ("on our figures", "our figure", "spark", "curve", "level", "range", "± ", "late speed", "come on most")


@pytest.fixture
def marked(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Levels:
    """A fit whose every level and figure is near 70,000 lb, with late speeds."""
    fit = loaded.levels
    shifted = Levels(
        fit.as_of,
        fit.levels.with_columns(pl.col("level_lb") + SHIFT),
        fit.figures.with_columns(pl.col("figure_lb") + SHIFT, late_speed=pl.lit(1.0123), late_standing=pl.lit(0.6543)),
        fit.horses.with_columns(pl.col("level_lb") + SHIFT),
    )
    monkeypatch.setattr(levels, "read_levels", lambda *_: shifted)
    return shifted


def own_by(login: str) -> Horse:
    """Give somebody a raced horse of his own and return it."""
    owner = Person.objects.get(login=login)
    keys = worlds.yard().levels.horses["horse_key"].to_list()
    horse = Horse.objects.filter(horse_key__in=keys).order_by("-pk").first()
    Share.objects.filter(owner=owner).delete()
    Share.objects.create(horse=horse, owner=owner, numerator=1, denominator=4, first_day=clock.today())
    return horse


def last_race(horse: Horse) -> str:
    runs = worlds.yard().world.runs
    ran = runs.filter(pl.col("source_horse") == horse.horse_key, pl.col("position").is_not_null())
    return str(ran.sort("date")["race_key"][-1])


def barn_phone(client: Client) -> Client:
    session = client.session
    session[BARN] = True
    session.save()
    return client


def pages(horse: Horse) -> list[str]:
    ways = ("", "?sort=-level", "?sort=curve&show=level&show=range&show=curve&show=figure", "?status=all&sort=figure")
    return [*(f"/string/{way}" for way in ways), f"/horse/{horse.pk}/", f"/race/{last_race(horse)}/"]


def told(client: Client, address: str, **headers: str) -> str:
    response = client.get(address, headers=headers)
    assert response.status_code == 200, address
    return unescape(response.content.decode())


@pytest.mark.parametrize("login", ["trainer", "assistant", "head_person", "secretary"])
def test_those_who_work_with_figures_see_them(login: str, marked: Levels, client_as: ClientAs) -> None:
    """Trainer, assistant, head person and secretary see figures on every page."""
    client, horse = client_as(login), own_by("owner")
    for address in pages(horse):
        assert FIGURE.search(told(client, address)), address
    assert client.get(f"/horse/{horse.pk}/curve.json").status_code == 200


@pytest.mark.parametrize("login", ["rider", "carer", "vet", "owner"])
def test_others_see_no_figure_anywhere(login: str, marked: Levels, client_as: ClientAs) -> None:
    """Riders, carers, vets and owners get the same pages without a figure, and without a word that betrays one."""
    client, horse = client_as(login), own_by("owner")
    for address in pages(horse):
        for headers in ({}, {"hx-request": "true"}):
            text = told(client, address, **headers)
            main = text[text.find("<main") : text.find("</main>")] if "<main" in text else text
            assert not FIGURE.search(text), address
            assert [word for word in BETRAYS if word in main.lower().replace("/curve.json", "")] == [], address
    assert client.get(f"/horse/{horse.pk}/curve.json").status_code == 404
    assert not Sight.objects.exists()


def test_no_figure_on_a_barn_phone(marked: Levels, client_as: ClientAs) -> None:
    """On a barn phone, which lies about, even the head person and the trainer see none."""
    horse = own_by("owner")
    for login in ("head_person", "trainer"):
        client = barn_phone(client_as(login))
        for address in pages(horse):
            assert not FIGURE.search(told(client, address)), address
        assert client.get(f"/horse/{horse.pk}/curve.json").status_code == 404
    assert not Sight.objects.exists()


def test_order_betrays_nothing(marked: Levels, client_as: ClientAs) -> None:
    """Asked to order by level, range or curve, the list of somebody who sees none stays in order of name."""
    client = client_as("rider")
    found = re.findall(r'scope="row"><a[^>]+>([^<]+)', told(client, "/string/"))
    assert found == sorted(found, key=str.casefold)
    for sort in ("level", "-level", "range", "-range", "curve", "-curve", "figure", "-figure"):
        assert re.findall(r'scope="row"><a[^>]+>([^<]+)', told(client, f"/string/?sort={sort}")) == found


def test_an_owner_sees_his_own_horses_alone(marked: Levels, client_as: ClientAs) -> None:
    """The list holds an owner's horses and no other; the page of another horse is not there; races are public."""
    horse = own_by("owner")
    other = Horse.objects.exclude(pk=horse.pk).first()
    client = client_as("owner")
    assert re.findall(r'href="/horse/(\d+)/"', told(client, "/string/?status=all")) == [str(horse.pk)]
    for address in (f"/horse/{other.pk}/", f"/horse/{other.pk}/curve.json"):
        assert client.get(address).status_code == 404
    links = set(re.findall(r'href="/horse/(\d+)/"', told(client, f"/race/{last_race(horse)}/")))
    assert links == {str(horse.pk)}


def test_what_is_released_to_owners_is_of_their_own_horses(marked: Levels, client_as: ClientAs) -> None:
    """Figures released to owners show an owner those of his horses, also in a race, and no other's."""
    horse = own_by("owner")
    Release.objects.create(
        what=Inside.FIGURES, role=Role.OWNER, given_by=Person.objects.get(login="trainer"), given_at=clock.now()
    )
    client = client_as("owner")
    assert FIGURE.search(told(client, "/string/"))
    assert FIGURE.search(told(client, f"/horse/{horse.pk}/"))
    key = last_race(horse)
    own = marked.figures.filter(pl.col("race_key") == key, pl.col("horse_key") == horse.horse_key)["figure_lb"][0]
    assert set(FIGURE.findall(told(client, f"/race/{key}/"))) == {str(round(own))}


def test_one_horse_released_opens_no_other(marked: Levels, client_as: ClientAs) -> None:
    """A rider to whom one horse's figures were released sees those in the list, and of no other, however sorted."""
    horse = own_by("owner")
    rider = Person.objects.get(login="rider")
    Release.objects.create(what=Inside.FIGURES, person=rider, horse=horse, given_by=rider, given_at=clock.now())
    client = client_as("rider")
    for query in ("", "?sort=level", "?sort=-range", "?sort=-curve"):
        rows = re.findall(
            r"<tr role=\"row\"><th role=\"rowheader\".*?</tr>", told(client, f"/string/{query}"), re.DOTALL
        )
        assert [row for row in rows if FIGURE.search(row)] == [rows[0]]
        assert f"/horse/{horse.pk}/" in rows[0]
        rest = re.findall(r'scope="row"><a[^>]+>([^<]+)', "".join(rows[1:]))
        assert rest == sorted(rest, key=str.casefold)


def test_every_showing_is_written_down(marked: Levels, client_as: ClientAs) -> None:
    """Each page that shows figures leaves one row: who, when, what, which page, of which horse."""
    client, horse = client_as("secretary"), own_by("owner")
    race = last_race(horse)
    looked = ["/string/", f"/horse/{horse.pk}/", f"/horse/{horse.pk}/curve.json", f"/race/{race}/"]
    for address in looked:
        client.get(address)
    rows = list(Sight.objects.order_by("pk"))
    assert [row.page for row in rows] == looked
    assert [row.horse_id for row in rows] == [None, horse.pk, horse.pk, None]
    assert {(row.person.login, row.what) for row in rows} == {("secretary", Inside.FIGURES)}
    assert all(row.at.astimezone(clock.place().zone).date() == clock.today() for row in rows)
    client.get("/string/?q=a", headers={"hx-request": "true"})
    assert Sight.objects.count() == len(looked) + 1


def test_who_owns_a_horse_is_for_the_office_and_the_owner(marked: Levels, client_as: ClientAs) -> None:
    """Trainer, assistant and secretary see all owners, an owner his own part, others none."""
    horse = own_by("owner")
    second = Person.objects.get(login="owner2")
    Share.objects.create(horse=horse, owner=second, numerator=3, denominator=4, first_day=clock.today())
    first = Person.objects.get(login="owner")
    for login in ("trainer", "assistant", "secretary"):
        text = told(client_as(login), f"/horse/{horse.pk}/")
        assert first.name in text
        assert f"{second.name}, 3/4" in text
    text = told(client_as("owner"), f"/horse/{horse.pk}/")
    assert f"{first.name}, 1/4" in text
    assert second.name not in text
    for login in ("rider", "vet", "head_person"):
        assert "Owned by" not in told(client_as(login), f"/horse/{horse.pk}/")


def test_the_diary_is_for_the_yard(marked: Levels, client_as: ClientAs) -> None:
    """The last entries about a horse stand on its page for the people of the yard, not for its owner."""
    horse, carer = own_by("owner"), Person.objects.get(login="carer")
    values = (("note", {"text": "left a handful"}), ("looked_at", {}), ("unheard_of", {"x": 1}))
    for kind, held in values:
        moment = clock.now()
        Entry.objects.create(
            client_id=uuid4(), kind=kind, horse=horse, author=carer, values=held,
            happened_at=moment, made_at=moment, recorded_at=moment,
        )  # fmt: skip
    for login in ("trainer", "rider", "vet"):
        text = told(client_as(login), f"/horse/{horse.pk}/")
        assert "left a handful" in text
        assert "Looked at." in text
        assert "does not know" in text
    text = told(client_as("owner"), f"/horse/{horse.pk}/")
    assert "left a handful" not in text
    assert carer.name not in text
