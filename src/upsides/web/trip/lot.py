"""What breeding says of the trip of a lot in a sale, ready for the lot's page."""

from pathlib import Path
from typing import Any

from upsides.books.models import Inside, Lot
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.books.services.sights import saw
from upsides.web.trip import sentences
from upsides.web.trip.family import parents, reliance
from upsides.web.trip.pictures import curves


def lot_trip(library: Path, who: Visitor, moment: Moment, lot: Lot, page: str) -> dict[str, Any] | None:
    """Return what a lot's page says of its trip, and write down that it was seen.

    None where nothing is known, or it is not open to the visitor.

    Args:
        library: folder of the library.
        who: the visitor.
        moment: when to look from.
        lot: the lot.
        page: address of the page.
    """
    from upsides.books.queries.trip_family import lot_family  # it loads compiled code, which other pages need not

    family = lot_family(library, who, moment, lot)
    if family is None or family.trip is None:
        return None
    saw(who, Inside.FIGURES, page)
    return {
        "sentence": sentences.about_trip(family.trip),
        "range": sentences.about_range(family.trip, family.kinds),
        "reliance": reliance(family),
        "curves": curves(family.trip, None),
        "parents": parents(family),
    }
