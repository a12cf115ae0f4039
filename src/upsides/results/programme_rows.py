"""One batch of a programme of races to come, turned from text into rows by a shape, with every refusal noted.

A moment that says no zone is by the clock of its course. Where nobody says in which zone that clock goes the moment is
refused, never taken for another place's.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from typing import Final
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import polars as pl

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.results import cells
from upsides.results.description import Rule, Shape, Table
from upsides.results.fields import PROGRAMME_FIELDS, Field
from upsides.results.mapping import REFUSED_SCHEMA, Dtypes, leave_out, missing, read_fields, refusals
from upsides.results.readers import LINE
from upsides.results.reasons import ON_PURPOSE
from upsides.rules import place_named

_TYPES: Final = {
    "number": pl.Float64(),
    "numbers": pl.List(pl.Float64()),
    "integer": pl.Int16(),
    "date": pl.Date(),
    "flag": pl.Boolean(),
    "instant": pl.Datetime("us", "UTC"),
}
PROGRAMME_DTYPES: Final[Dtypes] = {
    name: _TYPES.get(field.kind, pl.String()) for name, field in PROGRAMME_FIELDS.items()
}
PROGRAMME: Final = pl.Schema({"source": pl.String(), **PROGRAMME_DTYPES, "file": pl.String(), "line": pl.Int64()})
"""A race to come: its fields as `fields.PROGRAMME_FIELDS` has them, moments in UTC, `zone` the course's own."""

NO_ZONE: Final = _(
    "no time zone is known for the course: give the row a zone like Europe/Dublin, write the time with its offset, or "
    'put timezone = "Europe/Dublin" into the shape'
)
TWO_ZONES: Final = _("the file names more than one zone for the course: give this row its own")
NO_SUCH_ZONE: Final = _("not the name of a time zone: write it like Europe/Dublin")
NO_SUCH_PLACE: Final = _("no jurisdiction of that name is known: write it like Ireland or IRE; no rules are asked")
NO_SUCH_TIME: Final = _("no such time on that day: the clock goes forward over it")
NO_CURRENCY: Final = _(
    "sums of money without a currency, none of them is taken: give the row a currency like EUR, or put "
    'currency = "EUR" into the shape'
)
NO_SUCH_CURRENCY: Final = _("no currency: write its three letters like EUR, or guineas; the sums are left out")
GUINEAS: Final = ("GUINEAS", "GUINEA", "GNS", "GN")
NEEDED: Final = ("day", "course")
MONEY: Final = r"^\s*[£€$]?\s*(\d{1,3}(?:,\d{3})+|\d+)(\.\d+)?\s*$"


@dataclass(frozen=True, slots=True)
class Rows:
    """What a batch gave: races in `PROGRAMME`, and refusals; `fate` "row" is a race left out."""

    races: pl.DataFrame
    refused: pl.DataFrame


def zones_named(batches: Iterable[pl.DataFrame], table: Table, shape: Shape) -> dict[str, str]:
    """Return the zones that rows of a file name for their courses, by course in small letters.

    Two for one course are joined by a blank, which is no zone's name.
    """
    rules = [rule for rule in table.programme if rule.field.name in {"course", "zone"}]
    found: dict[str, set[str]] = {}
    for raw in batches:
        rows = read_fields(rules, raw, PROGRAMME_DTYPES, shape, "", [])
        for course, zone in rows.select("course", "zone").drop_nulls().iter_rows():
            if _usable(zone):
                found.setdefault(course.lower(), set()).add(zone)
    return {course: " ".join(sorted(names)) for course, names in found.items()}


