"""The rules of a morning by name, those that clash, and a morning without one of them or with one relaxed by one."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Any, Final, Generic, TypeVar

from upsides.planning.morning import ALL_DAY, Gallop, Horse, Lot, Morning, Rider

T = TypeVar("T")
U = TypeVar("U")
UNBOUNDED: Final = 10**6


@dataclass(frozen=True, slots=True, order=True)
class Rule:
    """One rule of a morning.

    Attributes:
        kind: rider (all horses that may not stay on the walker have one), weight, skill, not_by, hours, most, young,
            law, size, gallop, partners, apart, not_with, pin; in what a verifier finds also: once, twice, unknown,
            string.
        of: numbers that it is about: horses for weight, skill, not_by, partners, apart, not_with and pin; a rider for
            hours, most, young and law; a lot for size; a gallop for gallop; none for rider.
    """

    kind: str
    of: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Clash(Generic[T]):
    """Rules that no plan keeps together, as far as they were looked for; it is false where there are none.

    Attributes:
        sets: each cannot be kept as a whole and could not be smaller; no rule stands in two of them, so that at least
            one rule of each must be given up.
        any_one: there is one set, and with any one of its rules given up there is a plan, each tried.
        without: where that is not so, rules of these sets without which there is a plan, none of which could be kept
            beside the others; none where that was not looked for.
        behind: further rules that stand in the way where no more than one rule of a set is given up, with all of the
            other sets; none where any one is enough, or that was not looked for.
    """

    sets: tuple[tuple[T, ...], ...] = ()
    any_one: bool = False
    without: tuple[T, ...] = ()
    behind: tuple[T, ...] = ()

    @property
    def rules(self) -> tuple[T, ...]:
        """Return the rules of all sets."""
        return tuple(rule for one in self.sets for rule in one)

    def told(self, say: Callable[[T], U]) -> "Clash[U]":
        """Return the same with each rule said in another way."""
        sets = tuple(tuple(map(say, one)) for one in self.sets)
        return Clash(sets, self.any_one, tuple(map(say, self.without)), tuple(map(say, self.behind)))

    def kept(self, say: Callable[[T], Any]) -> dict[str, Any]:
        """Return it as JSON has it, each rule by `say`."""
        words = self.told(say)
        return {
            "sets": [list(one) for one in words.sets], "any_one": self.any_one, "without": list(words.without),
            "behind": list(words.behind),
        }  # fmt: skip

    @staticmethod
    def of_kept(kept: Mapping[str, Any] | Sequence[Any], read: Callable[[Any], U]) -> "Clash[U]":
        """Return what was kept; an earlier version kept one set, and did not try whether any rule of it is enough."""
        if isinstance(kept, Mapping):
            sets = tuple(tuple(map(read, one)) for one in kept["sets"])
            without, behind = (tuple(map(read, kept.get(name, ()))) for name in ("without", "behind"))
            return Clash(sets, kept["any_one"], without, behind)
        return Clash((tuple(map(read, kept)),) if kept else ())

    def __bool__(self) -> bool:
        return bool(self.sets)


def rules_of(morning: Morning) -> tuple[Rule, ...]:
    """Return every rule that could stand in the way, in an order of its own: what is asked of all first."""
    lots, riders, horses = morning.lots, morning.riders, morning.horses
    return (
        Rule("rider"),
        *(Rule("size", (lot.number,)) for lot in lots),
        *(Rule("hours", (r.number,)) for r in riders if r.hours != ALL_DAY or r.lots is not None),
        *(Rule("most", (r.number,)) for r in riders if r.most < len(lots)),
        *(Rule("young", (r.number,)) for r in riders if r.young),
        *(Rule("law", (r.number,)) for r in riders if r.barred),
        *(Rule("gallop", (gallop.number,)) for gallop in morning.gallops),
        *(Rule("skill", (h.number,)) for h in horses if h.asks > 0),
        *(Rule("weight", (h.number,)) for h in horses if h.carries_kg < inf),
        *(Rule("not_by", (h.number,)) for h in horses if h.not_by),
        *(Rule("partners", pair) for pair in morning.pairs),
        *(Rule("apart", (h.number,)) for h in horses if h.apart),
        *(Rule("not_with", pair) for pair in morning.foes),
        *(Rule("pin", (pin.horse,)) for pin in morning.pins),
    )


def without_rules(morning: Morning, rules: Iterable[Rule]) -> Morning:
    """Return the morning with some rules given up altogether."""
    given_up: dict[str, set[tuple[int, ...]]] = {}
    for rule in rules:
        given_up.setdefault(rule.kind, set()).add(rule.of)

    def up(kind: str, *of: int) -> bool:
        return of in given_up.get(kind, ())

    def horse(h: Horse) -> Horse:
        return replace(
            h,
            walker=h.walker or up("rider"),
            asks=0 if up("skill", h.number) else h.asks,
            carries_kg=inf if up("weight", h.number) else h.carries_kg,
            partners=tuple(k for k in h.partners if not up("partners", min(h.number, k), max(h.number, k))),
            apart=h.apart and not up("apart", h.number),
            not_with=tuple(k for k in h.not_with if not up("not_with", min(h.number, k), max(h.number, k))),
            not_by=frozenset() if up("not_by", h.number) else h.not_by,
        )

    def rider(r: Rider) -> Rider:
        hours = up("hours", r.number)
        return replace(
            r,
            hours=ALL_DAY if hours else r.hours,
            lots=None if hours else r.lots,
            most=UNBOUNDED if up("most", r.number) else r.most,
            young=r.young and not up("young", r.number),
            barred=frozenset() if up("law", r.number) else r.barred,
        )

    return replace(
        morning,
        horses=tuple(map(horse, morning.horses)),
        riders=tuple(map(rider, morning.riders)),
        lots=tuple(replace(lot, most=UNBOUNDED) if up("size", lot.number) else lot for lot in morning.lots),
        gallops=tuple(replace(g, most=UNBOUNDED) if up("gallop", g.number) else g for g in morning.gallops),
        pins=tuple(pin for pin in morning.pins if not up("pin", pin.horse)),
    )


def relaxed_by_one(morning: Morning, rule: Rule) -> Morning:
    """Return the morning with one rule relaxed by one: a horse, a lot, a kg or a step of skill; else without it."""
    number = rule.of[0] if rule.of else None

    def lot(one: Lot) -> Lot:
        return replace(one, most=one.most + 1) if one.number == number else one

    def gallop(one: Gallop) -> Gallop:
        return replace(one, most=one.most + 1) if one.number == number else one

    def rider(one: Rider) -> Rider:
        return replace(one, most=one.most + 1) if one.number == number else one

    def horse(one: Horse) -> Horse:
        if one.number != number:
            return one
        return replace(one, carries_kg=one.carries_kg + 1) if rule.kind == "weight" else replace(one, asks=one.asks - 1)

    match rule.kind:
        case "size":
            return replace(morning, lots=tuple(map(lot, morning.lots)))
        case "gallop":
            return replace(morning, gallops=tuple(map(gallop, morning.gallops)))
        case "most":
            return replace(morning, riders=tuple(map(rider, morning.riders)))
        case "weight" | "skill":
            return replace(morning, horses=tuple(map(horse, morning.horses)))
    return without_rules(morning, [rule])
