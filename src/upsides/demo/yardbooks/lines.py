"""Lines of the diary before they are bound: what happened when, in whose name; then the order in which they arrived."""

import json
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any, Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import EPOCH, Ints

TO_THE_HOUR: Final = time(5)
"""The diary goes to this time of today, UTC."""
_NO_SIGNAL: Final = 0.03
_CORRECTIONS: Final = 14
_STAMP: Final = pl.Datetime("us", "UTC")
LINES: Final = {
    "kind": pl.String(),
    "source_horse": pl.String(),
    "gallop": pl.String(),
    "author": pl.String(),
    "day": pl.Date(),
    "second": pl.Int64(),
    "entered": pl.Datetime("us"),
    "values": pl.String(),
}
"""Columns of lines: `second` of the yard's own day; `entered`, by the yard's own clock, is when it was written down
where that was not at once."""
DIARY: Final = {
    "entry": pl.Int64(),
    "kind": pl.String(),
    "source_horse": pl.String(),
    "gallop": pl.String(),
    "author": pl.String(),
    "happened_at": _STAMP,
    "made_at": _STAMP,
    "recorded_at": _STAMP,
    "values": pl.String(),
    "supersedes": pl.Int64(),
}


def lines(
    kind: str,
    *,
    day: Ints | Sequence[int],
    second: Ints | Sequence[int],
    author: Sequence[str],
    values: Sequence[str] | str = "{}",
    horse: Sequence[str] | None = None,
    gallop: Sequence[str] | None = None,
    entered: Sequence[datetime] | None = None,
) -> pl.DataFrame:
    """Return lines of one kind.

    Args:
        kind: name of the kind.
        day: proleptic ordinals, (n,).
        second: seconds of the yard's own day, (n,).
        author: logins, (n,).
        values: JSON as the kind keeps it, people by login, horses by source_horse, gallops by name, (n,); or
            one for all.
        horse: which horse each is about, (n,).
        gallop: which gallop, the same.
        entered: when it was written down by the yard's own clock; at once where this is not given.
    """
    count = len(day)
    nothing = pl.repeat(None, count, dtype=pl.String, eager=True)
    return pl.DataFrame(
        {
            "kind": pl.repeat(kind, count, eager=True),
            "source_horse": nothing if horse is None else horse,
            "gallop": nothing if gallop is None else gallop,
            "author": author,
            "day": (np.asarray(day, dtype=np.int64) - EPOCH).astype("datetime64[D]"),
            "second": np.asarray(second, dtype=np.int64),
            "entered": pl.repeat(None, count, dtype=pl.Datetime("us"), eager=True) if entered is None else entered,
            "values": pl.repeat(values, count, eager=True) if isinstance(values, str) else values,
        },
        schema_overrides=LINES,
    )


def said(**values: Any) -> str:
    """Return values as the diary keeps them: what was not said is not there."""
    return json.dumps(
        {name: value for name, value in values.items() if not (value is None or value is False or value in ("", []))}
    )


def bound(rng: np.random.Generator, parts: Sequence[pl.DataFrame], zone: str, today: date) -> pl.DataFrame:
    """Put lines into the order in which they arrived, and number them.

    Args:
        rng: source of chance.
        parts: frames of lines.
        zone: the yard's own time zone.
        today: nothing is recorded after 05:00 UTC of this day.

    Returns:
        Columns of `DIARY`: happened_at, made_at (the device's clock), recorded_at (the server's). A few waited hours
        for a signal, a few masses and temperatures were wrong and corrected.
    """
    found = pl.concat([part for part in parts if part.height])
    local = pl.col("day").cast(pl.Datetime("us")) + pl.duration(seconds=pl.col("second"))
    count = found.height
    slow = rng.random(count) < _NO_SIGNAL
    thought, sent = (
        rng.exponential(50, count),
        np.where(slow, rng.uniform(3600, 6 * 3600, count), rng.uniform(0.2, 8, count)),
    )
    stamped = found.select(
        "kind",
        "source_horse",
        "gallop",
        "author",
        "values",
        happened_at=_utc(local, zone),
        made_at=_utc(pl.coalesce("entered", local), zone)
        + pl.duration(microseconds=pl.lit((thought * 1e6).astype(np.int64))),
        waited=pl.duration(microseconds=pl.lit((sent * 1e6).astype(np.int64))),
    ).with_columns(recorded_at=pl.col("made_at") + pl.col("waited"))
    end = datetime.combine(today, TO_THE_HOUR, UTC)
    known = stamped.filter(pl.col("recorded_at") <= end).drop("waited")
    return _numbered(_corrected(rng, known, end))


def _utc(local: pl.Expr, zone: str) -> pl.Expr:
    return local.dt.replace_time_zone(zone, ambiguous="earliest").dt.convert_time_zone("UTC")


def _corrected(rng: np.random.Generator, known: pl.DataFrame, end: datetime) -> pl.DataFrame:
    """Make a few measurements wrong by two figures changed over, and add what corrects them within the half hour."""
    known = known.with_row_index("line").with_columns(corrects=pl.lit(None, dtype=pl.UInt32))
    wrong = pl.col("values").str.replace(r": (\d)(\d)\.(\d)", ": ${1}${3}.${2}")
    wrong = wrong.str.replace(r": (\d)(\d)(\d)\.(\d)", ": ${1}${3}${2}.${4}")
    able = known.with_columns(wrong=wrong).filter(
        pl.col("kind").is_in(["temperature", "mass"]),
        pl.col("values").str.contains(r": 37\.[89]\}|: 4[56]\d\.\d"),
        pl.col("wrong") != pl.col("values"),
        pl.col("recorded_at") < end - timedelta(hours=1),
    )
    chosen = able[np.sort(rng.choice(able.height, min(_CORRECTIONS, able.height), replace=False))]
    later = pl.lit(pl.Series(rng.integers(120, 1500, chosen.height) * 10**6)).cast(pl.Duration("us"))
    right = chosen.drop("wrong").with_columns(
        made_at=pl.col("made_at") + later, recorded_at=pl.col("recorded_at") + later, corrects=pl.col("line")
    )
    mistaken = known.join(chosen.select("line", "wrong"), on="line", how="left", maintain_order="left")
    swapped = mistaken.with_columns(values=pl.coalesce("wrong", "values")).drop("wrong")
    return pl.concat([swapped, right])


def _numbered(known: pl.DataFrame) -> pl.DataFrame:
    """Number lines in the order in which they were recorded."""
    ordered = known.sort("recorded_at", "line", "corrects", nulls_last=False).with_row_index("entry", offset=1)
    first = ordered.filter(pl.col("corrects").is_null()).select("line", supersedes="entry")
    joined = ordered.join(first, left_on="corrects", right_on="line", how="left", maintain_order="left")
    return joined.select(pl.col(name).cast(dtype) for name, dtype in DIARY.items())
