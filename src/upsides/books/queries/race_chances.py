"""Working out what chance horses of ours have in races to come. A worker does it; pages read what it kept."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from upsides.books.chances import RaceChance
from upsides.books.models import Horse
from upsides.books.queries import trips
from upsides.books.queries.black_type import Worth, black_type_said, worth_to
from upsides.books.queries.carded import keys_named
from upsides.books.queries.chances_wanted import Asked, Wanted, asked_of
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.getting_a_run import chances_to_run, taken_out
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import Case, case_of
from upsides.books.queries.prize_shares import has_black_type, owners_prizes
from upsides.books.queries.results import state_of
from upsides.books.queries.trips import Facts
from upsides.books.queries.yard_rules import yard_rules
from upsides.errors import CannotFitError, RaceRefusedError, UpsidesError
from upsides.errors.wording import gettext as _
from upsides.placing import Race, Terms, entered
from upsides.ratings.kept_fits import KeptFit, fingerprint, kept_fit
from upsides.results.naming import key_of, may_be_one
from upsides.results.race_cards import read_card, runner_called
from upsides.rules import Overrides

if TYPE_CHECKING:  # loaded where it is used: it brings compiled code
    from upsides.placing.chance import Carded, Chances, Kept, Own, Runner, Setting
    from upsides.ratings.draw.worth import DrawAnswer
    from upsides.trip.cases import Told


WAY: Final = 2
"""Which way of working chances out this is; by another they are worked out anew."""


@dataclass
class Working:
    """What chances are worked out from: the fit, and what was drawn of each horse so far.

    Args:
        folder: of the library.
        moment: when it is looked from: results of its day and later are not known.
        horses: those whose chances may be asked for.
    """

    folder: Path
    moment: Moment
    horses: Sequence[Horse]
    _own: "dict[int, Own]" = field(default_factory=dict)

    def __post_init__(self) -> None:
        from upsides.placing.chance import read_kept

        self.state = state_of(self.folder)
        self.fit: KeptFit = kept_fit(self.folder, self.moment.day)
        self.kept: Kept = read_kept(self.state.library(), self.moment.day)
        self._fit = fingerprint(self.fit)
        self.rules: Overrides = yard_rules(self.folder).overrides
        self._ruled = _mark(self.rules.entries)
        self.black_type: Worth = black_type_said(self.moment)
        self.facts: Mapping[int, Facts] = {}
        if self.kept.model is not None:
            yard = trips.yard_of(self.folder, self.moment, list(self.horses), self.kept.model.given)
            self.facts = yard.facts

    @property
    def terms(self) -> Terms:
        """The yard's own rules."""
        return Terms(self.rules)

    def made_from(self, wanted: Wanted) -> dict[str, Any]:
        """Return all that goes into the chances in a race; where that is the same they are the same."""
        from upsides.placing.chance import setting_of

        race, ours = wanted.race, {str(one.horse.pk): [*self._mark_of(one), one.fees] for one in wanted.asked}
        known: dict[str, Any] = {} if wanted.card or not wanted.entered else {
            "entered": {str(one.horse.pk): self._mark_of(one) for one in wanted.entered}
        }  # fmt: skip
        typed = {str(one.horse.pk): self._typed(race, one) for one in wanted.asked} if has_black_type(race) else {}
        if wanted.card:
            known = {"card": [repr(one) for one in self._card(wanted)], "taken_out": self._taken_out(wanted)}
        return (
            known
            | ({"black_type": typed} if any(typed.values()) else {})
            | {
                "way": WAY,
                "fit": str(self.fit.as_of),
                "fingerprint": self._fit,
                "luck": round(self.kept.luck, 4),
                "rules": self._ruled,
                "race": _mark((setting_of(race), race.prize, race.jurisdiction)),
                "horses": ours,
            }
        )

    def _typed(self, race: Race, one: Asked) -> float:
        """Return what black type in a race is worth to a horse; nought in all but group and listed races."""
        return worth_to(self.black_type, race, one.horse, self.rules) if has_black_type(race) else 0.0

    def _mark_of(self, one: Asked) -> list[Any]:
        return [one.weight, one.allowed, one.stall, _mark(self.facts.get(one.horse.pk))]

    def chances(self, wanted: Wanted) -> dict[int, RaceChance]:
        """Return the chances of ours in a race, by number of the horse.

        Raises:
            UpsidesError: why none can be told.
        """
        from upsides.placing.chance import setting_of

        race, setting = wanted.race, setting_of(wanted.race)
        if setting is None:
            raise RaceRefusedError(
                str(race), _("distance"), "", _("no chance can be told without it"), _("take it from the programme")
            )
        if wanted.card:
            return {
                one.horse.pk: _chance(told, one, race, self.rules, card, typed=self._typed(race, one))
                for one, told, card in self._on_card(wanted, setting)
            }
        found = zip(wanted.asked, self._in_expected(wanted, setting), strict=True)
        return {
            one.horse.pk: replace(
                _chance(told, one, race, self.rules, typed=self._typed(race, one)), known=_beside(wanted, one)
            )
            for one, told in found
        }

    def _in_expected(self, wanted: Wanted, setting: "Setting") -> "list[Chances]":
        """Return the chances of ours against the field to expect and those of ours that are in it, in their order."""
        from upsides.placing.chance import chances_of_each, expected_field

        like = expected_field(self.state.library(), self.kept, setting)
        asked = {one.horse.pk for one in wanted.asked}
        ours = [*wanted.asked, *(one for one in wanted.entered if one.horse.pk not in asked)]
        inside = {one.horse.pk for one in wanted.entered}
        entered = [k for k, one in enumerate(ours) if one.horse.pk in inside]
        own = [self._own_of(one.horse) for one in ours]
        told = chances_of_each([_runner(one) for one in ours], own, setting, like, self.kept, entered=entered)
        return told[: len(wanted.asked)]

    def _on_card(self, wanted: Wanted, setting: "Setting") -> "Iterator[tuple[Asked, Chances, Sequence[Carded]]]":
        """Yield each of ours as the card has it, its chances against the others of the card, and those others."""
        from upsides.placing.chance import chances_of_each

        card = self._card(wanted)
        rivals = self._rivals(card, wanted, setting)
        for asked in wanted.asked:
            own = next((one for one in card if _is(one, asked.horse)), None)
            mine = asked if own is None else _as_carded(asked, own)
            others = [k for k, one in enumerate(card) if one is not own]
            chance, theirs = self._running(wanted, asked, [card[k].name for k in others])
            field = [replace(rivals[k], runs=runs) for k, runs in zip(others, theirs, strict=True)]
            runner, drawn = replace(_runner(mine), runs=chance), [self._own_of(asked.horse)]
            (told,) = chances_of_each([runner], drawn, setting, field, self.kept)
            yield mine, told, [card[k] for k in others]

    def _running(self, wanted: Wanted, asked: Asked, others: Sequence[str]) -> tuple[float, list[float]]:
        """Return the chance of a run of one of ours, if it is not taken out itself, and that of others of the card."""
        entrant = entrants(self.folder, self.moment, [asked.horse])[asked.horse.pk]
        case = case_of(wanted.code, wanted.race, asked.horse, entrant, self.terms)
        mine = entered(entrant, wanted.race, self.terms, stays=1.0)
        named = {one.name: one for one in wanted.card}
        return chances_to_run(case, mine, [named[name] for name in others], self._taken_out(wanted), self.terms)

    def _taken_out(self, wanted: Wanted) -> float:
        return taken_out(wanted.race, wanted.card, self.moment, self.terms)

    def _rivals(self, card: "Sequence[Carded]", wanted: Wanted, setting: "Setting") -> "list[Runner]":
        """Return the runners of a card as rivals; of ours all that the yard knows goes in."""
        from upsides.placing.chance import expected_field, rivals_of

        like = None
        if any(not one.horse_key for one in card):
            with suppress(CannotFitError):
                like = expected_field(self.state.library(), self.kept, setting)
        told = {one.horse.horse_key: self._told_of(one.horse.pk) for one in wanted.asked}
        found = rivals_of(card, like, setting, wanted.race.jurisdiction, self.kept)
        return [replace(one, told=told[one.horse_key]) if one.horse_key in told else one for one in found]

    def _card(self, wanted: Wanted) -> "list[Carded]":
        """Return the runners of a card, each with the library's horse that it means where that is known."""
        from upsides.placing.chance import Carded

        keyed = (one.horse for one in wanted.asked if one.horse.horse_key)
        ours = {runner_called(wanted.card, one.name): one.horse_key for one in keyed}
        found: list[Carded] = []
        for one in wanted.card:
            keys = keys_named(self.state, one.name, self.moment.day)
            key = ours.get(one) or (keys[0] if len(keys) == 1 else "")
            taken = any(key == other.horse_key for other in found)
            found.append(Carded(one.name, "" if taken else key, one.stall, one.weight_lb))
        return found

    def _own_of(self, horse: Horse) -> "Own":
        from upsides.placing.chance import Runner, own_of

        if not self._own:
            listed = list({one.pk: one for one in self.horses}.values())
            runners = [Runner(one.horse_key, told=self._told_of(one.pk)) for one in listed]
            self._own = dict(zip((one.pk for one in listed), own_of(runners, self.kept), strict=True))
        return self._own[horse.pk]

    def _told_of(self, number: int) -> "Told":
        """Return what the yard knows of a horse of ours beyond results."""
        from upsides.trip.cases import NOTHING

        facts = self.facts.get(number)
        return NOTHING if facts is None or self.kept.model is None else facts.told(self.kept.model.population)


