"""Horses of ours that stand in a race which by now does not take them: sold, gelded, above its band, winners since."""

from collections.abc import Iterable
from pathlib import Path

from upsides.books.models import Engagement
from upsides.books.queries.engaged import Engaged
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.placing import Finding, Says, eligible


def shut_out(folder: Path, moment: Moment, said: Iterable[Engaged]) -> dict[int, tuple[Finding, ...]]:
    """Return what says no of horses in races to come, by number of the engagement; the others are not in it.

    Args:
        folder: of the library.
        moment: when to look from.
        said: what horses are engaged for.
    """
    listed = [one for one in said if one.engagement.state != Engagement.State.WITHDRAWN and one.race.day >= moment.day]
    known, terms = entrants(folder, moment, {one.horse.pk: one.horse for one in listed}.values()), terms_of(folder)
    found = {one.engagement.pk: eligible(known[one.horse.pk], one.race, terms) for one in listed}
    return {number: one.against for number, one in found.items() if one.says is Says.NO}
