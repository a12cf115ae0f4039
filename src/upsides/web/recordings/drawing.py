"""The line of a gallop out of a recording: which pieces there are, how one lies on the ground, and keeping it."""

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _

from upsides.books.models import Gallop, Person
from upsides.books.queries.gallops import line_of
from upsides.books.services.gallops import Line, draw_gallop, named_gallop
from upsides.errors import GallopLineError, UpsidesError
from upsides.errors.wording import gettext
from upsides.web.recordings import measures as m
from upsides.web.recordings.one_page import Seen
from upsides.web.recordings.pictures import lanes_of, maps, ways_of
from upsides.web.shell.refusals import told


def choices(it: Seen) -> list[tuple[str, str]]:
    """Return the pieces of work of a recording, by their places, in words."""
    if it.measured is None or it.track is None:
        return []
    return [
        (str(place), _("%(work)s, at %(time)s") % {"work": m.kind_words(work), "time": m.at_time(work.start_s)})
        for place, work in enumerate(it.measured.works)
    ]


def preview(it: Seen, given: Mapping[str, str]) -> dict[str, Any]:
    """Return how a piece lies on the ground with marks as typed, or why it is no gallop."""
    if it.track is None or it.measured is None or it.track.plane is None:
        return {"maps": {}, "fault": it.trouble, "sentence": _("No line can be taken from this recording.")}
    if not it.measured.works:
        return {"maps": {}, "fault": "", "sentence": _("There is no canter in this recording to take a line from.")}
    try:
        line, marks = _line(it, given)
    except UpsidesError as error:
        return {"maps": {}, "fault": told(error), "sentence": _("It cannot be drawn like this.")}
    drawn = line_of(given.get("name", "") or _("the new line"), line, marks)
    lanes = list(lanes_of({0: drawn}, it.track.plane, frozenset({0})).values())
    told_ = {
        "length": f"{round(drawn.length_m):,}",
        "furlongs": m.about_furlongs(drawn.length_m),
        "rise": m.rise_words(drawn.rise_m),
    }
    return {
        "maps": maps(lanes, ways_of(it.track, it.measured), _("The new line in heather, with its marks.")),
        "fault": "",
        "marks": [m.decimal(mark, 0) for mark in drawn.marks_m.tolist()],
        "sentence": _("The line is %(length)s m long, about %(furlongs)s, %(rise)s from start to finish.") % told_,
    }


def save(it: Seen, given: Mapping[str, Any], by: Person) -> Gallop:
    """Draw the gallop.

    Raises:
        UpsidesError: it is no gallop, or cannot be called so.
    """
    line, marks = _line(it, given)
    if given["gallop"]:
        row = get_object_or_404(Gallop, pk=int(given["gallop"]))
    else:
        row, fresh = named_gallop(given["name"], given["surface"] or None)
        if not fresh:
            raise GallopLineError(row.name, gettext("a gallop is called so already; choose it from the list"))
    return draw_gallop(row, line, marks, by)


def _line(it: Seen, given: Mapping[str, Any]) -> tuple[Line, list[float]]:
    """Return the line of the chosen piece, and its marks.

    Raises:
        UpsidesError: there is no such piece, it is no gallop, or the marks cannot be.
    """
    from upsides.recordings.bouts.bout import bouts_of, pieces_of  # compiled code, which no other page loads
    from upsides.recordings.gallops.points import line_of_track, marks_from

    works = it.measured.works if it.measured is not None else ()
    chosen = str(given.get("work", ""))
    name = str(given.get("name", ""))
    if it.track is None or not chosen.isdecimal() or int(chosen) >= len(works):
        raise GallopLineError(name, gettext("no piece of the recording was chosen"))
    begin = works[int(chosen)].start_s
    pieces = pieces_of(bouts_of(it.track))
    piece = min(pieces, key=lambda one: abs(one.start_s - begin), default=None)
    if piece is None:
        raise GallopLineError(name, gettext("no canter is found in the recording any longer"))
    line = line_of_track(it.track, piece, name)
    return line, marks_from(str(given.get("marks", "")), line_of(name, line, ()).length_m)
