"""The list of the string: found, narrowed, ordered, with the columns that are chosen."""

import re
from html import unescape
from itertools import pairwise

import pytest
from django.http import QueryDict
from django.test import Client

import worlds
from upsides.books.models import Box, Horse, Person, Stand
from upsides.books.queries import moments
from upsides.books.queries import string as reads
from upsides.books.queries.finding import folded
from upsides.books.queries.visitors import visitor
from upsides.web.string.asking import asked_of
from upsides.web.string.columns import COLUMNS, in_order
from worlds import ClientAs


@pytest.fixture
def trainer(loaded: worlds.Yard, client_as: ClientAs) -> Client:
    return client_as("trainer")


@pytest.fixture
def listed(loaded: worlds.Yard) -> list[reads.Listed]:
    who = visitor(Person.objects.get(login="trainer"), barn=False)
    return list(reads.string(loaded.library, who, moments.now(), reads.Status.ALL).listed)


def names(client: Client, query: str = "", **headers: str) -> list[str]:
    text = client.get(f"/string/?{query}", headers=headers).content.decode()
    return [unescape(name) for name in re.findall(r'scope="row"><a href="[^"]+">([^<]+)</a>', text)]


def headings(client: Client, query: str) -> list[str]:
    text = client.get(f"/string/?{query}").content.decode()
    return re.findall(r'scope="col" class="(\w+)"', text)


@pytest.mark.parametrize("typed", ["été", "ETE", "brule", "Brûlé de l'Ouest", "de  louest"])
def test_finding_asks_for_neither_accents_nor_case(trainer: Client, typed: str) -> None:
    """Words stand anywhere in name, sire or dam; accents, case and apostrophes do not matter."""
    horse = Horse.objects.order_by("pk")[3]
    horse.sire, horse.dam = "Été", "Brûlé de l'Ouest"
    horse.save()
    assert names(trainer, f"q={typed}") == [horse.name]


def test_every_word_must_be_found(trainer: Client) -> None:
    """Two words may stand in different names of one horse, and both must be there."""
    horse = Horse.objects.order_by("pk")[5]
    horse.name, horse.sire = "Ostrich Umbrella", "Zither"
    horse.save()
    assert names(trainer, "q=zither+ostrich") == ["Ostrich Umbrella"]
    assert names(trainer, "q=zither+nobody") == []


@pytest.mark.parametrize(
    ("text", "plain"), [("Šårka Łódź", "sarka lodz"), ("Sørby Æon", "sorby aeon"), ("Weiß", "weiss")]
)
def test_letters_are_compared_bare(text: str, plain: str) -> None:
    """Letters with marks count as those without, also where Unicode does not take them apart."""
    assert folded(text) == plain


def test_narrowing_by_what_a_horse_is(trainer: Client, listed: list[reads.Listed]) -> None:
    """Sex, age and whether it has raced each leave those horses that are so, and together those that are all of it."""
    is_so = {
        "sex=filly": lambda one: one.horse.sex == "filly",
        "age=3": lambda one: one.age == 3,
        "raced=no": lambda one: one.raced is None,
        "raced=yes": lambda one: one.raced is not None,
        "sex=filly&age=3&raced=yes": lambda one: one.horse.sex == "filly" and one.age == 3 and one.raced is not None,
    }
    for query, wanted in is_so.items():
        expected = {one.horse.name for one in listed if wanted(one)}
        assert expected
        assert set(names(trainer, query)) == expected, query


def test_narrowing_by_where_and_with_whom(trainer: Client) -> None:
    """A barn and a person leave their horses; those with none can be asked for too."""
    carer = Person.objects.get(login="carer")
    here, there, *_ = Horse.objects.order_by("pk")
    Horse.objects.filter(pk=here.pk).update(carer=carer)
    Horse.objects.filter(pk=there.pk).update(carer=None)
    for place, horse in enumerate((here, there), 1):
        box = Box.objects.create(barn="Far Side", name=str(place), position=place)
        Stand.objects.create(horse=horse, box=box, first_day=horse.joined)
    assert set(names(trainer, "barn=Far+Side")) == {here.name, there.name}
    assert names(trainer, f"barn=Far+Side&carer={carer.pk}") == [here.name]
    assert names(trainer, "barn=Far+Side&carer=-") == [there.name]
    assert here.name not in names(trainer, "barn=-")


def test_those_that_left_are_shown_when_asked_for(loaded: worlds.Yard, trainer: Client) -> None:
    """The list is of horses in training; those that left, and all, can be asked for."""
    gone = Horse.objects.order_by("pk")[2]
    gone.left = loaded.world.today
    gone.save()
    assert gone.name not in names(trainer)
    assert names(trainer, "status=left") == [gone.name]
    assert len(names(trainer, "status=all")) == Horse.objects.count()


