"""Readings as arrays: what was read of which horse, where, with what, when."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from upsides.condition.monitoring.kinds import KINDS, Kind
from upsides.errors import ConditionRefusedError
from upsides.errors.wording import gettext as _

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
CODES: Final = {"horse": 0, "barn": -1, "device": -1, "kind": 0}
"""The least that each code may be; -1 says that it is not known."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """Readings in order of kind, day and horse; every array but the last has shape (n,).

    Attributes:
        horse: codes from 0.
        barn: codes from 0, -1 where not known.
        device: codes from 0 of the scale, thermometer or tracker, -1 where not known.
        kind: places in `kinds`.
        day: days since 1970-01-01.
        value: what was read, in the unit of its kind.
        sd: known standard error of a reading, 0 where not known.
        foaled: (horses,) day of birth, NaN where not known.
        kinds: the kinds of reading.
    """

    horse: Ints
    barn: Ints
    device: Ints
    kind: Ints
    day: Ints
    value: Floats
    sd: Floats
    foaled: Floats
    kinds: tuple[Kind, ...] = KINDS

    def of(self, kind: int) -> slice:
        """Return where the readings of a kind stand."""
        return slice(*np.searchsorted(self.kind, [kind, kind + 1]).tolist())

    def between(self, first: int, last: int) -> "Readings":
        """Return the readings of some days, both included."""
        return self.where((self.day >= first) & (self.day <= last))

    def where(self, chosen: NDArray[np.bool_] | slice) -> "Readings":
        """Return those chosen of the readings."""
        names = ("horse", "barn", "device", "kind", "day", "value", "sd")
        return replace(self, **{name: getattr(self, name)[chosen] for name in names})


def readings_of(
    horse: ArrayLike, kind: ArrayLike, day: ArrayLike, value: ArrayLike, *, barn: ArrayLike = -1,
    device: ArrayLike = -1, sd: ArrayLike = 0.0, foaled: ArrayLike = (), kinds: tuple[Kind, ...] = KINDS,
) -> Readings:  # fmt: skip
    """Return readings in order; what is missing is left out by the caller, not given as a number.

    Args:
        horse: (n,) codes from 0.
        kind: (n,) places in `kinds`.
        day: (n,) days since 1970-01-01.
        value: (n,) what was read.
        barn: (n,) or one for all, -1 where not known.
        device: (n,) or one for all, -1 where not known.
        sd: (n,) or one for all, 0 where not known.
        foaled: (horses,) day of birth, NaN where not known; horses beyond its end have none.
        kinds: the kinds of reading.

    Raises:
        ConditionRefusedError: arrays of different lengths, a code that cannot be, or a value that is no number.
    """
    values = np.asarray(value, dtype=np.float64)
    given = {"horse": horse, "barn": barn, "device": device, "kind": kind, "day": day}
    columns = {name: _codes(name, one, values.size) for name, one in given.items()}
    error = np.broadcast_to(np.asarray(sd, dtype=np.float64), values.shape)
    for name, column in (("value", values), ("standard error", error)):
        if not np.isfinite(column).all() or (name != "value" and (column < 0).any()):
            at = int(np.flatnonzero(~np.isfinite(column) | (column < 0))[0])
            raise ConditionRefusedError(
                name, column[at], _("reading {at} is not a number that can be", at=at), _("leave it out")
            )
    if values.size and int(columns["kind"].max()) >= len(kinds):
        reason = _("there are {count} kinds of reading", count=len(kinds))
        raise ConditionRefusedError("kind", int(columns["kind"].max()), reason, _("count kinds from 0"))
    order = np.lexsort((columns["horse"], columns["day"], columns["kind"]))
    born = np.full(int(columns["horse"].max(initial=-1)) + 1, np.nan)
    told = np.asarray(foaled, dtype=np.float64)[: born.size]
    born[: told.size] = told
    return Readings(
        **{name: column[order] for name, column in columns.items()},
        value=values[order], sd=error[order], foaled=born, kinds=kinds,
    )  # fmt: skip


def _codes(name: str, given: ArrayLike, n: int) -> Ints:
    array = np.asarray(given)
    if array.size not in {1, n}:
        reason = _("there are {n} values, and {size} of these", n=n, size=array.size)
        raise ConditionRefusedError(name, array.size, reason, _("give one for each value"))
    codes = np.broadcast_to(array, (n,)).astype(np.int64)
    least = CODES.get(name)
    if least is not None and codes.size and int(codes.min()) < least:
        raise ConditionRefusedError(
            name, int(codes.min()), _("codes count from {least}", least=max(least, 0)), _("number them anew")
        )
    return codes
