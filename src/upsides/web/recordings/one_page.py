"""The page of one recording."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any, Final

from django.http import Http404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Gallop as GallopRow
from upsides.books.models import Horse
from upsides.books.outings import read, read_messages
from upsides.books.queries import moments
from upsides.books.queries.gallops import lines
from upsides.books.queries.moments import Moment
from upsides.books.queries.recorded import Listed, one_recorded, past_of
from upsides.books.queries.recordings import track_of
from upsides.books.queries.upsides import ONE_WORK_S, beside_recording
from upsides.books.queries.whose import Candidate, candidates, unclaimed_of
from upsides.charts.ground import WIDTHS, frame_of
from upsides.errors import UpsidesError
from upsides.recordings.bouts.bins import COUNT, STEP_MS
from upsides.recordings.measured import Measured, OnGallop, Piece, Speeds
from upsides.recordings.track import Track
from upsides.recordings.work import Split, counts, fair
from upsides.web.recordings import measures as m
from upsides.web.recordings.company_words import stood_words, upsides_words
from upsides.web.recordings.heart import heart_shown
from upsides.web.recordings.messages import message_words
from upsides.web.recordings.pictures import Along, chart_spec, charts, lanes_of, maps, near, places_on, ways_of
from upsides.web.recordings.sentences import about_recording, heights_words, offered_words, why_words
from upsides.web.recordings.strides_words import stride_words, strides_words
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.shell.refusals import told
from upsides.web.string.following import back_there

OFFERED: Final = 6
"""So many horses are offered by a tap; the others stand in the list."""
CANTERED_MS: Final = 8.0
"""Below this a band holds trot, whose strides are not a canter's."""
SHORT: Final = 12
"""More bouts than this stand folded."""
SPEEDS: Final = (
    (0.0, gettext_lazy("below 8")),
    (8.0, "8–10"),
    (10.0, "10–12"),
    (12.0, "12–14"),
    (14.0, "14–16"),
    (16.0, gettext_lazy("16 and more")),
)
"""Bands of speed, m/s, that a table adds half-metre steps up to."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A recording as far as it can be shown.

    Args:
        one: its row and horse.
        track: where and how fast; None where it cannot be made.
        measured: what was measured; None where nothing can be said.
        trouble: why there is no track, "" where there is one.
    """

    one: Listed
    track: Track | None
    measured: Measured | None
    trouble: str


def seen(number: int, moment: Moment) -> Seen:
    """Return a recording with its track.

    Raises:
        Http404: there is none of that number.
    """
    one = one_recorded(moment, number)
    if one is None:
        raise Http404(_("There is no recording %(number)s in these books.") % {"number": number})
    mine = read(one.outing.measured) if one.outing is not None else None
    if one.recorded.began is None:
        return Seen(one, None, mine, "")
    try:
        track, measured = track_of(one.recorded)
    except UpsidesError as error:
        return Seen(one, None, mine, told(error))
    return Seen(one, track, mine or measured, "")


def along_of(request: VisitedRequest) -> Along:
    """Return which axis an address asks for."""
    return "distance" if request.GET.get("along") == "distance" else "time"


def one_page(request: VisitedRequest, number: int, moment: Moment) -> dict[str, Any]:
    """Return the page."""
    it, along = seen(number, moment), along_of(request)
    measured, recorded = it.measured, it.one.recorded
    names = moments.names(GallopRow, moment, _gallops(measured))
    gallops = {number: name for number, name in names.items() if number is not None}
    too_little = measured is not None and not measured.bouts
    page = {
        "moment": moment,
        "it": it,
        "title": it.one.horse or recorded.file,
        "sentence": about_recording(measured, gallops)
        if measured
        else _("Nothing can be said of a horse by this recording."),
        "measured": None if too_little else measured,
        "along": along,
        "back": back_there(request),
        "as_of": request.GET.get("as_of", ""),
        "kept": _kept(it),
        "messages_of": [message_words(one) for one in read_messages(recorded.messages)],
        "past": [(past, why_words(past.outing)) for past in past_of(moment, recorded)],
        "why": why_words(it.one.outing) if it.one.outing else "",
        "company": _company(it, moment),
    }
    page |= _offered(it, moment)
    if measured is not None and not too_little:
        page |= _tables(measured, gallops)
    if it.track is not None and not too_little:
        page |= _pictures(it.track, it.measured or Measured(), moment, along, str(page["sentence"]))
    return page