@pytest.mark.parametrize("key", list(COLUMNS))
def test_every_column_orders_both_ways(listed: list[reads.Listed], key: str) -> None:
    """Values rise, or fall, horses without one stand last, and equals stand in order of name, either way."""
    column = COLUMNS[key]
    for falling in (False, True):
        ordered = in_order(listed, column, falling=falling)
        assert {one.horse.pk for one in ordered} == {one.horse.pk for one in listed}
        values = [column.order(one) for one in ordered]
        known = [value for value in values if value is not None]
        assert values[len(known) :] == [None] * (len(values) - len(known))
        assert known == sorted(known, reverse=falling)
        for one, after in pairwise(ordered):
            if column.order(one) == column.order(after) and key != "name":
                assert one.horse.name.casefold() <= after.horse.name.casefold()


def test_the_best_stands_first(trainer: Client, listed: list[reads.Listed]) -> None:
    """Where nothing is asked the list goes by level, best first; a heading that is pressed turns it round."""
    best = sorted((one for one in listed if one.standing), key=lambda one: -one.standing.level.lb)
    assert names(trainer)[: len(best)] == [one.horse.name for one in best]
    assert names(trainer, "sort=level")[: len(best)] == [one.horse.name for one in reversed(best)]
    text = trainer.get("/string/").content.decode()
    assert re.search(r'class="level" aria-sort="descending"><button[^>]+value="level"', text)
    assert text.count("aria-sort=") == 1


def test_columns_are_chosen(trainer: Client) -> None:
    """Only the columns asked for are shown, in the page's order, the name always; nonsense shows the usual ones."""
    usual = headings(trainer, "")
    assert usual == ["name", "level", "range", "curve", "trip", "last", "barn", "carer"]
    assert headings(trainer, "show=sire&show=age") == ["name", "age", "sire"]
    assert headings(trainer, "show=nonsense") == usual


def test_what_cannot_be_read_is_left_out(trainer: Client) -> None:
    """An address with nonsense in it shows the string as if nothing had been asked, and breaks nothing."""
    everything = names(trainer)
    for query in ("sort=nonsense", "sort=--level", "status=gone", "view=x", "view=99999999999999", "%00=%FF", "show="):
        assert names(trainer, query) == everything
    assert names(trainer, "age=old") == []
    assert names(trainer, "q=" + 5000 * "a") == []


def test_an_address_says_no_more_than_was_asked() -> None:
    """What was asked is written in its shortest form, and read back it is the same."""
    for query in ("", "q=a&sex=&age=&status=training&sort=-level", "sort=barn&show=barn&show=last", "q=x&status=all"):
        asked = asked_of(QueryDict(query), figures=True)
        assert asked_of(QueryDict(asked.address()), figures=True) == asked
        assert "=&" not in asked.address()
    assert asked_of(QueryDict("status=training&sort=-level&sex="), figures=True).address() == ""


def test_the_list_is_replaced_in_place(trainer: Client) -> None:
    """What the page's script asks for is the list alone, and the address bar is told where the same list is found."""
    response = trainer.get("/string/?q=a&sex=&sort=barn&show=barn&view=", headers={"hx-request": "true"})
    text = response.content.decode()
    assert "<html" not in text
    assert text.lstrip().startswith('<div id="list"')
    assert response.headers["HX-Replace-Url"] == "/string/?q=a&sort=barn&show=barn"
    assert "HX-Request" in response.headers["Vary"]
    assert names(trainer, "q=a", **{"hx-request": "true"}) == names(trainer, "q=a")


def test_going_back_gives_the_whole_page(trainer: Client) -> None:
    """A browser that restores the page from an address gets all of it."""
    headers = {"hx-request": "true", "hx-history-restore-request": "true"}
    assert "<html" in trainer.get("/string/?q=a", headers=headers).content.decode()


def test_what_was_asked_stands_in_the_form(trainer: Client) -> None:
    """The form shows what the list answers to, so that it can be changed without a script."""
    text = trainer.get("/string/?q=Fallow&sex=filly&status=all&sort=barn&show=barn").content.decode()
    assert 'value="Fallow"' in text
    for value in ("filly", "all", "barn"):
        assert f'<option value="{value}" selected>' in text
    assert re.findall(r'name="show" value="(\w+)" checked', text) == ["barn"]


def test_links_stay_at_the_moment(trainer: Client) -> None:
    """On a page of an earlier moment links to horses, the form and the address bar keep to it."""
    response = trainer.get("/string/?as_of=2026-06-20T23:59:59")
    text = response.content.decode()
    assert re.findall(r'href="/horse/\d+/([^"]*)"', text)
    assert set(re.findall(r'href="/horse/\d+/([^"]*)"', text)) == {"?as_of=2026-06-20T23%3A59%3A59"}
    assert 'name="as_of" value="2026-06-20T23:59:59" form="find"' in text
    part = trainer.get("/string/?as_of=2026-06-20T23:59:59&q=a", headers={"hx-request": "true"})
    assert part.headers["HX-Replace-Url"] == "/string/?q=a&as_of=2026-06-20T23%3A59%3A59"
