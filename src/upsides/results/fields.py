"""The fields that a shape may fill, what kind of value each is, and what is possible for it.

Limits are wide: they catch a wrong unit, a code for "not recorded" or a slip, not a rare value. Where a limit
rests on a published figure it is named; the rest is common practice, no source.
"""

from dataclasses import dataclass

from upsides.results.schema import OUTCOMES
from upsides.trade.sex import Born

KINDS = ("text", "words", "number", "integer", "flag", "date", "instant", "numbers", "integers")


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a race or a run that a shape can fill.

    Args:
        name: its name in a shape; the schema's own name where the schema has it.
        kind: one of KINDS; `words` is a closed vocabulary, `numbers` and `integers` are lists.
        unit: the unit the schema keeps it in, "" for none.
        low: smallest possible value, None for no limit.
        high: largest possible value, None for no limit.
        vocabulary: the words allowed when `kind` is `words`.
    """

    name: str
    kind: str = "text"
    unit: str = ""
    low: float | None = None
    high: float | None = None
    vocabulary: tuple[str, ...] = ()


CODES = ("flat", "hurdle", "chase", "bumper", "harness", "other")
SURFACES = ("turf", "dirt", "synthetic")
BENDS = ("straight", "left", "right")
SEXES = ("colt", "filly", "horse", "mare", "gelding", "ridgling")

RACE_FIELDS: dict[str, Field] = {
    field.name: field
    for field in (
        Field("race_id"),
        Field("date", "date"),
        Field("off_at", "instant"),
        Field("course"),
        Field("country"),
        Field("race_no", "integer", "", 1, 40),
        Field("title"),
        Field("code", "words", vocabulary=CODES),
        Field("surface", "words", vocabulary=SURFACES),
        Field("distance_m", "number", "m", 200, 12_000),
        Field("going"),
        Field("rail"),
        Field("bend", "words", vocabulary=BENDS),
        Field("race_class"),
        Field("rating_low", "number", "", 0, 200),
        Field("rating_high", "number", "", 0, 200),
        Field("ages"),
        Field("prize", "number", "currency", 0, 1e9),
        Field("currency"),
        Field("winning_time_s", "number", "s", 8, 3600),
        Field("section_m", "numbers", "m", 50, 5000),
        Field("section_s", "numbers", "s", 2, 900),
        Field("runners", "integer", "", 0, 60),
    )
}
RUN_FIELDS: dict[str, Field] = {
    field.name: field
    for field in (
        Field("race_id"),
        Field("horse_id"),
        Field("horse_name"),
        Field("suffix"),
        Field("foaled", "integer", "", 1680, 2100),
        Field("sire"),
        Field("dam"),
        Field("age", "integer", "", 1, 30),
        Field("sex", "words", vocabulary=SEXES),
        Field("saddlecloth", "integer", "", 1, 99),
        Field("outcome", "words", vocabulary=OUTCOMES),
        Field("position", "integer", "", 1, 60),
        Field("dead_heat", "flag"),
        Field("draw", "integer", "", 1, 50),
        Field("started_from", "integer", "", 1, 60),
        Field("carried_lb", "number", "lb", 60, 250),
        Field("claim_lb", "number", "lb", 0, 15),
        Field("body_mass_kg", "number", "kg", 150, 900),
        # Margins are stated up to 200 lengths (racing-standards, source S34); one who passed the post first
        # and was put back has a negative one.
        Field("beaten_lengths", "number", "lengths", -50, 250),
        Field("margin"),
        Field("time_s", "number", "s", 8, 3600),
        Field("section_s", "numbers", "s", 2, 900),
        Field("section_position", "integers", "", 1, 60),
        Field("section_behind", "numbers", "lengths", 0, 250),
        Field("gear"),
        Field("jockey"),
        Field("trainer"),
        Field("official_rating", "number", "", -20, 200),
        Field("odds", "number", "", 1, 10_000),
    )
}

LOT_FIELDS: dict[str, Field] = {
    field.name: field
    for field in (
        Field("sale"),
        Field("day", "date"),
        Field("year", "integer", "", 1900, 2100),
        Field("number"),
        Field("name"),
        Field("sex", "words", vocabulary=SEXES),
        Field("foaled", "integer", "", 1900, 2100),
        # At the sale: a list of foals, yearlings or two-year-olds says it by its title.
        Field("age", "integer", "", 0, 30),
        Field("colour"),
        Field("sire"),
        Field("dam"),
        Field("dam_sire"),
        Field("price", "number", "", 0, 1_000_000_000),
        Field("currency"),
    )
}
"""Fields of a lot in the list of a sale. Who sells and who buys has no field: that is personal."""

PROGRAMME_FIELDS: dict[str, Field] = {
    field.name: field
    for field in (
        Field("race_id"),
        Field("day", "date"),
        Field("moved_from", "date"),
        Field("course"),
        Field("zone"),
        Field("jurisdiction"),
        Field("number"),
        Field("title"),
        Field("code", "words", vocabulary=CODES),
        Field("surface", "words", vocabulary=SURFACES),
        Field("distance_m", "number", "m", 200, 12_000),
        Field("going"),
        Field("race_class"),
        Field("ages"),
        Field("sexes"),
        Field("rating_low", "number", "", 0, 200),
        Field("rating_high", "number", "", 0, 200),
        Field("above_band", "number", "", 0, 20),
        Field("top_weight_lb", "number", "lb", 60, 250),
        Field("least_weight_lb", "number", "lb", 60, 250),
        Field("conditions"),
        Field("penalties"),
        Field("allowances"),
        Field("prize", "number", "currency", 0, 1e9),
        Field("prizes", "numbers", "currency", 0, 1e9),
        Field("currency"),
        Field("off_at", "instant"),
        Field("enter_by", "instant"),
        Field("confirm_by", "instant"),
        Field("supplement_by", "instant"),
        Field("declare_by", "instant"),
        Field("withdraw_by", "instant"),
        Field("enter_fee", "number", "currency", 0, 1e7),
        Field("confirm_fee", "number", "currency", 0, 1e7),
        Field("supplement_fee", "number", "currency", 0, 1e7),
        Field("declare_fee", "number", "currency", 0, 1e7),
        Field("withdraw_fee", "number", "currency", 0, 1e7),
        Field("most_runners", "integer", "", 1, 60),
        Field("reserves", "flag"),
        Field("stall_side"),
        Field("bend", "words", vocabulary=BENDS),
        Field("to_bend_m", "number", "m", 0, 3000),
        Field("rail"),
    )
}
"""Fields of a race to come. Moments are local to the course unless they say their offset; `moved_from` is the day on
which it was to be run before.
"""

HORSE_FIELDS: dict[str, Field] = {
    field.name: field
    for field in (
        Field("horse_id"),
        Field("horse_name"),
        Field("suffix"),
        Field("foaled", "integer", "", 1680, 2100),
        Field("sex", "words", vocabulary=tuple(Born)),
        Field("sire"),
        Field("dam"),
        Field("dam_sire"),
    )
}
"""Fields of a horse in a table of horses. What a register writes over as time goes on (a rating, winnings, an age,
whether a horse was gelded) has no field: it would look ahead.
"""

UNITS: dict[str, dict[str, float]] = {
    "m": {"m": 1.0, "km": 1000.0, "yd": 0.9144, "f": 201.168, "mi": 1609.344},
    "lb": {"lb": 1.0, "kg": 1 / 0.45359237, "st": 14.0},
    "kg": {"kg": 1.0, "lb": 0.45359237},
    "s": {"s": 1.0, "ms": 0.001, "min": 60.0},
    "lengths": {"lengths": 1.0},
}
"""Factors from a unit a shape may name to the schema's unit; exact by definition of yard and pound."""

WRITTEN = ("m", "lb", "lengths")
"""Schema units for which `unit = "written"` reads the trade's own notation."""
SERIAL = "serial"
"""The format of dates that are bare numbers of days, as spreadsheets count them (their 1900 system)."""
TIME_STYLE = r"(m+[^msctf]+)?(s+)(?:([^msctf]+)([ct]+|f))?"
"""A style of writing times, such as m.ss.cc: minutes and their sign, seconds, their sign and decimals."""
