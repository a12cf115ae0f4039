"""One row of everything that addresses name, for those who walk them all."""

import re
from datetime import date
from uuid import uuid4

from django.utils import timezone

import worlds
from programmed_yard import engage_for, programmed
from sale_lists import ONE, read
from upsides.books.intake.files import keep
from upsides.books.models import (
    Box,
    CalendarAddress,
    Call,
    Entry,
    Feed,
    FeedBatch,
    Gallop,
    Horse,
    Inside,
    Intake,
    Job,
    LetGo,
    Lot,
    LotNote,
    OfficialMark,
    Person,
    Ration,
    Recorded,
    Release,
    Role,
    SavedView,
    Schedule,
    Stand,
    Tracker,
)
from upsides.books.services.devices import add_own, add_shared
from upsides.books.services.people import add_person
from upsides.books.services.sales import import_sale
from upsides.web.signin.invitations import invitation_path

FEW = 8
"""Horses that are in training while all addresses are walked: pages of ninety take long to write."""


def example_rows(loaded: worlds.Yard) -> dict[str, dict[str, object]]:
    """Rows to make addresses of, by area; none is anybody's who looks here."""
    trainer, moment = Person.objects.get(login="trainer"), timezone.now()
    other = add_person("Ann Hazel", [Role.CARER], login="ann", pin="9375")
    Horse.objects.filter(pk__gt=Horse.objects.order_by("pk")[FEW].pk).update(left="2026-01-01", joined="2025-01-01")
    horse = Horse.objects.order_by("pk")[2]
    key = loaded.world.runs["race_key"][0]
    phone, _ = add_shared("Top barn", trainer)
    own, _ = add_own(other, "Ann's phone")
    entry = Entry.objects.create(
        client_id="0" * 32, kind="looked_at", horse=horse, author=other, happened_at=moment, made_at=moment,
        recorded_at=moment,
    )  # fmt: skip
    sale = import_sale(read(ONE))[0].sale
    lot = Lot.objects.get(sale=sale)
    seen = LotNote.objects.create(
        client_id="1" * 32, lot=lot, kind="look", text="Seen.", author=other, happened_at=moment, recorded_at=moment
    )
    plan = Schedule.objects.create(kind="check", at="03:00")
    job = Job.objects.create(kind="check", asked_by=other, asked_at=moment)
    release = Release.objects.create(what=Inside.FIGURES, person=other, given_by=trainer, given_at=moment)
    view = SavedView.objects.create(person=other, page="string", name="mine")
    uid, token = re.search(r"key/(\w+)-(.+)/$", invitation_path(other)).groups()
    kept = keep(f"Horse,Date,Mass\n{horse.name},2026-01-01,480\n".encode(), "weights.csv", loaded.library)
    intake = Intake.objects.create(what="masses", file="weights.csv", sha256=kept.sha256, by=other, at=moment)
    called = Call.objects.create(
        client_id=uuid4(), horse=horse, author=other, about="fit", chance=0.5, unseen=True, recorded_at=moment
    )
    return {
        "tables": {"number": intake.pk, "what": "masses", "sha": kept.sha256},
        "morning": {"number": horse.pk},
        "checks": {},
        "clock": {},
        "recordings": _recordings(horse),
        "string": {"number": horse.pk, "forget_view": view.pk},
        "horses": _horses(horse),
        "races": {"race_key": key},
        "pedigree": {"number": horse.pk},
        "people": {"number": other.pk, "device": own.pk, "release_end": release.pk, "own_device_end": own.pk},
        "staff": {"number": other.pk},
        "barn": {"number": phone.pk, "barn_pin": other.pk},
        "diary": {"number": entry.pk},
        "feeding": _feeding(horse, loaded.world.today),
        "shape": {"number": horse.pk},
        "legs": {"number": horse.pk},
        "pictures": {"number": horse.pk, "sha256": "0" * 64},
        "bloods": {"number": horse.pk},
        "medicine": {"number": horse.pk},
        "trip": {"number": horse.pk},
        "condition": {"number": horse.pk, "call_take_back": called.pk},
        "planning": {"number": horse.pk},
        "programme": _programme(loaded, horse, trainer),
        "sales": {"number": lot.pk, "sale": sale.pk, "lot_note_mend": seen.pk},
        "jobs": {"number": job.pk, "schedule": plan.pk},
        "signin": {"uidb36": uid, "key": token},
    }


def _programme(loaded: worlds.Yard, horse: Horse, trainer: Person) -> dict[str, object]:
    code = next(iter(programmed(loaded.library)))
    passed = LetGo.objects.create(
        horse=horse, race_code=code, race="Sedge Handicap", course="Larkmoor", day=loaded.world.today,
        recorded_at=timezone.now(),
    )  # fmt: skip
    row = engage_for(horse, code, loaded.library, trainer)
    own = CalendarAddress.objects.create(person=trainer, token_hash="0" * 64, made_at=timezone.now())
    numbers = {"calendar_end": own.pk, "race_day_card": row.pk, "let_go_why": passed.pk, "programme_back": 999}
    return {"number": horse.pk, "code": code, "token": "nobodys", "sha": "0" * 64} | numbers


def _recordings(horse: Horse) -> dict[str, object]:
    worn = Tracker.objects.create(serial="7 4711", name="30 4711")
    row = Recorded.objects.create(
        sha256="0" * 64, file="a.fit", format="fit", size=1, tracker=worn, began=timezone.now(), ended=timezone.now(),
        fixes=2, recorded_at=timezone.now(),
    )  # fmt: skip
    gallop = Gallop.objects.create(name="Straight six", surface="turf")
    of_works = {"gallop_works": gallop.pk, "gallop_works_chart": gallop.pk}
    return of_works | {"number": row.pk, "horse_works": horse.pk, "horse_works_chart": horse.pk, "tracker": worn.pk}


def _horses(horse: Horse) -> dict[str, object]:
    box = Box.objects.create(barn="Top", name="1")
    stand = Stand.objects.create(horse=horse, box=box, first_day=horse.joined)
    mark = OfficialMark.objects.create(horse=horse, ground="turf", country="GB", value=78, effective=horse.joined)
    of_box = {"stand": stand.pk, "box_change": box.pk, "box_out": box.pk}
    return {"number": horse.pk, "section": "marks", "line": mark.pk} | of_box


def _feeding(horse: Horse, today: date) -> dict[str, object]:
    hay = Feed.objects.create(name="Hay", kind="forage", energy_mj_kg=9, dry_matter=0.85)
    batch = FeedBatch.objects.create(feed=hay, delivered_on=today, kg=500)
    ration = Ration.objects.create(horse=horse, first_day=today)
    of_batch = {"feed_batch": batch.pk, "feed_batch_mark": batch.pk, "ration_back": ration.pk}
    return {"number": horse.pk, "feed": hay.pk, "feed_deliver": hay.pk} | of_batch
