"""A morning that cannot be right is refused before anything is solved."""

from collections import Counter
from collections.abc import Iterable
from math import isfinite, isnan

from upsides.errors import MorningRefusedError
from upsides.planning.morning import SEXES, Horse, Lot, Morning, Rider


def check(morning: Morning) -> None:
    """Look through a morning.

    Raises:
        MorningRefusedError: a number stands twice or names nothing, or a value cannot be.
    """
    for field, rows in (("horse", morning.horses), ("rider", morning.riders), ("lot", morning.lots)):
        _once(field, (row.number for row in rows))
    _once("gallop", (gallop.number for gallop in morning.gallops))
    _once("horse fixed by hand", (pin.horse for pin in morning.pins))
    if morning.horses and not morning.lots:
        raise MorningRefusedError("lots", "none", "there are horses to ride out", "name at least one lot")
    for lot in morning.lots:
        _check_lot(lot)
    for gallop in morning.gallops:
        _count(f"most horses on gallop {gallop.number}", gallop.most)
    for rider in morning.riders:
        _check_rider(rider)
    by_number = {horse.number: horse for horse in morning.horses}
    gallops = {gallop.number for gallop in morning.gallops}
    for horse in morning.horses:
        _check_horse(horse, gallops)
        _check_partners(horse, by_number)
    _check_pins(morning, by_number)
    _check_stands(morning)


def _once(field: str, numbers: Iterable[int]) -> None:
    for number, times in Counter(numbers).items():
        if times > 1:
            raise MorningRefusedError(field, number, f"it stands there {times} times", "name it once")


def _count(field: str, value: int) -> None:
    if value < 0:
        raise MorningRefusedError(field, value, "it is less than none", "give 0 or more")


def _check_lot(lot: Lot) -> None:
    _count(f"most horses in lot {lot.number}", lot.most)
    if not 0 <= lot.starts < lot.ends <= 1440:
        raise MorningRefusedError(
            f"times of lot {lot.number}", f"{lot.starts} to {lot.ends}", "it ends before it starts, or on another day",
            "give minutes after midnight, the end after the start",
        )  # fmt: skip


def _check_rider(rider: Rider) -> None:
    _count(f"most lots of rider {rider.number}", rider.most)
    _count(f"skill of rider {rider.number}", rider.skill)
    weight = rider.weight_kg
    if weight is not None and not (isfinite(weight) and weight > 0):
        raise MorningRefusedError(
            f"weight of rider {rider.number}", weight, "nobody weighs that", "give kg, or leave it out"
        )
    for start, end in rider.hours:
        if not 0 <= start < end <= 1440:
            raise MorningRefusedError(
                f"hours of rider {rider.number}", f"{start} to {end}", "they end before they start, or on another day",
                "give minutes after midnight, the end after the start",
            )  # fmt: skip


def _check_horse(horse: Horse, gallops: set[int]) -> None:
    _count(f"skill that horse {horse.number} asks for", horse.asks)
    _count(f"awkwardness of horse {horse.number}", horse.awkward)
    if isnan(horse.carries_kg) or horse.carries_kg <= 0:
        raise MorningRefusedError(
            f"limit of horse {horse.number}", horse.carries_kg, "nobody is that light", "give kg, or leave it out"
        )
    if horse.number in horse.not_with:
        raise MorningRefusedError(
            f"horse {horse.number} is not to go with", horse.number, "it is the horse itself", "name another"
        )
    if horse.sex not in SEXES:
        raise MorningRefusedError(
            f"sex of horse {horse.number}", horse.sex, "no such word", f"say {', '.join(SEXES)}; a mare is a filly here"
        )
    if horse.gallop is not None and horse.gallop not in gallops:
        raise MorningRefusedError(
            f"gallop of horse {horse.number}", horse.gallop, "it is not among the gallops", "add it, or choose another"
        )


def _check_partners(horse: Horse, by_number: dict[int, Horse]) -> None:
    for number in horse.partners:
        other = by_number.get(number)
        if other is None or number == horse.number:
            raise MorningRefusedError(
                f"partner of horse {horse.number}", number, "it is not another horse of the morning", "leave it out"
            )
        if other.gallop != horse.gallop:
            raise MorningRefusedError(
                f"partner of horse {horse.number}", number, "it goes to another gallop", "send both to one gallop"
            )


def _check_pins(morning: Morning, horses: dict[int, Horse]) -> None:
    riders, lots = {r.number for r in morning.riders}, {lot.number for lot in morning.lots}
    for pin in morning.pins:
        known = pin.horse in horses and pin.lot in {None, *lots} and pin.rider in {None, *riders}
        if not known:
            raise MorningRefusedError(
                "fixed by hand", f"horse {pin.horse}, lot {pin.lot}, rider {pin.rider}",
                "one of them is not there this morning", "fix it anew",
            )  # fmt: skip


def _check_stands(morning: Morning) -> None:
    if morning.stands is not None:
        _once("horse in the plan that stands", (ride.horse for ride in morning.stands.rides))
