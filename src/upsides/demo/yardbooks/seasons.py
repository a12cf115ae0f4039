"""Everything that was settled of the yard's seasons before a line of its diary is written."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.invented import Invented
from upsides.demo.yardbooks.events import Events, events_of
from upsides.demo.yardbooks.going import Open, weather
from upsides.demo.yardbooks.grid import Bools, Grid, Ints, grid_of, place_fast, spaced
from upsides.demo.yardbooks.hands import Hands, hands_of
from upsides.demo.yardbooks.staff import Staff, staff_of
from upsides.demo.yardbooks.standing import Housed, housed
from upsides.demo.yardbooks.working import Nature, Work, work_of
from upsides.planning.work.settings import read_settings

LATELY: Final = 60
"""Days before today of which the diary has every round."""
_HARD_TO_RIDE = 0.16
_LIGHT_KG: Final = 62.0
_FIRST_LIGHT, _LIGHT_EVERY = 5, 15


@dataclass(frozen=True, slots=True)
class Seasons:
    """What the diary is written from.

    Args:
        invented: the world.
        grid: the days of the horses.
        own: boxes and carers.
        staff: people and when they work.
        hands: who writes what.
        events: what went wrong.
        nature: what the horses are.
        strips: which gallops were open.
        work: what every horse did.
        present: whether a horse was in its box, (horses, days).
        order: place of each horse in the round of its barn.
    """

    invented: Invented
    grid: Grid
    own: Housed
    staff: Staff
    hands: Hands
    events: Events
    nature: Nature
    strips: Open
    work: Work
    present: Bools
    order: Ints

    @property
    def lately(self) -> Ints:
        """Return the columns of the last days and of today."""
        return np.arange(max(0, self.grid.today - LATELY), self.grid.today + 1)

    def codes(self, horses: Ints) -> list[str]:
        """Return the source_horse of horses by place."""
        return [self.grid.codes[i] for i in horses.tolist()]

    def names(self, people: Ints) -> list[str]:
        """Return the logins of people by place."""
        return self.hands.names[people].tolist()  # type: ignore[no-any-return]

    def carers(self, horses: Ints, days: Ints) -> list[str]:
        """Return who looked after horses on days."""
        return self.names(self.hands.carer[horses, days])

    def heads(self, horses: Ints, days: Ints) -> list[str]:
        """Return who answered for their barns."""
        return self.names(self.hands.head[self.own.barn[horses], days])


def seasons_of(rngs: list[np.random.Generator], invented: Invented) -> Seasons:
    """Settle the yard's seasons."""
    staffing, housing, happening, blowing, placing, working, handling = rngs
    grid, staff = grid_of(invented), staff_of(staffing, invented)
    own = housed(housing, invented)
    marked = (invented.stays["mark"].is_not_null() & invented.stays["left"].is_null()).to_numpy()
    events = events_of(happening, grid, own.barn, marked)
    strips = weather(blowing, grid)
    nature = _nature(handling, invented)
    fast = spaced(grid, place_fast(placing, grid, events.advice), read_settings().trainer.gap)
    work = work_of(working, grid, events, fast, strips, staff, nature)
    number = np.array([boxes[-1][0] for boxes in own.boxes])
    hands = hands_of(staff, grid, own)
    return Seasons(
        invented, grid, own, staff, hands, events, nature, strips, work, grid.here & ~events.turned_out, number
    )


def _nature(rng: np.random.Generator, invented: Invented) -> Nature:
    truth = invented.stays.join(invented.truth_horses, on="source_horse", how="left", maintain_order="left")
    skill = np.where(rng.random(truth.height) < _HARD_TO_RIDE, rng.integers(3, 5, truth.height), 0)
    here = np.flatnonzero(invented.stays["left"].is_null().to_numpy())
    carries = np.full(truth.height, np.inf)
    carries[here[_FIRST_LIGHT::_LIGHT_EVERY]] = _LIGHT_KG
    colts = [i for i in here.tolist() if invented.stays["sex"][i] in {"colt", "horse"}][:2]
    return Nature(
        best_m=truth["best_trip_m"].to_numpy(),
        level_lb=truth["mature_lb"].to_numpy(),
        skill=skill,
        carries_kg=carries,
        foaled=truth["foaled"].cast(pl.Int64).to_numpy(),
        foes=np.array(colts if len(colts) == 2 else [], dtype=np.int64),
    )
