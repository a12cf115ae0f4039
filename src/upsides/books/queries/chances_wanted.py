"""Of which of ours, in which races to come, chances are wanted, and with what each is asked for."""

from collections import Counter
from collections.abc import Mapping, Set
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from upsides.books import clock
from upsides.books.models import Engagement, Horse
from upsides.books.queries import trips
from upsides.books.queries.engaged import Engaged, added, engaged
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.getting_a_run import taken_out
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case, ahead_of, case_of, dues_of, string_of, too_late, ways_in
from upsides.books.queries.programme import programme
from upsides.placing import Carried, Race, Says, Stage, Terms
from upsides.results.race_cards import CardRunner, read_card, runner_called
from upsides.trade.units import FURLONG_M, POUND_KG

KILOGRAM_LB: Final = 1.0 / POUND_KG
"""Pounds in a kilogram: the library keeps weights in exact pounds, and a kilogram on a horse is one."""
MOST_AHEAD: Final = 12
"""Races that a horse is not meant for yet, of which its chances are worked out: the soonest over its own trip."""
_TO_COME: Final = (Stage.ENTER, Stage.CONFIRM, Stage.DECLARE)
_ORDER: Final = (Stage.ENTER, Stage.CONFIRM, Stage.SUPPLEMENT, Stage.DECLARE, Stage.WITHDRAW)


@dataclass(frozen=True, slots=True)
class Asked:
    """One horse in a race, as its chance is asked for.

    Args:
        horse: its row of the books.
        weight, allowed: on the card, and the weight for age that is in it, lb.
        stall: None before the draw.
        fees: what it still costs to get there; None where that is not stated.
    """

    horse: Horse
    weight: float | None
    allowed: float
    stall: int | None = None
    fees: float | None = None


@dataclass(frozen=True, slots=True)
class Wanted:
    """A race in which chances of ours are asked for.

    Args:
        code: of the race.
        race: the race.
        asked: those of ours whose chances are asked for.
        card: its runners, where the card is written down.
        entered: those of ours that are in it already; the others meet them.
    """

    code: str
    race: Race
    asked: tuple[Asked, ...]
    card: tuple[CardRunner, ...] = ()
    entered: tuple[Asked, ...] = ()


def wanted_races(folder: Path, moment: Moment, most: int = MOST_AHEAD) -> list[Wanted]:
    """Return the races in which chances of ours are wanted, in order of day.

    Of every horse those that it is meant for or in, and the soonest that plainly take it, can still be entered and are
    run over a trip that may be its own: at most `most`.
    """
    ours = {one.pk: one for one in string_of(moment)}
    said = [
        one
        for one in engaged(folder, moment)
        if one.known and one.engagement.state != Engagement.State.WITHDRAWN and one.horse.pk in ours
    ]
    ahead = ahead_of(programme(folder, moment), moment)
    ahead |= {one.engagement.race_code: one.race for one in said}
    terms = terms_of(folder)
    meant = {(one.engagement.race_code, one.horse.pk): one for one in said}
    found = _cases(folder, moment, ahead, list(ours.values()), set(meant), terms, most)
    listed = [
        _wanted(folder, moment, race, found[code], meant, terms)
        for code, race in sorted(ahead.items(), key=lambda one: (one[1].day, one[0]))
        if found[code]
    ]
    return [one for one in listed if one.asked]


def _wanted(
    folder: Path, moment: Moment, race: Race, cases: list[Case], meant: Mapping[tuple[str, int], Engaged], terms: Terms
) -> Wanted:  # fmt: skip
    """Return what is asked of one race; nothing of a horse that missed a step, unless the card names it.

    Nothing either of one that the card of a settled field does not name.
    """
    code, at = cases[0].code, moment.at or clock.now()
    card = read_card(folder, code, moment.at)
    settled = bool(card) and not taken_out(race, card, moment, terms)
    asked, entered = [], []
    for case in cases:
        named = runner_called(card, case.horse.name) is not None
        if settled and not named:
            continue
        said = meant.get((code, case.horse.pk))
        reached = said.reached if said else None
        if too_late(race, reached, at, terms) and not named:
            continue
        asked.append(asked_of(case, said, terms, moment))
        if reached is not None:
            entered.append(asked[-1])
    return Wanted(code, race, tuple(asked), card, tuple(entered))


