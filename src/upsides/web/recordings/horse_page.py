"""The works of a horse over a season."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from math import isfinite
from typing import Any, Final

from django.http import Http404
from django.utils.translation import gettext as _

from upsides.books import clock
from upsides.books.diary.clocked import INSTRUCTION_OF, INSTRUCTIONS, LEFT
from upsides.books.diary.work import EXERCISES, FAST
from upsides.books.models import Gallop, Horse, Person
from upsides.books.queries import moments
from upsides.books.queries.gallop_works import DAYS
from upsides.books.queries.moments import Moment
from upsides.books.queries.outings import Done, of_horse
from upsides.books.queries.unraced import Unraced, unraced
from upsides.books.queries.upsides import Partner, asked, partners
from upsides.books.queries.works import worked
from upsides.charts.works_curve import works_spec
from upsides.recordings.work import Work
from upsides.web.recordings import measures as m
from upsides.web.recordings.company_words import about_unraced, moved_words, upsides_words
from upsides.web.recordings.weeks import PARTS, bars, weeks_of
from upsides.web.recordings.works_curves import curves, pace, span, splits_words
from upsides.web.recordings.works_words import about_horse, source_words
from upsides.web.shell.templatetags.words import short_day

FAST_PACES: Final = frozenset({"half_speed", "three_quarter", "bridle", "let_down", "asked"})
MANY: Final = 20
"""So many works of a horse stand open, those before them folded."""


def horse_page(horse: Horse, moment: Moment, *, figures: bool) -> dict[str, Any]:
    """Return the page of a horse's works over the year up to a moment's day; its level only where figures are open."""
    first = moment.day - timedelta(days=DAYS - 1)
    works = worked(moment, horse.pk, first, moment.day)
    outings = of_horse(moment, horse.pk, first, moment.day)
    of = asked(works)
    company = partners(moment, of)
    beside = [company.get(one, ()) for one in of]
    names = _names(moment, works, outings, [one.horse for each in beside for one in each])
    rows = [_work(one, mine, names) for one, mine in zip(works, beside, strict=True)]
    said = unraced(moment, horse.pk) if figures else None
    sentence = about_horse(horse.name, works, [one.far_m for one in works if is_fast(one, names)])
    weeks = weeks_of(outings, moment)
    return {
        "moment": moment,
        "horse": horse,
        "sentence": sentence,
        "bracketed": any(count < 1.0 for one in works for count in one.counts),
        "works": rows[:MANY],
        "earlier": rows[MANY:],
        "curves": curves(horse_spec_of(works, names, moment), horse.name, sentence),
        "bars": bars(weeks),
        "weeks": [
            (week.label, [m.far(metres) if metres else "–" for metres in week.metres])
            for week in reversed(weeks)
            if any(week.metres)
        ],
        "parts": [str(label) for _low, label in PARTS],
    } | (_level(said, moment) if said is not None else {})


def _level(said: Unraced, moment: Moment) -> dict[str, Any]:
    """Return what the works of a horse that has not run say of its level."""
    names = moments.names(Horse, moment, (number for one in said.works for number in one.horses))
    rows = [
        (
            one.when.astimezone(clock.place().zone).date(),
            ", ".join(names[number] for number in one.horses if number in names),
            moved_words(one.moved),
        )
        for one in said.works
    ]
    return {"level": about_unraced(said), "judged": rows}


def horse_spec(horse: Horse, moment: Moment) -> dict[str, Any]:
    """Return the specification of the chart of a horse's works.

    Raises:
        Http404: none was measured.
    """
    first = moment.day - timedelta(days=DAYS - 1)
    works, outings = worked(moment, horse.pk, first, moment.day), of_horse(moment, horse.pk, first, moment.day)
    spec = horse_spec_of(works, _names(moment, works, outings), moment)
    if spec is None:
        raise Http404(_("No work of this horse was measured."))
    return spec


@dataclass(frozen=True, slots=True)
class _Names:
    """What works name.

    Args:
        gallops, people, horses: names by number.
        recorded: number of the recording by that of the outing.
        kinds: canter or fast, by number of the outing and second in which a work by a tracker began.
    """

    gallops: Mapping[int | None, str]
    people: Mapping[int | None, str]
    horses: Mapping[int | None, str]
    recorded: Mapping[int, int | None]
    kinds: Mapping[tuple[int | None, int], str]


def _names(moment: Moment, works: Sequence[Work], outings: Sequence[Done], beside: Sequence[int] = ()) -> _Names:
    return _Names(
        moments.names(Gallop, moment, (one.gallop for one in works)),
        moments.names(Person, moment, (one.rider for one in works)),
        moments.names(Horse, moment, {*beside, *(other for one in works for other in one.beside)}),
        {done.outing.pk: done.outing.recorded_id for done in outings},
        {(done.outing.pk, round(one.start_s)): one.kind for done in outings for one in done.measured.works},
    )


def is_fast(one: Work, names: _Names) -> bool:
    """Return whether a work was fast: by what its tracker shows, else by the pace that was ordered."""
    kind = names.kinds.get((one.outing, round(one.when.timestamp())))
    if kind is not None:
        return kind == "fast"
    return one.instruction in FAST_PACES if one.instruction else one.exercise in FAST


def horse_spec_of(works: Sequence[Work], names: _Names, moment: Moment) -> dict[str, Any] | None:
    """Return the chart of a horse's works, None where none was measured."""
    points = []
    for one in works:
        if one.source == "ordered" or not isfinite(one.speed_ms):
            continue
        day = one.when.astimezone(clock.place().zone).date()
        told = {
            "day": short_day(day), "far": m.about_furlongs(one.far_m), "gallop": names.gallops.get(one.gallop, ""),
            "speed": m.speed(one.pace_ms, one.speed_sd_ms), "source": source_words(one.source),
        }  # fmt: skip
        words = (
            _("%(day)s, %(far)s on %(gallop)s: %(speed)s, %(source)s")
            if told["gallop"]
            else _("%(day)s, %(far)s: %(speed)s, %(source)s")
        )
        points.append(pace(day, one.pace_ms, one.speed_sd_ms, one.source, words % told, fast=is_fast(one, names)))
    return works_spec(points, span([one.date for one in points], moment)) if points else None


