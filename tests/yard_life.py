"""A yard going on: what can happen in it, one deed after the other, at times that a test moves."""

import os
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

from django.conf import settings

from programmed_yard import a_chance, keep_chances
from sale_lists import ONE, THREE, TWO, read
from upsides.books.hours import read_hours
from upsides.books.models import (
    Box,
    Call,
    Caution,
    Declarable,
    Engagement,
    Entry,
    Feed,
    FeedBatch,
    Gallop,
    Horse,
    Lot,
    LotNote,
    Mark,
    Move,
    OfficialMark,
    Outing,
    Person,
    Photo,
    Post,
    Ration,
    Recorded,
    Role,
    Share,
    Stand,
    Tracker,
)
from upsides.books.queries.moments import now
from upsides.books.queries.programme import programme
from upsides.books.services import calls
from upsides.books.services.deciding import Said, decide
from upsides.books.services.diary import Draft, record
from upsides.books.services.feed_store import Label, deliver, mark, write_feed
from upsides.books.services.feeding import Amount, take_back, write_ration
from upsides.books.services.lists import order
from upsides.books.services.lot_notes import Noted, correct_note, note, shortlist, withdraw_note
from upsides.books.services.outings import give, standing_of, take_from
from upsides.books.services.sales import import_sale
from upsides.books.services.staff import off_sick, set_hours
from upsides.books.services.trackers import change_tracker
from upsides.condition.calls import About
from upsides.errors import CallGoneError, CallRefusedError, DecisionRefusedError, HorseHereUnknownError
from upsides.results.race_cards import CardRunner, keep_card

