"""The one schema of races and runs that every table of results is brought into.

Units are SI except where racing's own unit is the datum: weight carried is kept in pounds and beaten distance
in lengths, because that is how both are published and any conversion would lose the printed value.
"""

from dataclasses import dataclass

import polars as pl


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, Polars type, unit ("" for none) and what it holds."""

    name: str
    dtype: pl.DataType
    unit: str
    meaning: str


def _columns(*rows: tuple[str, pl.DataType | type[pl.DataType], str, str]) -> tuple[Column, ...]:
    return tuple(
        Column(name, dtype() if isinstance(dtype, type) else dtype, unit, text) for name, dtype, unit, text in rows
    )


OUTCOMES = (
    "finished",
    "unplaced",
    "pulled_up",
    "fell",
    "unseated",
    "brought_down",
    "slipped_up",
    "refused",
    "ran_out",
    "left_at_start",
    "did_not_finish",
    "disqualified",
    "took_no_part",
    "withdrawn",
    "reserve",
)
"""What became of an entry. `unplaced`: ran, its position was not published. The last three never started."""

STARTED = OUTCOMES[: OUTCOMES.index("took_no_part")]

RACES = _columns(
    (
        "race_key",
        pl.String,
        "",
        "source and the source's own race number, joined by a colon: unique in the library",
    ),
    ("source", pl.String, "", "which table the race came from"),
    ("race_id", pl.String, "", "the source's own number"),
    ("date", pl.Date, "", "racing date at the course"),
    ("off_at", pl.Datetime("us", "UTC"), "", "scheduled or actual start, where published with its time zone"),
    ("course", pl.String, "", "course, as the source names it, without country or surface marks"),
    ("country", pl.String, "", "country of the course, ISO 3166 alpha-2 where known"),
    ("race_no", pl.Int16, "", "number on the card"),
    ("title", pl.String, "", "name of the race"),
    ("code", pl.String, "", "flat, hurdle, chase, bumper (flat race for jumpers), harness, other"),
    ("surface", pl.String, "", "turf, dirt, synthetic"),
    ("distance_m", pl.Float64, "m", "distance"),
    ("going", pl.String, "", "going as the source writes it, in lower case"),
    ("rail", pl.String, "", "rail position or course configuration"),
    ("bend", pl.String, "", "straight, left, right; empty when not known"),
    ("race_class", pl.String, "", "class as the source writes it"),
    ("rating_low", pl.Float64, "rating points", "lowest rating of the band"),
    ("rating_high", pl.Float64, "rating points", "highest rating of the band"),
    ("ages", pl.String, "", "ages allowed, as written"),
    ("prize", pl.Float64, "currency", "total prize, or first prize where the source gives only that"),
    ("currency", pl.String, "", "ISO 4217 code"),
    ("winning_time_s", pl.Float64, "s", "winner's time"),
    (
        "section_m",
        pl.List(pl.Float64),
        "m",
        "length of each timed section in running order; they add up to the distance",
    ),
    ("section_s", pl.List(pl.Float64), "s", "leader's time for each section"),
    ("runners", pl.Int16, "", "number that started"),
    ("file", pl.String, "", "file the row was read from"),
    ("line", pl.Int64, "", "line in that file, the header being line 1"),
)

RUNS = _columns(
    ("race_key", pl.String, "", "the race"),
    ("source", pl.String, "", "which table the run came from"),
    ("date", pl.Date, "", "date of the race"),
    ("source_horse", pl.String, "", "source and the source's own horse number, joined by a colon"),
    ("horse_name", pl.String, "", "name as printed, without suffix"),
    ("suffix", pl.String, "", "country of foaling as printed after the name or in its own column"),
    ("foaled", pl.Int16, "year", "year of foaling, where published or implied by age"),
    ("age", pl.Int8, "years", "official age on the day, as published"),
    ("sex", pl.String, "", "colt, filly, horse, mare, gelding, ridgling; empty when not known"),
    ("saddlecloth", pl.Int16, "", "number worn"),
    ("outcome", pl.String, "", "see OUTCOMES"),
    ("position", pl.Int16, "", "official finishing position; dead-heaters share one"),
    ("dead_heat", pl.Boolean, "", "shared its position with another"),
    ("draw", pl.Int16, "", "stall drawn"),
    ("started_from", pl.Int16, "", "place among the actual starters, in order of draw, 1 lowest"),
    ("carried_lb", pl.Float64, "lb", "weight carried as published, claim taken off"),
    ("claim_lb", pl.Float64, "lb", "rider's claim, where published"),
    ("body_mass_kg", pl.Float64, "kg", "the horse's own declared mass"),
    ("beaten_lengths", pl.Float64, "lengths", "behind the winner; 0 for the winner; empty when not recorded"),
    ("margin", pl.String, "", "margin as written"),
    ("time_s", pl.Float64, "s", "own time"),
    ("section_s", pl.List(pl.Float64), "s", "own time for each section of the race"),
    ("section_position", pl.List(pl.Int16), "", "position at the end of each section"),
    ("section_behind", pl.List(pl.Float64), "lengths", "behind the leader at the end of each section"),
    ("gear", pl.String, "", "headgear and other declared equipment, as written"),
    ("jockey", pl.String, "", "rider, as the source names or codes him"),
    ("trainer", pl.String, "", "trainer, as the source names or codes him"),
    ("official_rating", pl.Float64, "rating points", "official rating the horse ran off"),
    (
        "odds",
        pl.Float64,
        "to 1, stake included",
        "market price: an outside yardstick, never an input to a model",
    ),
    ("file", pl.String, "", "file the row was read from"),
    ("line", pl.Int64, "", "line in that file, the header being line 1"),
)

HORSES = _columns(
    ("source_horse", pl.String, "", "source and the source's own horse number, joined by a colon"),
    ("source", pl.String, "", "which source the horse came from"),
    ("name", pl.String, "", "name at its last run, else as a table of horses gives it; without suffix"),
    ("suffix", pl.String, "", "country of foaling"),
    ("foaled", pl.Int16, "year", "year of foaling"),
    ("sex", pl.String, "", "at its last run, as in runs; male or female, what it was born, where only a table says it"),
    ("sire", pl.String, "", "its sire's name, as written"),
    ("dam", pl.String, "", "its dam's name, as written"),
    ("dam_sire", pl.String, "", "the name of its dam's sire, as written"),
    ("first_run", pl.Date, "", "date of its first run; empty for a horse that has none here"),
    ("last_run", pl.Date, "", "date of its last run"),
    ("runs", pl.Int64, "", "how many runs the library holds of it"),
    ("listed_in", pl.String, "", "table of horses that it stands in; empty where it is known from runs alone"),
)

REFUSED = _columns(
    ("source", pl.String, "", "which table"),
    ("file", pl.String, "", "file"),
    ("line", pl.Int64, "", "line in that file, the header being line 1"),
    ("field", pl.String, "", "the schema's name of the field at fault, or empty for the whole row"),
    ("value", pl.String, "", "the value as it stood there, cut at 200 characters"),
    ("reason", pl.String, "", "a short constant phrase, so that refusals can be counted by it"),
    (
        "fate",
        pl.String,
        "",
        "row: the row was left out; field: kept, this field emptied; noted: kept as it is",
    ),
)


def polars_schema(columns: tuple[Column, ...]) -> pl.Schema:
    """Return the Polars schema of `columns`."""
    return pl.Schema({column.name: column.dtype for column in columns})


def empty(columns: tuple[Column, ...]) -> pl.DataFrame:
    """Return a frame without rows that has exactly `columns`."""
    return pl.DataFrame(schema=polars_schema(columns))
