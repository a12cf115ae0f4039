"""Work on chances: of ours in races to come, kept as answers, a race each."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from upsides.books import clock
from upsides.books.jobs.running import Running
from upsides.books.models import Answer
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import answer_name
from upsides.books.queries.chances_wanted import MOST_AHEAD, Wanted, wanted_races
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
    changed = _changed(wanted, known, working)
    for turn, (one, made_from) in enumerate(changed):
        progress(0.1 + 0.9 * turn / len(changed), f"chances in {one.race}")
        store(answer_name(one.code), day, _values(one, known.get(answer_name(one.code)), made_from, working), made_from)
    return {"worked_out": len(changed), "stood": len(wanted) - len(changed)}


def _changed(
    wanted: Iterable[Wanted], known: Mapping[str, Answer], working: Working
) -> list[tuple[Wanted, dict[str, Any]]]:
    """Return the races of which anything changed, with what they are made from now.

    First those that ours are in, then those whose answer is no longer true, then those that nobody worked out yet; each
    in order of day.
    """
    told = [(one, working.made_from(one)) for one in wanted]
    changed = [
        (one, made)
        for one, made in told
        if (name := answer_name(one.code)) not in known or known[name].made_from != made
    ]
    return sorted(changed, key=lambda one: (not one[0].entered, answer_name(one[0].code) not in known))


def _values(one: Wanted, before: Answer | None, made_from: dict[str, Any], working: Working) -> dict[str, Any]:
    """Return what is kept of a race: where only horses of it changed, those anew and the others as they were kept.

    On a card they stand among each other's rivals, and all are worked out again.
    """
    stand = {} if before is None or one.card else _standing(before, made_from)
    again = tuple(asked for asked in one.asked if str(asked.horse.pk) not in stand)
    try:
        found = working.chances(replace(one, asked=again)) if again else {}
    except UpsidesError as error:
        return {"why": as_kept(str(error)), "horses": {}}
    return {"why": "", "horses": stand | {str(number): told.kept() for number, told in found.items()}}


def _standing(before: Answer, made_from: dict[str, Any]) -> dict[str, Any]:
    """Return what was kept of the horses of a race of which nothing has changed, by their numbers."""
    race, old = (
        {key: value for key, value in made.items() if key != "horses"} for made in (made_from, before.made_from)
    )
    if race != old or before.values.get("why"):
        return {}
    horses, then = made_from["horses"], before.made_from.get("horses", {})
    kept = before.values.get("horses", {})
    return {number: kept[number] for number, made in horses.items() if number in kept and then.get(number) == made}
