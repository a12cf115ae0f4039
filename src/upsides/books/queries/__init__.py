"""Reads from the books and the library, as values ready to show."""
