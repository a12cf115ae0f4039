"""A morning that cannot be right is refused before anything is solved."""

from collections import Counter
from collections.abc import Iterable, Mapping
from math import isfinite, isnan

from upsides.errors import MorningRefusedError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined
from upsides.planning.morning import SEXES, Horse, Lot, Morning, Rider


def check(morning: Morning) -> None:
    """Look through a morning.

    Raises:
        MorningRefusedError: a number stands twice or names nothing, or a value cannot be.
    """
    for field, rows in ((_("horse"), morning.horses), (_("rider"), morning.riders), (_("gallop"), morning.gallops)):
        _once(field, {one.number: one.called for one in rows}, (one.number for one in rows))
    _once(_("lot"), {}, (lot.number for lot in morning.lots))
    names = {horse.number: horse.called for horse in morning.horses}
    _once(_("horse fixed by hand"), names, (pin.horse for pin in morning.pins))
    if morning.horses and not morning.lots:
        raise MorningRefusedError(_("lots"), _("none"), _("there are horses to ride out"), _("name at least one lot"))
    for lot in morning.lots:
        _check_lot(lot)
    for gallop in morning.gallops:
        _count(_("most horses on {gallop}", gallop=gallop.called), gallop.most)
    for rider in morning.riders:
        _check_rider(rider)
    by_number = {horse.number: horse for horse in morning.horses}
    gallops = {gallop.number for gallop in morning.gallops}
    for horse in morning.horses:
        _check_horse(horse, gallops)
        _check_partners(horse, by_number)
    _check_pins(morning, by_number)
    _check_stands(morning)


def _once(field: str, names: Mapping[int, str], numbers: Iterable[int]) -> None:
    for number, times in Counter(numbers).items():
        if times > 1:
            who = names.get(number, number)
            raise MorningRefusedError(field, who, _("it stands there {times} times", times=times), _("name it once"))


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
    _count(_("most lots of {rider}", rider=rider.called), rider.most)
    _count(_("skill of {rider}", rider=rider.called), rider.skill)
    weight = rider.weight_kg
    if weight is not None and not (isfinite(weight) and weight > 0):
        raise MorningRefusedError(
            _("weight of {rider}", rider=rider.called),
            weight,
            _("nobody weighs that"),
            _("give kg, or leave it out"),
        )
    for start, end in rider.hours:
        if not 0 <= start < end <= 1440:
            raise MorningRefusedError(
                _("hours of {rider}", rider=rider.called), _("{start} to {end}", start=start, end=end), _("they end "
                "before they start, or on another day"),
                _("give minutes after midnight, the end after the start"),
            )  # fmt: skip


def _check_horse(horse: Horse, gallops: set[int]) -> None:
    _count(_("skill that {horse} asks for", horse=horse.called), horse.asks)
    _count(_("awkwardness of {horse}", horse=horse.called), horse.awkward)
    if isnan(horse.carries_kg) or horse.carries_kg <= 0:
        raise MorningRefusedError(
            _("limit of {horse}", horse=horse.called),
            horse.carries_kg,
            _("nobody is that light"),
            _("give kg, or leave it out"),
        )
    if horse.number in horse.not_with:
        raise MorningRefusedError(
            _("{horse} is not to go with", horse=horse.called),
            horse.called,
            _("it is the horse itself"),
            _("name another"),
        )
    if horse.sex not in SEXES:
        raise MorningRefusedError(
            _("sex of {horse}", horse=horse.called),
            horse.sex,
            _("no such word"),
            _("say {sexes}; a mare is a filly here", sexes=", ".join(SEXES)),
        )
    if horse.gallop is not None and horse.gallop not in gallops:
        raise MorningRefusedError(
            _("gallop of {horse}", horse=horse.called),
            horse.gallop,
            _("it is not among the gallops"),
            _("add it, or choose another"),
        )


def _check_partners(horse: Horse, by_number: dict[int, Horse]) -> None:
    for number in horse.partners:
        other = by_number.get(number)
        if other is None or number == horse.number:
            raise MorningRefusedError(
                _("partner of {horse}", horse=horse.called),
                other.called if other is not None else number,
                _("it is not another horse of the morning"),
                _("leave it out"),
            )
        if other.gallop != horse.gallop:
            raise MorningRefusedError(
                _("partner of {horse}", horse=horse.called),
                other.called,
                _("it goes to another gallop"),
                _("send both to one gallop"),
            )


def _check_pins(morning: Morning, horses: Mapping[int, Horse]) -> None:
    riders, lots = {r.number: r.called for r in morning.riders}, {lot.number for lot in morning.lots}
    for pin in morning.pins:
        known = pin.horse in horses and pin.lot in {None, *lots} and pin.rider in {None, *riders}
        if not known:
            who = horses[pin.horse].called if pin.horse in horses else _("horse {number}", number=pin.horse)
            told: list[str] = [_("lot {number}", number=pin.lot)] if pin.lot is not None else []
            if pin.rider is not None:
                told.append(riders.get(pin.rider, _("rider {number}", number=pin.rider)))
            raise MorningRefusedError(
                _("fixed by hand"),
                joined([who, *told], by=", "),
                _("one of them is not there this morning"),
                _("fix it anew"),
            )


def _check_stands(morning: Morning) -> None:
    names = {horse.number: horse.called for horse in morning.horses}
    if morning.stands is not None:
        _once(_("horse in the plan that stands"), names, (ride.horse for ride in morning.stands.rides))
