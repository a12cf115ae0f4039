"""What is asked of a sale's list, read from the address and written back into it."""

from dataclasses import dataclass, fields
from urllib.parse import urlencode

from django.http import QueryDict

from upsides.books.queries.sales import Wanted

LONGEST = 100
A_PAGE = 50


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked.

    Args:
        wanted: which lots.
        page: which fifty of them, 1 the first.
    """

    wanted: Wanted
    page: int

    @property
    def narrowed(self) -> bool:
        """Return whether not all lots are wanted."""
        return self.wanted != Wanted()

    def address(self, page: int = 1, as_of: str = "") -> str:
        """Return the query of an address under which the same lots are found."""
        pairs = [(_SHORT.get(field.name, field.name), getattr(self.wanted, field.name)) for field in fields(Wanted)]
        pairs += [("page", str(page) if page > 1 else ""), ("as_of", as_of)]
        query = urlencode([pair for pair in pairs if pair[1]])
        return f"?{query}" if query else "?"


_SHORT = {"words": "q"}


def asked_of(query: QueryDict) -> Asked:
    """Read what is asked; what cannot be read is left out."""
    names = [field.name for field in fields(Wanted)]
    said = {name: query.get(_SHORT.get(name, name), "").strip()[:LONGEST] for name in names}
    page = query.get("page", "")
    return Asked(Wanted(**said), int(page) if page.isdecimal() and 0 < len(page) < 7 and int(page) else 1)
