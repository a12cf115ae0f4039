"""A first shape for a programme whose columns nobody described: fields by their headings, days and times by samples."""

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

import polars as pl

from upsides.results.fields import PROGRAMME_FIELDS
from upsides.results.readers import open_source, read_batches

HEADINGS: Final[Mapping[str, str]] = {
    "id": "race_id", "race id": "race_id", "race number": "number", "no": "number", "number": "number",
    "date": "day", "day": "day", "moved from": "moved_from", "was": "moved_from", "course": "course",
    "racecourse": "course", "track": "course", "zone": "zone", "time zone": "zone", "title": "title", "race": "title",
    "name": "title", "race name": "title", "code": "code", "surface": "surface", "distance": "distance_m",
    "trip": "distance_m", "going": "going", "class": "race_class", "ages": "ages", "age": "ages", "sex": "sexes",
    "sexes": "sexes", "band": "band", "rating band": "band", "conditions": "conditions", "penalties": "penalties",
    "allowances": "allowances", "prize": "prize", "prize money": "prize", "total prize": "prize",
    "currency": "currency", "cur": "currency", "off": "off_at", "off time": "off_at", "time": "off_at",
    "enter by": "enter_by", "entries close": "enter_by", "enter": "enter_by",
    "confirm by": "confirm_by", "confirm": "confirm_by",
    "supplement by": "supplement_by", "declare by": "declare_by", "declare": "declare_by",
    "declarations close": "declare_by", "entry fee": "enter_fee", "enter fee": "enter_fee",
    "confirm fee": "confirm_fee", "declare fee": "declare_fee", "declaration fee": "declare_fee",
    "supplement fee": "supplement_fee", "maximum runners": "most_runners", "most runners": "most_runners",
    "max": "most_runners", "field": "most_runners", "stalls": "stall_side", "stall side": "stall_side",
    "bend": "bend", "to first bend": "to_bend_m",
}  # fmt: skip
"""Which field a column most likely is, by its heading in small letters."""
_DAYS: Final = ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d %B %Y", "%d %b %Y", "%d-%m-%Y", "%Y%m%d")
_TIMES: Final = ("%H:%M", "%H.%M", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%d/%m/%Y %H:%M", "%d.%m.%Y %H:%M",
                 "%d %B %Y %H:%M", "%d %b %Y %H:%M", "%H:%M:%S", "%Y-%m-%d %H:%M:%S")  # fmt: skip
_PLACE: Final = re.compile(r"^(\d{1,2})(st|nd|rd|th)( prize)?$")
_SAMPLE: Final = 50


@dataclass(frozen=True, slots=True)
class About:
    """What no column may say: where the programme is from, and in which money and zone where it does not say."""

    source: str
    jurisdiction: str
    currency: str = ""
    timezone: str = ""


def draft_programme(file: Path, about: About) -> str:
    """Return a shape for a table of races to come as TOML, to be read and put right.

    Args:
        file: the table.
        about: what no column may say.

    Raises:
        FileUnreadableError: it cannot be read as a table.
    """
    source = open_source(file)
    batch = next(iter(read_batches(source)), None)
    rows = batch.frame.head(_SAMPLE) if batch is not None else pl.DataFrame()
    fields, prizes, has = _fields(source.columns, rows)
    head = [
        "format = 1",
        f"source = {json.dumps(about.source)}",
        f"jurisdiction = {json.dumps(about.jurisdiction)}",
        *([f"currency = {json.dumps(about.currency)}"] if about.currency else []),
        *([f"timezone = {json.dumps(about.timezone)}"] if about.timezone else []),
    ]
    table = ["", "[[table]]", 'name = "programme"', f"has = {json.dumps(has, ensure_ascii=False)}", ""]
    lines = [f"{name} = {rule}" for name, rule in fields.items()]
    if prizes:
        lines.append(f"prizes = {{ from = {json.dumps(prizes, ensure_ascii=False)} }}")
    return "\n".join([*head, *table, "[table.programme]", *lines, ""])


def _fields(columns: Sequence[str], rows: pl.DataFrame) -> tuple[dict[str, str], list[str], list[str]]:
    """Return the rule of each field, the columns of prizes by place, and the columns that tell the table."""
    fields: dict[str, str] = {}
    prizes: dict[int, str] = {}
    has: list[str] = []
    for column in columns:
        heading = " ".join(column.lower().replace("_", " ").split())
        if found := _PLACE.match(heading):
            prizes[int(found[1])] = column
            continue
        name = heading.replace(" ", "_") if heading.replace(" ", "_") in PROGRAMME_FIELDS else HEADINGS.get(heading)
        if name is None or name in fields:
            continue
        fields |= _rules(name, column, _samples(rows, column))
        has.append(column)
    return fields, [prizes[place] for place in sorted(prizes)], has[:4]


def _samples(rows: pl.DataFrame, column: str) -> list[str]:
    return [text.strip() for text in rows[column].drop_nulls() if text.strip()] if column in rows.columns else []


def _rules(name: str, column: str, samples: Sequence[str]) -> dict[str, str]:
    quoted = json.dumps(column, ensure_ascii=False)
    if name == "band":
        return {
            "rating_low": f"{{ from = {quoted}, pattern = '^(\\d+)\\s*-' }}",
            "rating_high": f"{{ from = {quoted}, pattern = '-\\s*(\\d+)' }}",
        }
    if name == "distance_m":
        return {name: f'{{ from = {quoted}, unit = "{"m" if _numbers(samples) else "written"}" }}'}
    kind = PROGRAMME_FIELDS[name].kind
    if kind in {"date", "instant"}:
        known = next((one for one in (_DAYS if kind == "date" else _TIMES) if _fits(one, samples)), "")
        return {name: f'{{ from = {quoted}, format = "{known}" }}' if known else quoted}
    return {name: quoted}


def _numbers(samples: Sequence[str]) -> bool:
    return bool(samples) and all(re.fullmatch(r"\d{3,5}", text) for text in samples)


def _fits(pattern: str, samples: Sequence[str]) -> bool:
    try:
        return bool(samples) and all(datetime.strptime(text, pattern) for text in samples)  # noqa: DTZ007 -- only looked at
    except ValueError:
        return False
