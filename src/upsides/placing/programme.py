"""Races to come out of programmes as they were read: each as a value, and newer word of a race in place of older.

A race is the same by its source's own number; without one by course, day and number on the card, or title. So two races
of one name are two, and a race of the same number on a new day was moved.
"""

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Any, Final

import polars as pl

from upsides.errors import RaceRefusedError, UnreadableError, ZoneMissingError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined
from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.card import DaysAhead, Fee, IsHandicap, OfClass, OfKind, Over, Pays, Room, SaidBy, Stake
from upsides.placing.conditions.cursor import builds_of
from upsides.placing.conditions.weights import TopWeight
from upsides.placing.conditions.who import Benchmark
from upsides.placing.naming import class_named, kinds_named
from upsides.placing.race import Build, Due, Prize, Race, Stage
from upsides.placing.race_rules import conditions_of
from upsides.rules import stage_rules
from upsides.trade.age import AgeRange
from upsides.trade.surface import Surface


class Change(StrEnum):
    """What newer word of a race is."""

    NEW = "new"
    SAME = "as before"
    CHANGED = "changed"
    MOVED = "moved"


CALLED: Final = {
    "source": _("the programme"),
    "day": _("the day"),
    "course": _("the course"),
    "title": _("the title"),
    "number": _("the number"),
    "id": _("the programme's own number"),
    "zone": _("the time zone"),
    "jurisdiction": _("whose rules hold"),
    "off": _("the time of the start"),
    "code": _("flat or over jumps"),
    "surface": _("the surface"),
    "distance_m": _("the distance"),
    "going": _("the going"),
    "race_class": _("the class"),
    "kinds": _("the kind of race"),
    "ages": _("the ages"),
    "builds": _("the sexes"),
    "band": _("the marks it takes"),
    "above_band": _("the points allowed above the band"),
    "wording": _("the conditions"),
    "prize": _("the prize money"),
    "dues": _("the times by which to enter, confirm or declare"),
    "most_runners": _("the maximum field"),
    "reserves": _("whether reserves are taken"),
    "stall_side": _("the side of stall 1"),
    "bend": _("the way round"),
    "to_bend_m": _("the run to the bend"),
    "rail": _("the rail"),
    "top_weight": _("the top weight"),
    "least_weight": _("the lowest weight"),
    "overrides": _("the rules of this race alone"),
}
"""What the attributes of a race are called where one of them changed."""


@dataclass(frozen=True, slots=True)
class Heard:
    """One race of a newer programme beside what was known of it.

    Attributes:
        change: what it is.
        race: as it is now.
        before: as it was; None where it is new.
        differs: the names of the attributes that differ.
        alike: for a new race, one of the same name at the same course on another day that the newer programme does not
            name: it may have been moved, which only a person can say.
    """

    change: Change
    race: Race
    before: Race | None = None
    differs: tuple[str, ...] = ()
    alike: Race | None = None

    def __str__(self) -> str:
        return f"{self.race}: {self.told or self.change}"

    @property
    def told(self) -> str:
        """What is to be minded of it, to be said after the race; "" where nothing is."""
        if self.change is Change.MOVED and self.before is not None:
            return _("moved from {day}; what was said of it then holds no more", day=self.before.day)
        if self.change is Change.CHANGED:
            what = joined((CALLED.get(name, name) for name in self.differs), ", ")
            return _("{what} changed; the newer word counts", what=what)
        if self.alike is not None:
            return _("new; {race} is not in this programme, so say if it was moved", race=str(self.alike))
        return ""


@dataclass(frozen=True, slots=True)
class Refused:
    """A row of a programme of which no race could be made: its line, and why."""

    line: int
    reason: str


def races_of(rows: pl.DataFrame) -> tuple[tuple[Race, ...], tuple[Refused, ...]]:
    """Make races of the rows of a programme (`results.programme_rows.PROGRAMME`), in their order."""
    races, refused = [], []
    for row in rows.iter_rows(named=True):
        try:
            races.append(race_of(row))
        except (RaceRefusedError, ZoneMissingError, UnreadableError) as error:
            refused.append(Refused(row["line"], str(error)))
    return tuple(races), tuple(refused)


