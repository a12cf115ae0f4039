"""What a process keeps is made anew as soon as anything that it hangs on is written."""

from pathlib import Path

from fresh import fresh, opened

ASKED = """
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4
from django.db import transaction
from upsides.books import clock
from upsides.books.models import Entry, Horse, Role, Yard
from upsides.books.queries import moments
from upsides.books.queries.remembered import remembered
from upsides.books.services.diary import Draft, record
from upsides.books.services.people import add_person
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
trainer = add_person("Trainer", [Role.TRAINER], login="trainer", password="quiet-stable-morning")
horse = Horse.objects.create(horse_key="x:1", name="Horse", foaled=2022, sex="filly", joined=date(2026, 1, 1))
made = []
def ask(moment=None, **more):
    kinds, tables = ("temperature",), (Horse,)
    made_now = lambda: made.append(1) or len(made)
    return remembered("x", moment or moments.now(), kinds, tables, made_now, **more)
def write(kind, values, at=None):
    record(Draft(uuid4(), kind, horse.pk, values, clock.now(), at), trainer)
said = {"first": ask(), "again": ask()}
write("temperature", {"celsius": "38.0"})
said["after an entry of the kind"] = ask()
write("looked_at", {})
said["after an entry of another kind"] = ask()
horse.colour = "bay"; horse.save()
said["after a change of the table"] = ask()
with transaction.atomic():
    said["in a transaction"] = [ask(), ask()]
said["after it"] = ask()
said["of an earlier moment"] = [ask(moments.as_of(clock.now())), ask(moments.as_of(clock.now()))]
today = datetime.combine(moments.now().day, datetime.min.time(), UTC)
said["of earlier days"] = ask(before=today)
write("temperature", {"celsius": "38.1"})
said["still"] = ask(before=today)
write("temperature", {"celsius": "38.1"}, clock.now() - timedelta(days=2))
said["after a late entry"] = ask(before=today)
late = Entry.objects.latest("pk")
told, now = {"celsius": "38.1"}, clock.now()
draft = Draft(uuid4(), "temperature", horse.pk, told, now, now, supersedes=late.client_id)
record(draft, trainer)
said["after an earlier entry that was put right to today"] = ask(before=today)
"""


def test_an_answer_is_kept_until_something_changes(tmp_path: Path) -> None:
    """Kept while nothing is written; made anew after an entry of its kinds or a change of its tables."""
    with fresh(tmp_path, ready=True) as env:
        said = opened(tmp_path, env, ASKED)
    assert said == {
        "first": 1,
        "again": 1,
        "after an entry of the kind": 2,
        "after an entry of another kind": 2,
        "after a change of the table": 3,
        "in a transaction": [4, 5],
        "after it": 3,
        "of an earlier moment": [6, 7],
        "of earlier days": 8,
        "still": 8,
        "after a late entry": 9,
        "after an earlier entry that was put right to today": 10,
    }
