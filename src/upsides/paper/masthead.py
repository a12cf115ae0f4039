"""What stands at the head and the foot of every printed page."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Masthead:
    """The head and the foot of a sheet, in words.

    Args:
        yard: the yard's name.
        title: what the sheet is.
        day: the day or the period it is for.
        printed: when it was printed, as a phrase of its own.
        page: the number of the page with the places {page} and {pages}.
        made: the same instant as `printed`, with its zone; the date inside the PDF.
        as_of: the past moment whose knowledge the sheet shows, as a phrase of its own; empty for now.
        note: a sentence at the foot of every page; empty for none.
        boxes: what the foot says where no font of this machine has some letters, so that they print as empty boxes,
            with the place {letters}; empty for nothing.
        language: a language code such as en or de, for hyphens and for those who listen.
    """

    yard: str
    title: str
    day: str
    printed: str
    page: str
    made: datetime
    as_of: str = ""
    note: str = ""
    boxes: str = ""
    language: str = "en"
