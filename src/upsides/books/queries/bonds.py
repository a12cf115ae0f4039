"""Whether what binds a jockey in a country, as the yard wrote it, binds in a race."""

import re
from typing import Final

from upsides.errors import UnreadableError
from upsides.placing import Race
from upsides.results.identity import plain_suffix
from upsides.rules import chain, place_meant

ISO: Final = re.compile("[A-Z]{2}")


def country_meant(text: str) -> str | None:
    """Return the country that somebody means, as rules or suffixes of names have it; None where it cannot be told."""
    suffix = plain_suffix(" ".join(text.split()))
    return place_meant(text) or place_meant(suffix) or (suffix if ISO.fullmatch(suffix) else None)


def binds_in(country: str, race: Race) -> bool:
    """Return whether what binds in a country binds in a race; it does wherever that cannot be told.

    Args:
        country: as the yard wrote it; empty for everywhere.
        race: the race.
    """
    meant, there = country_meant(country), country_meant(race.jurisdiction)
    if meant is None or there is None:
        return True
    try:
        return meant in chain(there)
    except UnreadableError:
        return True
