"""Writes about the string."""

from datetime import date

import polars as pl
from django.db import transaction

from upsides.books.models import Horse


@transaction.atomic
def load_string(string: pl.DataFrame, joined: date) -> int:
    """Enter horses in the string, or bring those already in it up to date; all of them or none.

    Args:
        string: horse_key, name, foaled, sex, sire, dam.
        joined: day they came into the yard; kept as it was for horses already entered.

    Returns:
        How many horses were new.

    Raises:
        django.db.IntegrityError: a value breaks a constraint of `Horse`; nothing is written.
    """
    return sum(_enter(row, joined) for row in string.to_dicts())


def _enter(row: dict[str, object], joined: date) -> bool:
    details = {field: row[field] for field in ("name", "foaled", "sex", "sire", "dam")}
    _, created = Horse.objects.update_or_create(
        horse_key=row["horse_key"], defaults=details, create_defaults=details | {"joined": joined}
    )
    return created