def rows_of(raw: pl.DataFrame, table: Table, shape: Shape, file: str, zones: Mapping[str, str]) -> Rows:
    """Map one batch of text rows.

    Args:
        raw: the table's columns and LINE.
        table: the table of the shape.
        shape: the shape.
        file: what the file is called in what is said of it.
        zones: IANA zones by course, in small letters; a row's own goes before, the shape's behind. Two, with a blank
            between, settle nothing.
    """
    notes: list[pl.DataFrame] = []
    raw = _plain_money(leave_out(raw, table, shape.source, file, notes), table, shape)
    timed = tuple(rule for rule in table.programme if rule.field.kind == "instant")
    plain = tuple(rule for rule in table.programme if rule.field.kind != "instant")
    races = read_fields(plain, raw, PROGRAMME_DTYPES, shape, file, notes)
    races = _paid(races, shape, file, notes)
    races = _placed(races, shape, file, notes)
    races = _zoned(races, shape, file, zones, notes)
    for rule in timed:
        races = _moments(races, rule, raw, shape, file, notes)
    lost = pl.repeat(False, races.height, eager=True)
    for name in dict.fromkeys((*NEEDED, *table.required)):
        notes.append(missing(races, name, shape.source, file, notes))
        lost |= races[name].is_null()
    refused = pl.concat(notes) if notes else pl.DataFrame(schema=REFUSED_SCHEMA)
    gone = races[LINE].filter(lost).implode()
    fate = pl.when(pl.col("line").is_in(gone) | ON_PURPOSE).then(pl.lit("row")).otherwise("fate")
    return Rows(_finished(races.filter(~lost), shape, file), refused.with_columns(fate.alias("fate")))