def _company(it: Seen, moment: Moment) -> list[dict[str, Any]]:
    """Return who went upsides in each piece of work, and how they stood at the marks; of a horse's recording only."""
    if it.one.outing is None:
        return []
    found = beside_recording(moment, it.one.recorded.pk, it.one.outing.day)
    quick = [work.start_s for work in (it.measured or Measured()).works if work.kind == "fast"]
    names = moments.names(Horse, moment, (one.horse for _start, one in found))
    return [
        {
            "when": m.at_time(start),
            "words": upsides_words(one, names[one.horse], fast=any(abs(start - at) < ONE_WORK_S for at in quick)),
            "marks": [(m.place(place), stood_words(outcome)) for place, outcome in one.marks],
        }
        for start, one in found
        if one.horse in names
    ]


def spec_of(number: int, moment: Moment, along: Along) -> dict[str, Any]:
    """Return the specification of a recording's chart.

    Raises:
        Http404: there is none.
    """
    it = seen(number, moment)
    spec = chart_spec(it.track, it.measured, along) if it.track is not None and it.measured is not None else None
    if spec is None:
        raise Http404(_("There is no chart of recording %(number)s.") % {"number": number})
    return spec


def _gallops(measured: Measured | None) -> set[int]:
    return {work.gallop.number for work in measured.works if work.gallop is not None} if measured else set()


def _kept(it: Seen) -> str:
    if it.measured is None:
        return ""
    heart = it.measured.heart.get("kept")
    told_ = {"kept": m.share_words(it.measured.kept), "heart": m.share_words(heart) if heart is not None else ""}
    if heart is not None:
        return _("%(kept)s positions and %(heart)s heart rates could be used.") % told_
    return _("%(kept)s positions could be used.") % told_


def _offered(it: Seen, moment: Moment) -> dict[str, Any]:
    """Return the horses that it may be of, the likeliest first, and all others that are in training."""
    recorded, outing = it.one.recorded, it.one.outing
    asked = unclaimed_of(recorded, it.measured)
    if asked is None:
        return {"offered": [], "others": []}
    whose = outing.horse_id if outing is not None else None
    likely = [one for one in candidates(moment, asked) if one.likely and one.horse != whose]
    return {"offered": offers(likely[:OFFERED]), "others": every_horse(moment, whose)}


def every_horse(moment: Moment, but: int | None = None) -> list[tuple[int, str]]:
    """Return the number and name of every horse in training, by name, whatever is known of it; one may be left out."""
    found = moments.in_training(moment).exclude(pk=but) if but is not None else moments.in_training(moment)
    return sorted(found.values_list("pk", "name"), key=lambda pair: pair[1].casefold())


def offers(likely: list[Candidate]) -> list[tuple[Candidate, str]]:
    """Return horses that are offered, each with why."""
    return [(one, offered_words(one)) for one in likely]


def _pictures(track: Track, measured: Measured, moment: Moment, along: Along, sentence: str) -> dict[str, Any]:
    told_: dict[str, Any] = {
        "height_said": heights_words(track),
        "heart": heart_shown(track, measured),
    }
    spec = chart_spec(track, measured, along)
    if spec is not None:
        words = _("%(sentence)s The speed's band holds it four times in five.") % {"sentence": sentence}
        told_["charts"] = charts(spec, _("Speed, heart and height"), words, "recorded")
        told_["rows"] = len(spec["datasets"]["rows"])
    if track.plane is None:
        return told_
    bold = frozenset(_gallops(measured))
    ways = ways_of(track, measured)
    lanes = near(lanes_of(lines(moment), track.plane, bold), ways)
    told_["maps"] = maps(lanes, ways, _("The way of the horse on the yard's gallops, north up."))
    told_["spots"] = {
        width: places_on(track, measured, frame_of(lanes, ways, px), along) for width, px in WIDTHS.items()
    }
    return told_


# Tables -----------------------------------------------------------------------------------------------------------


def _tables(measured: Measured, gallops: dict[int, str]) -> dict[str, Any]:
    return {
        "works": [_work(work, gallops) for work in measured.works],
        "bouts": [_bout(bout) for bout in measured.bouts],
        "fold": len(measured.bouts) > SHORT,
        "speeds": _speeds(measured),
        "steps": _steps(measured),
        "strides": _counted(measured),
        "even": strides_words(measured.even),
    }


