"""Results that the diary holds under *After a race*, as rows of a library: each with the race that it was."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from upsides.books import clock
from upsides.books.diary.raced import RaceReport
from upsides.books.models import Engagement, Entry, Horse
from upsides.books.queries import moments
from upsides.books.queries.carded import keys_named
from upsides.books.queries.chances_wanted import pounds_of
from upsides.books.queries.engaged import Engaged, engaged
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import case_of
from upsides.books.queries.results import State, starts_of, state_of
from upsides.placing import Race
from upsides.results.by_hand import OURS, SOURCE
from upsides.results.naming import key_of, may_be_one
from upsides.results.race_cards import CardRunner, read_card, runner_called
from upsides.results.schema import RACES, RUNS, polars_schema
from upsides.rules import place_named

DECLARED, MEANT = Engagement.State.DECLARED, Engagement.State.MEANT


@dataclass(frozen=True, slots=True)
class Told:
    """One result that the diary holds.

    Args:
        horse: the row of its horse.
        day: of the race, in the yard's zone.
        recorded_at: when it was written down.
        said: the report.
    """

    horse: Horse
    day: date
    recorded_at: datetime
    said: RaceReport


@dataclass
class Rows:
    """Rows of a library, as they are gathered.

    Args:
        races: by key.
        runs: by key of the race and number of the horse in its source.
        down: keys of those of ours that were declared for a race, by its key.
        unmatched: those of whose race the books know nothing.
    """

    races: dict[str, dict[str, Any]] = field(default_factory=dict)
    runs: dict[tuple[str, str], dict[str, Any]] = field(default_factory=dict)
    down: dict[str, frozenset[str]] = field(default_factory=dict)
    unmatched: list[Told] = field(default_factory=list)

    def frames(self) -> tuple[pl.DataFrame, pl.DataFrame]:
        """Return races and runs as frames of the schema."""
        races, runs = polars_schema(RACES), polars_schema(RUNS)
        return (
            pl.DataFrame([_whole(row, races) for row in self.races.values()], schema=races, orient="row"),
            pl.DataFrame([_whole(row, runs) for row in self.runs.values()], schema=runs, orient="row"),
        )


def _whole(row: dict[str, Any], schema: pl.Schema) -> dict[str, Any]:
    return dict.fromkeys(schema) | row


def engagement_of(horse: int, day: date) -> Engagement | None:
    """Return the race that a horse was declared for on a day; None for none.

    One that stands in no programme cannot be declared here, so of such an entry is enough.
    """
    found = engaged_on(horse, day)
    rows = [one for one in found if one.state == DECLARED or (not one.race_code and one.state != MEANT)]
    rows.sort(key=lambda one: (one.state != DECLARED, one.off_at is None, one.pk))
    return rows[0] if rows else None


def engaged_on(horse: int, day: date) -> list[Engagement]:
    """Return what a horse was meant for, entered or declared for on a day, and not taken out of."""
    rows = Engagement.objects.filter(horse=horse, day=day).exclude(state=Engagement.State.WITHDRAWN)
    return list(rows.order_by("off_at", "pk"))


def resulted_on(horse: int, day: date) -> list[Entry]:
    """Return the entries that stand and tell a result of a horse on a day, in the yard's zone."""
    zone = clock.place().zone
    found = moments.entries(moments.now()).filter(kind=RaceReport.name, horse=horse)
    return [one for one in found.order_by("pk")
            if one.happened_at.astimezone(zone).date() == day and RaceReport.kept_as(one.values).resulted]  # fmt: skip


def hand_results(folder: Path) -> Rows:
    """Return the results by hand that stand and that no table has brought.

    Raises:
        UpsidesError: there is no library, or it cannot be read.
    """
    state, rows = state_of(folder), Rows()
    for one in _waiting(state):
        moment = Moment(one.day, one.recorded_at)
        row = engagement_of(one.horse.pk, one.day)
        ran = [each for each in engaged(folder, moment, one.day, one.day, [one.horse.pk])
               if row is not None and each.engagement.pk == row.pk]  # fmt: skip
        if ran:
            _add(rows, folder, state, moment, one, ran[0])
        else:
            rows.unmatched.append(one)
    return rows


def told_results(moment: Moment, day: date | None = None) -> list[Told]:
    """Return the results that stand in the diary, in the order of races; of one day where one is given.

    Args:
        moment: when to look from.
        day: of the races, in the yard's zone.
    """
    zone = clock.place().zone
    found = moments.entries(moment).filter(kind=RaceReport.name, horse__isnull=False)
    if day is not None:
        near = (datetime.combine(day, time.min, zone), datetime.combine(day + timedelta(days=1), time.min, zone))
        found = found.filter(happened_at__gte=near[0], happened_at__lt=near[1])
    return [
        Told(entry.horse, entry.happened_at.astimezone(zone).date(), entry.recorded_at, said)
        for entry in found.select_related("horse").order_by("happened_at", "pk")
        if entry.horse is not None and (said := RaceReport.kept_as(entry.values)).resulted
    ]


