"""A shape: the small TOML file that says which column of a recorder's table holds what, and how it is written."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from upsides.errors import ShapeError
from upsides.errors.wording import gettext as _
from upsides.recordings.formats.csv.units import TIMES, UNITS

FORMAT = 1
DELIMITERS = (",", ";", "\t", "|")
MISSING = ("", "NA", "N/A", "n/a", "NaN", "nan", "null", "None", "-", "--", "---", "?")


@dataclass(frozen=True, slots=True)
class Column:
    """Where a field stands: one column, or several to be joined by spaces, and the unit they are written in."""

    columns: tuple[str, ...]
    unit: str


@dataclass(frozen=True, slots=True)
class Time:
    """Where the time stands and how it is written.

    Attributes:
        columns: the columns, joined by spaces.
        kind: one of `TIMES`.
        formats: for "text": how, in the codes of strftime, the first that fits each time.
        zone: the zone of times that name none, by its IANA name; "" where the shape does not say, which is UTC.
        abbreviations: the offset, "-07:00", that each abbreviation in the times stands for.
        start: what elapsed times count from, if it is the same for all files.
        start_pattern: else, a regular expression whose first group is the start, looked for in the file's name and in
            the lines above the names of the columns.
        start_format: how that is written, in the codes of strftime.
    """

    columns: tuple[str, ...]
    kind: str
    formats: tuple[str, ...]
    zone: str
    abbreviations: Mapping[str, str]
    start: datetime | None
    start_pattern: str
    start_format: str


@dataclass(frozen=True, slots=True)
class Shape:
    """The layout of one kind of table; see SPECIFICATION.md in this folder for its keys.

    Attributes:
        file: its file or name, for messages.
        has: the columns by which a table of this kind is recognised, those of the time always among them.
        delimiter: what stands between columns, or "auto".
        decimal: "." or ",".
        encoding: of the text, "" to find it.
        header_line: the line of the columns' names, from 1.
        missing: texts that stand for nothing.
        time: where the time stands.
        fields: where each field stands, by its name in `UNITS`.
    """

    file: str
    has: tuple[str, ...]
    delimiter: str
    decimal: str
    encoding: str
    header_line: int
    missing: tuple[str, ...]
    time: Time
    fields: Mapping[str, Column]


@cache
def shipped_shapes() -> tuple[Shape, ...]:
    """Return the shapes that come with the program, in the order of their names."""
    folder = resources.files("upsides.recordings") / "shapes"
    found = sorted((item.name, item.read_text("utf-8")) for item in folder.iterdir() if item.name.endswith(".toml"))
    return tuple(read_shape(text, name.removesuffix(".toml")) for name, text in found)


def load_shape(path: Path) -> Shape:
    """Load a shape from its TOML file.

    Raises:
        ShapeError: it cannot be read, or something in it cannot be used.
    """
    try:
        return read_shape(path.read_text("utf-8"), str(path))
    except (OSError, UnicodeDecodeError) as error:
        raise ShapeError(
            path, "", _("it cannot be read ({error})", error=error), _("name a TOML file of UTF-8 text")
        ) from error


def read_shape(text: str, file: str) -> Shape:
    """Read and check the text of a shape; `file` is for messages.

    Raises:
        ShapeError: something in it cannot be used.
    """
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ShapeError(
            file, "", _("it is not TOML ({error})", error=error), _("begin with a proposed shape")
        ) from error
    return _Reader(file).shape(content)


class _Reader:
    """Reads the parts of one shape, carrying its name for messages."""

    def __init__(self, file: str) -> None:
        self.file = file

    def fail(self, key: str, reason: str, remedy: str) -> ShapeError:
        return ShapeError(self.file, key, reason, remedy)

    def known(self, key: str, table: object, allowed: tuple[str, ...]) -> dict[str, Any]:
        if not isinstance(table, dict):
            raise self.fail(key, _("{table!r} is not a table", table=table), _("write it under [{key}]", key=key))
        for name in table:
            if name not in allowed:
                where = f"{key}.{name}" if key else name
                raise self.fail(
                    where, _("this key is not known"), _("use one of {allowed}", allowed=", ".join(allowed))
                )
        return table

    def text(self, key: str, value: object) -> str:
        if not isinstance(value, str):
            raise self.fail(key, _("{value!r} is not text", value=value), _("put it in quotes"))
        return value

    def texts(self, key: str, value: object) -> tuple[str, ...]:
        if isinstance(value, str):
            return (value,)
        if isinstance(value, list) and all(isinstance(item, str) for item in value):
            return tuple(value)
        raise self.fail(key, _("{value!r} is not a list of texts", value=value), _('write it like ["a", "b"]'))

    def one_of(self, key: str, value: object, allowed: tuple[str, ...]) -> str:
        if isinstance(value, str) and value in allowed:
            return value
        raise self.fail(
            key,
            _("{value!r} is not known", value=value),
            _("use one of {allowed}", allowed=", ".join(map(repr, allowed))),
        )

    def shape(self, content: dict[str, Any]) -> Shape:
        self.known("", content, ("format", "name", "about", "has", "file", "time", "columns"))
        if content.get("format") != FORMAT:
            raise self.fail(
                "format",
                _("{found!r} is not known", found=content.get("format")),
                _("write format = {format}", format=FORMAT),
            )
        file = self.known(
            "file", content.get("file", {}), ("delimiter", "decimal", "encoding", "header_line", "missing")
        )
        line = file.get("header_line", 1)
        if not isinstance(line, int) or isinstance(line, bool) or not 1 <= line <= 1000:
            raise self.fail(
                "file.header_line",
                _("{line!r} is not the number of a line", line=line),
                _("write it from 1, without quotes"),
            )
        time = self.time(content.get("time", {}))
        fields = self.fields(content.get("columns", {}))
        named = (*time.columns, *(name for field in fields.values() for name in field.columns))
        return Shape(
            file=self.file,
            has=tuple(
                dict.fromkeys((*time.columns, *self.texts("has", content["has"])) if "has" in content else named)
            ),
            delimiter=self.one_of("file.delimiter", file.get("delimiter", "auto"), (*DELIMITERS, "auto")),
            decimal=self.one_of("file.decimal", file.get("decimal", "."), (".", ",")),
            encoding=self.encoding(self.text("file.encoding", file.get("encoding", ""))),
            header_line=line,
            missing=self.texts("file.missing", file.get("missing", list(MISSING))),
            time=time,
            fields=fields,
        )

    def encoding(self, name: str) -> str:
        try:
            b"a".decode(name or "utf-8")
        except UnicodeDecodeError:  # an encoding of two bytes a letter
            return name
        except LookupError as error:
            raise self.fail(
                "file.encoding", _("{name!r} is not known", name=name), _('write it like "utf-8" or "cp1252"')
            ) from error
        return name

    def time(self, value: object) -> Time:
        keys = ("from", "is", "format", "zone", "abbreviations", "start", "start_pattern", "start_format")
        table = self.known("time", value, keys)
        if "from" not in table:
            raise self.fail("time.from", _("it is missing"), _("name the column of the time, or those of day and time"))
        kind = self.one_of("time.is", table.get("is", "iso"), TIMES)
        formats = self.texts("time.format", table.get("format", []))
        if (kind == "text") != bool(formats):
            raise self.fail(
                "time.format", _('formats go with is = "text"'), _('write like format = "%d/%m/%Y %H:%M:%S"')
            )
        start = table.get("start")
        if start is not None and not (isinstance(start, datetime) and start.tzinfo):
            raise self.fail(
                "time.start",
                _("{start!r} is no instant", start=start),
                _("write it like 2024-05-01T06:00:00+01:00, no quotes"),
            )
        return Time(
            columns=self.texts("time.from", table["from"]),
            kind=kind,
            formats=formats,
            zone=self.zone(self.text("time.zone", table["zone"])) if "zone" in table else "",
            abbreviations=self.abbreviations(table.get("abbreviations", {})),
            start=start,
            start_pattern=self.pattern(self.text("time.start_pattern", table.get("start_pattern", ""))),
            start_format=self.text("time.start_format", table.get("start_format", "%Y-%m-%d %H:%M:%S")),
        )

    def abbreviations(self, value: object) -> dict[str, str]:
        table = value if isinstance(value, dict) else {"": value}
        for name, offset in table.items():
            if not re.fullmatch(r"[+-]\d\d:[0-5]\d", str(offset)):
                raise self.fail(
                    f"time.abbreviations.{name}",
                    _("{offset!r} is no offset", offset=offset),
                    _('write it like PDT = "-07:00"'),
                )
        return dict(table)

    def zone(self, name: str) -> str:
        try:
            ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise self.fail(
                "time.zone", _("{name!r} is not known", name=name), _('write it like "Europe/London"')
            ) from error
        return name

    def pattern(self, value: str) -> str:
        try:
            groups = re.compile(value).groups
        except re.error as error:
            raise self.fail(
                "time.start_pattern",
                _("{value!r} is no regular expression ({error})", value=value, error=error),
                _("mend it"),
            ) from error
        if value and not groups:
            raise self.fail("time.start_pattern", _("it has no group"), _("put what is the start into brackets"))
        return value

    def fields(self, value: object) -> dict[str, Column]:
        table = self.known("columns", value, tuple(UNITS))
        if not table:
            raise self.fail("columns", _("it takes nothing"), _('say which column holds what, like latitude = "lat"'))
        return {name: self.field(name, item) for name, item in table.items()}

    def field(self, name: str, value: object) -> Column:
        key = f"columns.{name}"
        table = self.known(key, value if isinstance(value, dict) else {"from": value}, ("from", "unit"))
        if "from" not in table:
            raise self.fail(f"{key}.from", _("it is missing"), _("name the column"))
        units = tuple(UNITS[name])
        return Column(
            self.texts(f"{key}.from", table["from"]), self.one_of(f"{key}.unit", table.get("unit", units[0]), units)
        )
