"""What a vet may want to know of a horse: what was seen lately, by whom, when. It says nothing of what it is.

Legs, gait, shoes, lameness, the rider's word where a horse did not feel level, what vets found and gave, bloods.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from upsides.books import clock
from upsides.books.diary.legs import LIMBS
from upsides.books.diary.seen import AS_USUAL
from upsides.books.models import Entry, Outing
from upsides.books.queries import moments
from upsides.books.queries.condition_bloods import BloodSign, bloods_of
from upsides.books.queries.days import entries_of
from upsides.books.queries.diary import Written, open_to, written
from upsides.books.queries.looking import warm_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.condition.fresh.latest import EVENNESS, Latest, Missing, latest
from upsides.rules import NONE, LookingFirst, Overrides, looking_first

DAYS: Final = 28
EVEN_DAYS: Final = 120
KINDS: Final = (
    "not_right", "leg", "legs_felt", "shoe", "lameness", "accident", "rider_word", "droppings", "vet_finding", "scope",
    "bloods", "treatment", "farrier", "teeth", "as_usual",
)  # fmt: skip
SEEN: Final = frozenset({"not_right", "leg", "shoe", "lameness", "accident", "rider_word", "droppings"})
"""Kinds that are something for the vet where nothing later took them back."""
ENDS: Final = {
    "leg": frozenset({"legs_felt", "vet_finding"}),
    "not_right": frozenset({"vet_finding"}),
    "shoe": frozenset({"farrier"}),
    "lameness": frozenset({"lameness"}),
    "accident": frozenset({"vet_finding"}),
    "rider_word": frozenset({"rider_word", "vet_finding"}),
    "droppings": frozenset({"droppings", "as_usual"}),
}
"""By what a later entry takes something back: as the list of whom to look at first has it, but that a look that
finds a horse as usual ends what its droppings were."""


@dataclass(frozen=True, slots=True)
class ForTheVet:
    """What was seen, latest first.

    Args:
        open: what nothing later took back: somebody may want to ask the vet.
        done: what vet, farrier and laboratory found and did.
        since_felt: day on which the legs were last felt and as usual; None where they were not in these weeks.
        bloods: results of the last sample of these weeks that lie outside their laboratory's interval, or have changed
            by more than such results do.
        even: how even its strides at trot were last, against its own past; None where no device told it in 120 days.
    """

    open: tuple[Written, ...]
    done: tuple[Written, ...]
    since_felt: date | None
    bloods: tuple[BloodSign, ...] = ()
    even: Latest | Missing | None = None

    @property
    def shoes(self) -> tuple[Written, ...]:
        """What is wrong with its shoes, which is for the farrier first."""
        return tuple(one for one in self.open if one.entry.kind == "shoe")

    @property
    def uneven(self) -> bool:
        """Whether its strides at trot are less even than they were."""
        return isinstance(self.even, Latest) and self.even.where == "below"


def for_the_vet(moment: Moment, horse: int, reader: Visitor, overrides: Overrides = NONE) -> ForTheVet:
    """Return what was seen of a horse in the last weeks that a vet may want to know.

    Args:
        moment: when to look from.
        horse: its number.
        reader: who reads it.
        overrides: the yard's own rules, which say from when on a temperature draws the eye, and how long what was seen
            stays open.
    """
    limits = looking_first(moment.day, overrides)
    first, weeks = _first(moment, max(DAYS, limits.days_open)), _first(moment, DAYS)
    rows = open_to(reader, entries_of(moment, KINDS, first, moment.day, [horse])).select_related("author")
    entries = list(rows)
    still = _still(entries, moment, limits)
    lately = [one for one in entries if _day(one) >= weeks]
    done = [one for one in lately if one.kind in {"vet_finding", "scope", "bloods", "treatment", "farrier", "teeth"}]
    felt = written([one for one in lately if one.kind == "legs_felt"][-1:], moment, reader)
    open_ = [*written(still[::-1], moment, reader), *_warm(moment, horse, reader, overrides)]
    return ForTheVet(
        tuple(sorted(open_, key=lambda one: one.happened, reverse=True)),
        tuple(written(done[::-1], moment, reader)),
        felt[0].happened.date() if felt else None,
        bloods_of(moment, horse, reader, DAYS),
        _evenness(moment, horse),
    )


def open_for_the_vet(
    moment: Moment, horses: Collection[int], reader: Visitor, overrides: Overrides = NONE
) -> frozenset[int]:
    """Return the horses of which something was seen in the last weeks that nothing later took back."""
    limits = looking_first(moment.day, overrides)
    first = _first(moment, max(limits.days_open, limits.days_open_droppings))
    kinds = SEEN.union(*ENDS.values())
    found: dict[int | None, list[Entry]] = {}
    for entry in open_to(reader, entries_of(moment, sorted(kinds), first, moment.day, horses)):
        found.setdefault(entry.horse_id, []).append(entry)
    return frozenset(horse for horse, entries in found.items() if horse is not None and _still(entries, moment, limits))


def _still(entries: Sequence[Entry], moment: Moment, limits: LookingFirst) -> list[Entry]:
    """Return the entries of one horse, the earliest first, that are something for the vet still."""
    since = {"droppings": _first(moment, limits.days_open_droppings)}
    usual = _first(moment, limits.days_open)
    return [
        entry
        for place, entry in enumerate(entries)
        if entry.kind in SEEN and _day(entry) >= since.get(entry.kind, usual) and _is_open(entry, entries[place + 1 :])
    ]


def _first(moment: Moment, days: int) -> date:
    return moment.day - timedelta(days=days - 1)


def _day(entry: Entry) -> date:
    return entry.happened_at.astimezone(clock.place().zone).date()


def _warm(moment: Moment, horse: int, reader: Visitor, overrides: Overrides) -> list[Written]:
    """Return the last temperature where it draws the eye on the list of whom to look at first, in its words there."""
    why = warm_of(moment, horse, overrides)
    if why is None or why.entry is None:
        return []
    rows = open_to(reader, Entry.objects.filter(pk=why.entry)).select_related("author")
    return [replace(one, words=why.words) for one in written(list(rows), moment, reader)]


def _evenness(moment: Moment, horse: int) -> Latest | Missing | None:
    """Return how even its strides at trot were last, of the outings whose device told it."""
    first = moment.day - timedelta(days=EVEN_DAYS)
    rows = moments.standing(Outing, moment).filter(horse=horse, day__range=(first, moment.day))
    told = rows.order_by("began", "pk").values_list("day", "measured__even__half")
    values = [(day, float(half)) for day, half in told if half is not None]
    return latest(EVENNESS, values, moment.day) if values else None


def _is_open(entry: Entry, later: Sequence[Entry]) -> bool:
    """Return whether an entry is something for the vet, and none of the later ones took it back."""
    if entry.kind == "lameness" and not entry.values["grade"]:
        return False
    if entry.kind == "rider_word" and entry.values["felt"] != "uneven":
        return False
    if entry.kind == "droppings" and entry.values["droppings"] == AS_USUAL:
        return False
    return not any(one.kind in ENDS[entry.kind] and _of_its_feet(entry, one) for one in later)


def _of_its_feet(entry: Entry, later: Entry) -> bool:
    """Return whether what took an entry back was about all the feet that the entry named, or about all four."""
    seen_to = set(later.values.get("feet") or LIMBS)
    return entry.kind != "shoe" or set(entry.values.get("feet") or LIMBS) <= seen_to


def given_and_found(moment: Moment, horse: int, reader: Visitor, days: int) -> list[Written]:
    """Return what was given to a horse and found on it in the last days, earliest first."""
    kinds = ("treatment", "vaccination", "worming", *sorted(SEEN - {"rider_word", "droppings"}), "vet_finding", "scope")
    first = moment.day - timedelta(days=days - 1)
    rows = open_to(reader, entries_of(moment, kinds, first, moment.day, [horse])).select_related("author")
    return written(list(rows), moment, reader)