def _waiting(state: State) -> Iterator[Told]:
    """Yield the results of the diary of which no table brought a start of the same horse and day."""
    told = told_results(moments.now())
    if not told:
        return
    starts = starts_of(state, frozenset(Horse.objects.values_list("horse_key", flat=True)))
    known = starts.filter(pl.col("source") != SOURCE).select("horse_key", "date")
    there = set(known.iter_rows())
    yield from (one for one in told if (one.horse.horse_key, one.day) not in there)


def _add(rows: Rows, folder: Path, state: State, moment: Moment, told: Told, ran: Engaged) -> None:
    """Add a result: the run of our horse, and of the one beside it where it is named."""
    said, race, row = told.said, ran.race, ran.engagement
    number = row.race_code or f"{key_of(race.course)}-{key_of(race.title)}"
    key = f"{SOURCE}:{told.day}-{number}"
    if row.race_code:
        down = Horse.objects.filter(engagements__race_code=row.race_code, engagements__day=told.day,
                                    engagements__state=DECLARED)  # fmt: skip
        rows.down[key] = frozenset(down.exclude(horse_key="").values_list("horse_key", flat=True))
    about = rows.races.setdefault(key, _race(race, key, told.day))
    about["winning_time_s"] = about["winning_time_s"] or said.seconds()
    about["runners"] = about["runners"] or said.ran
    card = read_card(folder, row.race_code) if row.race_code else ()
    won, margin = said.place == 1, said.margin
    mine = {
        "race_key": key,
        "date": told.day,
        "source_horse": told.horse.horse_key,
        "file": OURS,
        "outcome": "finished" if said.place else said.ended,
        "position": said.place,
        "beaten_lengths": (0.0 if won else margin) if said.place else None,
        "time_s": about["winning_time_s"] if won else None,
        "draw": row.draw,
        "gear": row.gear or None,
        "jockey": (ran.ride.rider.name if ran.ride.rider else ran.ride.jockey) if ran.ride else None,
        **_own(folder, moment, told, ran, runner_called(card, told.horse.name)),
    }
    rows.runs[key, told.horse.horse_key] = mine
    other = said.beside_it()
    if other is not None and said.place:
        lengths = margin if won else 0.0
        beside = _beside(state, told.day, key, other, runner_called(card, other.name))
        beside |= {"position": 2 if won else 1, "beaten_lengths": lengths}
        rows.runs.setdefault((key, beside["source_horse"]), beside)


def _race(race: Race, key: str, day: date) -> dict[str, Any]:
    low, high = race.band or (None, None)
    return {
        "race_key": key,
        "source": SOURCE,
        "race_id": key.partition(":")[2],
        "date": day,
        "off_at": race.off,
        "course": race.course,
        "country": place_named(race.jurisdiction) if race.jurisdiction else None,
        "race_no": int(race.number) if race.number.isdecimal() else None,
        "title": race.title or None,
        "code": race.code,
        "surface": race.surface,
        "distance_m": race.distance_m,
        "going": race.going.lower() or None,
        "rail": race.rail or None,
        "bend": race.bend or None,
        "race_class": race.race_class or None,
        "rating_low": low,
        "rating_high": high,
        "ages": str(race.ages) if race.ages else None,
        "prize": race.prize.total if race.prize else None,
        "currency": race.currency or None,
        "winning_time_s": None,
        "runners": None,
    }


def _own(folder: Path, moment: Moment, told: Told, ran: Engaged, card: CardRunner | None) -> dict[str, Any]:
    """Return what our horse was and carried, claim taken off: as typed, else by its card, else by the conditions."""
    horse, claim, said = told.horse, ran.ride.claim_lb if ran.ride else None, told.said
    known = entrants(folder, moment, [horse])[horse.pk]
    published = card.weight_lb if card else None
    if published is None:
        published = pounds_of(case_of(ran.engagement.race_code, ran.race, horse, known, terms_of(folder)).carried)
    carried = said.carried if said.carried is not None or published is None else published - (claim or 0)
    age = known.age(told.day, ran.race.jurisdiction, terms_of(folder).yard)
    return {"horse_name": horse.name, "foaled": horse.foaled, "age": age, "sex": horse.sex, "carried_lb": carried,
            "claim_lb": claim}  # fmt: skip


def _beside(state: State, day: date, key: str, other: CardRunner, card: CardRunner | None) -> dict[str, Any]:
    """Return the run of a horse that is known by its name: one of ours that was in a race that day, else the library's.

    One of ours that never ran is not in the library, and its own report knows it by its key.
    """
    found = _ours_named(other.name, day) or keys_named(state, other.name, day)
    weight = other.weight_lb if other.weight_lb is not None else card.weight_lb if card else None
    return {
        "race_key": key,
        "date": day,
        "source_horse": found[0] if len(found) == 1 else f"{SOURCE}:{key_of(other.name)}",
        "horse_name": other.name,
        "outcome": "finished",
        "carried_lb": weight,
    }


def _ours_named(name: str, day: date) -> tuple[str, ...]:
    """Return the keys of those of ours that a name may mean and that were engaged on a day."""
    wanted = key_of(name)
    down = Horse.objects.filter(engagements__day=day).exclude(horse_key="").distinct()
    return tuple(
        one.horse_key for one in down if may_be_one(key_of(one.name), wanted) and engagement_of(one.pk, day) is not None
    )
