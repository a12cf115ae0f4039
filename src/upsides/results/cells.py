"""Cells of text turned into values of the schema, column by column, by the rules of a shape.

Everything arrives as text. A cell is *missing* (one of the shape's words for "not recorded"), *good*, or
*bad*; bad cells come back with a reason and are never guessed at.
"""

import html
import re
from dataclasses import dataclass
from datetime import date

import polars as pl

from upsides.errors.wording import gettext as _
from upsides.results.description import Rule, Shape
from upsides.results.fields import SERIAL, TIME_STYLE, UNITS
from upsides.results.notation import written

FORMULA = r"^\s*(?:=|[@+\-]\s*[A-Za-z][A-Za-z0-9.]*\(|[@+\-]\s*\$?[A-Za-z]{1,3}\$?\d{1,7}\s*[-+*/^&:])"
"""Whatever begins with the sign of equality, and what a spreadsheet takes without it: a call, or cells joined."""
LEVEL = r"^=\s*\d+$"
"""A place shared, as some print it (=2): no formula where the rule itself speaks of the sign."""
POSSESSIVE = r"(\p{L}['’])S\b"
"""What capitals at the beginning of words make of a possessive s."""
ISO_DATES = ("%Y-%m-%d", "%Y/%m/%d")
WITH_OFFSET = r"^(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d:\d\d)(?:\.\d+)?(Z|[+\-]\d\d:?\d\d)$"
SERIAL_1970 = 25_569
"""The spreadsheet day of 1 January 1970, from which dates are counted inside."""
SERIAL_FROM, SERIAL_TO = 61, 73_050
"""Spreadsheet days that are dates beyond doubt: from 1 March 1900 (the system has a 29 February 1900) to 2099."""
ZERO_DATES = (date(1899, 12, 30), date(1899, 12, 31), date(1900, 1, 1), date(1970, 1, 1))
"""What spreadsheets and programs write for an empty date (their day nought): never a racing date here."""

NOT_NUMBER = _("not a number")
NOT_WHOLE = _("not a whole number")
NOT_DATE = _("not a date")
NO_FORMAT = _("not a date written year first; name its format in the shape")
NOT_WORD = _("not one of the words this field may hold")
IMPOSSIBLE = _("outside what is possible")
NOT_READ = _("cannot be read")
A_FORMULA = _("a spreadsheet formula, not a value")
NO_DATE = _("an empty date (day nought), or before the shape's earliest")


@dataclass(frozen=True, slots=True)
class Cells:
    """The cells of one field over a batch of rows.

    Args:
        value: the values in the schema's type, null where missing or bad.
        text: what stood there.
        reason: why a cell is bad; null where it is not.
    """

    value: pl.Series
    text: pl.Series
    reason: pl.Series


def read(rule: Rule, raw: pl.DataFrame, shape: Shape) -> Cells:
    """Read one field from a batch of rows of text."""
    if rule.field.kind in ("numbers", "integers"):
        return _read_list(rule, raw, shape)
    text = _text(rule, raw)
    original = text
    text = _coded(rule, text)
    text = _without_missing(rule, text, shape)
    formula, told = _formulas(rule, raw, text)
    if formula.any():
        text = text.set(formula, None)
        original = pl.select(pl.when(formula).then(told).otherwise(original)).to_series()
    value, reason = _convert(rule, text, shape)
    return Cells(value.alias(rule.field.name), original, _first(_flag(formula, A_FORMULA), reason))


def _formulas(rule: Rule, raw: pl.DataFrame, text: pl.Series) -> tuple[pl.Series, pl.Series]:
    """Say where a cell the rule reads is a formula, whatever pattern or code it then meets, and quote it."""
    formula = text.str.contains(FORMULA).fill_null(False)
    told = text
    signs = any("=" in said for said in (rule.pattern, *rule.codes, *(case.matches for case in rule.when)))
    for name in dict.fromkeys((*rule.columns, *(case.column for case in rule.when if case.column))):
        cell = _column(raw, name)
        found = cell.str.contains(FORMULA).fill_null(False)
        if signs and found.any():
            found &= ~cell.str.contains(LEVEL).fill_null(False)
        if found.any():
            formula |= found
            told = pl.select(pl.when(found).then(cell).otherwise(told)).to_series()
    return formula, told


