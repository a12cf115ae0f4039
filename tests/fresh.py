"""Books of their own for tests that start other processes or commit for real."""

import fcntl
import json
import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from urllib.parse import urlsplit, urlunsplit
from uuid import uuid4

import worlds

SETTINGS = "upsides.books.settings"

DEMO = [sys.executable, "-c", "from upsides.cli.main import main; main()", "demo", "--json", "--library"]
SAID = "said.json"
"""Beside a kept demo: what the command said when it was built."""


@contextmanager
def fresh(folder: Path, *, ready: bool = False) -> Iterator[dict[str, str]]:
    """Give an environment for processes whose books stand in `folder`, or in a new PostgreSQL database of their own.

    The database lasts as long as the block. Books that are `ready` have their tables, with nothing in them, and the
    files of their pages; others do not exist.
    """
    env = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    env["UPSIDES_LIBRARY"] = str(folder)
    address = os.environ.get("UPSIDES_DATABASE", "")
    if ready:
        without = shutil.ignore_patterns("books.*") if address else None
        shutil.copytree(_kept_books(), folder, dirs_exist_ok=True, ignore=without)
    if not address:
        yield env
        return
    import psycopg

    name = f"fresh_{uuid4().hex[:12]}"
    with psycopg.connect(address, autocommit=True) as server:
        like = f'TEMPLATE "{_kept_database(server, address)}"' if ready else ""
        server.execute(f'CREATE DATABASE "{name}" {like}')
    try:
        yield env | {"UPSIDES_DATABASE": _beside(address, name)}
    finally:
        with psycopg.connect(address, autocommit=True) as server:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


def demo(folder: Path, env: dict[str, str]) -> Any:
    """Build the demo in a folder by `upsides demo`, from what the same code built before where it did.

    Returns:
        What the command said of it.
    """
    kept, on_server = kept_demo(), "UPSIDES_DATABASE" in env
    ignored = shutil.ignore_patterns(SAID, *(["books.*"] if on_server else []))
    shutil.copytree(kept, folder, dirs_exist_ok=True, ignore=ignored)
    return built(folder, env) if on_server else json.loads((kept / SAID).read_text())


def built(folder: Path, env: dict[str, str]) -> Any:
    """Run `upsides demo`; return what it said."""
    done = subprocess.run([*DEMO, str(folder)], env=env, stdout=subprocess.PIPE, text=True, check=True)
    return json.loads(done.stdout)


def kept_demo() -> Path:
    """Return the folder of the demo that `upsides demo` builds with the code as it stands."""
    with kept("demo", worlds.digest(".")) as place:
        if not place.exists():
            made = place.with_suffix(f".{os.getpid()}")
            said = built(made, _on_sqlite(made))
            (made / "secret.key").unlink()
            (made / SAID).write_text(json.dumps(said))
            made.rename(place)
    return place


def _on_sqlite(folder: Path) -> dict[str, str]:
    env = {name: value for name, value in os.environ.items() if name not in {"UPSIDES_DATABASE", "UPSIDES_LIBRARY"}}
    return env | {"UPSIDES_LIBRARY": str(folder), "DJANGO_SETTINGS_MODULE": SETTINGS}


