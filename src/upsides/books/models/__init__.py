"""Data of the books, and their constraints; nothing else."""

from upsides.books.models.horse import Horse

__all__ = ["Horse"]
