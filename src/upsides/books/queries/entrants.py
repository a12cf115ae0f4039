"""Horses of the yard as race conditions ask for them: what the books and the results tell of each as of a moment."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Final

import polars as pl
from django.utils.translation import gettext as _

from upsides.books.models import Decision, Declarable, Horse, OfficialMark
from upsides.books.queries import moments
from upsides.books.queries.advice import advice
from upsides.books.queries.given import DISEASES, Dosed, course, dosed
from upsides.books.queries.given import Given as Treatment
from upsides.books.queries.given import given as treatments_given
from upsides.books.queries.moments import Moment
from upsides.books.queries.results import State, state_of
from upsides.books.queries.yard_rules import own_place, yard_rules
from upsides.errors import UpsidesError
from upsides.placing import Given, Kept, Mark, PastRun, Race, Terms, Treated, after_withdrawal, past_runs
from upsides.placing import Horse as Entrant
from upsides.results.schema import STARTED
from upsides.rules import NONE, Dose, Overrides, official_age, treatments
from upsides.trade.sex import Born

GROUND: Final[Mapping[str, str]] = {"turf": "turf", "synthetic": "all-weather", "dirt": "all-weather"}
"""Which mark counts on which ground, as `upsides.placing.Mark.on` names it."""
DAY: Final = timedelta(days=1)
NO_MEDICINE: Final = frozenset({"manual", "device", "shock_wave"})
"""Treatments that put nothing into a horse."""
LATELY: Final = timedelta(days=60)
"""Longer than any rule keeps a horse that was taken out of a race from its next."""
_BIRTHDAYS: Final = ((1, 1), (7, 1), (8, 1))
_RUN: Final = ("race_key", "horse_key", "date", "outcome", "position", "official_rating")
_RACE: Final = ("race_key", "title", "course", "race_class", "distance_m", "surface", "code", "country")


@dataclass(frozen=True, slots=True)
class Told:
    """What the books tell of some horses, by number of the horse.

    Args:
        marks: official marks, those that count later too.
        given: treatments.
        doses: of vaccines.
        kept: spans in which a horse may not run: by a vet's advice, or after a race that it was taken out of.
        gelded: days of gelding that stand among what must be declared.
    """

    marks: Mapping[int, list[OfficialMark]]
    given: Mapping[int, list[Treatment]]
    doses: Mapping[int, list[Dosed]]
    kept: Mapping[int, list[Kept]]
    gelded: Mapping[int, date] = field(default_factory=dict)


def terms_of(folder: Path) -> Terms:
    """Return what answers about races are asked with: the rules of the yard's own."""
    return Terms(yard_rules(folder).overrides)


def entrants(folder: Path, moment: Moment, horses: Iterable[Horse]) -> dict[int, Entrant]:
    """Return horses as race conditions ask for them, by number, as was known at the moment.

    Results count from the morning after; where the library holds none, no run is known of anybody.

    Args:
        folder: of the library.
        moment: when to look from.
        horses: rows of the books as they stood.
    """
    listed = list(horses)
    rules = yard_rules(folder).overrides
    told, place = _told(moment, {one.pk for one in listed}, Terms(rules)), own_place(moment, rules)
    raced = _raced(folder, frozenset(one.horse_key for one in listed))
    return {
        one.pk: _entrant(
            one, told, place, rules, tuple(run for run in raced.get(one.horse_key, ()) if run.day < moment.day)
        )
        for one in listed
    }


def _told(moment: Moment, numbers: Collection[int], terms: Terms) -> Told:
    marks: dict[int, list[OfficialMark]] = defaultdict(list)
    for mark in moments.rows(OfficialMark, moment).filter(horse__in=numbers).order_by("effective", "id"):
        marks[mark.horse_id].append(mark)
    given, doses = defaultdict(list), defaultdict(list)
    for one in treatments_given(moment, numbers):
        given[one.horse].append(one)
    for dose in dosed(moment, numbers):
        doses[dose.horse].append(dose)
    gelded = moments.rows(Declarable, moment).filter(horse__in=numbers, what=Declarable.What.GELDED)
    days = dict(gelded.order_by("happened_on").values_list("horse", "happened_on"))
    return Told(marks, given, doses, _kept(moment, numbers, terms), days)


def _kept(moment: Moment, numbers: Collection[int], terms: Terms) -> dict[int, list[Kept]]:
    """Return what keeps horses from racing: a vet's advice that leaves no gallop open, a race that was missed."""
    kept: dict[int, list[Kept]] = defaultdict(list)
    for number, one in advice(moment, moment.day).items():
        if number in numbers and not one.allows("gallop"):
            kept[number].append(Kept(moment.day, one.until, _("the vet's advice")))
    for number, race, certified in _taken_out(moment, numbers):
        rest = after_withdrawal(race, certified=certified, terms=terms)
        if rest is not None and rest.first_day is not None and rest.first_day > race.day:
            kept[number].append(Kept(race.day, rest.first_day - DAY, _("taken out of %(race)s") % {"race": race.title}))
    return kept


