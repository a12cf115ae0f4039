"""What each exercise order is, part by part: how far, at which speed, how much it rises, on what."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import replace

from upsides.books.models import Gallop
from upsides.books.queries import moments
from upsides.books.queries.gallops_gone import gone_to
from upsides.books.queries.moments import Moment
from upsides.planning.work.orders import Order, Segment


def order_parts(moment: Moment, orders: Collection[Order]) -> dict[str, tuple[Segment, ...]]:
    """Return the parts of orders, by name.

    Of the part at pace the routine's file says rise and surface; where it says none, the gallop that the order fills
    does, or the one to which such work mostly went in four weeks.
    """
    gone = gone_to(moment)
    goes = {one.name: one.gallop or gone.get(one.exercise) for one in orders}
    rows = moments.rows(Gallop, moment).filter(id__in={number for number in goes.values() if number is not None})
    gallops = {row.id: row for row in rows}
    return {one.name: tuple(_parts(one, gallops.get(goes[one.name] or 0))) for one in orders}


def _parts(order: Order, gallop: Gallop | None) -> Iterable[Segment]:
    known = order.comes_to.exercises[order.exercise].parts
    for part, usual in zip(order.segments, known, strict=True):
        if gallop is None or not usual.at_pace:
            yield part
            continue
        up = gallop.rise_m / gallop.length_m if gallop.rise_m and gallop.length_m else 0.0
        yield replace(part, rise_m=part.rise_m or up * part.metres, surface=part.surface or gallop.surface)


def parts_value(parts: Mapping[str, tuple[Segment, ...]], name: str) -> list[dict[str, float | str]]:
    """Return the parts of an order as JSON has them."""
    return [
        {"metres": one.metres, "speed_ms": one.speed_ms, "rise_m": one.rise_m, "surface": one.surface}
        for one in parts[name]
    ]
