"""Work on chances: of ours in races to come, kept as answers, a race each."""

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import answer_name
from upsides.books.queries.chances_wanted import MOST_AHEAD, wanted_races
from upsides.books.queries.moments import Moment
from upsides.books.queries.race_chances import Working
from upsides.books.services.answers import store
from upsides.errors import UpsidesError
from upsides.errors.wording import as_kept

Told = Callable[[float, str], None]


def chances(running: Running) -> dict[str, Any]:
    """Work out the chances that are wanted as of now; races of which nothing has changed stand as they are."""
    return work_out(running.folder, clock.today(), running.progress)


def work_out(folder: Path, day: date, progress: Told, most: int = MOST_AHEAD) -> dict[str, Any]:
    """Work out the chances of ours in races to come, and keep those of each race by itself.

    Args:
        folder: of the library.
        day: the yard's day.
        progress: told how far the work is, and what is being done.
        most: of a horse's races that it is not meant for.

    Returns:
        How many races were worked out, and of how many nothing had changed; or why nothing could be.
    """
    moment = Moment(day)
    progress(0.0, "which races are wanted")
    wanted = wanted_races(folder, moment, most)
    horses = {one.horse.pk: one.horse for race in wanted for one in race.asked}
    try:
        working = Working(folder, moment, list(horses.values()))
    except UpsidesError as error:
        return {"worked_out": 0, "stood": 0, "why": as_kept(str(error))}
    known = moments.answers([answer_name(one.code) for one in wanted], moment)
    worked = 0
    for turn, one in enumerate(wanted):
        progress(0.1 + 0.9 * turn / len(wanted), f"chances in {one.race}")
        name, made_from = answer_name(one.code), working.made_from(one)
        if name in known and known[name].made_from == made_from:
            continue
        try:
            found = working.chances(one)
            values = {"why": "", "horses": {str(number): told.kept() for number, told in found.items()}}
        except UpsidesError as error:
            values = {"why": as_kept(str(error)), "horses": {}}
        store(name, day, values, made_from)
        worked += 1
    return {"worked_out": worked, "stood": len(wanted) - worked}
