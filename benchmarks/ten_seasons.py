"""Pages of a yard with ten seasons behind it: 120 horses at a time, 1.5 million rows of the diary, 20 people at once.

The invented yard is served as `upsides serve` serves it, two web processes and a worker, on a machine whose processors
the 20 people share. Each asks for a page every 2 to 5 s, in the mix below; the time is that from the request to the
whole answer, on the wall. Then the same yard is filled up to ten seasons, and the same people come again: the ratio
is what nine more seasons cost.
"""

import json
import multiprocessing
import os
import random
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

ROWS = 1_500_000
SEASONS = 10
STRING = 120
PEOPLE = 20
SECONDS = 90
THINK_S = (2.0, 5.0)
TARGET_MS = 150.0
MIX = {"morning": 25, "string": 15, "horse": 25, "checks": 15, "lots": 10, "entry": 10}
"""What people ask for, in 100."""
PLACES = {"morning": "/", "string": "/string/", "horse": "/horse/{horse}/", "checks": "/checks/", "lots": "/lots/"}
KINDS = (
    ("exercise", 1.0, '{"exercise": "hack_canter", "lot": 1}'),
    ("temperature", 1.0, '{"celsius": 37.8}'),
    ("as_usual", 0.9, "{}"),
    ("mass", 0.14, '{"kg": 486.0, "scale": "Yard"}'),
    ("feed_left", 0.1, '{"left": "some"}'),
    ("legs_felt", 0.3, "{}"),
)
"""What is written of a horse a day: the kind, how often, and what."""
INSERT = (
    "INSERT INTO books_entry (client_id, kind, horse_id, author_id, happened_at, made_at, recorded_at, "
    '"values", withdrawn) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s)'
)


