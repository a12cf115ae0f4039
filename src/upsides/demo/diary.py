"""The last fortnight of the invented yard's diary: who looked at which horse, temperatures, notes."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import polars as pl

from upsides.demo.names import sentences
from upsides.demo.yard import YARD

DAYS = 14
TO_THE_HOUR = time(5)
"""The diary goes to this time of today, UTC."""

_MORNING, _EVENING = time(5, 0), time(16, 0)
_ROUND_S = 90 * 60
_SEEN, _SEEN_AGAIN, _MEASURED, _NOTED, _NOTED_WARM = 0.92, 0.35, 0.45, 0.05, 0.7
_ON_DUTY = 0.86
_NO_SIGNAL = 0.03
_SPELLS = 3
_CORRECTIONS = 2
_STAMP = pl.Datetime("us", "UTC")
_DIARY = {
    "entry": pl.Int64(),
    "source_horse": pl.String(),
    "kind": pl.String(),
    "author": pl.String(),
    "happened_at": _STAMP,
    "made_at": _STAMP,
    "recorded_at": _STAMP,
    "values": pl.String(),
    "supersedes": pl.Int64(),
}


Values = dict[str, float | str]


@dataclass(frozen=True, slots=True)
class Line:
    """One entry before it has a number; `corrects` is the place of the line that it corrects."""

    horse: str
    kind: str
    author: str
    happened_at: datetime
    made_at: datetime
    recorded_at: datetime
    values: Values
    corrects: int | None = None


@dataclass(frozen=True, slots=True)
class Hand:
    """A horse and the people who write of it: its carer, others of its barn, the barn's head person."""

    horse: str
    carer: str
    others: list[str]
    head: str


def diary_of_yard(rng: np.random.Generator, string: pl.DataFrame, people: pl.DataFrame, today: date) -> pl.DataFrame:
    """Write the diary of the fourteen days before `today` and of its first hours.

    Args:
        rng: source of chance.
        string: source_horse, barn and carer of each horse.
        people: login, roles and barn of everybody.
        today: the invented yard's today.

    Returns:
        entry (1, 2, ... as recorded), source_horse, kind (looked_at, temperature, note), author (a login),
        happened_at <= made_at (the device's clock) <= recorded_at (the server's), values as JSON (nothing, celsius,
        or text), supersedes (the entry that it corrects, else none). Nothing is recorded after 05:00 UTC of
        `today`; not every horse is seen every day.
    """
    hands = _hands(string, people)
    warm = _spells(rng, [hand.horse for hand in hands])
    lines = [
        line
        for back in range(DAYS, -1, -1)
        for hand in hands
        for line in _horse_day(rng, hand, today - timedelta(days=back), warm=(hand.horse, back) in warm)
    ]
    end = datetime.combine(today, TO_THE_HOUR, UTC)
    known = [line for line in lines if line.recorded_at <= end]
    return _numbered(_corrected(rng, known, end))


def _hands(string: pl.DataFrame, people: pl.DataFrame) -> list[Hand]:
    def of(barn: str, role: str) -> list[str]:
        found = people.filter(pl.col("roles").list.contains(role) & (pl.col("barn") == barn))
        return found["login"].to_list()

    barns = {barn: (of(barn, "carer"), of(barn, "head_person")[0]) for barn in string["barn"].unique()}
    return [
        Hand(horse, carer, *barns[barn]) for horse, barn, carer in string.select("source_horse", "barn", "carer").rows()
    ]


def _spells(rng: np.random.Generator, horses: list[str]) -> set[tuple[str, int]]:
    """Return the horses and days (counted back from today) of a high temperature: a few spells of one to three days."""
    found = set()
    for _ in range(_SPELLS):
        horse, back = horses[rng.integers(len(horses))], int(rng.integers(2, DAYS))
        found |= {(horse, back - day) for day in range(int(rng.integers(1, 4)))}
    return found


