"""Works of a horse that has not run, as they are judged: beside whom, how both were ridden, what lay between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import hypot, isfinite
from typing import Final

from upsides.books import clock
from upsides.books.queries.moments import Moment
from upsides.books.queries.standings import Level
from upsides.books.queries.upsides import ONE_WORK_S, Partner, asked, partners
from upsides.books.queries.works import worked
from upsides.recordings.judging import Beside, JudgedWork, Ridden, age_lb, margin_lb
from upsides.recordings.work import Work
from upsides.rules import Overrides

DAYS: Final = 180
"""So many days of works are judged: what a young horse did before says little of it now. Own choice."""


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of horses besides their works.

    Args:
        levels: of those that have run, by number.
        ages: official ages on the moment's day, by number.
        jurisdiction: whose weight for age counts.
        overrides: the yard's own rules.
    """

    levels: Mapping[int, Level]
    ages: Mapping[int, int]
    jurisdiction: str
    overrides: Overrides


def judged_works(moment: Moment, horses: Sequence[int], known: Known) -> dict[int, list[tuple[Work, JudgedWork]]]:
    """Return the works of some horses beside others of known level, the last first, of each horse.

    Canters besides the fast work that was ordered are left out.

    Args:
        moment: when to look from.
        horses: numbers of the horses that are judged.
        known: what is known of all.
    """
    first = moment.day - timedelta(days=DAYS)
    works = {horse: worked(moment, horse, first, moment.day) for horse in horses}
    every = [work for mine in works.values() for work in mine if not work.aside]
    of = asked(every)
    company = partners(moment, of)
    theirs = _Theirs(moment, {})
    found: dict[int, list[tuple[Work, JudgedWork]]] = {}
    for work, one in zip(every, of, strict=True):
        beside = [_beside(work, partner, theirs, known) for partner in company.get(one, ())]
        if read := tuple(each for each in beside if each is not None):
            found.setdefault(work.horse, []).append((work, JudgedWork(Ridden.of(work), read)))
    return found


@dataclass(frozen=True, slots=True)
class _Theirs:
    """Works of partners, each day of each looked up once."""

    moment: Moment
    days: dict[tuple[int, date], list[Work]]

    def of(self, one: Partner, day: date) -> Ridden:
        """Return how a partner was ridden, as far as anybody said."""
        if (one.horse, day) not in self.days:
            self.days[one.horse, day] = worked(self.moment, one.horse, day, day)
        for work in self.days[one.horse, day]:
            begun = [each.when.timestamp() for each in (work, work.thumb) if each is not None]
            if any(abs(when - one.start_s) < ONE_WORK_S for when in begun):
                return Ridden.of(work)
        return Ridden()


def _beside(work: Work, one: Partner, theirs: _Theirs, known: Known) -> Beside | None:
    """Return a partner as works are judged; None where its level is not known, or no scale spans their ages."""
    level, day = known.levels.get(one.horse), work.when.astimezone(clock.place().zone).date()
    ages = known.ages.get(work.horse), known.ages.get(one.horse)
    if level is None or ages[0] is None or ages[1] is None or not isfinite(work.metres):
        return None
    by_age = age_lb(known.jurisdiction, day, work.metres, ages[0], ages[1], overrides=known.overrides)
    if by_age is None:
        return None
    ahead, sd = margin_lb(one.finish, work.metres, day, overrides=known.overrides)
    ridden = theirs.of(one, day)
    return Beside(one.horse, level.lb, level.sd_lb, ridden, ahead + by_age[0], hypot(sd, by_age[1]))
