"""Kinds of entries of the diary: what each holds, how it is typed, what it says."""

from upsides.books.diary.kind import Field, Kind, Span
from upsides.books.diary.kinds import KINDS, kind_of, read

__all__ = ["KINDS", "Field", "Kind", "Span", "kind_of", "read"]
