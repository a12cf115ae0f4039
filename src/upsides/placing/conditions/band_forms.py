"""How wordings say which marks a race takes."""

from dataclasses import replace
from typing import Final

from upsides.placing.conditions.cursor import Cursor, compiled
from upsides.placing.conditions.record_forms import NEGATED, OPENING, WHICH
from upsides.placing.conditions.who import Benchmark, Condition, Rated

BAND: Final = r"(?P<low>0|[2-9]\d|1[0-4]\d)\s?[-–]\s?(?P<high>0|[2-9]\d|1[0-4]\d)\b(?![-–/.:,]\d)"
BEFORE_BAND: Final = r"(?:\(\s*(?:\d(?:-\d)?\s?y\.?o\.?\+?[,\s]*)?|(?:class\s*[1-7]|handicap|nursery)[\s,)]*)$"
"""What stands before a bare band: without it, or a nought, two numbers may be anything."""
NARROWEST: Final = 5
OFFICIAL: Final = r"(?:(?:official|handicap|current) )*"


def bare_band(cursor: Cursor) -> Condition | None:
    """Read: (0-85, 3yo+); Class 5 (46-60); Class 4 (60-40); 66-80 Handicap; beside its class, or from nought."""
    before = cursor.text[max(0, cursor.at - 40) : cursor.at]
    match = cursor.take(BAND)
    if match is None or not cursor.sees(r"[.;:()]|,|$|handicap\b|for\b"):
        return None
    found = _between(float(match["low"]), float(match["high"]), least=NARROWEST)
    known = match["low"] == "0" or compiled(BEFORE_BAND).search(before) or cursor.sees(r"handicap\b")
    return found if known else None


def _between(one: float, other: float, *, least: float = 0.0) -> Rated | None:
    """Return a band, its top first where it is written so (Hong Kong's 60-40); None where it is no band."""
    low, high = min(one, other), max(one, other)
    if high - low < (least if one <= other else max(least, NARROWEST)):
        return None
    return Rated(low or None, high)


def rated(cursor: Cursor) -> Condition | None:
    """Read: rated 0-85; rated 66 to 80 (also open to such horses rated 81 and 82); rated 75 and below."""
    cursor.take(OPENING)
    if not cursor.take(
        rf"\(?(?:horses? )?{WHICH}(?:have been allotted |are )?(?:with )?(?:an? )?(?:whose )?"
        rf"(?:rated|{OFFICIAL}ratings?(?: band)?|bhm|band)\s*(?:of |is |are |in the range )*:?"
    ):
        return None
    found = _band(cursor)
    if found is None:
        return None
    if cursor.take(NEGATED):
        return _kept_out(found)
    cursor.take(r"only\b")
    return _also_open(cursor, found)


def _band(cursor: Cursor) -> Rated | None:
    """Read the numbers: 66 to 80; between 56 and 70; 75 and below; no higher than 85; 86 and above."""
    if match := cursor.take(
        r"(?P<low>\d{1,3})\s*(?:-|–|to)\s*(?P<high>\d{1,3})\b\)?(?: inclusive\b)?"
        r"|between (?P<from>\d{1,3}) and (?P<to>\d{1,3})\b(?: inclusive\b)?"
    ):
        return _between(float(match["low"] or match["from"]), float(match["high"] or match["to"]))
    if match := cursor.take(
        r"(?:up to )?(?P<high>\d{1,3})\s*(?:and|or) (?:below|less|lower|under)\b|(?:up to"
        r"|(?:not|no) (?:above|exceeding|more than|higher than|greater than)|(?:does|do) not exceed) "
        r"(?P<most>\d{1,3})\b"
    ):
        return Rated(None, float(match["high"] or match["most"]))
    if match := cursor.take(
        r"(?P<low>\d{1,3})\s*(?:\+|(?:and|or) (?:above|higher|over|more|upwards?)\b)"
        r"|(?:not|no) (?:less|lower) than (?P<least>\d{1,3})\b|at least (?P<from>\d{1,3})\b"
    ):
        return Rated(float(match["low"] or match["least"] or match["from"]))
    if match := cursor.take(r"(?:above|over|higher than|more than|in excess of|exceeding) (?P<over>\d{1,3})\b"):
        return Rated(float(match["over"]) + 1.0)
    match = cursor.take(r"(?:below|under|less than|lower than) (?P<under>\d{1,3})\b")
    return Rated(None, float(match["under"]) - 1.0) if match else None


def _kept_out(found: Rated) -> Rated | None:
    """Return the marks that are left where some are kept out: horses rated above 85 are ineligible."""
    if found.low is None and found.high is not None:
        return Rated(found.high + 1.0)
    return Rated(None, found.low - 1.0) if found.high is None and found.low is not None else None


def _also_open(cursor: Cursor, found: Rated) -> Rated:
    """Read what is added about horses just above and below the band."""
    above = cursor.take(r"\(?also open to (?:such )?horses rated (?P<one>\d{1,3})(?: (?:and|or) (?P<two>\d{1,3}))?")
    if above and found.high is not None:
        top = float(above["two"] or above["one"])
        found = replace(found, above=max(0.0, top - found.high))
    if cursor.take(r"[;.]?\s*(?:such )?horses rated \d{1,3} (?:and|or) (?:below|lower) are also eligible\b"):
        found = replace(found, below=True)
    if above:
        cursor.take(r"[-–]?\s*see standard conditions\b")
        cursor.take(r"\)")
    return found


def benchmark(cursor: Cursor) -> Condition | None:
    """Read: Benchmark 64; BM78; Rating 65 handicap."""
    match = cursor.take(r"(?:(?:benchmark|bm)\s?|rating (?=\d{2,3} (?:benchmark|handicap)\b))(?P<mark>\d{2,3})\b")
    if match is None:
        return None
    cursor.take(r"benchmark\b")
    return Benchmark(float(match["mark"]))
