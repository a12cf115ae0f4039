"""The string's work, planned anew: an answer for pages, and for tomorrow's list, to read."""

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from math import inf, isfinite
from pathlib import Path
from time import monotonic
from typing import Any, Final

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.models.answer import PLAN
from upsides.books.planned import kept_week
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.planned_work import Wished, routine, to_work
from upsides.books.queries.string_limits import string_limits
from upsides.books.services.answers import store
from upsides.errors import WorkRefusedError
from upsides.planning.solving import Progress, Watch
from upsides.planning.work.checking import check
from upsides.planning.work.horse import Horse
from upsides.planning.work.said import Said
from upsides.planning.work.string import clashing, plan_string

Told = Callable[[float, str], None]
LONGEST_S: Final = 600.0
"""A search is stopped after so long, and the best plan so far is kept with its bound."""


def plans(running: Running) -> dict[str, Any]:
    """Plan the string's work from tomorrow on, from what is known now."""
    return plan_all(running.folder, clock.today(), running.progress)


def plan_all(library: Path, day: date, progress: Told, longest_s: float = LONGEST_S) -> dict[str, Any]:
    """Plan the work of all horses in training from the next day on, and keep the plan as an answer.

    Args:
        library: folder of the library.
        day: the yard's day.
        progress: told how far the work is, and what is being done.
        longest_s: seconds of the search after which the best plan so far is taken.

    Returns:
        What it was made from: horses, those without a plan, and the proof.

    Raises:
        WorkRefusedError: the yard's own routine cannot be used.
        WorkClashError: no plan keeps what the string shares.
        StoppedEarlyError: the time was over before there was a plan.
    """
    progress(0.0, "what horses did, and what holds them back")
    moment, wished = Moment(day), Wished(day + timedelta(days=1), keep=True)
    settings, string = routine(library, moment), list(in_training(moment).values())
    shared = string_limits(moment, wished.first, wished.days, len(string), settings.mornings)
    with clock.one_place():
        horses = to_work(library, moment, string, wished, settings)
    progress(0.3, "rules that clash")
    none = without_plan(horses)
    able = [one for one in horses if one.number not in none]
    found = plan_string(able, shared, settings.prices, watch=_watch(progress, longest_s))
    progress(0.9, "what departs from the routine, and why")
    made_from = {"horses": len(horses), "without a plan": len(none), "bound": round(found.bound, 4),
                 "cost": round(found.cost, 4)}  # fmt: skip
    store(PLAN, day, kept_week(wished.first, found, settings, shared, none), made_from)
    return {"day": str(day), **made_from}


def without_plan(horses: Sequence[Horse]) -> dict[int, tuple[Said, ...]]:
    """Return of each horse that has no plan by itself which of its rules clash, or what of it cannot be right."""
    found: dict[int, tuple[Said, ...]] = {}
    for horse in horses:
        try:
            check(horse)
        except WorkRefusedError as error:
            told = {"typed": error.typed, "reason": error.reason, "remedy": error.remedy}
            found[horse.number] = (Said("refused", told),)
    return found | dict(clashing([one for one in horses if one.number not in found]))


def _watch(progress: Told, longest_s: float) -> Watch:
    """Return who tells how near the best plan is to the bound, and ends the search in time."""
    until = monotonic() + longest_s

    def tell(now: Progress) -> None:
        share = min(max(now.bound / now.best, 0.0), 1.0) if isfinite(now.best) and now.best > 0 else 0.0
        best = f"best {now.best:.1f} steps, none below {now.bound:.1f}" if now.best < inf else "looking for a plan"
        progress(0.4 + 0.5 * share, best)

    return Watch(tell, lambda: monotonic() >= until)
