"""The same entry from several processes at once."""

import json
import subprocess
import sys
from pathlib import Path

import fresh

BOOKS = """
import json, sys
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
from upsides.books.models import Horse, Yard
from upsides.books.services.people import add_person
Yard.objects.create(pk=1, name="Tallowmere", zone="Europe/London")
author = add_person("somebody", ["carer"])
horse = Horse.objects.create(horse_key="a", name="Burr Moss", foaled=2022, sex="filly", joined="2024-01-01")
print(json.dumps([author.pk, horse.pk]))
"""
MANY = """
import json, sys, threading
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID
from upsides.books.services.opening import connect_books
connect_books(Path(sys.argv[1]))
from django.db import connection
from upsides.books.models import Person
from upsides.books.services.diary import Draft, record
author, horse = json.loads(sys.argv[2])
made = datetime(2026, 1, 1, tzinfo=UTC)
found, wrong = [], []

def enter():
    person = Person.objects.get(pk=author)
    for number in range(12):
        try:
            found.append(record(Draft(UUID(int=number), "temperature", horse, {"celsius": "38.0"}, made), person).pk)
        except Exception as error:
            wrong.append(repr(error))
    connection.close()

print("ready", flush=True)
sys.stdin.readline()
threads = [threading.Thread(target=enter) for _ in range(3)]
[thread.start() for thread in threads]
[thread.join() for thread in threads]
print(json.dumps([sorted(set(found)), len(found), wrong]))
"""
ROWS = """
import json, sys
from pathlib import Path
from upsides.books.services.opening import connect_books
connect_books(Path(sys.argv[1]))
from upsides.books.models import Entry
rows = Entry.objects.order_by("pk").values_list("client_id", "recorded_at")
stamps = [stamp for _, stamp in rows]
print(json.dumps([len(rows), len({client for client, _ in rows}), stamps == sorted(stamps)]))
"""


def test_many_at_once_write_each_entry_once(tmp_path: Path) -> None:
    """Three processes of three threads enter the same twelve entries: twelve rows, one for all, stamped in order."""
    with fresh.fresh(tmp_path, ready=True) as env:

        def start(code: str, *more: str) -> subprocess.Popen[str]:
            command = [sys.executable, "-c", code, str(tmp_path), *more]
            return subprocess.Popen(command, env=env, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

        names = start(BOOKS).communicate()[0]
        running = [start(MANY, names) for _ in range(3)]
        assert [process.stdout.readline() for process in running] == ["ready\n"] * 3
        said = [json.loads(process.communicate("go\n", timeout=120)[0]) for process in running]
        rows = json.loads(start(ROWS).communicate()[0])
    assert [wrong for _, _, wrong in said] == [[], [], []]
    assert [many for _, many, _ in said] == [36, 36, 36]
    assert len({tuple(found) for found, _, _ in said}) == 1
    assert rows == [12, 12, True]
