"""The programme week by week: which races are run, how many of ours may run in each, by when to enter."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Final

from upsides.books import clock
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import cases, closes, string_of, ways_in
from upsides.books.queries.programme import Programme, programme
from upsides.books.queries.visitors import Open
from upsides.placing import Deadline, Race, Says, Terms, clashes, conditions_of

WEEK: Final = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Listed:
    """One race of a week.

    Args:
        code: of the race.
        race: the race.
        may: how many of ours may run; None where that is not open to the visitor.
        unknown: of how many it is not known.
        engaged: those that are meant for it or in it.
        due: the next thing that must be said to be in it, None where entries have closed or nothing is known.
        unread: whether words of its conditions were not read.
        torn: whether its conditions contradict each other.
        closes: whether it is known by when it must be entered.
    """

    code: str
    race: Race
    may: int | None
    unknown: int
    engaged: tuple[Engaged, ...]
    due: Deadline | None
    unread: bool
    torn: bool = False
    closes: bool = True


@dataclass(frozen=True, slots=True)
class Week:
    """The programme of one week.

    Args:
        monday: its first day.
        races: in order of day, course and number.
        first, last: days of the first and last race that any programme names; None where there is none.
        heard: day of the last programme that was heard.
    """

    monday: date
    races: tuple[Listed, ...]
    first: date | None
    last: date | None
    heard: date | None

    @property
    def days(self) -> list[tuple[date, list[Listed]]]:
        """Return the races day by day."""
        found: dict[date, list[Listed]] = defaultdict(list)
        for one in self.races:
            found[one.race.day].append(one)
        return list(found.items())


def week_of(folder: Path, moment: Moment, monday: date, open_to: Open) -> Week:
    """Return the programme of the seven days from a Monday on.

    Args:
        folder: of the library.
        moment: when to look from.
        monday: the first day.
        open_to: for which horses plans are open to the visitor.
    """
    found, terms = programme(folder, moment), terms_of(folder)
    races = found.between(monday, monday + WEEK - timedelta(days=1))
    ours = [one for one in string_of(moment) if one.pk in open_to] if open_to else []
    known = cases(folder, moment, races, ours) if ours else {}
    meant: dict[str, list[Engaged]] = defaultdict(list)
    if open_to:
        for one in engaged(folder, moment, monday, monday + WEEK):
            if one.horse.pk in open_to and one.engagement.state != "withdrawn":
                meant[one.engagement.race_code].append(one)
    at = moment.at or clock.now()
    listed = []
    for code, race in races.items():
        answers = [one.says for one in known.get(code, ())]
        may = answers.count(Says.YES) if ours else None
        row = (may, answers.count(Says.UNKNOWN), tuple(meant.get(code, ())), _next_in(race, at, terms))
        unread, torn = bool(conditions_of(race).unread), bool(clashes(race))
        listed.append(Listed(code, race, *row, unread, torn, closes(race, terms)))
    return Week(monday, tuple(listed), *_reach(found), found.heard)


def _next_in(race: Race, at: datetime, terms: Terms) -> Deadline | None:
    """Return the next way into a race that is still open."""
    return next(iter(ways_in(race, at, terms)), None)


def _reach(found: Programme) -> tuple[date | None, date | None]:
    days = [race.day for race in found.races.values()]
    return (min(days), max(days)) if days else (None, None)