@contextmanager
def kept(what: str, code: str) -> Iterator[Path]:
    """Give the place where something made by some code is kept, to one process at a time; drop what older code made."""
    place = worlds.KEPT / f"{what}-{code}"
    worlds.KEPT.mkdir(parents=True, exist_ok=True)
    with (worlds.KEPT / f"{what}.lock").open("w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        for older in worlds.KEPT.glob(f"{what}-*"):
            if older != place:
                shutil.rmtree(older, ignore_errors=True)
        yield place


def _kept_books() -> Path:
    """Return a folder with new books in SQLite and the files of their pages, as this code makes them."""
    with kept("books", _code()) as place:
        if not place.exists():
            made = place.with_suffix(f".{os.getpid()}")
            made.mkdir()
            _make(made, _on_sqlite(made))
            (made / "secret.key").unlink()
            made.rename(place)
    return place


def _kept_database(server: Any, address: str) -> str:
    """Return the name of a PostgreSQL database with new books, as this code makes them."""
    name = f"kept_{_code()}"
    server.execute("SELECT pg_advisory_lock(1)")
    if not server.execute("SELECT 1 FROM pg_database WHERE datname = %s", [name]).fetchone():
        server.execute(f'CREATE DATABASE "{name}"')
        with TemporaryDirectory() as folder:
            _make(Path(folder), _on_sqlite(Path(folder)) | {"UPSIDES_DATABASE": _beside(address, name)})
    server.execute("SELECT pg_advisory_unlock(1)")
    return name


def _make(folder: Path, env: dict[str, str]) -> None:
    """Open new books in a folder, gather the files of their pages, and leave them in one file."""
    code = f"""
from pathlib import Path
from upsides.books.services import opening
opening.open_books(Path({str(folder)!r}))
opening.gather_static()
"""
    told(f"{code}\nsaid = None", env)
    if (folder / "books.sqlite3").exists():
        with closing(sqlite3.connect(folder / "books.sqlite3")) as books:
            books.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@cache
def _code() -> str:
    return worlds.digest("books", "web", "charts")


def _beside(address: str, name: str) -> str:
    return urlunsplit(urlsplit(address)._replace(path=f"/{name}"))


SMALL_BOOKS = """
import json, sys
from datetime import date, datetime, time, UTC
from pathlib import Path
from uuid import UUID
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from upsides.books import clock, models
from upsides.books.models import Device, Entry, Horse, Job, Lot, PinTry, Release, Role, Sale, SavedView
from upsides.books.models import Schedule, Share, Sight, Yard
from upsides.books.services.diary import Draft, correct, record
from upsides.books.services.jobs import ask
from upsides.books.services.lot_notes import Noted, note, shortlist, withdraw_note
from upsides.books.services.people import add_person
Yard.objects.create(pk=1, name="Quarr Down", zone="Europe/London", jurisdiction="GB")
known = {"login": "trainer", "password": "quiet-stable-morning", "pin": "2468"}
trainer = add_person("Trainer", [Role.TRAINER, Role.RIDER], **known)
owner = add_person("Étienne \\"Tip\\" O'Hara\\n", [Role.OWNER], login="owner", email="owner@example.org")
gone = add_person("Gone", [Role.CARER])
horses = [
    Horse.objects.create(horse_key=f"x:{n}", name=f"Horse {n}", foaled=2022, sex="filly", joined=date(2026, 1, n + 1))
    for n in range(3)
]
horses[0].colour = "bay"; horses[0].save()
horses[2].delete()
Share.objects.create(horse=horses[1], owner=owner, numerator=1, denominator=3, first_day=date(2026, 1, 2))
device = Device.objects.create(token_hash="ab", name="Tack room", shared=True, added_by=trainer, added_at=clock.now())
PinTry.objects.create(person=trainer, device=device, at=clock.now(), right=True)
at = datetime(2026, 2, 1, 5, 30, 0, 123456, tzinfo=UTC)
first = record(Draft(UUID(int=1), "temperature", horses[0].pk, {"celsius": "38.2"}, at), trainer)
correct(first, {"celsius": "38.4"}, trainer, client_id=UUID(int=2), made_at=at)
record(Draft(UUID(int=3), "looked_at", horses[1].pk, {}, at), trainer)
ask("check", {"numbers": [1, 0.1, -0.0, 1e16, 1e-7, 38.0, True, None, "\\u00e9\\n"], "z": 1, "a": {"b": []}}, trainer)
Job.objects.create(kind="fit", progress=0.1 + 0.2, asked_at=at, checkpoint=None, result={"x": None})
Schedule.objects.create(kind="backup", at=time(2, 30, 15))
Release.objects.create(what="figures", person=owner, given_by=trainer, given_at=at)
Sight.objects.create(person=owner, at=at, what="figures", page="/horse/1/", horse=horses[1])
SavedView.objects.create(person=trainer, page="string", name="Mine", query="order=-name")
sale = Sale.objects.create(name="Moor End", year=2026, imported_at=at, file="list.csv", sha256="ab")
lot = Lot.objects.create(sale=sale, number="12A", sire="Quill (IRE)", price="12000.50", currency="guineas")
lot.removed = True; lot.save()
shortlist(lot, trainer, on=True, reason="Walks well")
seen = note(lot, Noted(UUID(int=4), "vetting", "Scoped, film kept.", at), trainer)
withdraw_note(seen, trainer, UUID(int=5))
EmailAddress.objects.create(user=owner, email="owner@example.org", verified=True, primary=True)
Authenticator.objects.create(user=trainer, type="totp", data={"secret": "abc"})
day, barn = date(2026, 1, 2), models.Box.objects.create(barn="Top", name="1", position=1)
models.Stand.objects.create(horse=horses[0], box=barn, first_day=day)
models.Move.objects.create(horse=horses[1], to="turned_out", first_day=day, note="Long Meadow")
models.OfficialMark.objects.create(horse=horses[0], ground="turf", country="GB", value=78, effective=day)
models.Declarable.objects.create(horse=horses[0], what="hood", happened_on=day)
models.Caution.objects.create(horse=horses[0], about="box", text="Kicks", first_day=day)
models.Shift.objects.create(person=trainer, weekday=0, starts="05:30", ends="12:00", rides=True, first_day=day)
models.DayOff.objects.create(person=trainer, first_day=day, last_day=day, why="holiday")
models.Bond.objects.create(person=trainer, kind="retainer", owner=owner, first_day=day)
models.Gallop.objects.create(name="Uphill", surface="woodchip", length_m=1006, rise_m=28)
models.Thing.objects.create(kind="scale", name="Yard scale")
race = {"race": "Maiden", "course": "Moor", "zone": "Europe/London", "day": day, "declare_by": at}
engaged = models.Engagement.objects.create(horse=horses[0], **race)
said = {"client_id": UUID(int=9), "said_at": at, "recorded_at": at, "cost": "40.50", "currency": "GBP"}
models.Decision.objects.create(engagement=engaged, step="enter", by=trainer, **said)
models.CalendarAddress.objects.create(person=trainer, token_hash="ef", made_at=at)
passed = {"race_code": "0a1b", "race": "Maiden", "course": "Moor", "day": day, "known": {"prize": 6000.5}}
models.LetGo.objects.create(horse=horses[1], **passed, recorded_at=at)
hay = models.Feed.objects.create(name="Hay", kind="forage", energy_mj_kg=9.5, dry_matter=0.85)
models.FeedBatch.objects.create(feed=hay, number="A 1", delivered_on=day, kg=500.5)
models.Ration.objects.create(horse=horses[0], first_day=day, amounts=[{"time": "noon", "feed": hay.pk, "kg": 2.5}])
from django.conf import settings
from upsides.books.recordings.files import keep_original
tracker = models.Tracker.objects.create(serial="7 4711", name="Tracker 1", horse=horses[1])
sha256 = keep_original(settings.UPSIDES_LIBRARY, b"a recording")
file = {"sha256": sha256, "file": "a.fit", "format": "fit", "size": 11, "fixes": 3, "began": at, "ended": at}
file |= {"tracker": tracker, "messages": [["cut_off", "it breaks off", 1]]}
came = models.Recorded.objects.create(**file, recorded_at=at)
did = {"recorded": came, "horse": horses[1], "day": day, "began": at, "metres": 1200.5, "fast_m": 0.1 + 0.2}
models.SetAside.objects.create(recorded=came, on=True, author=trainer, recorded_at=at)
models.Outing.objects.create(**did, matched="tracker", measured={"works": [], "kept": 0.98}, recorded_at=at)
call = {"horse": horses[0], "author": trainer, "about": "trip", "chance": 0.1 + 0.2, "trip_f": 7.5, "unseen": True}
called = models.Call.objects.create(client_id=UUID(int=6), known={"level_lb": 0.1 + 0.2}, recorded_at=at, **call)
models.Call.objects.create(client_id=UUID(int=7), supersedes=called, withdrawn=True, recorded_at=at, **call)
known = {"values": {"mass": 2.1}, "made_from": {"mass": 40}}
models.Answer.objects.create(name="spreads", day=at.date(), **known, recorded_at=at)
intake = models.Intake.objects.create(what="masses", file="mass.csv", sha256="ab", by=trainer, at=at)
models.Taken.objects.create(intake=intake, line=2, entry=first)
models.Photo.objects.create(sha256="cd" * 32, width=4, height=3, size=9, recorded_at=at)
gone.posts.all().delete(); gone.delete()
"""
"""Lines that fill books that were just opened: every table has a row, some rows were corrected, changed or removed."""


OPENING = """
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(folder))
said = None
"""
"""Opens books without the static files of pages, which take longer."""


def opened(folder: Path, env: dict[str, str], code: str, *arguments: object) -> Any:
    """Run lines of code in a process that has opened the books in `folder`; return what they assigned to `said`."""
    return told(f"folder = {str(folder)!r}\n{OPENING}\n{code}", env, *arguments)


def told(code: str, env: dict[str, str], *arguments: object) -> Any:
    """Run lines of code in a process of their own and return what they assigned to `said`."""
    whole = f"{code}\nimport json\nprint(json.dumps(said, default=str))"
    command = [sys.executable, "-c", whole, *map(str, arguments)]
    done = subprocess.run(command, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout.splitlines()[-1])
