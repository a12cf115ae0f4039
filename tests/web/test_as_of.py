"""Any page as of a moment is the page as it was rendered at that moment."""

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from difflib import unified_diff
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

import polars as pl
import pytest
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import trip_yard
import worlds
from programmed_yard import programmed
from sale_lists import ONE, TWO, read
from upsides.books import clock
from upsides.books.models import (
    Feed,
    Gallop,
    Horse,
    Lot,
    Person,
    Post,
    Recorded,
    Sale,
    Share,
    Tracker,
    Yard,
)
from upsides.books.queries import levels, moments, trips
from upsides.books.queries.levels import Levels
from upsides.books.queries.programme import programme
from upsides.books.services.feed_store import Label, write_feed
from upsides.books.services.sales import import_sale
from upsides.results.race_cards import FOLDER as CARDS
from yard_life import BEGIN, DEEDS, HORSES, Life, record_one

pytestmark = pytest.mark.django_db
LONG_BEFORE = datetime(2025, 1, 1, tzinfo=UTC)
EXAMPLES = 4 if os.environ.get("UPSIDES_DATABASE") else 6
TURNS = 3
"""At each moment one page in so many is looked at, in turns."""
VOID = {"input", "br", "img", "meta", "link", "hr", "wbr", "source", "col"}


class Said(HTMLParser):
    """What a page says in <main>, without what only makes sense now: class `live`, tokens, and the moment in links."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.depth = self.hidden = 0
        self.parts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "main":
            self.depth = 1
        if not self.depth or tag in VOID:
            if self.depth and not self.hidden and found.get("name") not in {"csrfmiddlewaretoken", "as_of"}:
                self.parts.append(f"<{tag} {found.get('value', '')}>")
            return
        if self.hidden or "live" in str(found.get("class", "")).split():
            self.hidden += 1
            return
        link = re.sub(r"[?&]as_of=[^&#]*", "", str(found.get("href", found.get("data-spec", ""))))
        self.parts.append(f"<{tag} {link}>")

    def handle_endtag(self, tag: str) -> None:
        if tag == "main":
            self.depth = 0
        elif self.hidden:
            self.hidden -= 1

    def handle_data(self, data: str) -> None:
        if self.depth and not self.hidden and data.strip():
            self.parts.append(data.strip())


def said(client: Client, address: str, at: datetime | None = None) -> list[str]:
    asked = "" if at is None else f"{'&' if '?' in address else '?'}{urlencode({'as_of': at.isoformat()})}"
    response = client.get(address + asked)
    if response.status_code == 404:
        return ["not there"]
    assert response.status_code == 200, (address, response.status_code)
    page = Said()
    page.feed(response.content.decode())
    assert page.parts
    return page.parts


@lru_cache
def fit_until(until: date) -> Levels:
    """What a fit made on the last Monday up to a day would say."""
    whole, monday = worlds.yard().levels, until - timedelta(days=until.weekday())
    earlier = whole.levels.filter(pl.col("date") < monday)
    last = earlier.sort("date").group_by("horse_key", maintain_order=True).last()
    ran = whole.figures.filter(pl.col("date") < monday)
    runs = ran.group_by("horse_key").agg(runs=pl.len())
    horses = last.join(runs, on="horse_key").select("horse_key", "level_lb", "sd_lb", "runs", component=pl.lit(0))
    return Levels(monday, earlier, ran, horses.with_columns(as_of=pl.lit(monday)))


HAPPENED = st.lists(st.tuples(st.sampled_from(DEEDS), st.integers(0, 11)), min_size=3, max_size=10)


def races_to_come(horses: list[Horse]) -> list[str]:
    return [
        "/programme/?week=2026-05-19",
        *(f"/programme/race/{code}/" for code in programme(worlds.yard().library, moments.now()).races),
        *(
            f"/programme/race/{code}/horse/{horse.pk}/{page}"
            for code in programme(worlds.yard().library, moments.now()).races
            for horse in horses[:2]
            for page in ("", "chance/")
        ),
        "/draw/",
        *(f"/horse/{horse.pk}/races/" for horse in horses[:2]),
        "/deadlines/",
        "/race-day/?day=2026-05-19",
        "/races-let-go/?week=2026-06-20",
    ]


def addresses() -> list[str]:
    horses = list(Horse.objects.order_by("pk")[:HORSES])
    key = worlds.yard().world.runs.filter(pl.col("source_horse") == horses[0].horse_key)["race_key"].sort().to_list()
    person = Person.objects.get(login="carer")
    return [
        "/",
        *("/lots/", "/lots/plan/", f"/lots/own/?rider={Person.objects.get(login='rider').pk}", "/evening/"),
        "/string/",
        "/string/?status=all&sort=name",
        *(f"/horse/{horse.pk}/" for horse in horses),
        *(f"/horse/{horse.pk}/about/" for horse in horses[:2]),
        "/boxes/",
        "/boxes/?day=2026-05-15",
        *(f"/horse/{horse.pk}/shape/" for horse in horses[:2]),
        *(f"/horse/{horse.pk}/{page}/" for horse in horses[:2] for page in ("legs", "pictures", "bloods")),
        "/medicines/",
        "/due/?days=28",
        "/isolation/",
        *(f"/horse/{horse.pk}/medicines/?in=Britain&in=Ireland&on=2026-07-01" for horse in horses[:2]),
        *(f"/horse/{horse.pk}/contacts/" for horse in horses[:2]),
        *(f"/horse/{horse.pk}/trip/" for horse in horses[:2]),
        f"/horse/{horses[1].pk}/trip/?without=family&what_if=11f",
        *(f"/horse/{horse.pk}/{page}/" for horse in horses[:2] for page in ("condition", "plan", "stalls")),
        "/plan/",
        "/look-at/",
        "/calls/",
        "/calls/scores/",
        *(f"/horse/{horse.pk}/call/" for horse in horses[:2]),
        f"/horse/{horses[0].pk}/gene/",
        *(f"/horse/{horse.pk}/pedigree/" for horse in horses[:2]),
        *(f"/race/{one}/" for one in key[-1:]),
        "/people/",
        f"/person/{person.pk}/",
        "/staff/",
        "/staff/week/?monday=2026-05-18",
        f"/staff/person/{person.pk}/",
        "/yard/",
        "/diary/",
        "/checks/",
        "/feed/",
        f"/feed/?barn=-&day={BEGIN.date() + timedelta(days=1)}",
        *(f"/horse/{horse.pk}/feed/?work=heavy" for horse in horses[:2]),
        "/feed/several/",
        "/feed/store/",
        *(f"/feed/{feed.pk}/" for feed in Feed.objects.all()),
        "/checks/?round=evening",
        "/clock/",
        "/recordings/",
        "/heat/?air=31&humidity=55",
        *(f"/recordings/{row.pk}/" for row in Recorded.objects.all()),
        *(f"/horse/{horse.pk}/works/" for horse in horses[:2]),
        *(f"/gallop/{gallop.pk}/works/" for gallop in Gallop.objects.all()),
        "/diary/conflicts/",
        *races_to_come(horses),
        "/tables/",
        "/sales/",
        *(f"/sale/{sale.pk}/?sex=filly" for sale in Sale.objects.all()),
        *(f"/lot/{lot.pk}/" for lot in Lot.objects.order_by("pk")[:2]),
    ]


@contextmanager
def undone() -> Iterator[None]:
    """Take back whatever the block writes."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    shutil.rmtree(worlds.yard().library / CARDS, ignore_errors=True)