def _beside(wanted: Wanted, one: Asked) -> tuple[str, ...]:
    """Return the names of ours that a horse meets in a race."""
    return tuple(other.horse.name for other in wanted.entered if other.horse.pk != one.horse.pk)


def _runner(one: Asked) -> "Runner":
    from upsides.placing.chance import Runner

    return Runner(one.horse.horse_key, one.weight, one.allowed, one.stall)


def _as_carded(asked: Asked, own: "Carded") -> Asked:
    """Return a horse of ours with the stall and the weight that the card gives it."""
    weight = asked.weight if own.weight_lb is None else own.weight_lb
    return replace(asked, stall=asked.stall or own.stall, weight=weight)


def _is(one: "Carded", horse: Horse) -> bool:
    return may_be_one(key_of(one.name), key_of(horse.name)) or bool(one.horse_key and one.horse_key == horse.horse_key)


def _mark(of: object) -> str:
    return sha256(repr(of).encode()).hexdigest()[:16]


def _chance(
    told: "Chances", asked: Asked, race: Race, rules: Overrides, card: "Sequence[Carded]" = (), *, typed: float
) -> RaceChance:
    """Return a chance as it is kept; `typed` is what black type in the race is worth to the horse."""
    from upsides.placing.chance import earnings

    prizes = race.prize.by_place if race.prize else ()
    whole = earnings(told, prizes).prize if prizes else None
    owned = earnings(told, owners_prizes(race, prizes, rules)).prize if prizes else None
    currency = race.prize.currency if race.prize else ""
    return RaceChance(
        win=(told.win.value, told.win.low, told.win.high),
        place=(told.place.value, told.place.low, told.place.high),
        first_four=(told.first_four.value, told.first_four.low, told.first_four.high),
        rank=told.rank,
        size=told.field_size,
        level=told.field_level,
        shown=told.shown,
        career=told.career,
        weighed=told.weighed,
        spread=told.draw.spread_lb if told.draw else None,
        stall=asked.stall,
        weight=asked.weight,
        races=told.expected,
        prize=whole,
        share=owned / whole if owned is not None and whole else 1.0,
        fees=asked.fees,
        currency=currency,
        notes=told.notes,
        black_type=earnings(told, (), black_type=typed).black_type,
        runs=told.runs,
        known=tuple(one.name for one in card if one.horse_key),
        drawn=tuple(one.name for one in card if not one.horse_key),
        stall_worth=stall_worth(told.draw, asked.stall, [one.stall for one in card]),
    )