def _paid(races: pl.DataFrame, shape: Shape, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Fill each race's currency; sums of money without one are noted, for nothing can be reckoned with them."""
    money = pl.any_horizontal(pl.col(name).is_not_null() for name, field in PROGRAMME_FIELDS.items() if _sum(field))
    usual = pl.when(money).then(pl.lit(shape.currency or None, dtype=pl.String))
    races = races.with_columns(currency=pl.coalesce("currency", usual).str.strip_chars().str.to_uppercase())
    bare = races.filter(money & pl.col("currency").is_null())
    notes.append(refusals(bare, shape.source, file, "currency", "", NO_CURRENCY, "field"))
    none = races.filter(~_is_currency())
    notes.append(refusals(none, shape.source, file, "currency", none["currency"], NO_SUCH_CURRENCY, "field"))
    guineas = pl.when(pl.col("currency").is_in(GUINEAS)).then(pl.lit("guineas")).otherwise("currency")
    return races.with_columns(currency=pl.when(_is_currency()).then(guineas))


def _is_currency() -> pl.Expr:
    return pl.col("currency").is_in(GUINEAS) | pl.col("currency").str.contains("^[A-Z]{3}$")


def _sum(field: Field) -> bool:
    return field.unit == "currency"


def _finished(races: pl.DataFrame, shape: Shape, file: str) -> pl.DataFrame:
    return (
        races.rename({LINE: "line"})
        .with_columns(
            source=pl.lit(shape.source),
            file=pl.lit(file),
            jurisdiction=pl.coalesce("jurisdiction", pl.lit(shape.jurisdiction or None, dtype=pl.String)),
        )
        .select(PROGRAMME.names())
    )


def _plain_money(raw: pl.DataFrame, table: Table, shape: Shape) -> pl.DataFrame:
    """Return the batch with sums like £12,000 as 12000, where the comma is not the decimal sign."""
    if shape.decimal == ",":
        return raw
    rules = (rule for rule in table.programme if _sum(rule.field))
    columns = {name for rule in rules for name in rule.columns}
    return raw.with_columns(
        pl.when(pl.col(name).str.contains(MONEY)).then(pl.col(name).str.replace_all(r"[£€$,\s]", "")).otherwise(name)
        for name in sorted(columns & set(raw.columns))
    )


def _zoned(
    races: pl.DataFrame, shape: Shape, file: str, zones: Mapping[str, str], notes: list[pl.DataFrame]
) -> pl.DataFrame:
    """Fill each race's zone: its own, else the course's, else the shape's unless the row is of another jurisdiction."""
    named = [_usable(zone) for zone in races["zone"]]
    wrong = [zone is not None and not good for zone, good in zip(races["zone"], named, strict=True)]
    theirs = [zones.get((course or "").lower()) for course in races["course"]]
    torn = [not good and zone is not None and " " in zone for good, zone in zip(named, theirs, strict=True)]
    for rows, reason in ((wrong, NO_SUCH_ZONE), (torn, TWO_ZONES)):
        bad = races.filter(pl.Series(rows, dtype=pl.Boolean))
        notes.append(refusals(bad, shape.source, file, "zone", bad["zone"], reason, "field"))
    usual = [
        shape.timezone if shape.timezone_stated and not odd and _same_place(place, shape.jurisdiction) else None
        for odd, place in zip(wrong, races["jurisdiction"], strict=True)
    ]
    found = [
        good or (None if doubt else zone or last)
        for good, doubt, zone, last in zip(named, torn, theirs, usual, strict=True)
    ]
    return races.with_columns(zone=pl.Series(found, dtype=pl.String))


def _placed(races: pl.DataFrame, shape: Shape, file: str, notes: list[pl.DataFrame]) -> pl.DataFrame:
    """Empty jurisdictions that are none, with a note; such a race is run under no rules known here."""
    wrong = [place is not None and not _is_place(place) for place in races["jurisdiction"]]
    bad = races.filter(pl.Series(wrong, dtype=pl.Boolean))
    notes.append(refusals(bad, shape.source, file, "jurisdiction", bad["jurisdiction"], NO_SUCH_PLACE, "field"))
    found = ["" if odd else place for odd, place in zip(wrong, races["jurisdiction"], strict=True)]
    return races.with_columns(jurisdiction=pl.Series(found, dtype=pl.String))


def _is_place(text: str) -> bool:
    try:
        place_named(text)
    except UnreadableError:
        return False
    return True


def _same_place(place: str | None, usual: str) -> bool:
    return place is None or (place != "" and (not usual or place_named(place) == place_named(usual)))


def _usable(zone: str | None) -> str | None:
    try:
        return zone if zone and ZoneInfo(zone) else None
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def _moments(
    races: pl.DataFrame, rule: Rule, raw: pl.DataFrame, shape: Shape, file: str, notes: list[pl.DataFrame]
) -> pl.DataFrame:
    """Read one field of moments, each by its own zone."""
    name = rule.field.name
    texts = cells.read(replace(rule, field=replace(rule.field, kind="text")), raw, shape)
    read = [
        _moment(text, rule.formats, zone, day)
        for text, zone, day in zip(texts.value, races["zone"], races["day"], strict=True)
    ]
    reasons = pl.Series([value if isinstance(value, str) else None for value in read], dtype=pl.String)
    reasons = pl.select(pl.coalesce(texts.reason, reasons)).to_series()
    for reason in reasons.drop_nulls().unique(maintain_order=True):
        mask = (reasons == reason).fill_null(value=False)
        notes.append(refusals(races.filter(mask), shape.source, file, name, texts.text.filter(mask), reason, "field"))
    values = [value if isinstance(value, datetime) else None for value in read]
    return races.with_columns(pl.Series(name, values, dtype=pl.Datetime("us", "UTC")))


def _moment(text: str | None, formats: tuple[str, ...], zone: str | None, day: date | None) -> datetime | str | None:
    """Return the moment that a cell writes, or why it cannot be told."""
    if text is None:
        return None
    local = _written(text, formats, day)
    if local is None:
        return cells.NOT_DATE
    if local.tzinfo is not None:
        return local.astimezone(UTC)
    if zone is None:
        return NO_ZONE
    clock = ZoneInfo(zone)
    moment = local.replace(tzinfo=clock).astimezone(UTC)
    return moment if moment.astimezone(clock).replace(tzinfo=None) == local else NO_SUCH_TIME


def _written(text: str, formats: tuple[str, ...], day: date | None) -> datetime | None:
    """Read a moment as written; a time alone is one of the day of the race.

    In the night in which the clock goes back a time that comes twice is the earlier one, which is safe for a deadline.
    """
    for style in formats:
        try:
            found = datetime.strptime(text, style)  # noqa: DTZ007  # its zone comes from the course
        except ValueError:
            continue
        if not any(part in style for part in ("%d", "%j", "%x", "%c")):
            return None if day is None else found.replace(year=day.year, month=day.month, day=day.day)
        return found
    try:
        return None if formats else datetime.fromisoformat(text)
    except ValueError:
        return None
