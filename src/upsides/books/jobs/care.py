"""The kinds of work that look after the books themselves."""

from pathlib import Path
from typing import Any

from upsides.books.jobs.running import Running
from upsides.books.keeping.backup import back_up
from upsides.books.keeping.check import check_books

KEPT_BACKUPS = 14


def backup(running: Running) -> dict[str, Any]:
    """Back up books and library into the folder `to` of the arguments, or beside them; the last fourteen are kept."""
    to = running.arguments.get("to")
    made = back_up(running.folder, Path(to) if to else None, running.progress, keep=KEPT_BACKUPS)
    return {"file": str(made.file), "bytes": made.bytes}


def check(running: Running) -> dict[str, Any]:
    """Look whether books and library are well."""
    found = check_books(running.folder, running.progress)
    return {"looked_at": len(found), "wrong": [one.words for one in found if not one.well]}
