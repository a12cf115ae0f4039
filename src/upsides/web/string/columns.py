"""The columns of the string's list: what each is called, says, and sorts by."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import Any

from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import get_language, gettext_lazy, gettext_noop
from django.utils.translation import gettext as _

from upsides.books.queries.finding import folded
from upsides.books.queries.results import Raced
from upsides.books.queries.string import Listed
from upsides.books.queries.trips import Trip
from upsides.web.shell.templatetags.words import by_lengths, finish, lb, metres, short_day
from upsides.web.string.pictures import small_curve
from upsides.web.string.sentences import sex_words
from upsides.web.trip.words import between_words, trip_words

_NONE_YET, _UNRACED = gettext_noop("none yet"), gettext_noop("unraced")


class Kind(Enum):
    """What a column holds, which says how its two orders are called: rising, falling."""

    TEXT = (gettext_lazy("%(column)s, from A"), gettext_lazy("%(column)s, from Z"))
    NUMBER = (gettext_lazy("%(column)s, lowest first"), gettext_lazy("%(column)s, highest first"))
    DAY = (gettext_lazy("%(column)s, earliest first"), gettext_lazy("%(column)s, latest first"))
    WALK = (gettext_lazy("%(column)s, in walking order"), gettext_lazy("%(column)s, from the end of the walk"))
    TRIP = (gettext_lazy("%(column)s, shortest first"), gettext_lazy("%(column)s, longest first"))


@dataclass(frozen=True, slots=True)
class Column:
    """One column.

    Args:
        key: its name in addresses and style sheets.
        words: its heading.
        cell: what it says of a horse.
        order: what it sorts by; None goes last either way.
        kind: what it holds.
        usual: whether it is shown where nobody chose.
        inside: whether it holds figures, which are not open to everybody.
    """

    key: str
    words: str | Promise
    cell: Callable[[Listed], str]
    order: Callable[[Listed], Any]
    kind: Kind = Kind.TEXT
    usual: bool = False
    inside: bool = False

    @property
    def falling_first(self) -> bool:
        """Return whether one who presses its heading looks for the high end: best, most, latest."""
        return self.kind not in {Kind.TEXT, Kind.WALK, Kind.TRIP}

    def order_words(self, *, falling: bool) -> str:
        """Return an order by this column in words."""
        return _order_words(self.key, falling, get_language())


def _text(key: str, words: str | Promise, get: Callable[[Listed], str], *, usual: bool = False) -> Column:
    return Column(key, words, get, lambda one: folded(get(one)) or None, usual=usual)


def _level(one: Listed) -> str:
    if one.standing is None:
        return _soft(_NONE_YET, get_language()) if one.open else ""
    return _bold(lb(one.standing.level.lb))


@lru_cache(maxsize=1024)
def _bold(words: str) -> SafeString:
    return format_html("<b>{}</b>", words)


@lru_cache(maxsize=16)
def _soft(words: str, _language: str | None) -> SafeString:
    return format_html('<span class="soft">{}</span>', _(words))


def _range(one: Listed) -> str:
    if one.standing is None:
        return ""
    level = one.standing.level
    return _from_to(round(level.low), round(level.high), get_language())


@lru_cache(maxsize=4096)
def _from_to(low: int, high: int, _language: str | None) -> str:
    return _("%(low)s to %(high)s") % {"low": low, "high": high}


def _figure(one: Listed) -> str:
    return "" if one.figure_lb is None else lb(one.figure_lb)


def _curve(one: Listed) -> str:
    return small_curve(one.standing.curve, get_language()) if one.standing else ""


def _trip(one: Listed) -> str:
    return _best_trip(one.trip, get_language()) if one.trip else ""


@lru_cache(maxsize=4096)
def _best_trip(trip: Trip, _language: str | None) -> SafeString:
    return format_html(
        '<b>{}</b> <span class="soft">{}</span>', trip_words(trip.best), between_words(trip.low, trip.high)
    )


def _last(one: Listed) -> str:
    return _last_run(one.raced, get_language()) if one.raced else _soft(_UNRACED, get_language())


@lru_cache(maxsize=4096)
def _last_run(raced: Raced, _language: str | None) -> SafeString:
    run = raced.last
    told = finish(run)
    if run["beaten_lengths"]:
        told = _("%(place)s, beaten %(lengths)s") % {"place": told, "lengths": by_lengths(run["beaten_lengths"])}
    where = _("%(course)s, %(trip)s, %(day)s") % {
        "course": run["course"] or "–",
        "trip": metres(run["distance_m"]),
        "day": short_day(run["date"]),
    }
    return format_html('{} <span class="soft">{}</span>', told, where)


def _from_last(name: str) -> Callable[[Listed], Any]:
    return lambda one: one.raced.last[name] if one.raced else None


def _number(get: Callable[[Listed], float | None]) -> Callable[[Listed], str]:
    return lambda one: "" if (value := get(one)) is None else f"{value:.0f}"


_mark = _from_last("official_rating")

_ALL = (
    _text("name", gettext_lazy("Horse"), lambda one: one.horse.name),
    Column("level", gettext_lazy("Level, lb"), _level, lambda one: one.standing and one.standing.level.lb,
           Kind.NUMBER, usual=True, inside=True),
    Column("range", gettext_lazy("Range, lb"), _range, lambda one: one.standing and one.standing.level.sd_lb,
           Kind.NUMBER, usual=True, inside=True),
    Column("curve", gettext_lazy("Last year"), _curve, lambda one: one.standing and one.standing.curve.gained,
           Kind.NUMBER, usual=True, inside=True),
    Column("trip", gettext_lazy("Trip"), _trip, lambda one: one.trip and one.trip.best, Kind.TRIP, usual=True,
           inside=True),
    Column("figure", gettext_lazy("Last figure, lb"), _figure, lambda one: one.figure_lb, Kind.NUMBER, inside=True),
    Column("last", gettext_lazy("Last run"), _last, _from_last("date"), Kind.DAY, usual=True),
    Column("runs", gettext_lazy("Runs"), _number(lambda one: one.raced.runs if one.raced else 0),
           lambda one: one.raced.runs if one.raced else 0, Kind.NUMBER),
    Column("mark", gettext_lazy("Handicap mark"), _number(_mark), _mark, Kind.NUMBER),
    _text("barn", gettext_lazy("Barn"), lambda one: one.barn, usual=True),
    Column("box", gettext_lazy("Box"), lambda one: one.stood.name if one.stood else "",
           lambda one: one.stood and one.stood.position, Kind.WALK),
    _text("carer", gettext_lazy("Looked after by"), lambda one: one.carer, usual=True),
    Column("age", gettext_lazy("Age"), _number(lambda one: one.age), lambda one: one.age, Kind.NUMBER),
    _text("sex", gettext_lazy("Sex"), lambda one: sex_words(one.horse.sex)),
    _text("sire", gettext_lazy("Sire"), lambda one: one.horse.sire),
    _text("dam", gettext_lazy("Dam"), lambda one: one.horse.dam),
    Column("joined", gettext_lazy("Came"), lambda one: short_day(one.horse.joined), lambda one: one.horse.joined,
           Kind.DAY),
    Column("left", gettext_lazy("Left"), lambda one: short_day(one.horse.left) if one.horse.left else "",
           lambda one: one.horse.left, Kind.DAY),
)  # fmt: skip

COLUMNS = {column.key: column for column in _ALL}
"""Every column by its key, in the page's order; the first is the name, which is always shown."""


@lru_cache(maxsize=256)
def _order_words(key: str, falling: bool, _language: str | None) -> str:  # noqa: FBT001 -- of a cache, by place
    column = COLUMNS[key]
    return str(column.kind.value[falling]) % {"column": column.words}


def columns_open(figures: bool) -> tuple[Column, ...]:  # noqa: FBT001 -- the one thing that it depends on
    """Return the columns that can be chosen, the name left out."""
    return tuple(column for column in _ALL[1:] if figures or not column.inside)


def in_order(listed: list[Listed], column: Column, *, falling: bool) -> list[Listed]:
    """Return horses sorted by a column, those of which it knows nothing last, and equals by name."""
    keyed = [(column.order(one), one) for one in listed]
    known = [pair for pair in keyed if pair[0] is not None]
    known.sort(key=lambda pair: pair[0], reverse=falling)
    return [one for _, one in known] + [one for key, one in keyed if key is None]
