"""Write the pages of docs/ that are drawn from the code: `python tools/docs.py`, or `--check` to only compare."""

import sys
from collections.abc import Callable, Iterable
from itertools import groupby
from pathlib import Path
from typing import Final

import polars as pl

from upsides.results.schema import HORSES, OUTCOMES, RACES, REFUSED, RUNS, Column
from upsides.rules.describe import describe
from upsides.rules.files import NEEDED, shipped
from upsides.rules.rule import Entry

DOCS: Final = Path(__file__).resolve().parent.parent / "docs"
DRAWN: Final = "<!-- Drawn from the code by `make docs`. Change the code, not this page. -->"

CONFIDENCE_MEANS: Final = {
    "high": "read in the authority's own text, in the paper itself, or in a report of it that fits a second source",
    "medium": "read in a secondary page or a dated copy",
    "low": "read in one weak page",
    "memory": "from memory, unverified: a default that the yard should replace, never used to check anything",
    "derived": "worked out from other figures that are published; the note or source says how",
}

KINDS: Final[dict[object, str]] = {
    pl.String: "text",
    pl.Date: "date",
    pl.Datetime: "instant, UTC",
    pl.Boolean: "yes or no",
    pl.Float64: "number",
    pl.Int8: "whole number",
    pl.Int16: "whole number",
    pl.Int64: "whole number",
}


def schema_page() -> str:
    """Return the page on the library's tables."""
    parts = [
        "# The tables of the library",
        DRAWN,
        "Every table of results is brought into these columns; docs/shapes.md says how. A cell that was not recorded "
        "is empty. Weight carried is kept in pounds and beaten distance in lengths, as published; everything else is "
        "in SI units.",
        "## Races\n\nOne row a race.",
        _columns(RACES),
        "## Runs\n\nOne row an entry, those that did not start included. `Library.runs` adds `horse_key`: one key for "
        "each horse across the sources that were linked.",
        _columns(RUNS),
        "`outcome` is one of: " + ", ".join(f"`{outcome}`" for outcome in OUTCOMES) + ".",
        "## Horses\n\nOne row a horse of a source, those that only stand in a table of horses included. "
        "`Library.horses` adds `horse_key`.",
        _columns(HORSES),
        "## Refused\n\nEvery row left out, every cell emptied and every remark of an import.",
        _columns(REFUSED),
    ]
    return "\n\n".join(parts) + "\n"


def _columns(columns: tuple[Column, ...]) -> str:
    rows = ((f"`{column.name}`", _kind(column.dtype), column.unit, column.meaning) for column in columns)
    return _table(("column", "type", "unit", "meaning"), rows)


def _kind(dtype: pl.DataType) -> str:
    if isinstance(dtype, pl.List):
        return f"list of {KINDS[dtype.inner.base_type()]}s"
    return KINDS[dtype.base_type()]


def rules_page() -> str:
    """Return the page on the rules shipped with the program."""
    parts = [
        "# The rules shipped with the program",
        DRAWN,
        "Each rule with where it holds, from when to when, who says so, and how well that was verified. A yard's own "
        "rules go before these (docs/figures.md). None of this replaces an authority's current code.",
        _table(("confidence", "meaning"), CONFIDENCE_MEANS.items()),
    ]
    entries = shipped()
    for topic in sorted(NEEDED):
        parts += [f"## {topic.capitalize()}", _rules([entry for entry in entries if entry.rule.topic == topic])]
    return "\n\n".join(parts) + "\n"


def _rules(entries: list[Entry]) -> str:
    """Return one row a rule; a rule that holds in several places is stated once."""
    rows = []
    for _, alike in groupby(entries, key=lambda entry: id(entry.body)):
        same = list(alike)
        rule = same[0].rule
        says = describe(same[0]) + (f". *{rule.note}*" if rule.note else "")
        where = ", ".join(entry.rule.jurisdiction for entry in same)
        rows.append((rule.name, where, rule.validity, says, rule.source, rule.confidence))
    return _table(("rule", "where", "in force", "what it says", "source", "confidence"), rows)


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [heads, ("---",) * len(heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)


PAGES: Final[dict[str, Callable[[], str]]] = {"schema.md": schema_page, "rules.md": rules_page}


def main(arguments: list[str]) -> int:
    """Write the pages, or with `--check` name those that no longer agree with the code; return the exit status."""
    drawn = {DOCS / name: page() for name, page in PAGES.items()}
    stale = [path for path, text in drawn.items() if not path.exists() or path.read_text(encoding="utf-8") != text]
    if "--check" in arguments:
        for path in stale:
            print(f"docs/{path.name} does not agree with the code; run make docs")
        return 1 if stale else 0
    for path in stale:
        path.write_text(drawn[path], encoding="utf-8")
        print(f"docs/{path.name} written")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