def race_of(row: Mapping[str, Any]) -> Race:
    """Make a race of one row.

    Ages or sexes that cannot be read are put with the wording, where they show as not read.

    Raises:
        RaceRefusedError: it says something that cannot be.
    """
    ages, builds, more = _whom(row)
    title = row["title"] or ""
    race = Race(
        source=row["source"],
        day=row["day"],
        course=row["course"],
        title=title,
        number=row["number"] or "",
        id=row["race_id"] or "",
        moved_from=row["moved_from"],
        zone=row["zone"] or "",
        jurisdiction=row["jurisdiction"] or "",
        off=row["off_at"],
        code=row["code"] or "flat",
        surface=Surface(row["surface"]) if row["surface"] else None,
        distance_m=row["distance_m"],
        going=row["going"] or "",
        race_class=class_named(f"{row['race_class'] or '-'} {title}"),
        kinds=kinds_named(f"{title} {row['race_class'] or ''}"),
        ages=ages,
        builds=builds,
        band=_band(row),
        above_band=row["above_band"],
        wording="\n".join([*_wording(row), *more]),
        prize=_prize(row),
        dues=_dues(row),
        most_runners=row["most_runners"],
        reserves=row["reserves"],
        stall_side=row["stall_side"] or "",
        bend=row["bend"] or "",
        to_bend_m=row["to_bend_m"],
        rail=row["rail"] or "",
        top_weight=_weight(row["top_weight_lb"]),
        least_weight=_weight(row["least_weight_lb"]),
    )
    return with_card(race)


def with_card(race: Race) -> Race:
    """Return a race with what its wording says by when, for how much and for how many, where its columns do not."""
    read = conditions_of(race)
    said = read.settled
    told = {due.stage for due in race.dues}
    dues = [_due(race, one) for one in said if isinstance(one, SaidBy) and race.clock and one.stage not in told]
    told |= {due.stage for due in dues}
    dues += [due for one in said if isinstance(one, DaysAhead) and one.stage not in told for due in _ahead(race, one)]
    fees = [
        Fee(Stage.ENTER, one.money) if isinstance(one, Stake) else one for one in said if isinstance(one, Stake | Fee)
    ]
    classes = sorted((one.name for one in said if isinstance(one, OfClass)), key=str.isdigit)
    named = [one.kinds for one in said if isinstance(one, OfKind)]
    over = [one.metres for one in said if isinstance(one, Over)]
    rooms = [one.most for one in said if isinstance(one, Room)]
    calls = any(isinstance(one, IsHandicap | TopWeight | Benchmark) for one in read.values)
    return replace(
        race,
        dues=tuple(_paid(due, fees) for due in (*race.dues, *dues)),
        race_class=race.race_class or next(iter(classes), ""),
        distance_m=race.distance_m or next(iter(over), None),
        prize=race.prize or _pays([one for one in said if isinstance(one, Pays)]),
        most_runners=race.most_runners or next(iter(rooms), None),
        kinds=race.kinds.union(*named, {"handicap"} if calls else ()),
    )


def _due(race: Race, one: SaidBy) -> Due:
    return Due(one.stage, datetime.combine(one.day, one.at, tzinfo=race.clock), one.cost)


def _ahead(race: Race, one: DaysAhead) -> Iterator[Due]:
    """Yield the moment of a stage some days before the race, at the hour that the authority's rule has for it."""
    rules = stage_rules(race.jurisdiction, race.day, race.code, overrides=race.overrides)
    rule = next((each for each in rules if each.stage == one.stage and not each.entered_days_before), None)
    if rule is not None and race.clock is not None and rule.days_before != one.days:
        local = datetime.combine(race.day - timedelta(days=one.days), rule.at, tzinfo=race.clock)
        yield Due(one.stage, local)


def _paid(due: Due, fees: list[Fee]) -> Due:
    """Return a moment with what the wording says of its cost, where it says none itself."""
    return replace(due, cost=next((one.money for one in fees if due.cost is None and one.stage is due.stage), due.cost))


def _pays(said: list[Pays]) -> Prize | None:
    """Return the prizes that a wording states, as far as they follow one another in one currency."""
    if not said:
        return None
    currency = said[0].money.currency
    by_place = {one.place: one.money.amount for one in reversed(said) if one.money.currency == currency}
    total = by_place.pop(0, None)
    listed: list[float] = []
    while len(listed) + 1 in by_place:
        listed.append(by_place[len(listed) + 1])
    return Prize(currency, total, tuple(listed)) if currency and (total is not None or listed) else None


def _whom(row: Mapping[str, Any]) -> tuple[AgeRange | None, frozenset[Build] | None, list[str]]:
    more, ages, builds = [], None, None
    if row["ages"]:
        try:
            ages = AgeRange.parse(row["ages"])
        except UnreadableError:
            more.append(f"Ages: {row['ages']}.")
    if row["sexes"]:
        builds = _builds(row["sexes"])
        if builds is None:
            more.append(f"Sexes: {row['sexes']}.")
    return ages, builds, more


LETTERS: Final = {"c": Build.ENTIRE, "h": Build.ENTIRE, "g": Build.GELDING, "f": Build.FEMALE, "m": Build.FEMALE}


