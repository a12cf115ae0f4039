"""A ration as it is typed: from which day, of which feed how much at which feed time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Self

from django.http import QueryDict
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from upsides import feeding
from upsides.books.amounts import read_serving
from upsides.books.models import Feed
from upsides.books.queries.moments import Moment
from upsides.books.services.feeding import Amount
from upsides.errors import FeedingRefusedError, UpsidesError
from upsides.errors.wording import gettext
from upsides.web.feeding.words import plain
from upsides.web.shell.moments import asked_day
from upsides.web.shell.refusals import told


@dataclass(frozen=True, slots=True)
class Cell:
    """One amount to fill in: its name in the form, what it is of, what stands in it, whether that was refused."""

    name: str
    label: str
    value: str
    wrong: bool


@dataclass(slots=True)
class RationForm:
    """What stands in the form.

    Args:
        feeds: the feeds that can be given.
        times: the yard's feed times.
        first_day: from which day, as typed.
        note: for whoever feeds.
        nothing: whether it was ticked that the horse gets nothing.
        typed: amounts as typed, by feed and feed time.
        errors: what was refused, in English.
        refused: the amounts that were.
    """

    feeds: Sequence[Feed]
    times: Sequence[str]
    first_day: str
    note: str = ""
    nothing: bool = False
    typed: dict[tuple[int, str], str] = field(default_factory=dict)
    errors: list[str] = field(default_factory=list)
    refused: set[tuple[int, str]] = field(default_factory=set)

    @classmethod
    def showing(
        cls, feeds: Sequence[Feed], times: Sequence[str], day: date, servings: Iterable[feeding.Serving], note: str = ""
    ) -> Self:
        """Return the form with a ration in it."""
        numbers = {feed.name: feed.pk for feed in feeds}
        typed = {(numbers[one.feed], one.time): plain(one.kg, 3) for one in servings if one.feed in numbers}
        return cls(feeds, times, day.isoformat(), note, typed=typed)

    @classmethod
    def sent(cls, feeds: Sequence[Feed], times: Sequence[str], given: QueryDict) -> Self:
        """Return the form as it was sent."""
        typed = {
            (feed.pk, time): given.get(_name(feed, place), "") for feed in feeds for place, time in enumerate(times)
        }
        return cls(feeds, times, given.get("first_day", ""), given.get("note", ""), bool(given.get("nothing")), typed)

    def rows(self) -> list[tuple[Feed, list[tuple[str, Cell]]]]:
        """Return the amounts to fill in, a row a feed."""
        return [
            (feed, [(time, self._cell(feed, place, time)) for place, time in enumerate(self.times)])
            for feed in self.feeds
        ]

    def read(self, moment: Moment) -> tuple[date, list[Amount]]:
        """Return from when on, and the amounts above nothing.

        Raises:
            FeedingRefusedError: something cannot be right; `errors` and `refused` say all of it.
        """
        amounts = self._amounts()
        day = moment.day
        try:
            day = asked_day(self.first_day, moment)
        except UpsidesError as error:
            self.errors.append(told(error))
        if not self.errors and self.nothing == bool(amounts):
            self.errors.append(told(_neither() if not amounts else _both()))
        if self.errors:
            raise FeedingRefusedError(gettext("ration"), "", " ".join(self.errors), gettext("correct it"))
        return day, amounts

    def _amounts(self) -> list[Amount]:
        found = []
        names: Mapping[int, str] = {feed.pk: feed.name for feed in self.feeds}
        for (feed, time), text in self.typed.items():
            try:
                if value := read_serving(gettext("{names} at {time}", names=names[feed], time=time), text):
                    found.append(Amount(time, feed, value))
            except UpsidesError as error:
                self.errors.append(told(error))
                self.refused.add((feed, time))
        return found

    def _cell(self, feed: Feed, place: int, time: str) -> Cell:
        words = _("%(feed)s, %(time)s, kilograms") % {"feed": feed.name, "time": time}
        key = (feed.pk, time)
        return Cell(_name(feed, place), capfirst(words), self.typed.get(key, ""), key in self.refused)


def _name(feed: Feed, place: int) -> str:
    return f"kg-{feed.pk}-{place}"


def _neither() -> FeedingRefusedError:
    return FeedingRefusedError(
        gettext("ration"), "", gettext("no amount is written"), gettext("write amounts, or tick that it gets nothing")
    )


def _both() -> FeedingRefusedError:
    return FeedingRefusedError(
        gettext("ration"),
        gettext("nothing"),
        gettext("amounts are written too"),
        gettext("empty them, or leave the tick for nothing out"),
    )