def _cases(
    folder: Path, moment: Moment, ahead: Mapping[str, Race], ours: list[Horse], meant: Set[tuple[str, int]],
    terms: Terms, most: int,
) -> dict[str, list[Case]]:  # fmt: skip
    """Return by code of the race the cases of horses that are meant for it, and of those whose soonest it is among.

    What the rules say takes longest, so it is asked last, and no more of a horse that has its races.
    """
    known, spans, at = entrants(folder, moment, ours), own_trips(folder, moment, ours), moment.at or clock.now()
    soon: Counter[int] = Counter()
    found: dict[str, list[Case]] = {}
    for code, race in ahead.items():
        enterable, found[code] = bool(ways_in(race, at, terms)), []
        for horse in ours:
            is_meant = (code, horse.pk) in meant
            if not is_meant and not (enterable and soon[horse.pk] < most and is_own(race, horse.pk, spans)):
                continue
            case = case_of(code, race, horse, known[horse.pk], terms)
            if case.open if is_meant else case.says is Says.YES:
                found[code].append(case)
                soon[horse.pk] += not is_meant
    return found


def asked_of(case: Case, said: Engaged | None, terms: Terms, moment: Moment) -> Asked:
    """Return a case as its chance is asked for."""
    stall = said.engagement.draw if said else None
    reached = said.reached if said else None
    fees = _fees(case.race, reached, terms, moment)
    return Asked(case.horse, pounds_of(case.carried), _allowed(case.carried), stall, fees)


def _fees(race: Race, reached: Stage | None, terms: Terms, moment: Moment) -> float | None:
    """Return what it still costs to get to the start, in the currency of the prizes; None where that is not stated."""
    at, dues = moment.at or clock.now(), dues_of(race, terms)[0]
    open_ = [one for one in dues if one.at >= at]
    steps = [one for one in open_ if one.stage in _TO_COME and (reached is None or not _behind(one.stage, reached))]
    if reached is None and not any(one.stage is Stage.ENTER for one in steps):
        steps += [one for one in open_ if one.stage is Stage.SUPPLEMENT]
    sums = added(one.cost for one in steps if one.cost is not None)
    if not sums:
        return 0.0 if reached is not None or any(one.cost is not None for one in dues) else None
    same = race.prize is not None and len(sums) == 1 and sums[0].currency == race.prize.currency
    return sums[0].amount if same else None


def _behind(stage: Stage, reached: Stage) -> bool:
    return _ORDER.index(stage) <= _ORDER.index(reached)


def own_trips(folder: Path, moment: Moment, horses: list[Horse]) -> dict[int, tuple[float, float]]:
    """Return between which distances each horse's trip lies nine times in ten, metres, where that is known."""
    found = trips.trips(folder, moment, horses)[0]
    return {number: (one.lowest * FURLONG_M, one.highest * FURLONG_M) for number, one in found.items()}


def is_own(race: Race, number: int, spans: Mapping[int, tuple[float, float]]) -> bool:
    """Return whether a race is run over a trip that may be a horse's; so long as nothing is known every one is."""
    low, high = spans.get(number, (0.0, float("inf")))
    return race.distance_m is not None and low <= race.distance_m <= high


def pounds_of(carried: Carried | None) -> float | None:
    """Return a weight on the card in pounds; None where there is none."""
    if carried is None:
        return None
    return carried.published * (1.0 if carried.unit == "lb" else KILOGRAM_LB)


def _allowed(carried: Carried | None) -> float:
    """Return the weight for age that is in a weight, pounds."""
    if carried is None:
        return 0.0
    off = sum(-line.value for line in carried.lines if line.key == "weight for age")
    return off * (1.0 if carried.unit == "lb" else KILOGRAM_LB)