@pytest.mark.parametrize("login", ["trainer", "carer", "owner"])
def test_as_of_a_moment_is_as_it_was(
    login: str, loaded: worlds.Yard, client_as: Callable[[str], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is entered, corrected, withdrawn, renamed, moved, sold or fitted later, the page of a moment stays."""
    life = Life()
    monkeypatch.setattr(clock, "now", lambda: life.at)
    monkeypatch.setattr(levels, "read_levels", lambda _folder, until: fit_until(until))
    monkeypatch.setattr(trips, "read_trips", lambda _folder, until: trip_yard.trips_of(fit_until(until)))
    Yard.objects.update(fixed_day=None, feed_times=["noon"])
    Yard.history.update(feed_times=["noon"])
    write_feed(Label("Hay", "forage", "9", "85"), Person.objects.get(login="trainer"))
    Gallop.objects.create(name="Straight six", surface="turf")
    record_one(BEGIN - timedelta(hours=5))
    import_sale(read(ONE + TWO.replace("Marram", Horse.objects.order_by("pk")[0].dam)))
    for model in (Horse, Person, Post, Share, Yard, Sale, Lot, Feed, Gallop, Tracker):
        model.history.update(history_date=LONG_BEFORE)
    programmed(loaded.library)
    client = client_as(login)
    open_to = [address for address in addresses() if client.get(address).status_code not in {302, 403}]
    assert len(open_to) >= 5

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        derandomize=True,
        phases=[Phase.generate],  # to shrink a life takes minutes, and its deeds tell what went wrong
    )
    @given(HAPPENED)
    def tried(deeds: list[tuple[str, int]]) -> None:
        life.at, life.written = BEGIN, []
        with undone():
            seen: list[tuple[datetime, str, list[str]]] = []
            for number, (deed, pick) in enumerate(deeds):
                life.wait(2)
                getattr(life, deed)(pick)
                life.wait(1)
                if number % 3 == pick % 3:
                    entries = [f"/diary/{entry.pk}/" for entry in life.written[:2] if "/diary/" in open_to]
                    some = open_to[number % TURNS :: TURNS]
                    seen += [(life.at, address, said(client, address)) for address in some + entries]
            life.wait(50)
            for at, address, then in seen:
                changed = list(unified_diff(then, said(client, address, at), n=1, lineterm=""))
                assert not changed, (address, at, changed[:30])

    tried()


def test_a_moment_that_cannot_be_read_is_refused(loaded: worlds.Yard, client_as: Callable[[str], Client]) -> None:
    """A moment that is none, or one that no calendar reaches, is refused in words that show how to write one."""
    for text, words in (("yesterday", "2026-06-01T17:30"), ("0001-01-01", "1900-01-01"), ("9999-12-31", "2200-12-31")):
        response = client_as("trainer").get("/string/", {"as_of": text})
        assert response.status_code == 400
        assert words in response.content.decode()


def test_every_page_that_shows_data_is_tried() -> None:
    """The areas whose pages are compared are those that exist, but for the ones that show the present only."""
    only_now = {"signin", "barn", "jobs", "shell"}
    folder = Path(__file__).parents[2] / "src/upsides/web"
    areas = {place.name for place in folder.iterdir() if place.is_dir() and not place.name.startswith("_")}
    assert areas - only_now == {
        "morning",
        "string",
        "condition",
        "horses",
        "races",
        "pedigree",
        "medicine",
        "people",
        "staff",
        "diary",
        "checks",
        "clock",
        "feeding",
        "shape",
        "legs",
        "pictures",
        "bloods",
        "trip",
        "recordings",
        "planning",
        "programme",
        "tables",
        "sales",
    }