def stall_worth(
    draw: "DrawAnswer | None", stall: int | None, card: Sequence[int | None] = ()
) -> tuple[float, float, float] | None:
    """Return what a stall is worth, counted among the actual runners where all of their stalls are known."""
    if draw is None or stall is None:
        return None
    known = [one for one in card if one is not None]
    place = 1 + sum(one < stall for one in known) if known and len(known) == len(card) else stall
    one = draw.stalls[min(place, len(draw.stalls)) - 1]
    return (one.lb, one.low_lb, one.high_lb)


def chances_in(
    folder: Path, moment: Moment, passed: Mapping[str, Sequence[Case]], entered: Mapping[str, Sequence[Case]]
) -> dict[tuple[str, int], RaceChance]:
    """Return the chances of horses in some races, by code and number of the horse; those that can be told.

    Args:
        folder: of the library.
        moment: when to look from.
        passed: the cases by code of the race.
        entered: those of ours that are in the race, likewise; the others would have met them.
    """
    terms = terms_of(folder)
    horses = {case.horse.pk: case.horse for told in (passed, entered) for listed in told.values() for case in listed}
    found: dict[tuple[str, int], RaceChance] = {}
    try:
        working = Working(folder, moment, list(horses.values()))
    except UpsidesError:
        return {}
    for code, listed in passed.items():
        asked = tuple(asked_of(case, None, terms, moment) for case in listed)
        inside = tuple(asked_of(case, None, terms, moment) for case in entered.get(code, ()))
        wanted = Wanted(code, listed[0].race, asked, read_card(folder, code, moment.at), inside)
        with suppress(UpsidesError):
            found |= {(code, number): one for number, one in working.chances(wanted).items()}
    return found
