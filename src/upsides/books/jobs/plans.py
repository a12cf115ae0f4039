"""The string's work, planned anew: an answer for pages, and for tomorrow's list, to read."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf, isfinite
from pathlib import Path
from time import monotonic
from typing import Any, Final

from upsides.books import clock
from upsides.books.jobs.running import JobStopped, Running
from upsides.books.models.answer import PLAN
from upsides.books.planned import kept_week
from upsides.books.queries.in_training import in_training
from upsides.books.queries.moments import Moment
from upsides.books.queries.order_parts import order_parts
from upsides.books.queries.planned_work import Wished, routine, to_work
from upsides.books.queries.string_limits import string_limits
from upsides.books.services.answers import store
from upsides.errors import StoppedEarlyError
from upsides.planning.solving import Progress, Watch
from upsides.planning.work.ordered import plan_ordered, without_plan
from upsides.planning.work.others import Others

Told = Callable[[float, str], None]
LONGEST_S: Final = 600.0
"""A search is stopped after so long, and the best plan so far is kept with its bound."""
OTHERS: Final = 2
"""So many plans of each horse are kept beside its best, that the trainer may choose from."""
ASK_S: Final = 0.5
"""Whether somebody stopped it is asked no more often than this."""


def plans(running: Running) -> dict[str, Any]:
    """Plan the string's work from tomorrow on, from what is known now."""
    return plan_all(running.folder, clock.today(), running.progress, afresh=bool(running.arguments.get("afresh")))


def plan_all(
    library: Path, day: date, progress: Told, longest_s: float = LONGEST_S, *, afresh: bool = False
) -> dict[str, Any]:
    """Plan the work of all horses in training from the next day on, and keep the plan as an answer.

    A stop keeps the best plan so far, and is passed on after that.

    Args:
        library: folder of the library.
        day: the yard's day.
        progress: told how far the work is, and what is being done.
        longest_s: seconds of the search after which the best plan so far is taken.
        afresh: whether it is planned from the routine, whatever plan stands.

    Returns:
        What it was made from: horses, those without a plan, and the proof.

    Raises:
        WorkRefusedError: the yard's own routine cannot be used.
        WorkClashError: no plan keeps what the string shares.
        StoppedEarlyError: the time was over before there was a plan.
        JobStopped: somebody stopped it; the best plan, where there was one, is kept.
    """
    progress(0.0, "what horses did, and what holds them back")
    moment, wished = Moment(day), Wished(day + timedelta(days=1), keep=True, afresh=afresh)
    settings, string = routine(library, moment), list(in_training(moment).values())
    shared = string_limits(moment, wished.first, wished.days, len(string), settings.mornings)
    with clock.one_place():
        horses = to_work(library, moment, string, wished, settings)
    search = _Search(progress, monotonic() + longest_s)
    watch = Watch(search.tell, search.over)
    search.say(0.3, "rules that clash")
    try:
        none = without_plan(horses, watch=watch)
        able = [one for one in horses if one.number not in none]
        found = plan_ordered(able, shared, settings.prices, watch=watch)
    except StoppedEarlyError:
        if search.stopped:
            raise JobStopped from None
        raise
    search.say(0.9, "the next best plans of each horse")
    nearby, others = Others(found, settings.prices), {}
    for place, one in enumerate(able):
        if search.over():
            break
        others[one.number] = nearby.of(place, OTHERS, watch=Watch(stop=search.over))
    search.say(0.95, "what departs from the routine, and why")
    made_from = {"horses": len(horses), "without a plan": len(none), "bound": round(found.bound, 4),
                 "cost": round(found.cost, 4), "changes": found.changes}  # fmt: skip
    stood = {one.number: one for one in horses if one.number in none}
    parts = order_parts(moment, settings.orders.values())
    store(PLAN, day, kept_week(wished.first, found, settings, shared, none, others, stood, parts), made_from)
    if search.stopped:
        raise JobStopped
    return {"day": str(day), **made_from}


@dataclass(slots=True)
class _Search:
    """Tells how near the best plan is to the bound; the search ends in time, or when somebody stops it.

    That it is to stop is remembered, so that the best plan can be kept first.
    """

    progress: Told
    until: float
    share: float = 0.0
    doing: str = ""
    asked: float = 0.0
    stopped: bool = False

    def say(self, share: float, doing: str) -> None:
        self.share, self.doing, self.asked = share, doing, monotonic()
        try:
            self.progress(share, doing)
        except JobStopped:
            self.stopped = True

    def tell(self, now: Progress) -> None:
        share = min(max(now.bound / now.best, 0.0), 1.0) if isfinite(now.best) and now.best > 0 else 0.0
        best = f"best {now.best:.1f} steps, none below {now.bound:.1f}, gap {now.gap:.1f}"
        if now.of == "days":
            best = f"best changes {now.best:.0f} days, none fewer than {now.bound:.0f}, gap {now.gap:.0f}"
        begin = 0.4 if now.of == "days" else 0.5
        self.say(begin + 0.4 * share, best if now.best < inf else "looking for a plan")

    def over(self) -> bool:
        if monotonic() - self.asked >= ASK_S:
            self.say(self.share, self.doing)
        return self.stopped or monotonic() >= self.until
