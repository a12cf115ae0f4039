"""Single values of a shape's file, each read or refused with its key."""

import re
from collections.abc import Mapping
from datetime import date
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import polars as pl

from upsides.errors import ShapeError
from upsides.errors.wording import gettext as _


class Values:
    """Reads single values of one shape, carrying the file's name for messages."""

    def __init__(self, file: str) -> None:
        self.file = file

    def fail(self, key: str, reason: str, remedy: str) -> ShapeError:
        """Return why a value cannot be used, and what to write."""
        return ShapeError(self.file, key, reason, remedy)

    def known(self, key: str, table: Mapping[str, Any], allowed: frozenset[str]) -> None:
        """Refuse a key that is none of those allowed."""
        for name in table:
            if name not in allowed:
                where = f"{key}.{name}" if key else name
                raise self.fail(
                    where, _("this key is not known"), _("use one of {allowed}", allowed=", ".join(sorted(allowed)))
                )

    def text(self, key: str, table: Mapping[str, Any], name: str, default: str | None = None) -> str:
        """Return a text."""
        value = table.get(name, default)
        where = f"{key}.{name}" if key else name
        if value is None:
            raise self.fail(where, _("it is missing"), _("give it as text in quotes"))
        if not isinstance(value, str):
            raise self.fail(where, _("{value!r} is not text", value=value), _("put it in quotes"))
        return value

    def texts(self, key: str, value: Any) -> tuple[str, ...]:
        """Return texts; one alone may stand without brackets."""
        if isinstance(value, str):
            return (value,)
        if isinstance(value, list) and all(isinstance(item, str | int | float) for item in value):
            return tuple(str(item) for item in value)
        raise self.fail(key, _("{value!r} is not a list of texts", value=value), _('write it like ["a", "b"]'))

    def number(self, key: str, value: Any) -> float:
        """Return a number."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
        raise self.fail(key, _("{value!r} is not a number", value=value), _("write it without quotes"))

    def regex(self, key: str, value: str) -> str:
        """Return a regular expression that works here and in polars."""
        try:
            re.compile(value)
            pl.Series([""]).str.contains(value)
        except (re.error, pl.exceptions.ComputeError) as error:
            reason = _(
                "{value!r} is not a regular expression ({trouble})",
                value=value,
                trouble=str(error).splitlines()[0],
            )
            raise self.fail(key, reason, _("mend or drop it; look-ahead and look-behind are not known")) from error
        return value

    def one_of(self, key: str, value: Any, allowed: tuple[str, ...]) -> str:
        """Return one of the words allowed."""
        if value in allowed:
            return str(value)
        raise self.fail(
            key,
            _("{value!r} is not known", value=value),
            _("use one of {allowed}", allowed=", ".join(map(repr, allowed))),
        )

    def zone(self, name: str) -> str:
        """Return the name of a time zone."""
        try:
            ZoneInfo(name)
        except (ZoneInfoNotFoundError, ValueError) as error:
            raise self.fail(
                "timezone", _("{name!r} is not known", name=name), _('write it like "Europe/London"')
            ) from error
        return name

    def birthday(self, value: Any) -> tuple[int, int] | None:
        """Return the day on which horses turn a year older, as month and day."""
        if value is None:
            return None
        match = re.fullmatch(r"(\d\d)-(\d\d)", value) if isinstance(value, str) else None
        if match is None:
            raise self.fail(
                "birthday", _("{value!r} is not a day of the year", value=value), _('write it like "01-01"')
            )
        return int(match[1]), int(match[2])

    def earliest(self, value: Any) -> date:
        """Return the first day that a date can be."""
        if isinstance(value, date):
            return value
        raise self.fail(
            "earliest", _("{value!r} is not a date", value=value), _("write it like 1850-01-01, without quotes")
        )
