"""Reading rules from TOML; shipped files and a yard's own have one layout, and are taken whole or not."""

import tomllib
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from functools import lru_cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from upsides.errors import RuleFileError
from upsides.errors.wording import gettext as _
from upsides.rules.describe import describe
from upsides.rules.describe_books import PUBLISHED
from upsides.rules.jurisdictions import named
from upsides.rules.rule import CONFIDENCES, SHIPPED, Entry, Rule

HEAD: Final = ("topic", "name", "jurisdiction", "valid_from", "valid_to", "source", "confidence", "note")

NEEDED: Final[Mapping[str, tuple[str, ...]]] = {
    "weight for age": ("shape", "form", "unit"),
    "southern-bred reduction": ("shape", "form", "unit"),
    "margins": ("lengths",),
    "lengths per second": ("code", "surfaces", "judged_by", "values"),
    "pounds per length": ("scale", "code", "unit"),
    "sex allowance": ("unit", "values"),
    "apprentice claim": ("unit", "steps"),
    "weights": ("kind", "unit", "value"),
    "official birthday": ("month", "day"),
    "rating bands": ("race_class", "bands"),
    "rise after a placing": ("unit", "limits"),
    "pattern average": ("race_class", "unit", "value"),
    "stall numbering": ("left_handed", "right_handed"),
    "age curve": ("unit", "peak_age", "young_age", "old_span", "route_from_yards", "rise", "fall"),
    "trip": ("kind", "unit", "value"),
    "feeding": ("kind", "of", "unit", "value"),
    "vaccination": ("kind", "disease"),
    "stand-down": ("treatment", "applies_to", "count", "unit", "counting", "says"),
    **dict.fromkeys(PUBLISHED, ("substance", "hours", "edition")),
    "medicine register": ("kind", "event", "fields", "keep_months"),
    "working time": ("of", "kind", "value", "unit"),
    "looking first": ("kind", "unit", "value"),
    "vital signs": ("kind", "low", "high", "unit"),
    "declared facts": ("what", "by"),
    "band entry": ("above", "below"),
    "runs for a mark": ("runs",),
    "elimination": ("races", "by", "ties"),
    "race stage": ("code", "stage", "days_before", "at"),
    "prize shares": ("value", "unit"),
    "black type": ("value", "unit"),
    "driving hours": ("kind", "value", "unit"),
    "heat": ("reading", "value", "unit", "says"),
}
"""The topics, and the fields that a rule of each must have besides its head."""


def entries_of(table: Mapping[str, Any], file: object, origin: str) -> Iterator[Entry]:
    """Yield the rules of one parsed TOML table, one entry a jurisdiction.

    Raises:
        RuleFileError: a rule lacks a field or has one that cannot be meant.
    """
    listed = table.get("rule")
    if not isinstance(listed, list) or not listed:
        raise RuleFileError(file, "[[rule]]", _("there is none; begin each rule with a line [[rule]]"))
    for number, raw in enumerate(listed, 1):
        row = {"topic": table.get("topic")} | raw
        where = _("rule {number} ({name})", number=number, name=row.get("name", "without a name"))
        yield from _entries(row, file, where, origin)


def _entries(row: Mapping[str, Any], file: object, where: str, origin: str) -> Iterator[Entry]:
    _check(row, file, where)
    body = {key: value for key, value in row.items() if key not in HEAD}
    places = row["jurisdiction"]
    for place in [places] if isinstance(places, str) else places:
        rule = Rule(
            row["topic"],
            row["name"],
            named(place),
            row.get("valid_from"),
            row.get("valid_to"),
            row["source"],
            row["confidence"],
            row.get("note", ""),
            origin,
        )
        yield _usable(Entry(rule, body), file, where)


def _usable(entry: Entry, file: object, where: str) -> Entry:
    try:
        describe(entry)
    except (LookupError, TypeError, ValueError, AttributeError, StopIteration) as error:
        reason = _("its figures cannot be used ({kind}: {error})", kind=type(error).__name__, error=error)
        raise RuleFileError(file, where, _("{reason}; lay them out like the shipped rules", reason=reason)) from error
    return entry


def _check(row: Mapping[str, Any], file: object, where: str) -> None:
    if row.get("topic") not in NEEDED:
        raise RuleFileError(
            file, where, _("topic {topic!r} is none of {needed}", topic=row.get("topic"), needed=", ".join(NEEDED))
        )
    needed = ("name", "jurisdiction", "source", "confidence", *NEEDED[row["topic"]])
    if missing := [key for key in needed if key not in row]:
        raise RuleFileError(file, where, _("add {missing}", missing=", ".join(missing)))
    if row["confidence"] not in CONFIDENCES:
        raise RuleFileError(
            file,
            where,
            _(
                "confidence {found!r} is none of {confidences}",
                found=row["confidence"],
                confidences=", ".join(CONFIDENCES),
            ),
        )
    days = [row.get("valid_from"), row.get("valid_to")]
    if any(day is not None and (not isinstance(day, date) or isinstance(day, datetime)) for day in days):
        raise RuleFileError(file, where, _("valid_from and valid_to are dates without quotes, like 2024-01-01"))
    if days[0] is not None and days[1] is not None and days[1] < days[0]:
        raise RuleFileError(
            file, where, _("valid_to {last} lies before valid_from {first}", last=days[1], first=days[0])
        )


@lru_cache(maxsize=1)
def shipped() -> tuple[Entry, ...]:
    """Return every rule shipped with the package, in the order of the files (by name) and of their lines."""
    found: list[Entry] = []
    for path in sorted(files("upsides.rules").joinpath("data").iterdir(), key=lambda path: path.name):
        if path.name.endswith(".toml") and path.name != "jurisdictions.toml":
            found.extend(entries_of(tomllib.loads(path.read_text(encoding="utf-8")), path.name, SHIPPED))
    return tuple(found)


def read_rules(path: Path) -> tuple[Entry, ...]:
    """Read a yard's own rules from a TOML file laid out like the shipped ones.

    Raises:
        RuleFileError: the file is missing, is not TOML, or one of its rules cannot be used.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise RuleFileError(
            path, _("the file itself"), _("it cannot be opened ({error})", error=error.strerror)
        ) from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise RuleFileError(path, _("the file itself"), _("it is not TOML in UTF-8 ({error})", error=error)) from error
    return tuple(entries_of(table, path, f"yard ({path.name})"))
