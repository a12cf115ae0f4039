"""Keep a small yard as this version writes it, so that later versions are tried on it: `python tests/keep_yard.py`.

Run once a release, before its number changes. Writes the dump of its SQLite books and a backup to tests/books/kept.
"""

import sqlite3
import sys
from contextlib import closing
from importlib.metadata import version
from pathlib import Path
from tempfile import TemporaryDirectory

from fresh import SMALL_BOOKS, fresh, opened
from upsides.results.library import Library

KEPT = Path(__file__).parent / "books" / "kept"
BACK_UP = "from upsides.books.keeping import back_up\nback_up(Path(folder), Path(sys.argv[1]), books_only=True)"


def main() -> None:
    """Write both files."""
    name = version("upsides")
    with TemporaryDirectory() as place:
        folder = Path(place) / "library"
        Library.create(folder)
        with fresh(folder) as env:
            opened(folder, env, f"{SMALL_BOOKS}\n{BACK_UP}", KEPT / f"{name}.zip")
        with closing(sqlite3.connect(folder / "books.sqlite3")) as books:
            lines = "\n".join(books.iterdump())
    (KEPT / f"{name}.sql").write_text(lines + "\n", encoding="utf-8")
    print(f"kept the yard of {name}")


if __name__ == "__main__":
    sys.exit(main())
