"""The works of a gallop over a season."""

from collections.abc import Mapping, Sequence
from itertools import accumulate, groupby
from math import isfinite
from typing import Any, Final
from urllib.parse import urlencode

from django.http import Http404
from django.utils.translation import gettext as _

from upsides.books.diary.yard import GOINGS
from upsides.books.models import Gallop
from upsides.books.queries import moments
from upsides.books.queries.gallop_sources import OnGallop
from upsides.books.queries.gallop_works import Season, on_this_gallop
from upsides.books.queries.gallops import lines
from upsides.books.queries.moments import Moment
from upsides.charts.works_curve import Pace, works_spec
from upsides.web.recordings import measures as m
from upsides.web.recordings.company_words import upsides_words
from upsides.web.recordings.pictures import lanes_of, maps
from upsides.web.recordings.works_curves import curves, pace, span, splits_words
from upsides.web.recordings.works_words import about_gallop, source_words
from upsides.web.shell.templatetags.words import short_day

SMALL_MAP: Final = {"small": 300}
FARTHEST, LONGEST = 1000, 5
"""No page lies farther back, and no number of one is longer."""
MANY: Final = 30
"""The days of so many works stand open, those before them folded."""


def gallop_at(number: int, moment: Moment) -> Gallop:
    """Return a gallop as it stood.

    Raises:
        Http404: there was none of that number.
    """
    found = moments.rows(Gallop, moment).filter(id=number).first()
    if found is None:
        raise Http404(_("There is no gallop %(number)s in these books.") % {"number": number})
    return found


def gallop_page(number: int, moment: Moment, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return the page of a gallop's works; `asked` may narrow it down to one horse, and go back."""
    row, season = gallop_at(number, moment), on_this_gallop(moment, number, page_of(asked))
    horse = asked.get("horse", "")
    works = [one for one in season.works if not horse or str(one.horse) == horse]
    drawn = lines(moment).get(number)
    days = [(day, [_on_gallop(one, season) for one in some]) for day, some in groupby(works, key=lambda one: one.day)]
    before = list(accumulate((len(some) for _day, some in days), initial=0))  # works of the days shown before each
    shown = [day for day, so_far in zip(days, before, strict=False) if so_far < MANY]
    page: dict[str, Any] = {
        "moment": moment,
        "gallop": row,
        "sentence": about_gallop(row.name, season),
        "why_not": season.why_not,
        "season": season,
        "horse": horse,
        "horses": sorted({(one.horse, one.name) for one in season.works}, key=lambda pair: pair[1].casefold()),
        "bracketed": any(count < 1.0 for one in works for count in one.counts),
        "days": shown,
        "earlier": days[len(shown) :],
        "earlier_works": before[-1] - before[len(shown)],
        "curves": curves(gallop_spec_of(works, _then(season, moment)), row.name, about_gallop(row.name, season)),
        "maps": {},
        "later": _to(asked, season.page - 1) if season.page > 1 else "",
        "before": _to(asked, season.page + 1) if season.earlier else "",
    }
    if drawn is not None:
        lane = lanes_of({number: drawn}, drawn.plane, frozenset({number}))[number]
        page["maps"] = maps(
            [lane], [], _("The line of %(gallop)s, north up, with its marks.") % {"gallop": row.name}, SMALL_MAP
        )
    return page


def _to(asked: Mapping[str, str], page: int) -> str:
    kept = {name: asked[name] for name in ("horse", "as_of") if asked.get(name)}
    return f"?{urlencode(kept | {'page': page})}"


def page_of(asked: Mapping[str, str]) -> int:
    """Return which page is asked for; the first is that of the last works."""
    said = asked.get("page", "")
    return min(max(int(said), 1), FARTHEST) if said.isdecimal() and len(said) < LONGEST else 1


def _then(season: Season, moment: Moment) -> Moment:
    """Return the last day of a page, at which its chart ends."""
    return Moment(season.last, moment.at)


def gallop_spec(number: int, moment: Moment, asked: Mapping[str, str]) -> dict[str, Any]:
    """Return the specification of the chart of a gallop's works.

    Raises:
        Http404: there are none.
    """
    gallop_at(number, moment)
    season, horse = on_this_gallop(moment, number, page_of(asked)), asked.get("horse", "")
    works = [one for one in season.works if not horse or str(one.horse) == horse]
    spec = gallop_spec_of(works, _then(season, moment))
    if spec is None:
        raise Http404(_("Nothing has worked there."))
    return spec


def gallop_spec_of(works: Sequence[OnGallop], moment: Moment) -> dict[str, Any] | None:
    """Return the chart of works, with the day taken out where that can be said; None without works."""
    points = [_pace_there(one) for one in works if isfinite(one.speed_ms)]
    return works_spec(points, span([one.date for one in points], moment)) if points else None


def _pace_there(one: OnGallop) -> Pace:
    adjusted = isfinite(one.adjusted_ms)
    speed, sd = (one.adjusted_ms, one.adjusted_sd_ms) if adjusted else (one.speed_ms, one.speed_sd_ms)
    told = {
        "horse": one.name, "day": short_day(one.day), "speed": m.speed(speed, sd),
        "source": source_words(one.source), "far": m.about_furlongs(one.metres),
    }  # fmt: skip
    words = _("%(horse)s, %(day)s, %(far)s: %(speed)s, %(source)s")
    return pace(one.day, speed, sd, one.source, words % told, fast=one.fast)


def _on_gallop(one: OnGallop, season: Season) -> dict[str, Any]:
    return {
        "one": one,
        "far": m.about_furlongs(one.metres),
        "times": splits_words(one.splits, one.counts),
        "speed": m.speed(one.speed_ms, one.speed_sd_ms),
        "adjusted": m.speed(one.adjusted_ms, one.adjusted_sd_ms) if isfinite(one.adjusted_ms) else "",
        "going": str(GOINGS.get(one.going, "")),
        "rider": season.riders.get(one.rider, ""),
        "source": source_words(one.source),
        "kind": _("fast") if one.fast else _("canter"),
        "down": not one.forward,
        "company": [
            upsides_words(each, season.names[each.horse], fast=one.fast)
            for each in one.company
            if each.horse in season.names
        ],
    }
