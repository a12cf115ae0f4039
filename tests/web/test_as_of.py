"""Any page as of a moment is the page as it was rendered at that moment."""

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from difflib import unified_diff
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import polars as pl
import pytest
from django.db import transaction
from django.test import Client
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

import trip_yard
import worlds
from sale_lists import ONE, THREE, TWO, read
from upsides.books import clock
from upsides.books.models import Entry, Horse, Lot, LotNote, Mark, Person, Post, Role, Sale, Share, Yard
from upsides.books.queries import levels, trips
from upsides.books.queries.levels import Levels
from upsides.books.services.diary import Draft, record
from upsides.books.services.lot_notes import Noted, correct_note, note, shortlist, withdraw_note
from upsides.books.services.sales import import_sale

pytestmark = pytest.mark.django_db
BEGIN = datetime(2026, 5, 11, 9, tzinfo=UTC)
LONG_BEFORE = datetime(2025, 1, 1, tzinfo=UTC)
HORSES, PEOPLE = 4, 4
EXAMPLES = 4 if os.environ.get("UPSIDES_DATABASE") else 12
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


@dataclass
class Life:
    """A yard going on: its clock, and what can happen in it."""

    at: datetime = BEGIN
    written: list[Entry] = field(default_factory=list)

    def wait(self, hours: int) -> None:
        self.at += timedelta(hours=hours)

    def horse(self, pick: int) -> Horse:
        return Horse.objects.order_by("pk")[pick % HORSES]

    def person(self, pick: int) -> Person:
        return Person.objects.filter(login__in=("carer", "rider", "vet", "head_person")).order_by("pk")[pick % PEOPLE]

    def enter(
        self, pick: int, kind: str, values: dict[str, object], supersedes: Entry | None = None, **more: Any
    ) -> None:
        author = supersedes.author if supersedes else self.person(pick)
        target = supersedes.client_id if supersedes else None
        made = self.at - timedelta(minutes=5 * (pick % 3))
        draft = Draft(uuid4(), kind, self.horse(pick).pk, values, made, supersedes=target, **more)
        self.written.append(record(draft, author))

    def note(self, pick: int) -> None:
        self.enter(pick, "note", {"text": f"said {len(self.written)}"})

    def look(self, pick: int) -> None:
        self.enter(pick, "looked_at", {})

    def measure(self, pick: int) -> None:
        self.enter(pick, "temperature", {"celsius": f"{37.5 + pick % 7 / 10:.1f}"})

    def score(self, pick: int) -> None:
        self.enter(pick, "shape", {"frame": 1 + pick % 9, ("neck_length", "walk")[pick % 2]: 9 - pick % 9})

    def sample(self, pick: int) -> None:
        whom, genotype = ("horse", "sire", "dam")[pick % 3], ("C/C", "C/T", "T/T")[pick % 4 % 3]
        self.enter(pick, "gene_test", {"whom": whom, "site": "snp", "genotype": genotype})

    def correct(self, pick: int) -> None:
        stands = [one for one in self.written if not one.withdrawn and one.kind == "note"]
        if stands:
            self.enter(pick, "note", {"text": f"no, {len(self.written)}"}, stands[pick % len(stands)])

    def withdraw(self, pick: int) -> None:
        stands = [one for one in self.written if not one.withdrawn]
        if stands:
            old = stands[pick % len(stands)]
            self.enter(pick, old.kind, {}, old, withdrawn=True)

    def rename(self, pick: int) -> None:
        horse = self.horse(pick)
        horse.name = f"Renamed {self.at:%H%M} {pick}"
        horse.save()

    def move(self, pick: int) -> None:
        horse = self.horse(pick)
        horse.barn, horse.carer = f"Barn {pick}", self.person(pick)
        horse.save()

    def leave(self, pick: int) -> None:
        horse = self.horse(pick)
        horse.left = None if horse.left else self.at.date()
        horse.save()

    def marry(self, pick: int) -> None:
        person = self.person(pick)
        person.name = f"{person.name.split(' née ')[0]} née {pick}"
        person.save()

    def sell(self, pick: int) -> None:
        owner = Person.objects.get(login="owner2")
        Share.objects.create(
            horse=self.horse(pick), owner=owner, numerator=1, denominator=2 + pick, first_day=self.at.date()
        )

    def promote(self, pick: int) -> None:
        person = self.person(pick)
        post = person.posts.filter(role=Role.RIDER).first()
        if post and person.posts.count() > 1:
            post.delete()
        elif not post:
            Post.objects.create(person=person, role=Role.RIDER)

    def list_again(self, pick: int) -> None:
        import_sale(read([ONE + TWO, ONE.replace("12000", str(9000 + pick)) + THREE, TWO][pick % 3]))

    def choose(self, pick: int) -> None:
        lot = Lot.objects.order_by("pk")[pick % 2]
        last = Mark.objects.filter(lot=lot).order_by("pk").last()
        shortlist(lot, self.person(pick), on=not (last and last.on), reason="" if pick % 3 else f"Pick {pick}")

    def see(self, pick: int) -> None:
        lot, given = Lot.objects.order_by("pk")[pick % 2], Noted(uuid4(), ("look", "vetting")[pick % 2], f"Saw {pick}")
        old = LotNote.objects.filter(superseded_by=None, withdrawn=False, lot=lot).order_by("pk").last()
        if old is None or pick % 3 == 0:
            note(lot, given, self.person(pick))
        elif pick % 3 == 1:
            correct_note(old, given, old.author)
        else:
            withdraw_note(old, old.author, uuid4())

    def next_day(self, pick: int) -> None:
        self.at += timedelta(days=1 + pick % 6)


