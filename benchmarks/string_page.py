"""The string's page for 12, 120 and 480 horses, beside a page of the same frame without a list.

Server time from the request to the whole answer, access, queries and the row that says who saw figures included;
browsers and the network are left out. The reference is the page of an unknown horse: the same frame, the same person,
no list. Beside it the list's cells alone, as the page writes them and as a template loop over cells would. Medians of
processor time, which other work on the machine disturbs little; time on the wall holds the disk besides.
"""

import multiprocessing
import os
import statistics
import tempfile
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

SIZES = (12, 120, 480)
ROUNDS = 60
TARGET_MS = 40.0


def run() -> None:
    """Build one invented library with its fit, then measure each size in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        _in_a_process(_build, Path(folder))
        for horses in SIZES:
            _in_a_process(_measure, Path(folder), horses)


def _in_a_process(work: Callable[..., None], *arguments: Any) -> None:
    """Run in a fresh process; one that dies is said so, not waited for."""
    with ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn")) as pool:
        pool.submit(work, *arguments).result()


def _build(folder: Path) -> None:
    from upsides.books.services.opening import gather_static, open_books
    from upsides.demo import simulate
    from upsides.ratings.fits import make_fit
    from upsides.results.importing import add_frames
    from upsides.results.library import Library

    invented = simulate()
    library = Library.create(folder)
    add_frames(library, invented.races, invented.runs, "invented")
    make_fit(library, invented.today)
    open_books(folder)
    gather_static()
    from upsides.books.services.invented import load_invented

    load_invented(invented, folder)


def _measure(folder: Path, horses: int) -> None:
    os.environ["UPSIDES_LIBRARY"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "upsides.books.settings"
    import django

    django.setup()
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    from upsides.books.models import Person

    _string_of(horses)
    client = Client(headers={"host": "localhost"})
    client.force_login(Person.objects.filter(posts__role="trainer").get())
    first = _timed(lambda: client.get("/string/"))[1]
    with CaptureQueriesContext(connection) as queries:
        size, asked = len(client.get("/string/").content) / 1024, len(queries)
    (page, wall), (part, _), (frame, _) = _in_turns(
        lambda: client.get("/string/"),
        lambda: client.get("/string/?q=a", headers={"hx-request": "true"}),
        lambda: client.get("/horse/999999/"),
    )
    print(f"{horses} horses: {page:.1f} ms a page, {wall:.1f} ms on the wall, {size:.0f} KB, {asked} queries;")
    print(f"  the first page {first:.0f} ms on the wall; the list alone for a letter typed {part:.1f} ms")
    print(f"  ratio to the frame alone ({frame:.1f} ms): {page / frame:.1f}; {(page - frame) / horses:.3f} ms a horse")
    print(f"  target at 120 horses: {TARGET_MS:.0f} ms")
    (joined, _), (looped, _) = _cells()
    print(f"  cells alone: {joined:.1f} ms joined, {looped:.1f} ms by a template loop", flush=True)


def _string_of(wanted: int) -> None:
    """Bring the string to a number of horses, from those of other yards."""
    import polars as pl
    from django.conf import settings

    from upsides.books.models import Horse
    from upsides.results.library import Library

    first = list(Horse.objects.order_by("pk").values_list("pk", flat=True)[:wanted])
    Horse.objects.filter(pk__in=first).update(left=None)
    Horse.objects.exclude(pk__in=first).update(left="2020-01-01", joined="2019-01-01")
    missing = wanted - Horse.objects.filter(left=None).count()
    ours = list(Horse.objects.values_list("horse_key", flat=True))
    others = (
        Library.open(settings.UPSIDES_LIBRARY)
        .horses()
        .filter(pl.col("runs") > 0, ~pl.col("horse_key").is_in(ours))
        .collect()
    )
    day = Horse.objects.earliest("joined").joined
    for row in others.sort("last_run", "horse_key", descending=True).head(max(missing, 0)).to_dicts():
        told = {name: row[name] or "" for name in ("horse_key", "name", "sire", "dam")}
        Horse.objects.create(**told, foaled=row["foaled"], sex=row["sex"], joined=day)


def _timed(work: Callable[[], Any]) -> tuple[float, float]:
    """Return processor time and time on the wall, ms."""
    began, wall = time.process_time(), time.perf_counter()
    work()
    return (time.process_time() - began) * 1000, (time.perf_counter() - wall) * 1000


def _in_turns(*works: Callable[[], Any]) -> list[tuple[float, float]]:
    """Return the medians of each, taken in turns so that other work on the machine meets all alike."""
    for work in works:
        work()
    taken = [[_timed(work) for work in works] for _ in range(ROUNDS)]
    return [_medians(column) for column in zip(*taken, strict=True)]


def _medians(pairs: Sequence[tuple[float, float]]) -> tuple[float, float]:
    return statistics.median(pair[0] for pair in pairs), statistics.median(pair[1] for pair in pairs)


def _cells() -> list[tuple[float, float]]:
    """Return what the list's cells take, as `_in_turns`: joined as by the page, and by a template loop over cells."""
    from django.conf import settings
    from django.http import QueryDict
    from django.template import engines

    from upsides.books.models import Person
    from upsides.books.queries import moments, string
    from upsides.books.queries.visitors import visitor
    from upsides.web.string.asking import asked_of
    from upsides.web.string.listing import rows_of

    who = visitor(Person.objects.filter(posts__role="trainer").get(), barn=False)
    listed = string.string(settings.UPSIDES_LIBRARY, who, moments.now()).listed
    columns = asked_of(QueryDict(), figures=True).columns
    written = engines["django"].from_string("{% for row in rows %}{{ row }}{% endfor %}")
    looped = engines["django"].from_string(
        "{% for one in rows %}{% for start, cell in one %}{{ start }}{{ cell }}</td>{% endfor %}{% endfor %}"
    )
    return _in_turns(
        lambda: written.render({"rows": rows_of(listed, columns, "")}),
        lambda: looped.render({"rows": [[("<td>", column.cell(one)) for column in columns] for one in listed]}),
    )
