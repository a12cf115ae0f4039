"""The kind of work that plans the lots of a morning and keeps the plan as an answer."""

from dataclasses import dataclass
from datetime import date
from math import isfinite
from typing import Any

from upsides.books.jobs.running import JobStopped, Running
from upsides.books.lot_answers import PlannedLots, kept_lots, name_of
from upsides.books.lot_solving import solve_lots
from upsides.books.queries import moments
from upsides.books.queries.lot_morning import gather
from upsides.books.services.answers import store
from upsides.errors import LotsClashError
from upsides.planning.morning import Plan
from upsides.planning.rule import Clash, Rule
from upsides.planning.solving import Progress, Watch


def lots(running: Running) -> dict[str, Any]:
    """Plan the morning of the argument `day`, without the rider `without` where one is named; a stop keeps the best.

    Raises:
        MorningRefusedError, StoppedEarlyError: there can be no plan.
    """
    day, without = date.fromisoformat(running.arguments["day"]), running.arguments.get("without")
    found = gather(running.folder, moments.now(), day, also=() if without is None else [without])
    told = _Told(running)
    try:
        planned = solve_lots(found, without, Watch(told, lambda: told.stopped or running.halted.is_set()))
    except LotsClashError as error:
        clash = Clash(tuple(map(tuple, error.sets)), error.any_one, error.without)
        made = PlannedLots(Plan(), clash=clash.told(lambda rule: Rule(*rule)))
    else:
        made = PlannedLots(planned.plan, planned.amounts, planned.costs, planned.bound)
    counts = {"horses": len(found.morning.horses), "riders": len(found.morning.riders)}
    store(name_of(without), day, kept_lots(made), counts)
    running.progress(1.0, "")
    return counts | {"minutes": made.costs.total, "bound": made.bound, "clash": len(made.clash.rules)}


@dataclass(slots=True)
class _Told:
    """Says how far the search is; that it is to stop is remembered, so that the best plan can be kept first."""

    running: Running
    stopped: bool = False

    def __call__(self, now: Progress) -> None:
        words = f"{now.best:.1f} min; none below {now.bound:.1f}; gap {now.gap:.1f}" if isfinite(now.best) else ""
        try:
            self.running.progress(0.0, words)  # nobody knows how long a proof takes
        except JobStopped:
            self.stopped = True
