"""A shape: the small TOML file that says how one source's tables are laid out.

It is wholly declarative: see `docs/shapes.md` for how to write one. `load_shape` reads a shipped shape by
name or a user's file by path, checks every key, and says which file, which key, why and what to write instead
when something is wrong.
"""

import hashlib
import re
import tomllib
from collections.abc import Mapping
from datetime import date
from importlib import resources
from pathlib import Path
from typing import Any

from upsides.errors import ShapeError
from upsides.errors.wording import gettext as _
from upsides.results.description import LeaveOut, Rule, Shape, Table, When
from upsides.results.fields import (
    HORSE_FIELDS,
    LOT_FIELDS,
    PROGRAMME_FIELDS,
    RACE_FIELDS,
    RUN_FIELDS,
    SERIAL,
    TIME_STYLE,
    UNITS,
    WRITTEN,
    Field,
)
from upsides.results.shape_values import Values

FORMAT = 1
MISSING = ("", "NA", "N/A", "n/a", "NaN", "nan", "null", "None", "-", "--", "---", "?")
RULE_KEYS = frozenset(
    [
        "from",
        "value",
        "unit",
        "format",
        "codes",
        "pattern",
        "missing",
        "when",
        "lowest",
        "highest",
        "html",
        "case",
        "join",
        "split",
        "other",
    ]
)
FILE_KEYS = frozenset({"delimiter", "encoding", "missing", "header_line", "decimal", "sheet"})
TOP_KEYS = frozenset(
    [
        "format",
        "name",
        "about",
        "source",
        "timezone",
        "jurisdiction",
        "birthday",
        "currency",
        "file",
        "table",
        "margins",
        "sections",
        "earliest",
        "margin_to",
        "no_position",
    ]
)
TABLE_KEYS = frozenset(
    {"name", "has", "lacks", "race", "run", "lot", "horse", "programme", "required", "leave_out", "unused"}
)
DELIMITERS = (",", ";", "\t", "|")


def shipped_shapes() -> list[str]:
    """Return the names of the shapes that come with the program."""
    folder = resources.files("upsides.results") / "shapes"
    return sorted(item.name.removesuffix(".toml") for item in folder.iterdir() if item.name.endswith(".toml"))


def load_shape(name: str | Path) -> Shape:
    """Load a shipped shape by its name, or any shape by the path of its TOML file.

    Raises:
        ShapeError: there is no such shape, or something in it cannot be used.
    """
    text = str(name)
    if text in shipped_shapes():
        return read_shape((resources.files("upsides.results") / "shapes" / f"{text}.toml").read_text("utf-8"), text)
    try:
        return read_shape(Path(text).read_text("utf-8"), text)
    except (OSError, UnicodeDecodeError) as error:
        reason = (
            _("there is no such shape")
            if isinstance(error, FileNotFoundError)
            else _("it cannot be read ({error})", error=error)
        )
        known = ", ".join(shipped_shapes())
        raise ShapeError(text, "", reason, _("name one of {known}, or the path of a TOML file", known=known)) from error


def read_shape(text: str, file: str) -> Shape:
    """Read and check the text of a shape; `file` is only for messages."""
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ShapeError(
            file, "", _("it is not TOML ({error})", error=error), _("see docs/shapes.md for an example")
        ) from error
    return _Reader(file).shape(content, hashlib.sha256(text.encode()).hexdigest())


