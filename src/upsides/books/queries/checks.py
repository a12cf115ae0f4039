"""The rounds of the barns: what was seen of each horse of one barn in the morning, or at evening stables.

Looked at, measured and not seen are three different things. That somebody looked at a horse is said by an entry that
says so, never by a number; a number is there only where somebody measured.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import time, timedelta
from enum import StrEnum
from typing import Final

from django.db.models import Q

from upsides.books import clock
from upsides.books.diary import KINDS
from upsides.books.models import Box, Caution, Entry, Horse, Move, Person, Stand
from upsides.books.queries import moments
from upsides.books.queries.advice import Advised, advice
from upsides.books.queries.boxes import Stood, boxes, by_barn
from upsides.books.queries.days import day_span, moment_on
from upsides.books.queries.diary import Written, open_to, written
from upsides.books.queries.in_training import in_training
from upsides.books.queries.lots import cautions_on
from upsides.books.queries.moments import Moment
from upsides.books.queries.remembered import changes
from upsides.books.queries.visitors import Visitor

NOON: Final = time(12)
"""Morning checks end and evening stables begin."""
LOOKED: Final = frozenset({"looked_at", "as_usual", "not_right", "legs_felt", "leg", "shoe", "mind"})
"""Kinds that say that somebody looked at the horse."""
SEEN: Final = frozenset({kind.name for kind in KINDS.values() if kind.group in {"seen", "legs", "measured"}})
"""Kinds that a round shows."""
MEASURED: Final = frozenset({kind.name for kind in KINDS.values() if kind.group == "measured"})
_COURSE: Final = timedelta(days=400)
"""No course of treatment lasts longer."""


class Round(StrEnum):
    """A round of the barn: what was seen until noon, and what was seen after."""

    MORNING = "morning"
    EVENING = "evening"


@dataclass(frozen=True, slots=True)
class Checked:
    """One horse on a round.

    Args:
        number: of the horse.
        name: its name.
        stood: its box, None where that is not known.
        entries: what was entered in this round, as it came.
        other: what was entered in the other round of the same day.
        restricted: the vet's advice that holds, None where nothing is held back.
        treatments: what it is treated with today.
        cautions: what whoever goes into the box must know.
    """

    number: int
    name: str
    stood: Stood | None
    entries: tuple[Written, ...] = ()
    other: tuple[Written, ...] = ()
    restricted: Advised | None = None
    treatments: tuple[Written, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def looked_at(self) -> bool:
        """Return whether somebody said to have looked at it."""
        return self._has(LOOKED)

    @property
    def measured(self) -> bool:
        """Return whether something was measured."""
        return self._has(MEASURED)

    @property
    def not_right(self) -> bool:
        """Return whether somebody said that it is not right."""
        return self._has({"not_right"})

    @property
    def leg(self) -> bool:
        """Return whether something was found on a leg."""
        return self._has({"leg"})

    def _has(self, kinds: Iterable[str]) -> bool:
        return any(one.entry.kind in kinds for one in self.entries)


@dataclass(frozen=True, slots=True)
class BarnRound:
    """One barn's round on one day.

    Args:
        barn: its name, empty for the horses without a box.
        round: which round.
        barns: every barn that has horses on the round, in walking order; empty for those without a box, last.
        now: the round that what is entered at the moment belongs to.
        horses: the barn's horses in training, in walking order.
    """

    barn: str
    round: Round
    barns: tuple[str, ...]
    now: Round
    horses: tuple[Checked, ...]


def round_at(moment: Moment) -> Round:
    """Return the round that a moment belongs to."""
    local = (moment.at or clock.now()).astimezone(clock.place().zone)
    return Round.MORNING if local.time() < NOON else Round.EVENING


def barn_round(moment: Moment, barn: str | None, which: Round | None, reader: Visitor) -> BarnRound:
    """Return one barn's round of the moment's day.

    Args:
        moment: when is looked from.
        barn: its name; None, or one without horses, for the reader's own, or else the first.
        which: which round, None for the one that the moment belongs to.
        reader: who reads.
    """
    now, stands = round_at(moment), boxes(moment)
    walked = by_barn(in_training(moment).values(), stands)
    chosen = next((name for name in (barn, _own_barn(reader, moment)) if name in walked), next(iter(walked), ""))
    here = walked.get(chosen, [])
    which = which or now
    known = _known([horse.pk for horse in here], moment, which, reader)
    rows = [_checked(horse, stands.get(horse.pk), known) for horse in here]
    return BarnRound(chosen, which, tuple(walked), now, tuple(rows))


def news() -> str:
    """Return what changes whenever something was entered, or a horse was moved, or one came or went; one read."""
    return "-".join(str(number or 0) for number in changes((Horse, Box, Stand, Move, Caution), (Entry,)))


@dataclass(frozen=True, slots=True)
class _Known:
    """What is known of the horses of a round, by number."""

    entries: Mapping[int, list[Written]]
    other: Mapping[int, list[Written]]
    restricted: Mapping[int, Advised]
    treatments: Mapping[int, list[Written]]
    cautions: Mapping[int, tuple[Caution, ...]]


def _known(horses: list[int], moment: Moment, which: Round, reader: Visitor) -> _Known:
    (start, end), noon = day_span(moment.day), moment_on(moment.day, NOON)
    stood = moments.entries(moment).filter(horse__in=horses)
    today = Q(happened_at__range=(start, end))
    course = Q(happened_at__range=(start - _COURSE, end), values__course_end__gte=moment.day.isoformat())
    asked = stood.filter((Q(kind__in=SEEN) & today) | (Q(kind="treatment") & (today | course)))
    rows = written(open_to(reader, asked).select_related("author").order_by("happened_at", "pk"), moment, reader)
    seen = [one for one in rows if one.entry.kind in SEEN]
    morning = [one for one in seen if one.entry.happened_at < noon]
    evening = [one for one in seen if one.entry.happened_at >= noon]
    here, other = (morning, evening) if which is Round.MORNING else (evening, morning)
    treated = [one for one in rows if one.entry.kind == "treatment"]
    held, told = advice(moment, moment.day), cautions_on(moment, moment.day)
    return _Known(_by_horse(here), _by_horse(other), held, _by_horse(treated), told)


def _by_horse(rows: Iterable[Written]) -> dict[int, list[Written]]:
    found: dict[int, list[Written]] = {}
    for one in rows:
        found.setdefault(one.entry.horse_id or 0, []).append(one)
    return found


def _checked(horse: Horse, stood: Stood | None, known: _Known) -> Checked:
    number = horse.pk
    return Checked(
        number=number,
        name=horse.name,
        stood=stood,
        entries=tuple(known.entries.get(number, ())),
        other=tuple(known.other.get(number, ())),
        restricted=known.restricted.get(number),
        treatments=tuple(known.treatments.get(number, ())),
        cautions=tuple(one.text for one in known.cautions.get(number, ()) if one.about == Caution.About.BOX),
    )


def _own_barn(reader: Visitor, moment: Moment) -> str:
    """Return the barn that the reader worked in at the moment."""
    if moment.at is None:
        return reader.person.barn
    return moments.rows(Person, moment).filter(id=reader.person.pk).values_list("barn", flat=True).first() or ""
