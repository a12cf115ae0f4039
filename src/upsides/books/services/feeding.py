"""Writes of rations: from a day on, copied to others, taken back."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from typing import Final

from django.db import transaction

from upsides.books import clock
from upsides.books.amounts import MOST_SERVING
from upsides.books.models import Feed, Horse, Person, Ration, Yard
from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _

AHEAD: Final = timedelta(days=366)
"""How far ahead a ration may begin; later is a year mistyped."""
LONGEST_NOTE: Final = 200
STEP: Final = 0.05
"""kg to which an amount scaled by mass is rounded."""


@dataclass(frozen=True, slots=True)
class Amount:
    """An amount as fed: the name of the feed time, the number of the feed, kg."""

    time: str
    feed: int
    kg: float


@transaction.atomic
def write_ration(horse: Horse, first_day: date, amounts: Sequence[Amount], by: Person, note: str = "") -> Ration:
    """Write what a horse is fed from a day on, in place of what was written from that very day; no amounts are nothing.

    Raises:
        FeedingRefusedError: a day, an amount, a feed or a feed time cannot be right; nothing is written.
    """
    held = Horse.objects.select_for_update().get(pk=horse.pk)
    _check_day(held, first_day)
    kept = [asdict(one) for one in _checked(amounts)]
    if len(note) > LONGEST_NOTE:
        raise FeedingRefusedError(
            _("note"),
            note,
            _("it has more than {longest_note} characters", longest_note=LONGEST_NOTE),
            _("write it shorter"),
        )
    ration = Ration.objects.filter(horse=held, first_day=first_day).first() or Ration(horse=held, first_day=first_day)
    ration.amounts, ration.note = kept, " ".join(note.split())
    ration._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    ration.save()
    return ration


@transaction.atomic
def take_back(ration: Ration, by: Person) -> None:
    """Take a ration back, so that the one before it goes on; its history stays."""
    ration._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    ration.delete()


@transaction.atomic
def copy_ration(
    source: Ration, to: Sequence[Horse], first_day: date, by: Person, masses: Mapping[int, float] | None = None
) -> list[Ration]:
    """Write a horse's ration for others from a day on; all of them or none.

    Args:
        source: what is copied, its note aside.
        to: the other horses.
        first_day: from when on.
        by: who does it.
        masses: kg by number of the horse, to scale forage and concentrate by; None to copy as it is. Supplements are
            never scaled.

    Raises:
        FeedingRefusedError: there are none, the mass of one is not known, or a day cannot be right.
    """
    if not to:
        raise FeedingRefusedError(_("horses"), "", _("none was chosen"), _("tick those that shall get it"))
    kinds = dict(Feed.objects.values_list("pk", "kind"))
    as_it_is = [Amount(**one) for one in source.amounts]
    found = []
    for horse in to:
        factor = 1.0 if masses is None else _mass(masses, horse) / _mass(masses, source.horse)
        scaled = [_scaled(one, factor) if kinds.get(one.feed) != Feed.Kind.SUPPLEMENT else one for one in as_it_is]
        found.append(write_ration(horse, first_day, scaled, by))
    return found


def _mass(masses: Mapping[int, float], horse: Horse) -> float:
    if horse.pk not in masses:
        reason = _("nobody wrote down what it weighs, or a tape of girth and length")
        raise FeedingRefusedError(
            _("mass of"), horse.name, reason, _("weigh or tape it first, or copy the ration as it is")
        )
    return masses[horse.pk]


def _scaled(one: Amount, factor: float) -> Amount:
    return Amount(one.time, one.feed, round(max(round(one.kg * factor / STEP), 1) * STEP, 3) if factor != 1 else one.kg)


def _check_day(horse: Horse, first_day: date) -> None:
    if first_day < horse.joined:
        reason = _("{name} came on {joined}", name=horse.name, joined=horse.joined.isoformat())
        raise FeedingRefusedError(_("from"), first_day.isoformat(), reason, _("choose a later day"))
    if horse.left and first_day >= horse.left:
        reason = _("{name} left on {left}", name=horse.name, left=horse.left.isoformat())
        raise FeedingRefusedError(
            _("from"), first_day.isoformat(), reason, _("choose an earlier day, or another horse")
        )
    if first_day > clock.today() + AHEAD:
        raise FeedingRefusedError(
            _("from"), first_day.isoformat(), _("that is more than a year ahead"), _("look at the year")
        )


def _checked(amounts: Sequence[Amount]) -> list[Amount]:
    """Return the amounts above nothing.

    Raises:
        FeedingRefusedError: one cannot be right.
    """
    names = dict(Feed.objects.values_list("pk", "name"))
    times = Yard.objects.values_list("feed_times", flat=True).first() or []
    seen: set[tuple[str, int]] = set()
    for one in amounts:
        field = _("{feed} at {time}", feed=names.get(one.feed, "feed"), time=one.time)
        if one.feed not in names:
            raise FeedingRefusedError(
                _("feed"), one.feed, _("the yard has none of that number"), _("choose it from the list")
            )
        if one.time not in times:
            raise FeedingRefusedError(
                _("feed time"),
                one.time,
                _("the yard feeds at {times}", times=", ".join(times)),
                _("choose one of them"),
            )
        if not 0 <= one.kg <= MOST_SERVING:
            reason = _("it does not lie between 0 and {most_serving:g} kg", most_serving=MOST_SERVING)
            raise FeedingRefusedError(field, _("{kg:g} kg", kg=one.kg), reason, _("look at the unit"))
        if (one.time, one.feed) in seen:
            raise FeedingRefusedError(
                field, _("{kg:g} kg", kg=one.kg), _("it is written twice"), _("write it once, in all")
            )
        seen.add((one.time, one.feed))
    return [one for one in amounts if one.kg > 0]
