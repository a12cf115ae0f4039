"""What horses are fed: the yard's feeds, the ration of each horse on a day, the feed boards of the barns."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from math import inf

from upsides import feeding
from upsides.books import clock
from upsides.books.diary import kind_of
from upsides.books.diary.seen import FeedLeft
from upsides.books.models import Feed, Horse, Ration, Yard
from upsides.books.queries import moments
from upsides.books.queries.boxes import Stood, barns, boxes
from upsides.books.queries.days import last_of_each
from upsides.books.queries.moments import Moment

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Left:
    """What a horse left, and when that was seen, in the yard's time."""

    what: FeedLeft
    seen: datetime


@dataclass(frozen=True, slots=True)
class OnBoard:
    """One horse on a feed board.

    Args:
        horse: its row of the books.
        stood: in which box it stands, None where it has none.
        ration: its ration of the day; None where none is written, which is not the same as one of nothing.
        row: its line, the feeds by name.
        first: whether nothing was written for it the day before.
        left: what it left last, since the morning of the day before; None where nobody wrote it down.
    """

    horse: Horse
    stood: Stood | None
    ration: Ration | None
    row: feeding.Row
    first: bool
    left: Left | None

    @property
    def nothing(self) -> bool:
        """Return whether a ration is written that holds nothing."""
        return self.ration is not None and not self.ration.amounts

    @property
    def changed(self) -> bool:
        """Return whether its ration is otherwise than the day before, or the first that is written."""
        return self.row.changed or (self.first and self.ration is not None)


@dataclass(frozen=True, slots=True)
class BarnBoard:
    """A barn's feed board; the barn is "" for horses that have no box."""

    barn: str
    times: tuple[str, ...]
    horses: tuple[OnBoard, ...]


def boards(moment: Moment, day: date) -> list[BarnBoard]:
    """Return the feed board of each barn on a day, in walking order; of horses in training only.

    A feed time that the yard no longer has stands behind the others as long as a ration names it.
    """
    on, labels = replace(moment, day=day), feeds(moment)
    horses = {horse.pk: horse for horse in moments.in_training(on)}
    stands = boxes(on)
    rows = _by_day(moment, day, horses)
    now, before = ({h: servings(r, labels) for h, r in found.items()} for found in rows)
    times = _heads(feed_times(moment), [*now.values(), *before.values()])
    left = left_last(moment, day, horses)
    order = sorted(horses, key=lambda pk: (stands[pk].position if pk in stands else inf, horses[pk].name.casefold()))
    places = [feeding.Place(stands[pk].barn if pk in stands else "", "", str(pk)) for pk in order]
    made = feeding.board(places, times, _keyed(now), _keyed(before))
    named = [*barns(on), *([""] if any(not place.barn for place in places) else [])]
    by_barn: dict[str, list[OnBoard]] = {barn: [] for barn in named}
    for row in made.rows:
        pk = int(row.place.horse)
        one = OnBoard(horses[pk], stands.get(pk), rows[0].get(pk), row, pk not in rows[1], left.get(pk))
        by_barn[row.place.barn].append(one)
    return [BarnBoard(barn, made.times, tuple(found)) for barn, found in by_barn.items()]


def feeds(moment: Moment) -> dict[int, Feed]:
    """Return every feed, also those out of use, by number."""
    return {feed.pk: feed for feed in moments.rows(Feed, moment).order_by("kind", "name")}


def label(feed: Feed) -> feeding.Feed:
    """Return what a feed's label says.

    Raises:
        FeedingRefusedError: it cannot be right.
    """
    kind: feeding.feed.Kind = feed.kind  # type: ignore[assignment]  # the table's choices are the room's kinds
    return feeding.Feed(feed.name, kind, feed.energy_mj_kg, feed.dry_matter, feed.protein, feed.starch)


def feed_times(moment: Moment) -> list[str]:
    """Return the yard's feed times in the order of the day."""
    yard = moments.rows(Yard, moment).first()
    return list(yard.feed_times) if yard else []


def rations(moment: Moment, horses: Iterable[int] | None = None) -> list[Ration]:
    """Return every ration that is written, of some horses or all, each horse's in the order of its days."""
    found = moments.rows(Ration, moment).order_by("first_day", "id")
    return list(found if horses is None else found.filter(horse__in=list(horses)))


def in_force(written: Iterable[Ration], day: date) -> dict[int, Ration]:
    """Return of each horse the ration that holds on a day, from rations in the order of their days."""
    return {ration.horse_id: ration for ration in written if ration.first_day <= day}


def servings(ration: Ration, labels: Mapping[int, Feed]) -> tuple[feeding.Serving, ...]:
    """Return what a ration gives, the feeds by name."""
    return tuple(
        feeding.Serving(one["time"], labels[one["feed"]].name, one["kg"])
        for one in ration.amounts
        if one["feed"] in labels
    )


def left_last(moment: Moment, day: date, horses: Iterable[int]) -> dict[int, Left]:
    """Return what each horse left last, as written down from the morning of the day before to the end of the day."""
    zone, found = clock.place().zone, {}
    for horse, entry in last_of_each(moment, FeedLeft.name, day, 2, list(horses)).items():
        kept = kind_of(entry.kind).kept_as(entry.values)
        if isinstance(kept, FeedLeft):
            found[horse] = Left(kept, entry.happened_at.astimezone(zone))
    return found


def _by_day(moment: Moment, day: date, horses: Iterable[int]) -> tuple[dict[int, Ration], dict[int, Ration]]:
    """Return the rations of a day and of the day before, by horse."""
    written = rations(moment, horses)
    return in_force(written, day), in_force(written, day - DAY)


def _heads(times: Sequence[str], given: Iterable[Iterable[feeding.Serving]]) -> list[str]:
    """Return the feed times of a board: the yard's own, then those that only rations name."""
    return list(dict.fromkeys([*times, *(one.time for each in given for one in each)]))


def _keyed(given: Mapping[int, Sequence[feeding.Serving]]) -> dict[str, Sequence[feeding.Serving]]:
    return {str(pk): each for pk, each in given.items()}
