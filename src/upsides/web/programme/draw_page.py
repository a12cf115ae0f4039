"""What a stall is worth at a start, ready for the template: pounds and lengths by stall, and the break."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.queries.draw import draw_of, places_raced
from upsides.books.queries.moments import Moment
from upsides.errors import DrawSurfaceError, UnreadableError, UpsidesError
from upsides.errors.wording import gettext
from upsides.ratings.draw.starts import Asked, Place, Settled, settled
from upsides.trade.distance import Distance
from upsides.web.shell.refusals import in_words, refused, told
from upsides.web.shell.templatetags.words import metres, surface

if TYPE_CHECKING:
    from upsides.ratings.draw.worth import DrawAnswer, Slope

FEWEST, MOST, USUAL = 2, 40, 12
SIGN_LB: Final = 0.05
BENDS: Final[Mapping[str, str | Promise]] = {
    "": gettext_lazy("not said"),
    "straight": gettext_lazy("straight"),
    "left": gettext_lazy("left-handed"),
    "right": gettext_lazy("right-handed"),
}
KNOWN_BY: Final[Mapping[str, str | Promise]] = {
    "start": gettext_lazy("From %(races)s races from this start."),
    "course": gettext_lazy("No race was run from this start; from %(races)s races at this course."),
    "library": gettext_lazy("No race was run at this course; from all %(races)s races of the library."),
}


def draw_page(folder: Path, moment: Moment, query: Mapping[str, str]) -> dict[str, Any]:
    """Return the draw at the start that is asked for; where none is, the first at which races were run.

    Raises:
        UnreadableError: a distance or a number of runners cannot be read.
    """
    places = places_raced(folder, moment)
    asked = asked_of(query, places)
    if asked is None:
        return _page(moment, None, places) | {
            "sentence": _("The library holds no races, so nothing is known of any draw.")
        }
    try:
        meant = _settled(asked, places)
    except DrawSurfaceError as error:
        return _page(moment, asked, places) | {"sentence": told(error)}
    page = _page(moment, meant.asked, places, meant.place)
    try:
        found = draw_of(folder, moment, meant.asked)
    except UpsidesError as error:
        return page | {"sentence": _("Nothing is known of the draw there."), "why": refused(error)}
    return page | shown(found) | {"unknown": [in_words(one) for one in meant.unknown]}


def _settled(asked: Asked, places: tuple[Place, ...]) -> Settled:
    """Return what is asked by the library's names; where it says which way the course turns, that counts."""
    meant = settled(replace(asked, bend=""), places)
    return meant if meant.asked.bend else replace(meant, asked=replace(meant.asked, bend=asked.bend))


def _page(moment: Moment, asked: Asked | None, places: tuple[Place, ...], place: Place | None = None) -> dict[str, Any]:
    """Return what the form needs, and of which start the page speaks."""
    page: dict[str, Any] = {
        "moment": moment,
        "asked": asked,
        "starts": _starts(places, asked),
        "bends": _bends(asked),
        "goes": BENDS[place.bend] if place and place.bend else "",
        "rails": place.rails if place else (),
    }
    return page if asked is None else page | {"where": ", ".join(_where(asked))}


def _where(asked: Asked) -> list[str]:
    parts = [asked.course, metres(asked.distance_m)]
    parts += [str(surface(asked.surface))] if asked.surface else []
    return parts + ([str(BENDS[asked.bend])] if asked.bend else [])


def asked_of(query: Mapping[str, str], places: tuple[Place, ...]) -> Asked | None:
    """Return what is asked for; None where nothing is, and no race was ever run.

    Raises:
        UnreadableError: a distance or a number of runners cannot be read.
    """
    course, far, on = (query.get(name, "")[:60].strip() for name in ("course", "trip", "surface"))
    far = far or query.get("distance", "")[:60].strip()
    if start := query.get("start", ""):
        course, on, far = ([*start.split("|"), "", ""])[:3]
    runners, bend = _runners(query.get("runners", "")), query.get("bend", "")
    going, rail = query.get("going", "")[:40].strip(), query.get("rail", "")[:60].strip()
    bend = bend if bend in BENDS else ""
    if course and far:
        return Asked(course, float(Distance.parse(far).metres), on, runners, going, bend, rail)
    if not places:
        return None
    if far:
        raise UnreadableError(gettext("course"), course, gettext("the name of a course beside the distance"))
    there = [one for one in places if not course or one.course.casefold() == course.casefold()]
    if not there:
        known = sorted({one.course for one in places})
        raise UnreadableError(gettext("course"), course, ", ".join(known[:3]))
    first = max(there, key=lambda one: one.races)
    return Asked(first.course, first.distance_m, first.surface, runners, going, bend, rail)


