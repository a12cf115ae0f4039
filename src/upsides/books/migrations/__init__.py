"""Changes of the books' tables, in order."""
