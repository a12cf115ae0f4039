"""Which lots of a morning have gone out: by what is written as done, or else by the yard's clock."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Final

from upsides.books import clock
from upsides.books.queries.lots import Ride
from upsides.books.queries.moments import Moment
from upsides.planning.defaults import Defaults


@dataclass(frozen=True, slots=True)
class Gone:
    """Lots that have gone out.

    Args:
        written: of which a horse is written as done.
        pulled_out: of which nothing is, but whose time to pull out is past by more than the yard's own grace.
        over: whether that time is past for the last lot, too; then the clock takes no lot out of a plan.
    """

    written: frozenset[int] = frozenset()
    pulled_out: frozenset[int] = frozenset()
    over: bool = False

    @property
    def lots(self) -> frozenset[int]:
        """Return all of them."""
        return self.written | self.pulled_out


NONE: Final = Gone()


def gone(rides: Iterable[Ride], moment: Moment, day: date, defaults: Defaults) -> Gone:
    """Return which lots of a day have gone out as a moment has it; the clock counts on that day only."""
    known = list(rides)
    written = frozenset(int(one.done.lot) for one in known if one.done is not None and one.done.lot is not None)
    ordered = {int(one.order.lot) for one in known if one.order.lot is not None}
    now = (moment.at or clock.now()).astimezone(clock.place().zone)
    if now.date() != day or not ordered:
        return Gone(written)
    late = {number for number in ordered if defaults.gone_after(number) < now.hour * 60 + now.minute}
    if max(ordered) in late:
        return Gone(written, over=bool(ordered - written))
    return Gone(written, frozenset(late - written))