BEGIN = datetime(2026, 5, 11, 9, tzinfo=UTC)
HORSES, PEOPLE = 4, 4


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

    def treat(self, pick: int) -> None:
        vet, until = Person.objects.get(login="vet"), (self.at.date() + timedelta(days=pick % 3)).isoformat()
        given = {"product": f"Fernwash {pick}", "quantity": "10 ml", "route": "ia", "what": "corticosteroid",
                 "reason": "Knee", "course_end": until, "substance": "acepromazine"}  # fmt: skip
        worm = {"product": "Marshpaste", "quantity": "one syringe"}
        vaccine = {"disease": "influenza", "product": f"Gustavac {pick}"}
        kind, values = (("treatment", given), ("worming", worm), ("vaccination", vaccine))[pick % 3]
        draft = Draft(uuid4(), kind, self.horse(pick).pk, values, self.at)
        self.written.append(record(draft, vet))

    def travel(self, pick: int) -> None:
        self.enter(pick, "travel", {"lorry": "Blue", "to": ("Moor", "Esk")[pick % 2]})

    def find(self, pick: int) -> None:
        places = ("foot", "tendon", "fetlock", "above")
        limb = ("near_fore", "off_hind")[pick % 2]
        self.enter(pick, "leg", {"limb": limb, "place": places[pick % 4], "side": "back", "signs": "heat"})

    def feel(self, pick: int) -> None:
        self.enter(pick, "legs_felt", {})

    def bleed(self, pick: int) -> None:
        report = f"PCV {36 + pick} % 32-46\nSAA {'< 5' if pick % 2 else 8 * pick} mg/l < 20"
        self.enter(pick // 4 * 4, "bloods", {"laboratory": ("Moor End", "Chalk")[pick % 2], "results": report})

    def photograph(self, pick: int) -> None:
        sha256 = f"{pick:064x}"
        Photo.objects.get_or_create(
            sha256=sha256, defaults={"width": 40, "height": 30, "size": 9, "recorded_at": self.at}
        )
        self.enter(pick, "picture", {"picture": sha256, "text": f"Seen {len(self.written)}"})

    def feed(self, pick: int) -> None:
        horse, hay, last = self.horse(pick), Feed.objects.get(), Ration.objects.order_by("pk").last()
        if last and pick % 4 == 3:
            take_back(last, self.person(pick))
        elif not horse.left:
            day = self.at.date() + timedelta(days=pick % 3)
            write_ration(horse, day, [Amount("noon", hay.pk, 1 + pick)], self.person(pick), f"Fed {pick}")

    def store(self, pick: int) -> None:
        hay, by, batch = Feed.objects.get(), self.person(pick), FeedBatch.objects.order_by("pk").last()
        if pick % 3 == 0 or batch is None:
            deliver(hay, f"B{pick}", self.at.date(), f"{100 + pick} kg", by)
        elif pick % 3 == 1:
            mark(batch, self.at.date(), None, by)
        else:
            write_feed(Label(f"Hay {pick}", "forage", "9", "85"), by, hay)

    def eat(self, pick: int) -> None:
        kind, values = [("feed_left", {"left": "some"}), ("mass", {"kg": str(480 + pick)})][pick % 2]
        self.enter(pick, kind, values)

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
        horse.carer, horse.named, horse.markings = self.person(pick), pick % 2 == 0, f"star {pick}"
        horse.save()

    def stand(self, pick: int) -> None:
        box, _ = Box.objects.get_or_create(barn="Top", name=str(pick % 3), defaults={"position": pick})
        day = self.at.date() + timedelta(days=pick % 3 - 1)
        Stand.objects.update_or_create(horse=self.horse(pick), first_day=day, defaults={"box": box})

    def go(self, pick: int) -> None:
        to = Move.To.values[pick % 5]
        Move.objects.update_or_create(horse=self.horse(pick), first_day=self.at.date(), defaults={"to": to})

    def keep(self, pick: int) -> None:
        horse, day = self.horse(pick), self.at.date()
        OfficialMark.objects.update_or_create(
            horse=horse, ground="turf", country="GB", effective=day, defaults={"value": 60 + pick}
        )
        Caution.objects.create(horse=horse, about="box", text=f"Bites {pick}", first_day=day)
        Declarable.objects.create(horse=horse, what="hood", happened_on=day)

    def leave(self, pick: int) -> None:
        horse = self.horse(pick)
        horse.left = None if horse.left else self.at.date()
        horse.save()

    def roster(self, pick: int) -> None:
        person, by = self.person(pick), self.person(0)
        if pick % 3:
            set_hours(person, {pick % 7: read_hours("6-12", rides=bool(pick % 2))}, self.at.date(), by)
        else:
            off_sick(person, self.at.date(), by)

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

    def order(self, pick: int) -> None:
        day = self.at.date() + timedelta(days=pick % 2)
        order(self.horse(pick).pk, day, {"exercise": ("walk", "fast", "off")[pick % 3], "lot": "1"}, self.head())

    def did(self, pick: int) -> None:
        self.enter(pick, "exercise", {"exercise": ("hack_canter", "race")[pick % 2]})

    def clock(self, pick: int) -> None:
        beside = self.horse(pick + 1).pk
        values = {"splits": f"1f {15 + pick / 10}, 2f {29 + pick / 10}", "upsides": str(beside), "left": "plenty"}
        draft = Draft(uuid4(), "clocked", self.horse(pick).pk, values, self.at)
        self.written.append(record(draft, self.head()))

    def clock_there(self, pick: int) -> None:
        values = {"splits": f"1f {14 + pick / 10}, 2f {27 + pick / 10}", "gallop": str(Gallop.objects.get().pk)}
        self.written.append(record(Draft(uuid4(), "clocked", self.horse(pick).pk, values, self.at), self.head()))

    def give(self, pick: int) -> None:
        row = Recorded.objects.get()
        if standing_of(row) is None:
            return
        if pick % 4:
            give(row, self.horse(pick), self.head())
        else:
            take_from(row, self.head())

    def wear(self, pick: int) -> None:
        change_tracker(Tracker.objects.get(), f"Number {pick}", self.horse(pick), self.head())

    def engage(self, pick: int) -> None:
        race = {"race": f"Stakes {pick}", "course": "Moor", "zone": "Europe/London"}
        by, day = self.at + timedelta(hours=20), self.at.date() + timedelta(days=1)
        state = ("entered", "declared")[pick % 2]
        known = {"state": state, "declare_by": by}
        Engagement.objects.update_or_create(horse=self.horse(pick), day=day, **race, defaults=known)

    def report(self, pick: int) -> None:
        """Say what was said after a race of today, for which a horse was declared."""
        horse, wants = self.horse(pick), ("shorter", "right", "further")[pick % 3]
        Engagement.objects.get_or_create(
            horse=horse, race=f"Run {self.at:%j}", course="Larkmoor", day=self.at.date(),
            defaults={"zone": "UTC", "distance_m": 1600, "state": Engagement.State.DECLARED},
        )  # fmt: skip
        values = {"what": "race", "wants": wants, "asked": ("asked", "not_asked")[pick % 2], "text": f"Ran {pick}"}
        self.written.append(record(Draft(uuid4(), "race_report", horse.pk, values, self.at), self.trainer()))

    def card(self, pick: int) -> None:
        """Write down the runners of a race."""
        codes = list(programme(Path(settings.UPSIDES_LIBRARY), now()).races)
        runners = [CardRunner(f"Nobody {number}", number) for number in range(1, 2 + pick)]
        keep_card(Path(settings.UPSIDES_LIBRARY), codes[pick % len(codes)], runners, self.at)

    def reckon(self, pick: int) -> None:
        """Work out chances, as the worker does in the night and after an entry."""
        codes = list(programme(Path(settings.UPSIDES_LIBRARY), now()).races)
        found = {self.horse(k).pk: a_chance(win=(0.01 * (pick + k + 1), 0.0, 0.3)) for k in range(1 + pick % HORSES)}
        keep_chances(codes[pick % len(codes)], found, at=self.at.isoformat())

    def say(self, pick: int) -> None:
        races, steps = programme(settings.UPSIDES_LIBRARY, now()).races, ("mean", "enter", "declare", "withdraw")
        if not races:
            return
        code, trainer = list(races)[pick % len(races)], Person.objects.get(login="trainer")
        said = Said(uuid4(), self.horse(pick).pk, code, steps[pick % 4], anyway=True, certified=bool(pick % 3))
        with suppress(DecisionRefusedError, HorseHereUnknownError):
            decide(settings.UPSIDES_LIBRARY, said, trainer)

    def head(self) -> Person:
        return Person.objects.get(login="head_person")

    def call_it(self, pick: int) -> None:
        folder, by = Path(os.environ["UPSIDES_LIBRARY"]), (self.head(), self.trainer())[pick % 2]
        own = Call.objects.filter(author=by, withdrawn=False, superseded_by=None).order_by("pk").last()
        about: About = ("fit", "fresh", "would run")[pick % 3]  # type: ignore[assignment]  # questions
        with suppress(CallRefusedError, CallGoneError):
            if own is not None and pick % 4 == 3:
                calls.take_back(own, by, uuid4())
            else:
                calls.call(folder, self.horse(pick), [calls.Said(uuid4(), about, 0.1 + 0.05 * (pick % 9))], by)

    def trainer(self) -> Person:
        return Person.objects.get(login="trainer")

    def next_day(self, pick: int) -> None:
        self.at += timedelta(days=1 + pick % 6)


DEEDS = ("note", "report", "card", "reckon", "roster", "look", "measure", "score", "correct", "withdraw",
         "rename", "move", "stand", "go", "keep", "leave", "marry", "sell", "promote", "next_day",
         "list_again", "choose", "see", "sample", "find", "feel", "bleed", "photograph", "feed", "store",
         "eat", "treat", "travel", "order", "did", "clock", "clock_there", "give", "wear", "engage", "call_it",
         "say")  # fmt: skip


def record_one(at: datetime) -> Recorded:
    """Enter a recording of a canter by the first horse, as if it had been read at a moment; its file is gone."""
    worn = Tracker.objects.create(serial="7 4711", name="30 4711")
    ended = at + timedelta(minutes=30)
    row = Recorded.objects.create(
        sha256="a" * 64, file="a.fit", format="fit", size=9, tracker=worn, began=at, ended=ended, fixes=9,
        recorded_at=ended,
    )  # fmt: skip
    canter = {"kind": "canter", "start": at.timestamp(), "seconds": 90.0, "metres": 900.0, "rise": None, "speed": 10.0,
              "speed_sd": 0.1, "top": 10.4}  # fmt: skip
    speeds = {"19": [900.0, 170.0, False]}
    measured = {"bouts": [canter], "works": [canter], "speeds": speeds, "heart": {}, "kept": 0.9}
    Outing.objects.create(
        recorded=row, horse=Horse.objects.order_by("pk")[0], day=at.date(), began=at, matched="lot", metres=900.0,
        fast_m=0.0, measured=measured, recorded_at=ended,
    )  # fmt: skip
    return row