def _taken_out(moment: Moment, numbers: Collection[int]) -> Iterable[tuple[int, Race, bool]]:
    """Yield the declared horses that were taken out lately: number, race, whether a vet certified it."""
    said = Decision.objects.filter(step=Decision.Step.WITHDRAW, certified__isnull=False)
    said = said if moment.at is None else said.filter(recorded_at__lte=moment.at)
    lately = said.filter(engagement__horse__in=numbers, engagement__day__gte=moment.day - LATELY)
    for one in lately.select_related("engagement"):
        row = one.engagement
        race = Race("the yard's own", row.day, row.course, row.race, zone=row.zone, jurisdiction=row.country)
        yield row.horse_id, race, bool(one.certified)


def _entrant(horse: Horse, told: Told, place: str, rules: Overrides, runs: tuple[PastRun, ...]) -> Entrant:
    return Entrant(
        name=horse.name,
        foaled=horse.foaled_on or _foaled(horse.foaled, place, rules),
        born=Born.FEMALE if horse.sex in {Horse.Sex.FILLY, Horse.Sex.MARE} else Born.MALE,
        gelded=_gelded(horse, told.gelded.get(horse.pk)),
        runs=runs,
        marks=_marks(told.marks.get(horse.pk, [])),
        came=horse.joined,
        left=horse.left - DAY if horse.left else None,
        doses=_doses(told.doses.get(horse.pk, [])),
        treated=tuple(_treated(told.given.get(horse.pk, []), told.doses.get(horse.pk, []), rules)),
        given=tuple(
            Given(one.treatment.substance or one.treatment.product, one.last)
            for one in told.given.get(horse.pk, ())
            if one.treatment.what not in NO_MEDICINE and (one.treatment.substance or one.treatment.product)
        ),
        kept=tuple(told.kept.get(horse.pk, ())),
        trained=place,
    )


def _marks(lines: list[OfficialMark]) -> tuple[Mark, ...]:
    """Return marks; where a horse has marks for one ground alone, they count on every ground until it has others."""
    one_ground = len({GROUND[one.ground] for one in lines}) == 1
    return tuple(
        Mark(float(one.value), one.effective, "" if one_ground else GROUND[one.ground], one.country) for one in lines
    )


def _gelded(horse: Horse, declared: date | None) -> date | None:
    """Return when a gelding was gelded; where nobody knows, before anything that the books tell of it.

    A colt of which the gelding stands among what must be declared is a gelding from that day on.
    """
    if horse.sex in {Horse.Sex.FILLY, Horse.Sex.MARE}:
        return None
    if horse.sex != Horse.Sex.GELDING:
        return declared
    return horse.gelded_on or declared or date(horse.foaled, 1, 1)


@lru_cache(maxsize=256)
def _foaled(year: int, place: str, rules: Overrides = NONE) -> date:
    """Return the official birthday of a year's foals, where the day of foaling is not known."""
    last = date(year, 12, 31)
    days = [date(year, month, day) for month, day in _BIRTHDAYS]
    return next((day for day in days if official_age(day, last, place, overrides=rules).value == 0), days[0])


def _doses(given: list[Dosed]) -> tuple[Dose, ...] | None:
    """Return the doses as rules read them; None where none is entered, which says nothing of the passport."""
    if not given:
        return None
    diseases = dict.fromkeys(DISEASES.get(one.vaccination.disease, one.vaccination.disease) for one in given)
    return tuple(dose for disease in diseases for dose in course(given, disease))


def _treated(given: Iterable[Treatment], doses: Iterable[Dosed], rules: Overrides) -> Iterable[Treated]:
    known = treatments(rules)
    for one in given:
        at = one.at if one.last == one.at.date() else None
        for name in one.asked(known):
            yield Treated(name, tuple(sorted({one.at.date(), one.last})), one.joint, at)
    for dose in doses:
        yield Treated("vaccine", (dose.on,), dose.disease)


def _raced(folder: Path, keys: frozenset[str]) -> Mapping[str, tuple[PastRun, ...]]:
    try:
        return _runs_of(state_of(folder), keys)
    except UpsidesError:
        return {}


@lru_cache(maxsize=8)
def _runs_of(state: State, keys: frozenset[str]) -> Mapping[str, tuple[PastRun, ...]]:
    """Return the runs of horses by their keys, earliest first."""
    store = state.library()
    names = store.horses().filter(pl.col("horse_key").is_in(list(keys))).select("source_horse").collect()
    ours = pl.col("source_horse").is_in(names["source_horse"].to_list())
    runs = store.runs().filter(ours, pl.col("outcome").is_in(STARTED)).select(_RUN).collect()
    raced = pl.col("race_key").is_in(runs["race_key"].unique().to_list())
    races = store.races().filter(raced).select(_RACE).collect()
    parts = runs.partition_by("horse_key", as_dict=True)
    return {str(key): past_runs(part, races) for (key,), part in parts.items()}
