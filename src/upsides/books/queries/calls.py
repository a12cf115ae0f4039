"""Calls as somebody may see them: one's own, and others' where they are open; with what came of each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

from upsides.books.models import Call, Engagement, Horse, Inside, Person
from upsides.books.models.answer import CALLS
from upsides.books.queries import moments
from upsides.books.queries.days import day_span
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor, opened
from upsides.condition import calls as scoring
from upsides.condition.called import QUESTIONS, Why
from upsides.condition.calls import About, RanAfter, Scored

COMING_DAYS: Final = 14
"""Runs of so many days ahead are listed for calling."""


@dataclass(frozen=True, slots=True)
class Called:
    """A call with what came of it.

    Args:
        row: the call.
        author: who said it, with the name of the moment.
        came: whether it came true; None where nothing has shown it.
        why: what showed it, or why nothing has.
        day: when; None where nothing has.
        tool: the tool's chance, None where it had none, or where it is known only after the race.
    """

    row: Call
    author: Person
    came: bool | None
    why: Why
    day: date | None
    tool: float | None


@dataclass(frozen=True, slots=True)
class Coming:
    """A horse with a run to come, and the questions that somebody has answered today."""

    engagement: Engagement
    horse: Horse
    answered: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """How a person's calls have stood up.

    Args:
        author: who.
        scored: by question, those that are scored and on which something was said.
        ran: how often horses ran after it had been said that they would, or would not.
        waiting: by question, how many wait for their days to be over.
        never: how many were said of trips, which stay open.
        unseen: of all, how many were made without the tool's answer having been shown that day.
        made: how many stand.
        taken_back: how many were taken back.
    """

    author: Person
    scored: tuple[Scored, ...]
    ran: tuple[RanAfter, RanAfter]
    waiting: Mapping[str, int]
    never: int
    unseen: int
    made: int
    taken_back: int


def calls_of(who: Visitor, moment: Moment, horse: int | None = None) -> list[Called]:
    """Return the calls that somebody may see, latest first: one's own, and others' where they are open.

    Args:
        who: who looks.
        moment: when to look from.
        horse: of which horse; of all where none is named.
    """
    open_to = opened(who, Inside.CALLS)
    rows = moments.standing(Call, moment).select_related("author", "horse").order_by("-recorded_at", "-pk")
    if horse is not None:
        rows = rows.filter(horse=horse)
    seen = [row for row in rows if row.author_id == who.person.pk or row.horse_id in open_to]
    return _told(seen, moment)


def standings_of(who: Visitor, moment: Moment) -> list[Standing]:
    """Return how calls have stood up, of all whose calls are open to somebody; one's own first, then by name.

    Somebody to whom another's calls are open of some horses only is shown none of that one's scores.
    """
    everything = opened(who, Inside.CALLS).everything
    rows = moments.standing(Call, moment).select_related("author", "horse").order_by("recorded_at", "pk")
    if not everything:
        rows = rows.filter(author=who.person)
    by_author: dict[int, list[Called]] = {}
    for one in _told(rows, moment):
        by_author.setdefault(one.author.pk, []).append(one)
    found = [_standing(mine, moment) for mine in by_author.values()]
    return sorted(found, key=lambda one: (one.author.pk != who.person.pk, one.author.name.casefold()))


def coming_runs(who: Visitor, moment: Moment) -> list[Coming]:
    """Return the horses with a run in the next days, soonest first, with what somebody has said of them today."""
    last = moment.day + timedelta(days=COMING_DAYS)
    engaged = moments.rows(Engagement, moment).filter(day__range=(moment.day, last))
    here = {horse.pk: horse for horse in moments.in_training(moment)}
    told: dict[int, set[str]] = {}
    for row in _today(who, moment):
        told.setdefault(row.horse_id, set()).add(row.about)
    first: dict[int, Coming] = {}
    for one in engaged.exclude(state=Engagement.State.WITHDRAWN).order_by("day", "off_at", "id"):
        if one.horse_id in here and one.horse_id not in first:
            answered = tuple(about for about in QUESTIONS if about in told.get(one.horse_id, ()))
            first[one.horse_id] = Coming(one, here[one.horse_id], answered)
    return list(first.values())


def made_today(who: Visitor, moment: Moment, horse: int) -> list[Called]:
    """Return what somebody has said of a horse on the moment's day."""
    return _told([row for row in _today(who, moment) if row.horse_id == horse], moment)


def _today(who: Visitor, moment: Moment) -> list[Call]:
    own = moments.standing(Call, moment).filter(author=who.person, recorded_at__range=day_span(moment.day))
    return list(own.select_related("author", "horse").order_by("recorded_at", "pk"))


def _told(rows: Iterable[Call], moment: Moment) -> list[Called]:
    listed = list(rows)
    answer = moments.answer(CALLS, moment)
    known: Mapping[str, Any] = answer.values.get("came", {}) if answer is not None else {}
    people = moments.people(moment, {row.author for row in listed})
    found = []
    for row in listed:
        one = known.get(str(row.pk), {})
        waits: Why = "never seen" if row.about == Call.About.TRIP else "waits"
        day = date.fromisoformat(one["day"]) if one.get("day") else None
        found.append(
            Called(row, people[row.author_id], one.get("came"), one.get("why", waits), day,
                   one.get("tool", row.known.get("chance")))
        )  # fmt: skip
    return found


def _standing(mine: Sequence[Called], moment: Moment) -> Standing:
    over = [one for one in mine if one.why != "waits"]
    judged = [scoring.Call(_about(one), one.row.chance, one.tool, one.came) for one in over]
    asked: list[About] = [about for about in ("fit", "fresh", "first four") if any(o.about == about for o in judged)]
    back = Call.objects.filter(author=mine[0].author.pk, withdrawn=True)
    return Standing(
        mine[0].author,
        tuple(scoring.scored(judged, about) for about in asked),
        scoring.ran_after(judged),
        {about: sum(one.row.about == about for one in mine if one.why == "waits") for about in QUESTIONS},
        sum(one.row.about == Call.About.TRIP for one in mine),
        sum(one.row.unseen for one in mine),
        len(mine),
        (back if moment.at is None else back.filter(recorded_at__lte=moment.at)).count(),
    )


def _about(one: Called) -> About:
    return next(about for about in QUESTIONS if about == one.row.about)