def run() -> None:
    """Serve the invented yard as it is, then with ten seasons behind it."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        command = [sys.executable, "-c", "from upsides.cli.main import main; main()"]
        subprocess.run([*command, "demo", "--library", str(folder)], check=True, stdout=subprocess.DEVNULL)
        before = _measured(folder, command)
        rows = _in_a_process(_fill, folder)
        size = (folder / "books.sqlite3").stat().st_size / 2**20
        print(f"{rows:,} rows of the diary, {size:.0f} MiB of books; {PEOPLE} people, {SECONDS} s, mix in 100: {MIX}")
        after = _measured(folder, command)
        for page in MIX:
            was, now = _p95(before[page]), _p95(after[page])
            print(
                f"  {page:8} {len(after[page]):4} times: median {statistics.median(after[page]):.0f} ms, "
                f"p95 {now:.0f} ms; as invented {was:.0f} ms, ratio {now / was:.2f}"
            )
        print(f"  target: p95 under {TARGET_MS:.0f} ms", flush=True)


def _in_a_process(work: Callable[..., Any], *arguments: Any) -> Any:
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        return pool.submit(work, *arguments).result()


def _set_up(folder: Path) -> None:
    os.environ["UPSIDES_LIBRARY"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "upsides.books.settings"
    import django

    django.setup()


def _fill(folder: Path) -> int:
    """Bring the string to 120 horses and the diary to 1.5 million rows, back through ten seasons; return how many."""
    _set_up(folder)
    from django.db import connection, transaction

    from upsides.books.models import Entry, Horse, Person, Yard

    today = Yard.objects.get().fixed_day
    began = today - timedelta(days=365 * SEASONS)
    here = list(Horse.objects.filter(left=None))
    for number in range(STRING * SEASONS - len(here)):
        gone = None if number < STRING - len(here) else began + timedelta(days=365 * (1 + number % (SEASONS - 1)))
        joined = (gone or today) - timedelta(days=365)
        Horse.objects.create(
            horse_key=f"filled:{number}",
            name=f"Filled {number}",
            foaled=joined.year - 2,
            sex="colt",
            joined=joined,
            left=gone,
        )
    spans = list(Horse.objects.values_list("pk", "joined", "left"))
    author = Person.objects.filter(posts__role="carer").first()
    missing = ROWS - Entry.objects.count()
    kept = Entry.objects.order_by("recorded_at").first()
    before = kept.recorded_at if kept else datetime.now(UTC)
    days = [
        (horse, joined + timedelta(days=day))
        for horse, joined, left in spans
        for day in range(((left or today) - joined).days)
    ]
    rng = random.Random(7)  # noqa: S311 -- invented rows
    rng.shuffle(days)
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA cache_size = -1000000")  # a gigabyte, for the filling alone
        cursor.executemany(
            INSERT,
            _rows(days, missing, author.pk if author else 1, before, rng),
        )
        cursor.execute("ANALYZE")
    return Entry.objects.count()


def _rows(
    days: list[tuple[int, Any]], missing: int, author: int, before: datetime, rng: random.Random
) -> list[tuple[Any, ...]]:
    found: list[tuple[Any, ...]] = []
    while len(found) < missing:
        for horse, day in days:
            for kind, often, values in KINDS:
                if rng.random() < often:
                    at = datetime(day.year, day.month, day.day, 5, rng.randrange(60), tzinfo=UTC)
                    recorded = min(at, before - timedelta(seconds=1))
                    found.append((uuid4().hex, kind, horse, author, at, at, recorded, values, False))
            if len(found) >= missing:
                break
    return found


def _measured(folder: Path, command: list[str]) -> dict[str, list[float]]:
    """Serve the folder and let the people ask; return the times in ms by page."""
    people = _in_a_process(_signed_in, folder)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    served = subprocess.Popen(
        [*command, "serve", "--library", str(folder), "--port", str(port)], stdout=subprocess.DEVNULL
    )
    try:
        _until_there(port)
        for person in people:
            _asked(port, person, "/")  # every process has loaded what pages need
        return _together(port, people)
    finally:
        served.terminate()
        served.wait(30)


def _signed_in(folder: Path) -> list[dict[str, Any]]:
    """Sign 20 people of the staff in; return the cookie of each, its mark for entries, and some horses."""
    _set_up(folder)
    from django.conf import settings
    from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
    from django.contrib.sessions.backends.db import SessionStore

    from upsides.books.models import Horse, Person
    from upsides.books.services.devices import add_own, author_token

    staff = Person.objects.filter(posts__role__in=("trainer", "assistant", "head_person", "carer", "secretary"))
    people = list(staff.distinct().order_by("pk")[:PEOPLE])
    horses = list(Horse.objects.filter(left=None).values_list("pk", flat=True)[:STRING])
    found = []
    for place in range(PEOPLE):
        person = people[place % len(people)]
        session = SessionStore()
        session[SESSION_KEY] = str(person.pk)
        session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
        session[HASH_SESSION_KEY] = person.get_session_auth_hash()
        session.save()
        device, _cookie = add_own(person, f"phone {place}")
        cookie = f"{settings.SESSION_COOKIE_NAME}={session.session_key}"
        found.append({"cookie": cookie, "token": author_token(device, person), "horses": horses})
    return found


def _until_there(port: int) -> None:
    until = time.monotonic() + 60
    while time.monotonic() < until:
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
        except OSError:
            time.sleep(0.2)
        else:
            return
    raise TimeoutError("the server did not come up within a minute")


def _together(port: int, people: list[dict[str, Any]]) -> dict[str, list[float]]:
    taken: dict[str, list[float]] = {page: [] for page in MIX}
    until = time.monotonic() + SECONDS
    threads = [threading.Thread(target=_person, args=(port, one, until, taken, n)) for n, one in enumerate(people)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return taken


def _person(port: int, person: Mapping[str, Any], until: float, taken: dict[str, list[float]], seed: int) -> None:
    rng = random.Random(seed)  # noqa: S311 -- who asks for what
    while time.monotonic() < until:
        time.sleep(rng.uniform(*THINK_S))
        page = rng.choices(list(MIX), list(MIX.values()))[0]
        horse = rng.choice(person["horses"])
        began = time.perf_counter()
        if page == "entry":
            _sent(port, person, horse)
        else:
            places = {
                "morning": "/",
                "string": "/string/",
                "horse": f"/horse/{horse}/",
                "checks": "/checks/",
                "lots": "/lots/",
            }
            _asked(port, person, places[page])
        taken[page].append((time.perf_counter() - began) * 1000)


def _asked(port: int, person: Mapping[str, Any], path: str, body: bytes | None = None) -> None:
    from http.client import HTTPConnection

    at = HTTPConnection("127.0.0.1", port, timeout=60)
    headers = {"Cookie": person["cookie"], "Host": f"localhost:{port}"}
    at.request("POST" if body else "GET", path, body, headers | ({"Content-Type": "application/json"} if body else {}))
    answer = at.getresponse()
    text = answer.read()
    at.close()
    if answer.status != 200:
        raise RuntimeError(f"{path} answered {answer.status}: {text[:200]!r}")


def _sent(port: int, person: Mapping[str, Any], horse: int) -> None:
    now = datetime.now(UTC).isoformat()
    entry = {"client_id": str(uuid4()), "kind": "temperature", "horse": horse, "values": {"celsius": "37.9"}}
    entry |= {"made_at": now, "token": person["token"]}
    _asked(port, person, "/diary/send/", json.dumps({"sent_at": now, "entries": [entry]}).encode())


def _p95(taken: list[float]) -> float:
    return statistics.quantiles(taken, n=20)[-1] if len(taken) > 1 else float("nan")
