"""A first shape for a programme whose columns nobody described: fields by their headings, days and times by samples."""

import json
import re
import tomllib
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import Final

import polars as pl

from upsides.results.fields import PROGRAMME_FIELDS
from upsides.results.readers import open_source, read_batches

_DAYS: Final = ("%Y-%m-%d", "%d/%m/%Y", "%d.%m.%Y", "%d %B %Y", "%d %b %Y", "%d-%m-%Y", "%Y%m%d")
_TIMES: Final = ("%H:%M", "%H.%M", "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%d/%m/%Y %H:%M", "%d.%m.%Y %H:%M",
                 "%d %B %Y %H:%M", "%d %b %Y %H:%M", "%H:%M:%S", "%Y-%m-%d %H:%M:%S")  # fmt: skip
_WORDS: Final = Path(__file__).with_name("programme_headings.toml")
_PLACES: Final = "places"
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


@lru_cache(maxsize=1)
def _headings() -> Mapping[str, str]:
    """Return the fields by the headings of all languages as they are compared; a word counts for the first of them."""
    told = tomllib.loads(_WORDS.read_text("utf-8"))
    found: dict[str, str] = {}
    for language, fields in told.items():
        if language != _PLACES:
            for field, words in fields.items():
                for word in words:
                    found.setdefault(_compared(word), field)
    return found


@lru_cache(maxsize=1)
def _place_pattern() -> re.Pattern[str]:
    told = tomllib.loads(_WORDS.read_text("utf-8"))[_PLACES]
    marks, prizes = (
        "|".join(map(re.escape, sorted(told[name], key=len, reverse=True))) for name in ("marks", "prizes")
    )
    return re.compile(rf"^(\d{{1,2}}) ?(?:{marks})(?: (?:{prizes}))?$")


def place_of(heading: str) -> int | None:
    """Return of which place a column holds the prize, by its heading in any of the languages; None for none."""
    found = _place_pattern().match(_bare(heading))
    return int(found[1]) if found else None


def field_of(heading: str) -> str | None:
    """Return which field a column most likely is, by its heading in any of the languages; None where nobody knows."""
    own = _compared(heading).replace(" ", "_")
    return own if own in PROGRAMME_FIELDS else _headings().get(_compared(heading))


def _bare(text: str) -> str:
    """Return a heading in small letters without accents, blanks evened."""
    letters = unicodedata.normalize("NFKD", text.casefold().replace("_", " "))
    return " ".join("".join(one for one in letters if not unicodedata.combining(one)).split())


def _compared(text: str) -> str:
    """Return a heading as it is compared: bare, and without punctuation."""
    return " ".join(re.sub(r"[^\w\s]", " ", _bare(text)).split())


def _fields(columns: Sequence[str], rows: pl.DataFrame) -> tuple[dict[str, str], list[str], list[str]]:
    """Return the rule of each field, the columns of prizes by place, and the columns that tell the table."""
    fields: dict[str, str] = {}
    prizes: dict[int, str] = {}
    has: list[str] = []
    for column in columns:
        if (place := place_of(column)) is not None:
            prizes[place] = column
            continue
        name = field_of(column)
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
        known = next((one for one in (_DAYS if kind == "date" else _TIMES) if _fits(one, _plausible(one, samples))), "")
        return {name: f'{{ from = {quoted}, format = "{known}" }}' if known else quoted}
    return {name: quoted}


def _plausible(pattern: str, samples: Sequence[str]) -> Sequence[str]:
    """Return the samples, for a bare time without up to one in five that may be slips."""
    if "%d" in pattern:
        return samples
    good = [text for text in samples if _fits(pattern, [text])]
    return good if len(samples) - len(good) <= len(samples) // 5 else samples


def _numbers(samples: Sequence[str]) -> bool:
    return bool(samples) and all(re.fullmatch(r"\d{3,5}", text) for text in samples)


def _fits(pattern: str, samples: Sequence[str]) -> bool:
    try:
        return bool(samples) and all(datetime.strptime(text, pattern) for text in samples)  # noqa: DTZ007 -- only looked at
    except ValueError:
        return False
