"""What the page of the stopwatch shows, and what a phone keeps for it."""

import json
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import Any, Final

from upsides.books.diary.clocked import Clocked
from upsides.books.diary.split_fields import mark_words, tenths
from upsides.books.queries import names
from upsides.books.queries.checks import news
from upsides.books.queries.clocked import clocked_on, marks, weights, works
from upsides.books.queries.diary import Written
from upsides.books.queries.moments import Moment
from upsides.books.queries.names import Lists
from upsides.web.clock.sentences import about_clocked, about_furlongs, about_gap, phone_words
from upsides.web.diary import sentences as diary_sentences
from upsides.web.diary.forms import filled
from upsides.web.diary.pages import addresses, author
from upsides.web.shell.middleware import VisitedRequest

ASKED: Final = ("left", "rider_kg", "text")
"""What is asked of each horse after the finish."""
ALREADY: Final = ("instruction", "rider")
"""What was said before the start, and can be put right after the finish."""


@dataclass(frozen=True, slots=True)
class Row:
    """A clocked work.

    Args:
        one: the entry.
        furlongs: of each furlong what it is called and its seconds; sections between marks where it was less than one.
        note: how well they are known.
        beside: where it was against the horse that was clocked with it, empty where none was.
    """

    one: Written
    furlongs: list[tuple[str, str]]
    note: str
    beside: str


def clock_page(request: VisitedRequest, moment: Moment) -> dict[str, Any]:
    """Return the page: what is clocked with, and what was clocked on the moment's day."""
    seen_news = "" if moment.at else news()
    found = clocked_on(moment, moment.day, request.visitor)
    rows = [_row(one, work, _beside(one, work, found)) for one, work in found]
    return entering() | {
        "moment": moment,
        "sentence": about_clocked([row.one for row in rows]),
        "rows": rows,
        "author": json.dumps(author(request, moment)),
        "setting": json.dumps({} if moment.at else _setting(moment)),
        "news": seen_news,
    }


def entering() -> dict[str, Any]:
    """Return what clocking needs with and without signal: nothing in it is anybody's."""
    fields = {one.field.name: one for one in filled(Clocked, {})}
    return {
        "words": json.dumps(diary_sentences.phone_words() | phone_words()),
        "addresses": json.dumps(addresses()),
        "lists": Lists(),
        "asked": [fields[name] for name in ASKED],
        "already": [fields[name] for name in ALREADY],
        "instruction": fields["instruction"],
    }


def works_kept(moment: Moment) -> dict[str, Any]:
    """Return what the phone of somebody who clocks keeps: works of today and tomorrow, and what riders weigh."""
    days = (moment.day, moment.day + timedelta(days=1))
    mornings = [[asdict(work) for work in works(moment, day)] for day in days]
    return {"mornings": mornings, "weights": weights(moment)}


def _setting(moment: Moment) -> dict[str, Any]:
    known = names.lists(moment)
    horses = [{"number": number, "name": name} for number, name in known.horses]
    return {"horses": horses, "gallops": list(known.gallops), "marks": marks(moment)} | works_kept(moment)


def _row(one: Written, work: Clocked, beside: str) -> Row:
    from upsides.recordings.stopwatch import furlongs, sections

    whole = furlongs(work.splits)
    found = whole if whole.seconds.size else sections(work.splits)
    pressed = {metres for metres, _ in work.splits}
    guessed = any(end not in pressed for end in found.end_m.tolist())
    called = [mark_words(end) for end in found.end_m.tolist()]
    times = [tenths(seconds) for seconds in found.seconds.tolist()]
    note = about_furlongs(float(found.sd_s.max()), guessed=guessed)
    return Row(one, list(zip(called, times, strict=True)), note, beside)


def _beside(one: Written, work: Clocked, found: list[tuple[Written, Clocked]]) -> str:
    """Return where a horse was at the last mark against the one that was clocked with it from the same start."""
    from upsides.recordings.stopwatch import gaps

    for other, beside in found:
        if other.entry.horse_id in work.upsides and other.happened == one.happened:
            *_before, last = gaps(beside.splits, work.splits) or (None,)
            return about_gap(other.horse, mark_words(last.at_m), last.seconds, last.sd_s) if last else ""
    return ""
