"""Keeping the books: backing them up, bringing them back, looking whether they are well."""

from upsides.books.keeping.backup import BackedUp, archive, back_up
from upsides.books.keeping.check import accept_clock, check_books
from upsides.books.keeping.findings import Finding
from upsides.books.keeping.restore import Restored, restore

__all__ = ["BackedUp", "Finding", "Restored", "accept_clock", "archive", "back_up", "check_books", "restore"]