def _builds(text: str) -> frozenset[Build] | None:
    """Read a column of sexes: words, or the letters of cards (f&m, c,g)."""
    words = [word for word in re.split(r"[^a-z]+", text.lower()) if word and word != "and"]
    if words and all(word in LETTERS for word in words):
        return frozenset(LETTERS[word] for word in words)
    if words in (["any"], ["all"], ["open"]):
        return frozenset(Build)
    known = all(re.fullmatch(r"entires?|colts?|geldings?|fillies|filly|mares?|only", word) for word in words)
    return builds_of(text) if known and builds_of(text) else None


def _band(row: Mapping[str, Any]) -> tuple[float | None, float | None] | None:
    low, high = row["rating_low"], row["rating_high"]
    return None if low is None and high is None else (low or None, high)


def _wording(row: Mapping[str, Any]) -> list[str]:
    parts = []
    for name in ("conditions", "penalties", "allowances"):
        text = (row[name] or "").strip()
        if text:
            headed = name == "conditions" or text.lower().startswith(name[:6])
            parts.append(text if headed else f"{name.title()}: {text}")
    return parts


def _prize(row: Mapping[str, Any]) -> Prize | None:
    by_place = tuple(amount for amount in row["prizes"] or () if amount is not None)
    if row["prize"] is None and not by_place:
        return None
    if not row["currency"]:
        return None
    return Prize(row["currency"], row["prize"], by_place)


def _dues(row: Mapping[str, Any]) -> tuple[Due, ...]:
    found = []
    for stage in Stage:
        at, fee = row[f"{stage}_by"], row[f"{stage}_fee"]
        if at is not None:
            found.append(Due(stage, at, Money(fee, row["currency"]) if fee is not None and row["currency"] else None))
    return tuple(found)


def _weight(pounds: float | None) -> Amount | None:
    return None if pounds is None else Amount(pounds)


def settled(known: Iterable[Race], newer: Iterable[Race]) -> tuple[tuple[Race, ...], tuple[Heard, ...]]:
    """Put newer word of races in the place of older.

    A race that the newer programme does not name stays as it was: programmes overlap and leave out.

    Args:
        known: races as they were known.
        newer: a newer programme.

    Returns:
        All races in order of day, course and number; and what the newer programme brought, race by race.
    """
    standing = {identity(race): race for race in known}
    newer, heard = tuple(newer), []
    named = {identity(race) for race in newer}
    for told in newer:
        race, key = told, identity(told)
        before = standing.get(key) or _moved(race, standing)
        race = _with_move(race, before)
        if before is not None and identity(before) != key:
            standing.pop(identity(before))
        standing[key] = race
        heard.append(_heard(race, before, None if before else _alike(race, standing, named)))
    races = sorted(standing.values(), key=lambda race: (race.day, race.course, race.off is None, race.off, race.number))
    return tuple(races), tuple(heard)


def identity(race: Race) -> tuple[str, ...]:
    """Return what makes a race the same in two programmes of one source."""
    if race.id:
        return (race.source, "id", race.id)
    said = race.number or race.title.lower()
    return (race.source, race.course.lower(), race.day.isoformat(), said)


def _moved(race: Race, standing: Mapping[tuple[str, ...], Race]) -> Race | None:
    """Return the race that this one was before it was moved, where its programme says from which day."""
    if race.moved_from is None:
        return None
    return standing.get(identity(replace(race, day=race.moved_from)))


def _with_move(race: Race, before: Race | None) -> Race:
    """Return a race with the day from which it was moved, where only an earlier programme tells that."""
    if before is None or race.moved_from is not None:
        return race
    return replace(race, moved_from=before.moved_from if race.day == before.day else before.day)


def _alike(race: Race, standing: Mapping[tuple[str, ...], Race], named: set[tuple[str, ...]]) -> Race | None:
    """Return a race of the same name and course on another day that the newer programme does not name."""
    for key, other in standing.items():
        same = race.title and (race.source, race.course, race.title) == (other.source, other.course, other.title)
        if same and other.day != race.day and key not in named:
            return other
    return None


def _heard(race: Race, before: Race | None, alike: Race | None) -> Heard:
    if before is None:
        return Heard(Change.NEW, race, alike=alike)
    differs = tuple(each.name for each in fields(race) if getattr(race, each.name) != getattr(before, each.name))
    differs = tuple(name for name in differs if name != "moved_from")
    if not differs:
        return Heard(Change.SAME, race, before)
    moved = race.day != before.day
    return Heard(Change.MOVED if moved else Change.CHANGED, race, before, differs)