def _horse_day(rng: np.random.Generator, hand: Hand, day: date, *, warm: bool) -> list[Line]:
    carer = hand.carer if rng.random() < _ON_DUTY else str(rng.choice(hand.others))
    morning = _moment(rng, day, _MORNING)
    written: list[tuple[str, str, datetime, Values]] = []
    if warm or rng.random() < _SEEN:
        written.append(("looked_at", carer, morning, {}))
    if warm or rng.random() < _MEASURED:
        written.append(("temperature", carer, _after(rng, morning), {"celsius": _celsius(rng, warm=warm)}))
    if rng.random() < (_NOTED_WARM if warm else _NOTED):
        text = str(rng.choice(sentences("warm_notes" if warm else "notes")))
        written.append(("note", carer, _after(rng, morning), {"text": text}))
    if warm or rng.random() < _SEEN_AGAIN:
        written.append(("looked_at", hand.head, _moment(rng, day, _EVENING), {}))
    return [_line(rng, hand.horse, *entry) for entry in written]


def _after(rng: np.random.Generator, moment: datetime) -> datetime:
    return moment + timedelta(seconds=int(rng.integers(60, 1200)))


def _moment(rng: np.random.Generator, day: date, start: time) -> datetime:
    """Return a moment of a round that starts at `start` of the yard's own time, in UTC, to the second."""
    local = datetime.combine(day, start, ZoneInfo(YARD.zone))
    return local.astimezone(UTC) + timedelta(seconds=int(rng.integers(_ROUND_S)))


def _celsius(rng: np.random.Generator, *, warm: bool) -> float:
    """Return a temperature: 37.2 to 38.6 in a healthy horse (practices differ by a few tenths), or a high one."""
    value = np.clip(rng.normal(39.1, 0.2), 38.8, 39.6) if warm else np.clip(rng.normal(37.8, 0.25), 37.2, 38.6)
    return round(float(value), 1)


def _line(rng: np.random.Generator, horse: str, kind: str, author: str, happened_at: datetime, values: Values) -> Line:
    made_at = happened_at + timedelta(seconds=float(rng.exponential(60)))
    waited = rng.uniform(3600, 6 * 3600) if rng.random() < _NO_SIGNAL else rng.uniform(0.2, 8)
    return Line(horse, kind, author, happened_at, made_at, made_at + timedelta(seconds=float(waited)), values)


def _corrected(rng: np.random.Generator, lines: list[Line], end: datetime) -> list[Line]:
    """Make a few ordinary temperatures wrong by two figures changed over, and correct them within the half hour."""
    lines = list(lines)
    latest = end - timedelta(hours=1)
    can_be = [
        i
        for i, line in enumerate(lines)
        if line.kind == "temperature" and 37.8 <= float(line.values["celsius"]) <= 37.9 and line.recorded_at < latest
    ]
    for i in rng.choice(can_be, _CORRECTIONS, replace=False).tolist():
        right = lines[i]
        whole, tenth = str(right.values["celsius"]).split(".")
        lines[i] = replace(right, values={"celsius": float(f"{whole[0]}{tenth}.{whole[1]}")})
        waited = timedelta(seconds=float(rng.uniform(120, 1500)))
        lines.append(replace(right, made_at=right.made_at + waited, recorded_at=right.recorded_at + waited, corrects=i))
    return lines


def _numbered(lines: list[Line]) -> pl.DataFrame:
    """Number lines in the order in which they were recorded."""
    order = sorted(range(len(lines)), key=lambda i: lines[i].recorded_at)
    entry = {i: number for number, i in enumerate(order, start=1)}
    rows = [
        (
            entry[i],
            line.horse,
            line.kind,
            line.author,
            line.happened_at,
            line.made_at,
            line.recorded_at,
            json.dumps(line.values),
            None if line.corrects is None else entry[line.corrects],
        )
        for i in order
        for line in [lines[i]]
    ]
    return pl.DataFrame(rows, schema=_DIARY, orient="row")
