"""A morning that cannot be right is refused before anything is solved."""

from collections import Counter
from collections.abc import Iterable
from math import isfinite, isnan

from upsides.errors import MorningRefusedError
from upsides.errors.wording import gettext as _
from upsides.planning.morning import SEXES, Horse, Lot, Morning, Rider


def check(morning: Morning) -> None:
    """Look through a morning.

    Raises:
        MorningRefusedError: a number stands twice or names nothing, or a value cannot be.
    """
    for field, rows in (("horse", morning.horses), ("rider", morning.riders), ("lot", morning.lots)):
        _once(field, (row.number for row in rows))
    _once(_("gallop"), (gallop.number for gallop in morning.gallops))
    _once(_("horse fixed by hand"), (pin.horse for pin in morning.pins))
    if morning.horses and not morning.lots:
        raise MorningRefusedError(_("lots"), _("none"), _("there are horses to ride out"), _("name at least one lot"))
    for lot in morning.lots:
        _check_lot(lot)
    for gallop in morning.gallops:
        _count(_("most horses on gallop {number}", number=gallop.number), gallop.most)
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
            raise MorningRefusedError(field, number, _("it stands there {times} times", times=times), _("name it once"))


def _count(field: str, value: int) -> None:
    if value < 0:
        raise MorningRefusedError(field, value, _("it is less than none"), _("give 0 or more"))


def _check_lot(lot: Lot) -> None:
    _count(_("most horses in lot {number}", number=lot.number), lot.most)
    if not 0 <= lot.starts < lot.ends <= 1440:
        raise MorningRefusedError(
            _("times of lot "
            "{number}", number=lot.number), _("{starts} to {ends}", starts=lot.starts, ends=lot.ends), _("it ends "
            "before it starts, or on another day"),
            _("give minutes after midnight, the end after the start"),
        )  # fmt: skip


def _check_rider(rider: Rider) -> None:
    _count(_("most lots of rider {number}", number=rider.number), rider.most)
    _count(_("skill of rider {number}", number=rider.number), rider.skill)
    weight = rider.weight_kg
    if weight is not None and not (isfinite(weight) and weight > 0):
        raise MorningRefusedError(
            _("weight of rider {number}", number=rider.number),
            weight,
            _("nobody weighs that"),
            _("give kg, or leave it out"),
        )
    for start, end in rider.hours:
        if not 0 <= start < end <= 1440:
            raise MorningRefusedError(
                _("hours of rider "
                "{number}", number=rider.number), _("{start} to {end}", start=start, end=end), _("they end "
                "before they start, or on another day"),
                _("give minutes after midnight, the end after the start"),
            )  # fmt: skip


def _check_horse(horse: Horse, gallops: set[int]) -> None:
    _count(_("skill that horse {number} asks for", number=horse.number), horse.asks)
    _count(_("awkwardness of horse {number}", number=horse.number), horse.awkward)
    if isnan(horse.carries_kg) or horse.carries_kg <= 0:
        raise MorningRefusedError(
            _("limit of horse {number}", number=horse.number),
            horse.carries_kg,
            _("nobody is that light"),
            _("give kg, or leave it out"),
        )
    if horse.number in horse.not_with:
        raise MorningRefusedError(
            _("horse {number} is not to go with", number=horse.number),
            horse.number,
            _("it is the horse itself"),
            _("name another"),
        )
    if horse.sex not in SEXES:
        raise MorningRefusedError(
            _("sex of horse {number}", number=horse.number),
            horse.sex,
            _("no such word"),
            _("say {sexes}; a mare is a filly here", sexes=", ".join(SEXES)),
        )
    if horse.gallop is not None and horse.gallop not in gallops:
        raise MorningRefusedError(
            _("gallop of horse {number}", number=horse.number),
            horse.gallop,
            _("it is not among the gallops"),
            _("add it, or choose another"),
        )


def _check_partners(horse: Horse, by_number: dict[int, Horse]) -> None:
    for number in horse.partners:
        other = by_number.get(number)
        if other is None or number == horse.number:
            raise MorningRefusedError(
                _("partner of horse {number}", number=horse.number),
                number,
                _("it is not another horse of the morning"),
                _("leave it out"),
            )
        if other.gallop != horse.gallop:
            raise MorningRefusedError(
                _("partner of horse {number}", number=horse.number),
                number,
                _("it goes to another gallop"),
                _("send both to one gallop"),
            )


def _check_pins(morning: Morning, horses: dict[int, Horse]) -> None:
    riders, lots = {r.number for r in morning.riders}, {lot.number for lot in morning.lots}
    for pin in morning.pins:
        known = pin.horse in horses and pin.lot in {None, *lots} and pin.rider in {None, *riders}
        if not known:
            raise MorningRefusedError(
                _("fixed by hand"), _("horse {horse}, lot {lot}, rider "
                "{rider}", horse=pin.horse, lot=pin.lot, rider=pin.rider),
                _("one of them is not there this morning"), _("fix it anew"),
            )  # fmt: skip


def _check_stands(morning: Morning) -> None:
    if morning.stands is not None:
        _once(_("horse in the plan that stands"), (ride.horse for ride in morning.stands.rides))
