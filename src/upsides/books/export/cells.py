"""Cells that no spreadsheet computes: what begins like a formula is text, and numbers stay numbers."""

import re
from datetime import date, datetime
from typing import Final

FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20", "|", "%")
"""What a text may not begin with in a table that a spreadsheet opens."""
_NUMBER: Final = re.compile(r"[+-]?\d{1,30}([.,]\d{1,30})?")
_NO_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")
LONGEST: Final = 32_000

Cell = str | int | float | bool | date | None


def defused(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula: an apostrophe stands before what looks like one.

    A plain number with its sign stays as it is.
    """
    bare = _NO_TEXT.sub("\ufffd", text)[:LONGEST]
    if bare.lstrip(" \u00a0").startswith(FORMULA) and not _NUMBER.fullmatch(bare.strip()):
        return f"'{bare}"
    return bare


def plain(cell: Cell) -> str:
    """Return a cell as the text of a CSV."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return cell.strftime("%Y-%m-%d %H:%M")
    if isinstance(cell, date):
        return cell.isoformat()
    return defused(cell) if isinstance(cell, str) else repr(cell)
