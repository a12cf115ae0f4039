"""Horses of ours that cannot run where they are engaged by what is known now, and what follows for each."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from upsides.books.models import Engagement
from upsides.books.queries.engaged import Engaged, pressing
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.off_the_card import left_off
from upsides.books.queries.shut_out import shut_out
from upsides.placing import Finding, Race, Terms, after_withdrawal

State = Engagement.State


@dataclass(frozen=True, slots=True)
class Barred:
    """What keeps one horse from one race.

    Args:
        against: what says no; empty where nothing does but the card.
        left_off: whether the card is settled and does not name it: eliminated, balloted out, or never declared there.
        certified: first day on which it may race again where a vet certifies that it is taken out; None where it is not
            declared, or no rule is known.
        otherwise: the same without a vet's certificate.
    """

    against: tuple[Finding, ...]
    left_off: bool = False
    certified: date | None = None
    otherwise: date | None = None


def barred(folder: Path, moment: Moment, said: Iterable[Engaged]) -> dict[int, Barred]:
    """Return what keeps horses from races to come, by number of the engagement; the others are not in it.

    Args:
        folder: of the library.
        moment: when to look from.
        said: what horses are engaged for.
    """
    listed = [one for one in said if one.engagement.state != State.WITHDRAWN and one.race.day >= moment.day]
    terms = terms_of(folder)
    shut, off = shut_out(folder, moment, listed), left_off(folder, moment, listed, terms)
    return {
        one.engagement.pk: _barred(one, shut.get(one.engagement.pk, ()), terms, gone=one.engagement.pk in off)
        for one in listed
        if one.engagement.pk in shut or one.engagement.pk in off
    }


def _barred(one: Engaged, against: tuple[Finding, ...], terms: Terms, *, gone: bool) -> Barred:
    """Return what keeps a horse out; one that went out by the card was not taken out, so nothing follows for it."""
    if gone or one.engagement.state != State.DECLARED:
        return Barred(against, gone)
    certified, otherwise = (_again(one.race, terms, certified=each) for each in (True, False))
    return Barred(against, gone, certified, otherwise)


def _again(race: Race, terms: Terms, *, certified: bool) -> date | None:
    rest = after_withdrawal(race, certified=certified, terms=terms)
    return rest.first_day if rest else None


def to_say(
    found: Collection[Engaged], kept: Mapping[int, Barred], at: datetime, hours: float | None = None
) -> tuple[list[Engaged], list[Engaged]]:
    """Return what has to be said, soonest first, and beside it the horses that cannot run, of whom it need not be.

    Args:
        found: what horses are engaged for.
        kept: those that cannot run, by number of the engagement.
        at: the moment.
        hours: how far ahead is looked; None for all.
    """
    out = [one for one in found if one.engagement.pk in kept and _concerns(one, at, hours)]
    return [one for one in pressing(found, at, hours) if one.engagement.pk not in kept], out


def _concerns(one: Engaged, at: datetime, hours: float | None) -> bool:
    """Return whether something still happens with a horse: a stage before it, or a declaration that stands."""
    if one.due is None and one.engagement.state != State.DECLARED:
        return False
    if hours is None:
        return True
    last = at + timedelta(hours=hours)
    return one.due.at <= last if one.due else one.race.day <= last.date()