class _Reader(Values):
    """Reads the parts of one shape."""

    def shape(self, content: Mapping[str, Any], sha256: str) -> Shape:
        self.known("", content, TOP_KEYS)
        if content.get("format") != FORMAT:
            raise self.fail(
                "format",
                _("{found!r} is not known", found=content.get("format")),
                _("write format = {format}", format=FORMAT),
            )
        source = self.text("", content, "source")
        if not re.fullmatch(r"[a-z0-9_-]+", source):
            raise self.fail(
                "source", _("{source!r} is not a plain name", source=source), _("use small letters, digits, _ and -")
            )
        file = content.get("file", {})
        self.known("file", file, FILE_KEYS)
        sections = content.get("sections", {})
        self.known("sections", sections, frozenset({"length_m", "measured_from"}))
        tables = content.get("table")
        if not isinstance(tables, list) or not tables:
            raise self.fail("table", _("there is none"), _("describe each table under [[table]]"))
        return Shape(
            file=self.file,
            sha256=sha256,
            name=self.text("", content, "name", source),
            about=self.text("", content, "about", ""),
            source=source,
            timezone=self.zone(self.text("", content, "timezone", "UTC")),
            jurisdiction=self.text("", content, "jurisdiction", ""),
            currency=self.text("", content, "currency", ""),
            birthday=self.birthday(content.get("birthday")),
            earliest=self.earliest(content.get("earliest", date(1901, 1, 1))),
            delimiter=self.one_of("file.delimiter", file.get("delimiter", "auto"), (*DELIMITERS, "auto")),
            encoding=self.one_of(
                "file.encoding", file.get("encoding", "utf-8"), ("utf-8", "latin-1", "cp1252", "shift_jis")
            ),
            decimal=self.one_of("file.decimal", file.get("decimal", "."), (".", ",")),
            header_line=int(self.number("file.header_line", file.get("header_line", 1))),
            sheet=self.text("file", file, "sheet", ""),
            missing=self.texts("file.missing", file.get("missing", list(MISSING))),
            margins=self.margins(content.get("margins", {})),
            margin_to=self.one_of("margin_to", content.get("margin_to", "winner"), ("winner", "horse in front")),
            section_m=None if "length_m" not in sections else self.number("sections.length_m", sections["length_m"]),
            section_from=self.one_of(
                "sections.measured_from", sections.get("measured_from", "finish"), ("finish", "start")
            ),
            no_position=self.one_of(
                "no_position", content.get("no_position", "unplaced"), ("unplaced", "did_not_finish")
            ),
            tables=tuple(self.table(f"table[{i}]", item) for i, item in enumerate(tables)),
            timezone_stated="timezone" in content,
        )

    def margins(self, value: Mapping[str, Any]) -> dict[str, float]:
        return {name: self.number(f"margins.{name}", number) for name, number in value.items()}

    def table(self, key: str, value: Mapping[str, Any]) -> Table:
        self.known(key, value, TABLE_KEYS)
        race, run, lot, horse = (value.get(kind, {}) for kind in ("race", "run", "lot", "horse"))
        rules_race, rules_run = (
            self.rules(f"{key}.race", race, RACE_FIELDS),
            self.rules(f"{key}.run", run, RUN_FIELDS),
        )
        programme = value.get("programme", {})
        if programme:
            self.programme(key, programme, race or run or lot or horse)
        else:
            self.kinds(key, race, run, lot, horse)
        table = Table(
            name=self.text(key, value, "name", key),
            has=self.texts(f"{key}.has", value.get("has", [])),
            lacks=self.texts(f"{key}.lacks", value.get("lacks", [])),
            race=rules_race,
            run=rules_run,
            required=self.texts(f"{key}.required", value.get("required", [])),
            leave_out=tuple(self.leave_out(key, item) for item in value.get("leave_out", [])),
            unused={str(name): str(why) for name, why in value.get("unused", {}).items()},
            lot=self.rules(f"{key}.lot", lot, LOT_FIELDS),
            horse=self.rules(f"{key}.horse", horse, HORSE_FIELDS),
            programme=self.rules(f"{key}.programme", programme, PROGRAMME_FIELDS),
        )
        if not table.has:
            raise self.fail(f"{key}.has", _("it is missing"), _("name columns by which this table is recognised"))
        return table

    def programme(self, key: str, programme: Mapping[str, Any], other: Mapping[str, Any]) -> None:
        """Refuse a programme that holds something else besides, or does not say which race it is."""
        if other:
            reason = _("a programme has no results, horses or lots")
            raise self.fail(f"{key}.programme", reason, _("describe them as a table of their own"))
        if not {"day", "course"} <= programme.keys():
            raise self.fail(f"{key}.programme", _("day and course are needed"), _("say which columns hold them"))
        if not {"race_id", "number", "title"} & programme.keys():
            reason = _("nothing tells the races of a day apart")
            raise self.fail(f"{key}.programme", reason, _("say which column holds race_id, number or title"))

    def kinds(
        self,
        key: str,
        race: Mapping[str, Any],
        run: Mapping[str, Any],
        lot: Mapping[str, Any],
        horse: Mapping[str, Any],
    ) -> None:
        """Refuse a table of no kind, of kinds that do not go together, or one that lacks what its kind needs."""
        if not race and not run and not lot and not horse:
            raise self.fail(
                key, _("it takes nothing"), _("fill [{key}.race], [{key}.run], [{key}.horse] or [{key}.lot]", key=key)
            )
        if lot and (race or run):
            raise self.fail(
                f"{key}.lot", _("a list of lots has no races"), _("describe the races as a table of their own")
            )
        if lot and ("number" not in lot or not {"day", "year"} & lot.keys()):
            raise self.fail(f"{key}.lot", _("number, and day or year, are needed"), _("say which columns hold them"))
        if horse and (race or run or lot):
            reason = _("a table of horses has no races, runs or lots")
            raise self.fail(f"{key}.horse", reason, _("put what a run says of its horse into [{key}.run]", key=key))
        if run and "race_id" not in run and not race:
            raise self.fail(f"{key}.run.race_id", _("it is missing"), _("say which column names the race"))
        if race and not {"race_id", "date"} <= race.keys():
            raise self.fail(f"{key}.race", _("race_id and date are needed"), _("say which columns hold them"))
        for kind, fields in (("run", run), ("horse", horse)):
            if fields and not {"horse_id", "horse_name"} & fields.keys():
                reason = _("horse_id or horse_name is needed")
                raise self.fail(f"{key}.{kind}", reason, _("say which column names the horse"))

    def leave_out(self, key: str, value: Mapping[str, Any]) -> LeaveOut:
        self.known(f"{key}.leave_out", value, frozenset({"column", "matches", "reason"}))
        pattern = self.regex(f"{key}.leave_out.matches", self.text(key, value, "matches"))
        return LeaveOut(self.text(key, value, "column"), pattern, self.text(key, value, "reason"))

    def rules(self, key: str, value: Mapping[str, Any], fields: Mapping[str, Field]) -> tuple[Rule, ...]:
        self.known(key, value, frozenset(fields))
        return tuple(self.rule(f"{key}.{name}", fields[name], item) for name, item in value.items())

    def rule(self, key: str, field: Field, value: Any) -> Rule:
        spec = value if isinstance(value, dict) else {"from": value}
        self.known(key, spec, RULE_KEYS)
        if not {"from", "value", "when"} & spec.keys():
            raise self.fail(key, _("it says nothing of where the value stands"), _("give `from`, `value` or `when`"))
        columns = tuple(name for item in self.texts(key, spec.get("from", [])) for name in spread(item))
        codes = spec.get("codes", {})
        if not isinstance(codes, dict):
            raise self.fail(f"{key}.codes", _("it is not a table"), _('write it like { ST = "Sha Tin" }'))
        return Rule(
            field=field,
            columns=columns,
            value=None if "value" not in spec else str(spec["value"]),
            unit=self.unit(f"{key}.unit", field, spec.get("unit", field.unit)),
            formats=self.formats(f"{key}.format", field, spec.get("format", [])),
            codes={str(code): str(word) for code, word in codes.items()},
            pattern=self.group(f"{key}.pattern", spec.get("pattern", "")),
            missing=self.texts(f"{key}.missing", spec.get("missing", [])),
            when=tuple(self.when(f"{key}.when", item) for item in spec.get("when", [])),
            lowest=self.number(f"{key}.lowest", spec["lowest"]) if "lowest" in spec else field.low,
            highest=self.number(f"{key}.highest", spec["highest"]) if "highest" in spec else field.high,
            html=bool(spec.get("html", False)),
            case=self.one_of(f"{key}.case", spec.get("case", "keep"), ("keep", "lower", "upper", "title")),
            join=self.text(key, spec, "join", "-" if field.name == "race_id" else " "),
            split=self.text(key, spec, "split", " "),
            other=self.one_of(
                f"{key}.other",
                spec.get("other", "report" if field.kind == "words" else "keep"),
                ("keep", "empty", "report"),
            ),
        )

    def formats(self, key: str, field: Field, value: Any) -> tuple[str, ...]:
        styles = self.texts(key, value)
        for style in styles:
            if field.unit == "s" and not re.fullmatch(TIME_STYLE, style):
                raise self.fail(
                    key, _("{style!r} is no style of times", style=style), _('write it like "m.ss.cc" or "m:ss f"')
                )
            serial = field.kind == "date" and style == SERIAL
            if field.kind in ("date", "instant") and "%" not in style and not serial:
                also = _(' (or "serial" for spreadsheet day numbers)') if field.kind == "date" else ""
                raise self.fail(
                    key,
                    _("{style!r} is no format of dates", style=style),
                    _('write it like "%d/%m/%Y"{also}', also=also),
                )
        return styles

    def group(self, key: str, value: str) -> str:
        if value and re.compile(self.regex(key, value)).groups != 1:
            raise self.fail(
                key, _("{value!r} has not exactly one group", value=value), _("put ( ) round the part that is wanted")
            )
        return value

    def unit(self, key: str, field: Field, value: Any) -> str:
        allowed = tuple(UNITS.get(field.unit, {field.unit: 1.0}))
        return self.one_of(key, value, (*allowed, *(("written",) if field.unit in WRITTEN else ())))

    def when(self, key: str, value: Mapping[str, Any]) -> When:
        self.known(key, value, frozenset({"column", "matches", "value"}))
        matches = self.regex(f"{key}.matches", self.text(key, value, "matches", ""))
        return When(self.text(key, value, "column", ""), matches, self.text(key, value, "value"))


def spread(name: str) -> list[str]:
    """Write out a numbered run of columns: `time{1..3}` is time1, time2, time3."""
    match = re.fullmatch(r"(.*)\{(\d+)\.\.(\d+)\}(.*)", name)
    if match is None:
        return [name]
    return [f"{match[1]}{i}{match[4]}" for i in range(int(match[2]), int(match[3]) + 1)]
