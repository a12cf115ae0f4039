"""What the invented yard wrote into its books in its seasons, made of the truth of its racing."""

from upsides.demo.yardbooks.books import Books, books_of

__all__ = ["Books", "books_of"]
