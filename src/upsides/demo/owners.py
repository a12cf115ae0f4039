"""Who owns the horses of the invented yard."""

import math

import numpy as np
import polars as pl

_SHARES = {
    "source_horse": pl.String,
    "owner": pl.String,
    "numerator": pl.Int32,
    "denominator": pl.Int32,
    "kind": pl.String,
    "first_day": pl.Date,
}
_KINDS, _KIND_ODDS = ("sole", "lease", "partnership", "syndicate"), (0.6, 0.06, 0.22, 0.12)
_PARTNERSHIPS = ((1, 1), (2, 1, 1), (3, 1), (1, 1, 1), (3, 2, 1))
_SYNDICATES = ((5, 3, 3, 3, 2, 2, 1, 1), (4, 2, 2, 1, 1), (3, 3, 2, 2, 1, 1))
_SOLE_OWNER = 0


def shares_of_string(rng: np.random.Generator, string: pl.DataFrame, owners: list[str]) -> pl.DataFrame:
    """Share out every horse among owners, from the day it came.

    Args:
        rng: source of chance.
        string: source_horse and joined of each horse.
        owners: logins, fewer than there are horses. The first has most horses and has them alone, the first half
            hold parts of others' horses besides their own, and most of the second half have one.

    Returns:
        source_horse, owner, numerator, denominator, kind (sole, partnership, syndicate, lease), first_day; the
        parts of each horse add up to one.
    """
    first_names = rng.permutation(np.repeat(np.arange(len(owners)), _horses_each(string.height, len(owners))))
    rows = []
    for horse, day, first in zip(string["source_horse"], string["joined"], first_names.tolist(), strict=True):
        kind = "sole" if first == _SOLE_OWNER else str(rng.choice(_KINDS, p=_KIND_ODDS))
        parts = _parts(rng, kind)
        others = [i for i in range(1, len(owners) // 2) if i != first]
        holders = [first, *rng.choice(others, len(parts) - 1, replace=False).tolist()]
        rows += [
            (horse, owners[i], *_lowest(part, sum(parts)), kind, day) for i, part in zip(holders, parts, strict=True)
        ]
    return pl.DataFrame(rows, schema=_SHARES, orient="row")


def _horses_each(horses: int, owners: int) -> list[int]:
    """Return how many horses each owner has first part in: one each, and the rest as 1, 1/2, 1/3 and so on."""
    weight = 1 / np.arange(1, owners + 1)
    more = (horses - owners) * weight / weight.sum()
    each = 1 + np.floor(more).astype(int)
    each[np.argsort(np.floor(more) - more, kind="stable")[: horses - int(each.sum())]] += 1
    return [int(count) for count in each]


def _parts(rng: np.random.Generator, kind: str) -> tuple[int, ...]:
    if kind == "partnership":
        return _PARTNERSHIPS[rng.integers(len(_PARTNERSHIPS))]
    return _SYNDICATES[rng.integers(len(_SYNDICATES))] if kind == "syndicate" else (1,)


def _lowest(part: int, whole: int) -> tuple[int, int]:
    common = math.gcd(part, whole)
    return part // common, whole // common
