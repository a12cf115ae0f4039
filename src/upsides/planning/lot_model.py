"""The lots of a morning as a mixed-integer linear program; docs/planning.md writes it out.

    z[h, r, l]   horse h is ridden by rider r in lot l, for those that every rule about the three allows
    y[h, l]      horse h goes out in lot l
    e[r]         points of awkwardness above the fair share
    u[r, s]      rider r needs saddle s;  w[r] those beyond the first
    k[t, l]      lot l has a horse that must be kept apart from sex t

Without the rows that tie horses to each other it is an assignment of horses to places (r, l), whose corners are whole;
that is why its bound is near.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from upsides.planning.morning import Horse, Lot, Morning, Ride, Rider
from upsides.planning.prices import Parts
from upsides.planning.program import Floats, Ints, Program
from upsides.planning.shares import due_lots, fair_share

OTHER: Final = {"colt": "filly", "filly": "colt"}
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class LotModel:
    """A morning's program with what its columns mean.

    Attributes:
        morning, prices: what it was made from.
        program: the program.
        h, r, l: (k,) places of horse, rider and lot of each column z.
        z: (k,) columns; y: (horses, lots) columns.
        k: columns that say which lots have a horse that must be apart; none where there is no such horse.
    """

    morning: Morning
    prices: Parts
    program: Program
    h: Ints
    r: Ints
    l: Ints  # noqa: E741 - the lot of z[h, r, l]
    z: Ints
    y: Ints
    k: Ints

    def rides(self, values: Floats) -> list[Ride]:
        """Return the rides of a solution, those on the walker too, without places in the string."""
        morning, chosen = self.morning, np.flatnonzero(values[self.z] > 0.5)
        found = {
            h: Ride(morning.horses[h].number, morning.lots[lot].number, morning.riders[r].number)
            for h, r, lot in zip(self.h[chosen].tolist(), self.r[chosen].tolist(), self.l[chosen].tolist(), strict=True)
        }
        return [found.get(h, Ride(horse.number)) for h, horse in enumerate(morning.horses)]


def lot_model(morning: Morning, prices: Parts) -> LotModel:
    """Return the program of a morning; its objective is what `verifying` finds that a plan costs."""
    made = _Made(morning, prices, Program())
    made.add_rides()
    made.add_places()
    made.add_company()
    made.add_apart()
    made.add_foes()
    made.add_shares()
    made.add_saddles()
    h, r, lot = made.hrl
    k = np.concatenate([np.zeros(0, dtype=np.int64), *made.k])
    return LotModel(morning, prices, made.program, h, r, lot, made.z, made.y, k)


@dataclass
class _Made:
    """A program while it is made."""

    morning: Morning
    prices: Parts
    program: Program
    k: list[Ints] = field(default_factory=list)

    @cached_property
    def horses(self) -> tuple[Horse, ...]:
        return self.morning.horses

    @cached_property
    def sizes(self) -> tuple[int, int, int]:
        return len(self.horses), len(self.morning.riders), len(self.morning.lots)

    @cached_property
    def place(self) -> Mapping[int, int]:
        return {horse.number: i for i, horse in enumerate(self.horses)}

    @cached_property
    def stood(self) -> Mapping[int, Ride]:
        return self.morning.stands.of_horse() if self.morning.stands is not None else {}

    @cached_property
    def hrl(self) -> tuple[Ints, Ints, Ints]:
        h, r, lot = np.nonzero(allowed(self.morning))
        return h, r, lot

    def add_rides(self) -> None:
        """Add z and y, and that each horse goes out once: ridden in the lot in which it goes."""
        n, _, lots = self.sizes
        h, r, lot = self.hrl
        self.z = self.program.columns(self._ride_costs()[h, r])
        self.y = self.program.columns(self._lot_costs())
        of = h * lots + lot
        self.program.rows(
            np.r_[of, np.arange(n * lots)],
            np.r_[self.z, self.y.ravel()],
            np.r_[np.ones(self.z.size), -np.ones(n * lots)],
            np.zeros(n * lots),
            np.zeros(n * lots),
        )
        pinned = {pin.horse for pin in self.morning.pins if pin.lot is not None or pin.rider is not None}
        must = [float(not horse.walker or horse.number in pinned) for horse in self.horses]
        self.program.rows(np.repeat(np.arange(n), lots), self.y.ravel(), 1.0, np.array(must), np.ones(n))

    def _ride_costs(self) -> Floats:
        """Return the price of each rider on each horse, (horses, riders)."""
        usual = np.array([-1 if h.usual is None else h.usual for h in self.horses])[:, None]
        stood = np.array([_rider(self.stood.get(h.number)) for h in self.horses])[:, None]
        known = np.array([h.number in self.stood for h in self.horses])[:, None]
        riders = np.array([rider.number for rider in self.morning.riders])[None, :]
        has_usual = np.array([h.usual is not None for h in self.horses])[:, None]
        share = fair_share(self.morning)
        above = np.array([max(h.awkward - share, 0) for h in self.horses])[:, None]
        found: Floats = (
            self.prices.usual * (has_usual & (usual != riders))
            + self.prices.change_rider * (known & (stood != riders))
            + self.prices.awkward * above
        )
        return found

    def _lot_costs(self) -> Floats:
        """Return the price of each horse in each lot less that of leaving it in, which the offset holds."""
        prices, due = self.prices, due_lots(self.morning)
        lots = self.morning.lots
        found = np.zeros(self.sizes[::2])
        for i, horse in enumerate(self.horses):
            before = self.stood.get(horse.number)
            left = prices.walker
            if before is not None:
                left += prices.change_rider * (before.rider is not None) + prices.change_lot * (before.lot is not None)
            self.program.offset += left
            for j, lot in enumerate(lots):
                moved = before is not None and before.lot != lot.number
                found[i, j] = prices.barn_order * abs(j - due[horse.number]) + prices.change_lot * moved - left
        return found

    def add_places(self) -> None:
        """Add what limits riders, lots and gallops: one horse at a time, so many lots, so many horses.

        A rider has one horse among the lots that are out when a lot pulls out, itself among them.
        """
        _, riders, lots = self.sizes
        _, r, lot = self.hrl
        out = np.array([[one.out_with(at) for at in self.morning.lots] for one in self.morning.lots], dtype=bool)
        which, at = np.nonzero(out[lot])
        self.program.rows(r[which] * lots + at, self.z[which], 1.0, -np.inf, np.ones(riders * lots))
        most = [min(x.most, self.morning.young.lots if x.young else x.most, lots) for x in self.morning.riders]
        self.program.rows(r, self.z, 1.0, -np.inf, np.array(most, dtype=float))
        for j, one in enumerate(self.morning.lots):
            self.program.row_of(self.y[:, j], high=one.most)
        for gallop in self.morning.gallops:
            own = [i for i, horse in enumerate(self.horses) if horse.gallop == gallop.number]
            for j in range(lots if len(own) > gallop.most else 0):
                self.program.row_of(self.y[own, j], high=gallop.most)

    def add_company(self) -> None:
        """Add that horses that work together go in one lot."""
        for one, other in self.morning.pairs:
            for j in range(self.sizes[2]):
                self.program.row_of([self.y[self.place[one], j], self.y[self.place[other], j]], [1.0, -1.0], 0.0, 0.0)

    def add_apart(self) -> None:
        """Add that no lot has a horse that must be apart from a sex and one of that sex."""
        for sex, other in OTHER.items():
            asked = [i for i, horse in enumerate(self.horses) if horse.apart and horse.sex == sex]
            kept = [i for i, horse in enumerate(self.horses) if horse.sex == other]
            if not asked or not kept:
                continue
            k = self.program.columns(np.zeros(self.sizes[2]))
            self.k.append(k)
            for j in range(self.sizes[2]):
                self.program.row_of([*self.y[asked, j], k[j]], [*np.ones(len(asked)), -1.0], low=0.0)
                for i in asked:
                    self.program.row_of([self.y[i, j], k[j]], [1.0, -1.0], high=0.0)
                for i in kept:
                    self.program.row_of([self.y[i, j], k[j]], 1.0, high=1.0)

    def add_foes(self) -> None:
        """Add that horses that never go together are in no lot together."""
        for one, other in self.morning.foes:
            for j in range(self.sizes[2]):
                self.program.row_of([self.y[self.place[one], j], self.y[self.place[other], j]], 1.0, high=1.0)

    def add_shares(self) -> None:
        """Add the points of awkwardness that a rider has above the fair share F.

        (sum a x - F)+ = sum (a - F)+ x + (sum min(a, F) x - F)+ for whole x: its first part is a price of z.
        """
        points, share = np.array([horse.awkward for horse in self.horses]), fair_share(self.morning)
        if not points.any() or not self.prices.awkward:
            return
        h, r, _ = self.hrl
        riders, own = self.sizes[1], np.flatnonzero(points[h])
        e = self.program.columns(np.full(riders, self.prices.awkward), np.inf, whole=False)
        self.program.rows(
            np.r_[r[own], np.arange(riders)],
            np.r_[self.z[own], e],
            np.r_[np.minimum(points, share)[h[own]], -np.ones(riders)],
            -np.inf,
            np.full(riders, float(share)),
        )

    def add_saddles(self) -> None:
        """Add the saddles that a rider needs: one of a kind serves all lots."""
        kinds, of = np.unique([horse.saddle for horse in self.horses], return_inverse=True)
        if kinds.size < 2 or not self.prices.saddle:
            return
        h, r, lot = self.hrl
        _, riders, lots = self.sizes
        u = self.program.columns(np.zeros((riders, kinds.size)))
        w = self.program.columns(np.full(riders, self.prices.saddle), np.inf, whole=False)
        rows = (r * kinds.size + of[h]) * lots + lot
        n = riders * kinds.size * lots
        self.program.rows(
            np.r_[rows, np.arange(n)], np.r_[self.z, np.repeat(u.ravel(), lots)],
            np.r_[np.ones(self.z.size), -np.ones(n)], -np.inf, np.zeros(n),
        )  # fmt: skip
        self.program.rows(
            np.r_[np.repeat(np.arange(riders), kinds.size), np.arange(riders)], np.r_[u.ravel(), w],
            np.r_[np.ones(u.size), -np.ones(riders)], -np.inf, np.ones(riders),
        )  # fmt: skip
        h_r, pair = np.unique(h * riders + r, return_inverse=True)
        self.program.rows(
            np.r_[pair, np.arange(h_r.size)], np.r_[self.z, u[h_r % riders, of[h_r // riders]]],
            np.r_[np.ones(self.z.size), -np.ones(h_r.size)], -np.inf, np.zeros(h_r.size),
        )  # fmt: skip


def _rider(ride: Ride | None) -> int:
    return -1 if ride is None or ride.rider is None else ride.rider


def allowed(morning: Morning) -> Bools:
    """Return whether weight, skill, hours, the limits of the young and what is fixed allow each (horse, rider, lot)."""
    riders, lots, horses = morning.riders, morning.lots, morning.horses
    weight = np.array([np.inf if x.weight_kg is None else x.weight_kg for x in riders])
    skill, young = np.array([x.skill for x in riders]), np.array([x.young for x in riders], dtype=bool)
    carries, asks = np.array([x.carries_kg for x in horses]), np.array([x.asks for x in horses])
    pair = (weight <= carries[:, None]) & (skill >= asks[:, None])
    hard = (asks > morning.young.asks) | np.array([x.exercise in morning.young.exercises for x in horses], dtype=bool)
    pair &= ~(hard[:, None] & young)
    pair &= ~np.array([[x.number in horse.not_by for x in riders] for horse in horses], dtype=bool).reshape(pair.shape)
    time = np.array([[_within(x, lot) for lot in lots] for x in riders], dtype=bool).reshape(len(riders), len(lots))
    time &= ~(young[:, None] & (np.array([lot.starts for lot in lots]) < morning.young.earliest))
    return _fixed(morning, pair[:, :, None] & time[None, :, :])


def _within(rider: Rider, lot: Lot) -> bool:
    hours = any(start <= lot.starts and lot.ends <= end for start, end in rider.hours)
    return hours and lot.number not in rider.barred and (rider.lots is None or lot.number in rider.lots)


def _fixed(morning: Morning, found: Bools) -> Bools:
    """Return what is allowed less what goes against something fixed by hand."""
    place = {horse.number: i for i, horse in enumerate(morning.horses)}
    for pin in morning.pins:
        own = found[place[pin.horse]]
        if pin.rider is not None:
            own &= np.array([rider.number == pin.rider for rider in morning.riders])[:, None]
        if pin.lot is not None:
            own &= np.array([lot.number == pin.lot for lot in morning.lots])[None, :]
    return found
