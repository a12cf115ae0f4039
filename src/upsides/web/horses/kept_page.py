"""All that is kept of one horse, ready for its page."""

from typing import Any

from upsides.books.queries.horse import Shown
from upsides.books.queries.horse_book import Book, owned
from upsides.books.queries.horse_changes import changes
from upsides.books.queries.moments import Moment
from upsides.books.services.meanwhile import last_changes
from upsides.web.horses import sentences


def kept_page(shown: Shown, book: Book, moment: Moment) -> dict[str, Any]:
    """Return what is kept of a horse, in words."""
    shares, faults = owned(moment, shown.horse)
    seen = last_changes([stand for stand, _box in book.stands])
    return {
        "moment": moment,
        "shown": shown,
        "book": book,
        "shares": shares,
        "sentence": sentences.about_kept(shown, faults),
        "faults": [sentences.fault_words(one) for one in faults],
        "told": [(one, *sentences.declare_words(one, raced=bool(shown.runs))) for one in book.told],
        "stands": [(stand, box, seen.get(stand.pk, 0)) for stand, box in book.stands],
        "facts": sentences.identity(shown.horse),
        "changes": [(one, sentences.change_words(one)) for one in changes(shown.horse.pk, moment)],
    }
