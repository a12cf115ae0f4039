"""Mornings made up by a seed: a yard with its habits, of which this morning departs, or a yard that has none."""

from dataclasses import replace
from typing import Final

import numpy as np

from upsides.planning.morning import Gallop, Horse, Lot, Morning, Pin, Plan, Ride, Rider
from upsides.planning.prices import read_settings

PRICES, YOUNG = read_settings()
EXERCISES: Final = ("walk", "hack_canter", "steady_canter", "half_speed")
SADDLES: Final = ("light", "broad", "long")
NEW, FAST = 0.1, 8
"""Horses without a usual rider, as a share; every so many horses two work together."""


def invented(seed: int, horses: int, riders: int, lots: int, *, habits: bool = True) -> Morning:
    """Return a morning of a yard.

    Args:
        seed: of what is drawn.
        horses, riders, lots: how many.
        habits: whether riders have had their horses dealt to them lot by lot; otherwise usual riders are drawn, and the
            order of the barns is no order of theirs.
    """
    rng = np.random.default_rng(seed)
    people = tuple(_rider(rng, r, lots) for r in range(riders))
    dealt = [people[i] for _ in range(lots) for i in rng.permutation(riders)]
    string = [_horse(rng, h, people, dealt[h % len(dealt)] if habits else None) for h in range(horses)]
    for h in rng.choice(horses // 2, max(horses // FAST, 1), replace=False).tolist():
        one, other = 2 * h, 2 * h + 1
        string[one] = replace(string[one], exercise="fast", gallop=2, apart=False, partners=(string[other].number,))
        string[other] = replace(string[other], exercise="fast", gallop=2, apart=False)
    room = -(-horses * 11 // (10 * lots))
    return Morning(
        tuple(string),
        people,
        tuple(Lot(j + 1, 360 + 80 * j, 430 + 80 * j, room) for j in range(lots)),
        (Gallop(1, room), Gallop(2, 2 * (horses // FAST // lots + 2)), Gallop(3, max(horses // 12, 2))),
        YOUNG,
    )


def _rider(rng: np.random.Generator, r: int, lots: int) -> Rider:
    young = r % 17 == 3
    hours = ((360, 720),) if young else ((0, 600),) if r % 11 == 5 else ((0, 1440),)
    skill = 2 if young else int(rng.choice([2, 3, 4], p=[0.25, 0.5, 0.25]))
    return Rider(100 + r, float(np.round(rng.normal(60, 4), 1)), skill, hours, young=young, most=lots - (r % 9 == 4))


def _horse(rng: np.random.Generator, h: int, people: tuple[Rider, ...], rider: Rider | None) -> Horse:
    asks = int(rng.choice([0, 2, 3, 4], p=[0.6, 0.2, 0.15, 0.05]))
    carries = float(rng.choice([np.inf, 63.0, 59.0], p=[0.75, 0.18, 0.07]))
    able = [x for x in people if x.skill >= asks and (x.weight_kg or 0) <= carries and not x.young]
    if rider is not None:
        asks, carries = min(asks, rider.skill), carries if (rider.weight_kg or 0) <= carries else np.inf
    elif able:
        rider = able[int(rng.integers(len(able)))]
    usual = None if rider is None or rng.random() < NEW else rider.number
    return Horse(
        h,
        str(rng.choice(EXERCISES)),
        int(rng.choice([1, 3], p=[0.8, 0.2])),
        asks=asks,
        carries_kg=carries,
        sex=str(rng.choice(["colt", "filly", "gelding"])),
        apart=h % 60 == 7,
        order=h,
        usual=usual,
        awkward=int(rng.choice([0, 1, 2], p=[0.8, 0.15, 0.05])),
        saddle=str(rng.choice(SADDLES, p=[0.7, 0.2, 0.1])),
        walker=bool(rng.random() < 0.1),
    )


def tiny(seed: int) -> Morning:
    """Return a morning of up to four horses, three riders and two lots, in which every rule and wish may matter."""
    rng = np.random.default_rng(seed)
    horses, riders = int(rng.integers(1, 5)), int(rng.integers(1, 4))
    people = tuple(
        Rider(
            r,
            None if rng.random() < 0.1 else float(rng.integers(55, 66)),
            int(rng.integers(0, 5)),
            ((0, 1440),) if rng.random() < 0.7 else ((0, 440),),
            lots=frozenset({2}) if rng.random() < 0.1 else None,
            young=bool(rng.random() < 0.2),
            most=int(rng.integers(1, 3)),
        )
        for r in range(riders)
    )
    string = [_any_horse(rng, h, riders) for h in range(horses)]
    if horses > 1 and rng.random() < 0.5:
        string[0] = replace(string[0], partners=(1,), gallop=string[1].gallop)
    people, string = _barred(seed, people, string)
    pins = (Pin(0, lot=1),) if rng.random() < 0.2 else (Pin(0, rider=0),) if rng.random() < 0.2 else ()
    stood = [Ride(h, int(rng.integers(1, 3)), int(rng.integers(riders)), 1) for h in range(horses - 1)]
    stands = Plan((*stood, Ride(horses - 1)))
    return Morning(
        tuple(string),
        people,
        (Lot(1, 350, 420, int(rng.integers(1, 4))), Lot(2, 430, 500, int(rng.integers(1, 4)))),
        (Gallop(1, int(rng.integers(1, 4))),),
        YOUNG,
        pins,
        stands if rng.random() < 0.5 else None,
    )


def _any_horse(rng: np.random.Generator, h: int, riders: int) -> Horse:
    return Horse(
        h,
        str(rng.choice(["walk", "fast"])),
        1 if rng.random() < 0.5 else None,
        asks=int(rng.choice([0, 0, 2, 3])),
        carries_kg=float(rng.choice([np.inf, np.inf, 60.0])),
        sex=str(rng.choice(["colt", "filly", "gelding"])),
        apart=bool(rng.random() < 0.3),
        order=int(rng.integers(9)),
        usual=int(rng.integers(riders)) if rng.random() < 0.6 else None,
        awkward=int(rng.integers(0, 4)),
        saddle=str(rng.choice(SADDLES)),
        walker=bool(rng.random() < 0.5),
    )


def _barred(seed: int, people: tuple[Rider, ...], string: list[Horse]) -> tuple[tuple[Rider, ...], list[Horse]]:
    """Bar lots, riders and company here and there, by chances of their own."""
    rng = np.random.default_rng([seed, 1])
    riders = tuple(replace(one, barred=frozenset({1}) if rng.random() < 0.15 else frozenset()) for one in people)
    horses = [
        replace(
            one,
            not_by=frozenset({int(rng.integers(len(people)))}) if rng.random() < 0.2 else frozenset(),
            not_with=((one.number + 1) % 4,) if rng.random() < 0.2 else (),
        )
        for one in string
    ]
    return riders, horses