def _flag(mask: pl.Series, reason: str) -> pl.Series:
    """Return a series that holds `reason` where `mask` is true and null elsewhere."""
    if not mask.any():
        return pl.Series("reason", [None], dtype=pl.String).new_from_index(0, len(mask))
    return pl.select(pl.when(mask).then(pl.lit(reason)).otherwise(None)).to_series()


def _first(one: pl.Series, other: pl.Series) -> pl.Series:
    return pl.select(pl.coalesce(one, other)).to_series()


def _column(raw: pl.DataFrame, name: str) -> pl.Series:
    if name in raw.columns:
        return raw[name].str.strip_chars()
    return pl.Series(name, [None], dtype=pl.String).new_from_index(0, raw.height)


def _text(rule: Rule, raw: pl.DataFrame) -> pl.Series:
    """Return the text of a field: a constant, a column, several joined, or the first case that matches."""
    if rule.value is not None:
        base = pl.Series([rule.value]).new_from_index(0, raw.height)
    elif len(rule.columns) > 1:
        parts = [_column(raw, name).alias(str(i)) for i, name in enumerate(rule.columns)]
        base = pl.select(pl.concat_str(parts, separator=rule.join, ignore_nulls=False)).to_series()
    elif rule.columns:
        base = _column(raw, rule.columns[0])
    else:
        base = pl.Series([None], dtype=pl.String).new_from_index(0, raw.height)
    own = base
    for case in reversed(rule.when):
        base = _case(case.matches, case.value, _column(raw, case.column) if case.column else own, base)
    if rule.html:
        base = base.map_elements(html.unescape, return_dtype=pl.String, skip_nulls=True)
    if rule.pattern:
        base = base.str.extract(rule.pattern, 1)
    return _cased(base, rule.case).alias(rule.field.name)


def _case(matches: str, value: str, tested: pl.Series, otherwise: pl.Series) -> pl.Series:
    """Put `value` where `tested` matches; an empty pattern matches every row that nothing before it took."""
    mask = tested.str.contains(matches).fill_null(False) if matches else tested.is_null() | tested.is_not_null()
    return pl.select(pl.when(mask).then(pl.lit(value)).otherwise(otherwise)).to_series()


def _cased(text: pl.Series, case: str) -> pl.Series:
    if case == "lower":
        return text.str.to_lowercase()
    if case == "upper":
        return text.str.to_uppercase()
    return text.str.to_titlecase().str.replace_all(POSSESSIVE, "${1}s") if case == "title" else text


def _coded(rule: Rule, text: pl.Series) -> pl.Series:
    """Replace codes by the words they stand for; what is no code is treated as the rule says."""
    if not rule.codes:
        return text
    default = text if rule.other in ("keep", "report") else None
    whole = text.str.replace(r"^(-?\d+)\.0+$", "$1") if any(_is_number(code) for code in rule.codes) else text
    return whole.replace_strict(dict(rule.codes), default=default, return_dtype=pl.String)


def _is_number(text: str) -> bool:
    return re.fullmatch(r"-?\d+", text) is not None


def _without_missing(rule: Rule, text: pl.Series, shape: Shape) -> pl.Series:
    """Empty the cells that hold one of the words for "not recorded"."""
    words = [*shape.missing, *rule.missing]
    found = text.is_in(words)
    numbers = [float(word) for word in rule.missing if re.fullmatch(r"-?\d+(\.\d+)?", word)]
    if numbers:
        found |= text.cast(pl.Float64, strict=False).is_in(numbers).fill_null(False)
    return text.set(found.fill_null(False), None) if found.any() else text