def _work(work: Piece, gallops: dict[int, str]) -> dict[str, Any]:
    on = work.gallop
    marked = on is not None and bool(on.splits)
    rows = _from_marks(on) if on is not None and on.splits else _from_its_start(work.furlongs)
    best = [
        (m.length_words(one.metres), m.seconds_words(one.seconds, one.sd_s)) for _n, one in sorted(work.best.items())
    ]
    return {
        "title": m.kind_words(work),
        "gallop": on.number if on is not None and on.number in gallops else None,
        "place": gallops.get(on.number, "") if on is not None else "",
        "sure": m.share_words(on.sure) if on is not None else "",
        "when": m.at_time(work.start_s),
        "lasted": m.lasted(work.seconds),
        "speed": m.speed(work.pace_ms, work.speed_sd_ms),
        "rise": m.rise_words(work.rise_m),
        "marked": marked,
        "bracketed": any(count < 1.0 for count in counts(work.splits)),
        "rows": rows,
        "best": best,
    }


def _from_marks(on: OnGallop) -> list[tuple[str, ...]]:
    """Return the lengths between a gallop's marks, each with where the mark stands at which it began."""
    place, rows = on.begin_m, []
    for split, count in zip(on.splits, counts(on.splits), strict=True):
        if fair([split]):
            rows.append((*_length(split, count), m.place(place)))
        place += split.metres if on.forward else -split.metres
    return rows


def _from_its_start(splits: Sequence[Split]) -> list[tuple[str, ...]]:
    """Return furlongs from where a piece began, each with how far it had gone at its end."""
    gone, rows = 0.0, []
    for split, count in zip(splits, counts(splits), strict=True):
        gone += split.metres
        rows.append((*_length(split, count), m.place(gone)))
    return rows


def _length(split: Split, count: float) -> tuple[str, ...]:
    seconds = m.bracketed(m.seconds_words(split.seconds, split.sd_s), count)
    return m.length_words(split.metres), seconds, m.speed(split.metres / split.seconds)


def _bout(bout: Piece) -> tuple[str, ...]:
    return (
        m.at_time(bout.start_s), str(m.KINDS[bout.kind]), m.far(bout.metres), m.lasted(bout.seconds),
        m.rise_words(bout.rise_m), m.speed(bout.speed_ms, bout.speed_sd_ms), m.speed(bout.top_ms),
    )  # fmt: skip


def _speeds(measured: Measured) -> list[tuple[str, str, str]]:
    """Return how far it went in each band of speed, and in how many strides."""
    found = []
    for low, label, band in _bands(measured):
        steps = list(band.values())
        metres = sum(one.metres for one in steps)
        if metres < 1:
            continue
        found.append((label, m.far(metres), _strides(steps) if low >= CANTERED_MS else "–"))
    return found


def _steps(measured: Measured) -> list[tuple[str, str, str]]:
    """Return the same in each step of half a metre a second."""
    return [
        (_step_words(step), m.far(one.metres), _strides([one]) if step * STEP_MS >= CANTERED_MS else "–")
        for step, one in sorted(measured.speeds.items())
        if one.metres >= 1
    ]


def _step_words(step: int) -> str:
    low, high = m.decimal(step * STEP_MS), m.decimal((step + 1) * STEP_MS)
    return _("%(low)s and more") % {"low": low} if step == COUNT - 1 else f"{low}–{high}"


def _bands(measured: Measured) -> Iterator[tuple[float, str, dict[int, Speeds]]]:
    """Yield where each band of speed begins, what it is called, and what was gone in its steps."""
    for place, (low, label) in enumerate(SPEEDS):
        high = SPEEDS[place + 1][0] if place + 1 < len(SPEEDS) else float("inf")
        yield low, str(label), {step: one for step, one in measured.speeds.items() if low <= step * STEP_MS < high}


def _counted(measured: Measured) -> list[str]:
    """Return how long and how quick the strides were that the tracker felt, band by band."""
    told = (stride_words(label, band) for low, label, band in _bands(measured) if low >= CANTERED_MS)
    return [words for words in told if words]


def _strides(steps: list[Speeds]) -> str:
    strides = sum(one.strides for one in steps)
    if not isfinite(strides):
        return "–"
    told_ = {"strides": f"{round(strides):,}"}
    return told_["strides"] if all(one.counted for one in steps) else _("about %(strides)s") % told_


def chart_address(request: VisitedRequest, number: int) -> str:
    """Return the address of a chart's specification, at the moment and with the axis that the page has."""
    asked = request.GET.copy()
    query = asked.urlencode()
    return reverse("recording_chart", args=[number]) + (f"?{query}" if query else "")
