"""`upsides demo`: build the invented yard with its answers worked out."""

import hashlib
import json
from collections.abc import Callable
from concurrent.futures import Executor
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import click

import upsides
from upsides.cli.options import answer, json_option, library_option
from upsides.cli.progress import shown

SOURCE = "invented"
STANDS = "invented.json"
"""In the library's folder: which code built the yard there, and what it said of it."""
SOONEST = 3
"""Races of each horse that it is not meant for yet, of which its chances are worked out; every night there are more."""
HALF_YEAR, HALF_YEARS = timedelta(days=182), 2


@click.command()
@click.option("--seed", type=int, default=17, show_default=True, help="Another seed is another country.")
@click.option("--full", is_flag=True, help="A larger country and yard: more horses, courses and seasons; takes longer.")
@library_option
@json_option
def demo(seed: int, full: bool, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Build an invented country's results and a yard in it, and fit them. Doing it again changes nothing."""
    made = {"code": code(), "seed": seed, "full": full}
    value = standing(library, made) or {"library": str(library)} | build(library, seed, full=full)
    told = {name: one for name, one in value.items() if name != "library"}
    (library / STANDS).write_text(json.dumps({"made": made, "said": told}, indent=1), encoding="utf-8")
    lines = [
        f"{value['yard']}, an invented yard, stands in {library}: {value['string']} horses in the string, "
        f"{value['people']} people, {value['races']:,} races. Its today is {value['today']}.",
        f"Look at it: upsides serve --library {library}",
    ]
    answer(as_json, value, lines)


def code() -> str:
    """Return a hash of the program's files, so that a yard that another version built is built anew."""
    found = hashlib.sha256()
    root = Path(upsides.__file__).parent
    for path in sorted(root.rglob("*")):
        if path.is_file() and "__pycache__" not in path.parts:
            found.update(f"{path.relative_to(root)}".encode() + path.read_bytes())
    return found.hexdigest()


def standing(library: Path, made: dict[str, Any]) -> dict[str, Any] | None:
    """Return what was said of the yard when the same code built it in a folder; None where it does not stand there."""
    try:
        kept = json.loads((library / STANDS).read_text("utf-8"))
        if kept["made"] != made:
            return None
        told: dict[str, Any] = {"library": str(library)} | kept["said"]
        today = told["today"]
    except (OSError, ValueError, KeyError, TypeError):
        return None
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.models import Yard

    whole = Yard.objects.filter(name=told["yard"], fixed_day=today).exists()
    return told if whole and (library / "fits" / today / "manifest.json").exists() else None


def build(library: Path, seed: int, *, full: bool) -> dict[str, Any]:
    """Build the yard in a folder, where some of it stands only the rest.

    Returns:
        What there is, in numbers.
    """
    from upsides.books.services.opening import open_books
    from upsides.compute import processes
    from upsides.demo import books_of, rulebook, simulate
    from upsides.results import importing
    from upsides.results.library import Library
    from upsides.rules import OWN_RULES

    with shown() as line:
        line(0.0, "inventing a country")
        invented = simulate(seed, size="full" if full else "usual")
        books = books_of(invented)
        line(0.2, "adding its results")
        opened = Library.create(library)
        (opened.folder / OWN_RULES).write_text(rulebook(), encoding="utf-8")
        imported = importing.add_frames(opened, invented.races, invented.runs, SOURCE, invented.register)
        with processes(1) as beside:
            fitting = beside.submit(fitted, [str(opened.folder), str(invented.today)])
            before = beside.submit(fitted_before, [str(opened.folder), *map(str, half_year_days(invented.today))])
            line(0.3, "opening the books")
            open_books(library)
            from upsides.books.services.invented import load_invented
            from upsides.books.services.invented_calls import load_calls
            from upsides.books.services.invented_recordings import load_recordings

            line(0.35, "entering the yard, while its horses are rated")
            load_invented(invented, library, books)
            line(0.75, "reading its recordings")
            load_recordings(
                invented, library, books, every_file=full, progress=lambda share, name: line(0.75 + 0.1 * share, name)
            )
            line(0.85, "waiting for figures and trips")
            rated = fitting.result()
            before.result()
            line(0.92, "entering what was called")
            load_calls(library, books, invented.today)
            answered(library, invented.today, seed, line, beside)
        line(1.0, "ready")
    return {
        "yard": invented.yard.name,
        "today": str(invented.today),
        "races": imported.races,
        "runs": imported.runs,
        "string": invented.string.height,
        "people": books.people.height,
        "entries": books.diary.height,
        "horses": rated,
    }


def answered(library: Path, today: date, seed: int, line: Callable[[float, str], None], beside: Executor) -> None:
    """Work out what the worker does in the night, and write down races let go.

    Args:
        library: folder of the library, whose books are open.
        today: the yard's day.
        seed: of the invented world.
        line: told how far it is.
        beside: a process in which the work is planned meanwhile.
    """
    from upsides.books.jobs.chances import work_out
    from upsides.books.jobs.condition import answer_all
    from upsides.books.services.invented_races import load_let_go

    line(0.95, "working out condition")
    answer_all(library, today, {}, lambda share, doing: line(0.95 + 0.02 * share, doing))
    planning = beside.submit(planned, [str(library), str(today)])
    line(0.97, "chances in races to come")
    work_out(library, today, lambda share, doing: line(0.97 + 0.01 * share, doing), SOONEST)
    line(0.98, "races let go")
    load_let_go(library, seed)
    line(0.99, "planning the string's work")
    planning.result()


def planned(task: list[str]) -> None:
    """Plan the work of the string.

    Args:
        task: folder of the library, and the day.
    """
    from upsides.books.services.opening import connect_books

    library = Path(task[0])
    connect_books(library)
    from upsides.books.jobs.plans import plan_all

    plan_all(library, date.fromisoformat(task[1]), lambda _share, _doing: None, afresh=True)


def half_year_days(today: date) -> list[date]:
    """Return the days of the last year of which the yard has fits: the tool came to it a year ago."""
    return [today - HALF_YEAR * back for back in range(HALF_YEARS, 0, -1)]


def fitted_before(task: list[str]) -> None:
    """Make the fits of earlier days, where those that stand would not be the same.

    Args:
        task: folder of the library, and the days.
    """
    from upsides.errors import FitMissingError
    from upsides.ratings.fits import make_fit, read_fit, would_be_same
    from upsides.results.library import Library

    library = Library.open(task[0])
    for day in map(date.fromisoformat, task[1:]):
        try:
            if would_be_same(library, read_fit(library.folder, day)):
                continue
        except FitMissingError:
            pass
        make_fit(library, day)


def fitted(task: list[str]) -> int:
    """Make the fit of an invented yard's today, where the one that stands would not be the same.

    Args:
        task: folder of the library, and the day.

    Returns:
        How many horses it rates.
    """
    from upsides.errors import FitMissingError
    from upsides.ratings.fits import read_fit, would_be_same
    from upsides.results.library import Library
    from upsides.trip.fitting import make_fit_with_trips
    from upsides.trip.kept import has_model

    library, today = Library.open(task[0]), date.fromisoformat(task[1])
    try:
        kept = read_fit(library.folder, today)
    except FitMissingError:
        kept = None
    if kept and has_model(library.folder, today) and would_be_same(library, kept):
        return kept.horses.height
    return make_fit_with_trips(library, today, keep_as_latest=True)[0].horses.height