DEEDS = ("note", "look", "measure", "score", "correct", "withdraw", "rename", "move", "leave", "marry", "sell",
         "promote", "next_day", "list_again", "choose", "see", "sample")  # fmt: skip
HAPPENED = st.lists(st.tuples(st.sampled_from(DEEDS), st.integers(0, 11)), min_size=3, max_size=10)


def addresses() -> list[str]:
    horses = list(Horse.objects.order_by("pk")[:HORSES])
    key = worlds.yard().world.runs.filter(pl.col("source_horse") == horses[0].horse_key)["race_key"].sort().to_list()
    person = Person.objects.get(login="carer")
    return [
        "/",
        "/?status=all&sort=name",
        *(f"/horse/{horse.pk}/" for horse in horses),
        *(f"/horse/{horse.pk}/shape/" for horse in horses[:2]),
        *(f"/horse/{horse.pk}/trip/" for horse in horses[:2]),
        f"/horse/{horses[1].pk}/trip/?without=family&what_if=11f",
        f"/horse/{horses[0].pk}/gene/",
        *(f"/horse/{horse.pk}/pedigree/" for horse in horses[:2]),
        *(f"/race/{one}/" for one in key[-1:]),
        "/people/",
        f"/person/{person.pk}/",
        "/diary/",
        "/diary/conflicts/",
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


@pytest.mark.parametrize("login", ["trainer", "carer", "owner"])
def test_as_of_a_moment_is_as_it_was(
    login: str, loaded: worlds.Yard, client_as: Callable[[str], Client], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever is entered, corrected, withdrawn, renamed, moved, sold or fitted later, the page of a moment stays."""
    life = Life()
    monkeypatch.setattr(clock, "now", lambda: life.at)
    monkeypatch.setattr(levels, "read_levels", lambda _folder, until: fit_until(until))
    monkeypatch.setattr(trips, "read_trips", lambda _folder, until: trip_yard.trips_of(fit_until(until)))
    Yard.objects.update(fixed_day=None)
    import_sale(read(ONE + TWO.replace("Marram", Horse.objects.order_by("pk")[0].dam)))
    for model in (Horse, Person, Post, Share, Yard, Sale, Lot):
        model.history.update(history_date=LONG_BEFORE)
    client = client_as(login)
    open_to = [address for address in addresses() if client.get(address).status_code != 403]
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
                    seen += [(life.at, address, said(client, address)) for address in open_to + entries]
            life.wait(50)
            for at, address, then in seen:
                changed = list(unified_diff(then, said(client, address, at), n=1, lineterm=""))
                assert not changed, (address, at, changed[:30])

    tried()


def test_a_moment_that_cannot_be_read_is_refused(loaded: worlds.Yard, client_as: Callable[[str], Client]) -> None:
    """A moment that is none is refused in words that show how to write one."""
    response = client_as("trainer").get("/", {"as_of": "yesterday"})
    assert response.status_code == 400
    assert "2026-06-01T17:30" in response.content.decode()


def test_every_page_that_shows_data_is_tried() -> None:
    """The areas whose pages are compared are those that exist, but for the ones that show the present only."""
    only_now = {"signin", "barn", "jobs", "shell"}
    folder = Path(__file__).parents[2] / "src/upsides/web"
    areas = {place.name for place in folder.iterdir() if place.is_dir() and not place.name.startswith("_")}
    assert areas - only_now == {"string", "races", "pedigree", "people", "diary", "shape", "trip", "sales"}
