"""What a shape says, as values: the source, its tables, and how each field is read.

`shape.py` reads these from TOML and checks them; how to write one is told in `docs/shapes.md`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from upsides.results.fields import Field


@dataclass(frozen=True, slots=True)
class When:
    """One case of a rule: where `column` matches `matches`, the field is `value`."""

    column: str
    matches: str
    value: str


@dataclass(frozen=True, slots=True)
class Rule:
    """How one field is read from the cells of a row."""

    field: Field
    columns: tuple[str, ...]
    value: str | None
    unit: str
    formats: tuple[str, ...]
    codes: Mapping[str, str]
    pattern: str
    missing: tuple[str, ...]
    when: tuple[When, ...]
    lowest: float | None
    highest: float | None
    html: bool
    case: str
    join: str
    split: str
    other: str


@dataclass(frozen=True, slots=True)
class LeaveOut:
    """Rows that are left out on purpose, and counted under `reason`."""

    column: str
    matches: str
    reason: str


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of table: how it is recognised and what its rows give."""

    name: str
    has: tuple[str, ...]
    lacks: tuple[str, ...]
    race: tuple[Rule, ...]
    run: tuple[Rule, ...]
    required: tuple[str, ...]
    leave_out: tuple[LeaveOut, ...]
    unused: Mapping[str, str]
    lot: tuple[Rule, ...] = ()
    horse: tuple[Rule, ...] = ()
    programme: tuple[Rule, ...] = ()

    @property
    def kind(self) -> str:
        """What its rows are: results, the lots of a sale, or a programme of races to come."""
        return "lots" if self.lot else "programme" if self.programme else "results"

    def columns(self) -> set[str]:
        """Return every column the table reads."""
        rules = self.race + self.run + self.lot + self.horse + self.programme
        named = {column for rule in rules for column in rule.columns}
        named |= {case.column for rule in rules for case in rule.when if case.column}
        return named | {out.column for out in self.leave_out}


@dataclass(frozen=True, slots=True)
class Shape:
    """A whole shape, checked."""

    file: str
    sha256: str
    name: str
    about: str
    source: str
    timezone: str
    jurisdiction: str
    currency: str
    birthday: tuple[int, int] | None
    earliest: date
    delimiter: str
    encoding: str
    decimal: str
    header_line: int
    sheet: str
    missing: tuple[str, ...]
    margins: Mapping[str, float]
    margin_to: str
    section_m: float | None
    section_from: str
    no_position: str
    tables: tuple[Table, ...]
    timezone_stated: bool = False