def _convert(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:
    readers = {"number": _number, "integer": _integer, "date": _date, "instant": _instant, "words": _words}
    return readers.get(rule.field.kind, _plain_text)(rule, text, shape)


def _none(text: pl.Series) -> pl.Series:
    return pl.repeat(False, len(text), eager=True)


def _plain_text(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:  # noqa: ARG001  # one form for all kinds
    if rule.field.kind == "flag":
        text = text.str.to_lowercase().is_in(["1", "1.0", "true", "yes", "y", "dh"])
    return text, _flag(_none(text), "")


def _words(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:  # noqa: ARG001  # one form for all kinds
    known = text.is_in(list(rule.field.vocabulary)).fill_null(False)
    bad = text.is_not_null() & ~known if rule.other == "report" else _none(text)
    return text.set(~known, None), _flag(bad, NOT_WORD)


def _number(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:
    """Read numbers in the rule's unit or notation, in the schema's unit."""
    if rule.formats:
        value = timed(text, rule.formats)
    elif rule.unit == "written":
        value, unreadable = written(rule.field.unit, text, shape.margins)
        reason = _first(_flag(unreadable, NOT_READ), _flag(_outside(rule, value), IMPOSSIBLE))
        return _kept(value, reason), reason
    else:
        value = _plain(text, shape)
        factor = UNITS.get(rule.field.unit, {}).get(rule.unit, 1.0)
        value = value * factor if factor != 1.0 else value
    reason = _first(
        _flag(text.is_not_null() & value.is_null(), NOT_NUMBER),
        _flag(_outside(rule, value), IMPOSSIBLE),
    )
    return _kept(value, reason), reason


def _plain(text: pl.Series, shape: Shape) -> pl.Series:
    if shape.decimal == ",":
        text = text.str.replace_all(".", "", literal=True).str.replace(",", ".", literal=True)
    value = text.cast(pl.Float64, strict=False)
    odd = ~value.is_finite().fill_null(True)
    return value.set(odd, None) if odd.any() else value


def _outside(rule: Rule, value: pl.Series) -> pl.Series:
    low = value < rule.lowest if rule.lowest is not None else pl.repeat(False, len(value), eager=True)
    high = value > rule.highest if rule.highest is not None else pl.repeat(False, len(value), eager=True)
    return (low | high).fill_null(False)


def _kept(value: pl.Series, reason: pl.Series) -> pl.Series:
    bad = reason.is_not_null()
    return value.set(bad, None) if bad.any() else value


def _integer(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:
    number, reason = _number(rule, text, shape)
    broken = (number != number.round(0)).fill_null(False)
    reason = _first(reason, _flag(broken, NOT_WHOLE))
    return _kept(number, reason).cast(pl.Int64), reason


def _date(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:
    """Read racing dates; a format with a time of day and a zone gives the date at the course."""
    tries = [_day(text, style, shape) for style in rule.formats or ISO_DATES]
    value = pl.select(pl.coalesce(tries)).to_series()
    if value.null_count() > text.null_count():
        value = value.fill_null(_day_of_offset(text, shape))
    empty = (value.is_in(list(ZERO_DATES)) | (value < shape.earliest)).fill_null(False)
    reason = _first(
        _first(
            _flag(text.is_not_null() & value.is_null(), NOT_DATE if rule.formats else NO_FORMAT),
            _flag(empty, NO_DATE),
        ),
        _flag((value.dt.year() > 2100).fill_null(False), IMPOSSIBLE),
    )
    return _kept(value, reason), reason


def _day(text: pl.Series, style: str, shape: Shape) -> pl.Series:
    if style == SERIAL:
        number = _plain(text, shape).floor()
        days = number.set(~number.is_between(SERIAL_FROM, SERIAL_TO).fill_null(False), None).cast(pl.Int32)
        return (days - SERIAL_1970).cast(pl.Date)
    if "%H" in style or "%I" in style:
        return _moment(text, style, shape).dt.convert_time_zone(shape.timezone).dt.date()
    return text.str.to_date(style, strict=False)


def _day_of_offset(text: pl.Series, shape: Shape) -> pl.Series:
    """Return the date at the course of instants that say their offset from UTC; null for everything else."""
    return _offset_moment(text).dt.convert_time_zone(shape.timezone).dt.date()


def _offset_moment(text: pl.Series) -> pl.Series:
    parts = text.str.extract_groups(WITH_OFFSET).struct.unnest()
    zone = parts["3"].replace("Z", "+0000").str.replace(":", "", literal=True)
    plain = pl.select(pl.concat_str(parts["1"], parts["2"], zone, separator=" ")).to_series()
    return plain.str.to_datetime("%Y-%m-%d %H:%M:%S %z", time_unit="us", time_zone="UTC", strict=False)


def _moment(text: pl.Series, style: str, shape: Shape) -> pl.Series:
    if style.endswith("Z") or "%z" in style:
        return text.str.to_datetime(style, time_unit="us", time_zone="UTC", strict=False)
    local = text.str.to_datetime(style, time_unit="us", strict=False)
    zoned = local.dt.replace_time_zone(shape.timezone, ambiguous="earliest", non_existent="null")
    return zoned.dt.convert_time_zone("UTC")


def _instant(rule: Rule, text: pl.Series, shape: Shape) -> tuple[pl.Series, pl.Series]:
    """Read instants; those written without a zone are the shape's local time."""
    styles = rule.formats or ("%Y-%m-%dT%H:%M:%SZ", "%Y-%m-%dT%H:%M:%S%z")
    value = pl.select(pl.coalesce([_moment(text, style, shape) for style in styles])).to_series()
    if value.null_count() > text.null_count():
        value = value.fill_null(_offset_moment(text))
    return value, _flag(text.is_not_null() & value.is_null(), NOT_DATE)


def timed(text: pl.Series, styles: tuple[str, ...]) -> pl.Series:
    """Read times in seconds written in any of `styles`, such as `m.ss.cc`, `m:ss.t`, `ss.cc` or `m:ss f`.

    In a style, m is minutes, s seconds, c decimals of a second, f fifths; everything else stands for itself.
    The part before the seconds may be absent.
    """
    tries = [_timed(text, style) for style in styles]
    return pl.select(pl.coalesce(tries)).to_series()


def _timed(text: pl.Series, style: str) -> pl.Series:
    parts = re.fullmatch(TIME_STYLE, style)
    if parts is None:
        return pl.Series([None], dtype=pl.Float64).new_from_index(0, len(text))
    sign = (parts[1] or "").lstrip("m")
    # Where one sign parts both, 59.30 is 59.3 seconds and never 59 minutes: the decimals must then be there.
    may = "" if sign and sign == parts[3] else "?"
    minutes = rf"(?:(?P<m>\d+){re.escape(sign)})?" if sign else "(?P<m>)"
    decimals = rf"(?:{re.escape(parts[3])}(?P<c>\d+)){may}" if parts[3] else "(?P<c>)"
    found = text.str.extract_groups(rf"^{minutes}(?P<s>\d{{1,3}}){decimals}$").struct.unnest()
    whole = found["m"].cast(pl.Float64, strict=False)
    seconds = found["s"].cast(pl.Float64, strict=False)
    over = (whole.is_not_null() & (seconds >= 60)).fill_null(False)
    digits = found["c"].cast(pl.Float64, strict=False).fill_null(0.0)
    scale = pl.select(pl.lit(10.0).pow(found["c"].str.len_chars().fill_null(0).cast(pl.Float64))).to_series()
    value = whole.fill_null(0.0) * 60 + seconds + (digits / 5 if parts[4] == "f" else digits / scale)
    return value.round(4).set(over, None)


def _read_list(rule: Rule, raw: pl.DataFrame, shape: Shape) -> Cells:
    """Read a list from numbered columns, or from one column split at the rule's sign."""
    if len(rule.columns) > 1:
        columns = [_column(raw, name) for name in rule.columns]
    else:
        text = _text(rule, raw)
        pieces = text.str.split(rule.split)
        width = max(pieces.list.len().drop_nulls().to_list(), default=1)
        columns = [pieces.list.get(i, null_on_oob=True).str.strip_chars() for i in range(width)]
    values, reason = [], _flag(pl.repeat(False, raw.height, eager=True), "")
    convert = _integer if rule.field.kind == "integers" else _number
    for i, column in enumerate(columns):
        text = _without_missing(rule, column, shape)
        formula = text.str.contains(FORMULA).fill_null(False)
        value, wrong = convert(rule, text, shape)
        values.append(value.alias(str(i)))
        reason = _first(_first(_flag(formula, A_FORMULA), reason), wrong)
    whole = pl.select(pl.concat_str(columns, separator=" ", ignore_nulls=True)).to_series()
    return Cells(pl.select(pl.concat_list(values)).to_series().alias(rule.field.name), whole, reason)
