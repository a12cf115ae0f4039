"""The kinds of work that make fits."""

from datetime import date, timedelta
from typing import Any

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.queries.told_of_runs import told_of_morning
from upsides.books.services.hand_results import bring_in
from upsides.books.services.horses import link_horses
from upsides.books.services.jobs import ask
from upsides.errors import CannotFitError, FitMissingError
from upsides.ratings.fits import is_current, read_fit
from upsides.results.library import Library
from upsides.trip.fitting import make_fit_with_trips
from upsides.trip.kept import has_model

WEEKS = 8


def fit(running: Running) -> dict[str, Any]:
    """Fit the library as known this morning, or on the morning of the argument `day`; pages show it from then on."""
    link_horses(running.folder)
    bring_in(running.folder)
    day = date.fromisoformat(running.arguments["day"]) if "day" in running.arguments else clock.today()
    library = Library.open(running.folder)
    told = told_of_morning(day)
    made, _ = make_fit_with_trips(library, day, keep_as_latest=True, progress=running.progress, told=told)
    ask("chances", afresh=True)
    return {name: made.manifest[name] for name in ("as_of", "runs", "horses", "races")}


def fits(running: Running) -> dict[str, Any]:
    """Fit the library as it was known on each Monday of past weeks, so that the books can be looked at as of then.

    Days that stand and are current are left as they are. The argument `weeks` says how many.
    """
    kept = running.checkpoint or {"days": _mondays(int(running.arguments.get("weeks", WEEKS))), "done": {}}
    library, days, done = Library.open(running.folder), kept["days"], kept["done"]
    for turn, day in enumerate(days):
        if day not in done:
            done[day] = _made(running, library, day, turn / len(days), 1.0 / len(days))
            running.keep(kept)
    made = [day for day, how in done.items() if how == "made"]
    return {"made": made, "stood": list(done.values()).count("stood"), "too_early": list(done.values()).count("early")}


def _mondays(weeks: int) -> list[str]:
    """Return the Mondays of the last weeks, latest first, so that what is asked for most is there first."""
    today = clock.today()
    last = today - timedelta(days=today.weekday())
    return [str(last - timedelta(weeks=back)) for back in range(weeks)]


def _made(running: Running, library: Library, day: str, before: float, part: float) -> str:
    """Fit one day; return whether the fit was made, stood, or has too few results before it."""
    when = date.fromisoformat(day)
    running.progress(before, f"{day}: results")
    told = told_of_morning(when)
    try:
        kept = read_fit(library.folder, when)
        same = is_current(library, kept, latest=False) and kept.manifest.get("told", "") == told.mark()
        if same and has_model(library.folder, when):
            return "stood"
    except FitMissingError:
        pass
    try:
        make_fit_with_trips(
            library,
            when,
            progress=lambda share, doing: running.progress(before + part * share, f"{day}: {doing}"),
            told=told,
        )
    except CannotFitError:
        return "early"
    return "made"