def _work(one: Work, company: Sequence[Partner], names: _Names) -> dict[str, Any]:
    pace_asked = one.instruction if one.instruction != INSTRUCTION_OF.get(one.exercise) else ""
    said = [str(INSTRUCTIONS.get(pace_asked, "")), str(LEFT.get(one.left, ""))]
    told = {each.horse for each in company}
    return {
        "one": one,
        "day": one.when.astimezone(clock.place().zone).date(),
        "what": _what(one, names),
        "far": m.about_furlongs(one.far_m),
        "gallop": names.gallops.get(one.gallop, ""),
        "times": splits_words(one.splits, one.counts),
        "speed": m.speed(one.pace_ms, one.speed_sd_ms),
        "source": source_words(one.source),
        "thumb": splits_words(one.thumb.splits) if one.thumb is not None else "",
        "said": ", ".join(part for part in said if part),
        "rider": names.people.get(one.rider, ""),
        "beside": [names.horses[other] for other in one.beside if other in names.horses and other not in told],
        "company": [
            upsides_words(each, names.horses[each.horse], fast=is_fast(one, names))
            for each in company
            if each.horse in names.horses
        ],
        "recorded": names.recorded.get(one.outing) if one.outing is not None else None,
    }


def _what(one: Work, names: _Names) -> str:
    """Return what a work was: as its tracker shows it, with what was ordered where that is something else."""
    ordered = str(EXERCISES.get(one.exercise, ""))
    if one.source == "ordered" and ordered:
        return ordered
    shown = _("fast work") if is_fast(one, names) else _("canter")
    if one.source == "tracker" and ordered and (one.exercise in FAST) != is_fast(one, names):
        return _("%(shown)s (ordered: %(ordered)s)") % {"shown": shown, "ordered": ordered}
    return ordered or shown