def _runners(text: str) -> int:
    if not text.strip():
        return USUAL
    if not text.strip().isdecimal() or not FEWEST <= int(text) <= MOST:
        raise UnreadableError(
            gettext("runners"), text[:20], gettext("a number from {fewest} to {most}", fewest=FEWEST, most=MOST)
        )
    return int(text)


def _starts(places: tuple[Place, ...], asked: Asked | None) -> list[tuple[str, str, bool]]:
    return [
        (
            f"{one.course}|{one.surface}|{one.distance_m:g}m",
            f"{one.course}, {metres(one.distance_m)}{f', {surface(one.surface)}' if one.surface else ''}",
            asked is not None
            and (one.course, one.surface, one.distance_m) == (asked.course, asked.surface, asked.distance_m),
        )
        for one in places
    ]


def _bends(asked: Asked | None) -> list[tuple[str, str, bool]]:
    return [(key, str(words), asked is not None and asked.bend == key) for key, words in BENDS.items()]


def shown(found: "DrawAnswer") -> dict[str, Any]:
    """Return a draw for the template."""
    said = {"races": f"{found.slope.races:,}"}
    return {
        "sentence": about_draw(found),
        "known_by": str(KNOWN_BY[found.slope.known_by]) % said,
        "before": _("Before the draw the stall may be worth %(lb)s\u00a0lb either way on one day.")
        % {"lb": f"{found.spread_lb:.1f}"},
        "day": _("On one day to come the highest stall may stand %(low)s to %(high)s\u00a0lb against the lowest: "
                 "meetings and races differ.") % _low_high(found.day),
        "stalls": [
            {"stall": one.stall, "lb": signed_lb(one.lb),
             "range": f"{signed_lb(one.low_lb)} {_('to')} {signed_lb(one.high_lb)}",
             "lengths": signed_lb(one.lengths, 2),
             "lengths_range": f"{signed_lb(one.low_lengths, 2)} {_('to')} {signed_lb(one.high_lengths, 2)}"}
            for one in found.stalls
        ],
        "away": _away(found),
        "per_length": f"{found.lb_per_length:.1f}",
    }  # fmt: skip


def about_draw(found: "DrawAnswer") -> str:
    """Return which stalls have the best of it, and whether that is sure."""
    mean, low, high = found.across
    said = {"course": found.start.course, "far": metres(found.start.distance_m), "lb": f"{abs(mean):.1f}",
            "runners": found.start.runners} | _low_high((mean, low, high))  # fmt: skip
    if low <= 0.0 <= high:
        words = _(
            "Over %(far)s at %(course)s with %(runners)s runners it is not sure that the stall matters: the highest is "
            "worth %(low)s to %(high)s\u00a0lb against the lowest on the average day."
        )
    elif mean > 0.0:
        words = _(
            "Over %(far)s at %(course)s high stalls have the best of it: with %(runners)s runners the highest is worth "
            "%(lb)s\u00a0lb more than the lowest on the average day (%(low)s to %(high)s)."
        )
    else:
        words = _(
            "Over %(far)s at %(course)s low stalls have the best of it: with %(runners)s runners the lowest is worth "
            "%(lb)s\u00a0lb more than the highest on the average day (highest less lowest %(low)s to %(high)s)."
        )
    return words % said


def _low_high(found: tuple[float, float, float]) -> dict[str, str]:
    return {"low": signed_lb(found[1]), "high": signed_lb(found[2])}


def signed_lb(value: float, digits: int = 1) -> str:
    """Return pounds or lengths with their sign; none for what rounds to nought."""
    text = f"{abs(value):.{digits}f}"
    return f"0{'.' + '0' * digits}" if float(text) == 0.0 else f"{'+' if value > 0 else '−'}{text}"


def _away(found: "DrawAnswer") -> list[tuple[str, str]]:
    """Return what being first away was worth against last away: here, at bends, on straights."""
    rows: list[tuple[str, Slope | None]] = [
        (_("From this start"), found.away),
        (_("On average at bends"), found.away_bend),
        (_("On average on straights"), found.away_straight),
    ]
    return [
        (words, _("%(lb)s\u00a0lb (standard error %(error)s)") % {"lb": signed_lb(one.mean), "error": f"{one.sd:.1f}"})
        for words, one in rows
        if one is not None
    ]
