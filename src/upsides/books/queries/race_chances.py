"""What chance horses of ours have in a race to come, from what is kept with the fit that answers at a moment."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case
from upsides.books.queries.results import State, state_of
from upsides.errors import RaceRefusedError, UpsidesError
from upsides.placing import Carried, Money, Race
from upsides.ratings.kept_fits import KeptFit, kept_fit

if TYPE_CHECKING:  # loaded where it is used: it brings compiled code
    from upsides.placing.chance import Chances, ExpectedField, Kept, Setting

KILOGRAM_LB: Final = 2.0
"""Pounds of racing that count as a kilogram."""


@dataclass(frozen=True, slots=True)
class Told:
    """A horse's chance in a race.

    Args:
        chances: as worked out, against the field to expect.
        earns: the prize that it may expect from the places that are stated; None where none is.
    """

    chances: "Chances"
    earns: Money | None

    def kept(self) -> dict[str, Any]:
        """Return what is kept of it where it has to stand as it stood."""
        win, place = self.chances.win, self.chances.place
        return {
            "win": round(win.value, 4),
            "low": round(win.low, 4),
            "high": round(win.high, 4),
            "place": round(place.value, 4),
            "field": round(self.chances.field_size[0], 1),
        }


@dataclass(frozen=True, slots=True)
class Asked:
    """What chances are asked with: what is kept, the race, the field to expect."""

    kept: "Kept"
    setting: "Setting"
    field: "ExpectedField"


def chances_in(
    folder: Path, moment: Moment, race: Race, cases: Iterable[Case], stalls: Mapping[int, int] | None = None
) -> tuple[dict[int, Told], str]:
    """Return the chances of horses in a race, by number of the horse, and why there are none.

    Args:
        folder: of the library.
        moment: when to look from: results of its day and later are not known.
        race: the race.
        cases: the horses, each with its weight.
        stalls: by number of the horse, where they are drawn.
    """
    from upsides.placing.chance import Runner, chances

    try:
        asked = _asked(folder, moment.day, race)
        found = {}
        for case in cases:
            pounds, allowed = _pounds(case.carried), _allowed(case.carried)
            ours = Runner(case.horse.horse_key, pounds, allowed, (stalls or {}).get(case.horse.pk))
            told = chances(ours, asked.setting, asked.field, asked.kept)
            found[case.horse.pk] = Told(told, _earns(race, told.by_place))
    except UpsidesError as error:
        return {}, str(error)
    return found, ""


def _asked(folder: Path, day: date, race: Race) -> Asked:
    from upsides.placing.chance import setting_of

    state, setting = state_of(folder), setting_of(race)
    if setting is None:
        raise RaceRefusedError(
            str(race), "distance", "", "no chance can be told without it", "take it from the programme"
        )
    fit = kept_fit(folder, day)
    return Asked(_kept(state, fit, day), setting, _field(state, fit, day, setting))


@lru_cache(maxsize=4)
def _kept(state: State, _fit: KeptFit, day: date) -> "Kept":
    from upsides.placing.chance import read_kept

    return read_kept(state.library(), day)


@lru_cache(maxsize=256)
def _field(state: State, fit: KeptFit, day: date, setting: "Setting") -> "ExpectedField":
    from upsides.placing.chance import expected_field

    return expected_field(state.library(), _kept(state, fit, day), setting)


def _pounds(carried: Carried | None) -> float | None:
    if carried is None:
        return None
    return carried.published * (1.0 if carried.unit == "lb" else KILOGRAM_LB)


def _allowed(carried: Carried | None) -> float:
    """Return the weight for age that is in a weight, pounds."""
    if carried is None:
        return 0.0
    off = sum(-line.value for line in carried.lines if line.key == "weight for age")
    return off * (1.0 if carried.unit == "lb" else KILOGRAM_LB)


def _earns(race: Race, by_place: Iterable[float]) -> Money | None:
    if race.prize is None or not race.prize.by_place:
        return None
    total = sum(chance * prize for chance, prize in zip(by_place, race.prize.by_place, strict=False))
    return Money(round(total), race.prize.currency)
