"""Kinds of entries of the diary: what each holds, how it is typed, what it says."""

from upsides.books.diary.fields import Field, Names, Span
from upsides.books.diary.kind import Kind
from upsides.books.diary.kinds import GROUPS, KINDS, kind_of, read

__all__ = ["GROUPS", "KINDS", "Field", "Kind", "Names", "Span", "kind_of", "read"]
