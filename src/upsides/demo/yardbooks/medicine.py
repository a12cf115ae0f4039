"""The medicine register: vaccinations, egg counts and wormers, treatments. Every product is invented."""

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.grid import EPOCH, MONDAY, TUESDAY
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.seasons import Seasons

VACCINE: Final = "Brammvax Flu"
ALLERGY_TO: Final = "Tessolprim"
_WORMERS: Final = ("Illenwort paste", "Ostelwort gel")
_RACE_AFTER = 8
"""No race on the day of a dose nor in the seven days after it."""
_WORM_FROM = 200
_PER_YEAR = {"ulcer": 22, "skin": 20, "manual": 45}


@dataclass(frozen=True, slots=True)
class Product:
    """A product as the register has it: how it is given, what is in it, days of a course and of withdrawal."""

    name: str
    quantity: str
    route: str
    what: str
    substance: str | None
    days: int
    withdrawal: int | None


PRODUCTS: Final = {
    "pain": Product("Vennoral paste", "one syringe daily", "oral", "other", "meloxicam", 4, 8),
    "powder": Product("Quorrin sachets", "1 sachet twice daily", "feed", "other", "phenylbutazone", 4, 10),
    "ulcer": Product("Gosselin granules", "1 sachet daily", "oral", "other", "omeprazole", 28, 3),
    "cough": Product(ALLERGY_TO, "30 g twice daily", "feed", "other", "trimethoprim and sulfadiazine", 6, 14),
    "joint": Product("Harkedrin", "6 mg", "ia", "corticosteroid", "triamcinolone", 1, 14),
    "skin": Product("Dessel cream", "a thin layer", "topical", "other", None, 5, 0),
    "manual": Product("Physiotherapy", "40 minutes", "none", "manual", None, 1, None),
}


def vaccinations(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return every dose against influenza: those that the passport had when the horse came, and those given here.

    The first course keeps the intervals of 2022 and those before it, boosters follow within six months; no dose is
    given in the week before a race. One horse's next dose is due today, one horse's was not given in time.
    """
    grid, now = seasons.grid, seasons.events.morning
    fixed = {
        now.due: _six_months_before(grid.on(grid.today)),
        now.overdue: _six_months_before(grid.on(grid.today - 9)),
    }
    rows = []
    for horse in range(len(grid.codes)):
        came = int(grid.here[horse].argmax())
        gone = came + int(grid.here[horse, : grid.today + 1].sum())
        last = fixed.get(horse)
        rows += [(horse, dose, came) for dose in _doses(rng, seasons, horse, min(gone, grid.today), last)]
    return _vaccinated(seasons, rows)


def _vaccinated(seasons: Seasons, rows: list[tuple[int, int, int]]) -> pl.DataFrame:
    grid, vets = seasons.grid, seasons.hands.vet[seasons.own.barn]
    horses, days, came = (np.array(column) for column in zip(*rows, strict=True))
    here = days >= came
    entered = [None if day >= arrived else _at(grid.on(arrived), 11) for day, arrived in zip(days, came, strict=True)]
    values = [
        said(
            disease="influenza",
            product=VACCINE,
            batch=_batch("V", grid.on(day)),
            giver=seasons.hands.names[vet] if own else None,
        )
        for day, vet, own in zip(days.tolist(), vets[horses].tolist(), here.tolist(), strict=True)
    ]
    office = seasons.hands.office[np.where(here, 0, came)]
    return lines(
        "vaccination",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=np.full(days.size, 12 * 3600) + 90 * (horses % 20),
        author=seasons.names(np.where(here, vets[horses], office)),
        values=values,
        entered=entered,  # type: ignore[arg-type]  # none where it was written down at once
    )


def _doses(rng: np.random.Generator, seasons: Seasons, horse: int, end: int, last: date | None) -> list[int]:
    """Return the columns of a horse's doses up to a day; where `last` is given the last of them falls on it."""
    grid = seasons.grid
    begin = date(int(seasons.nature.foaled[horse]) + 1, 1, 10).toordinal() - grid.first + int(rng.integers(60))
    second = begin + int(rng.integers(28, 50))
    found = [begin, second, second + int(rng.integers(151, 177))]
    final = grid.column(last) if last else None
    while (day := _booster(rng, seasons, horse, found[-1], final)) is not None and day <= (final or end):
        found.append(day)
    return [day for day in found if day <= (final or end)]


def _booster(rng: np.random.Generator, seasons: Seasons, horse: int, last: int, final: int | None) -> int | None:
    """Return the next dose: in the fifth or sixth month, on a Monday or Thursday, away from races."""
    if final is not None:
        left = final - last
        if left <= 0:
            return None
        if left <= 175:
            return final
        window = range(last + max(20, min(150, left - 340)), last + min(176, left - 20))
    else:
        window = range(last + 140, last + 177)
    raced = np.flatnonzero(seasons.grid.race_m[horse] > 0)
    if seasons.invented.stays["mark"][horse] is not None:  # it may be entered for one of the coming days
        raced = np.append(raced, seasons.grid.today)
    able = [day for day in window if not ((raced >= day) & (raced <= day + _RACE_AFTER)).any()]
    visits = [day for day in able if (seasons.grid.first + day - 1) % 7 in {0, 3}]
    return int(rng.choice(visits or able or list(window)))


def _six_months_before(day: date) -> date:
    return day.replace(year=day.year - 1, month=day.month + 6) if day.month <= 6 else day.replace(month=day.month - 6)


def worms(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return egg counts every quarter, wormers after high ones, and one for everybody in November."""
    grid = seasons.grid
    dates = (grid.first - EPOCH + np.arange(grid.days)).astype("datetime64[D]")
    early = (dates - dates.astype("datetime64[M]")).astype(int) < 7
    counted = np.isin(grid.month, (3, 6, 9, 12)) & early & (grid.weekday == TUESDAY)
    for_all = (grid.month == 11) & early & (grid.weekday == MONDAY)
    counted[grid.today :] = for_all[grid.today :] = False
    horses, days = np.nonzero(seasons.present & counted)
    epg = np.where(rng.random(days.size) < 0.7, 0, 25 * np.round(rng.lognormal(4.6, 0.9, days.size) / 25)).astype(int)
    eggs = lines(
        "egg_count",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=14 * 3600 + 60 * seasons.order[horses],
        author=seasons.names(seasons.hands.office[days]),
        values=[f'{{"epg": {count}}}' for count in epg.tolist()],
    )
    high = (epg >= _WORM_FROM) & seasons.present[horses, np.minimum(days + 2, grid.today)]
    parts = [_wormed(seasons, horses[high], days[high] + 2, _WORMERS[0])]
    everybody, then = np.nonzero(seasons.present & for_all)
    return [eggs, *parts, _wormed(seasons, everybody, then, _WORMERS[1])]


def _wormed(seasons: Seasons, horses: np.ndarray, days: np.ndarray, product: str) -> pl.DataFrame:
    given = seasons.names(seasons.hands.gives[seasons.own.barn[horses], days])
    return lines(
        "worming",
        horse=seasons.codes(horses),
        day=seasons.grid.first + days,
        second=16 * 3600 + 40 * seasons.order[horses],
        author=given,
        values=[
            said(product=product, quantity="one syringe", batch=_batch("W", seasons.grid.on(day)), giver=who)
            for day, who in zip(days.tolist(), given, strict=True)
        ],
    )


def treatments(rng: np.random.Generator, seasons: Seasons, allergic: int) -> pl.DataFrame:
    """Return treatments: after findings, of the cough, and some that kept nobody from work; none runs into a race.

    Args:
        rng: source of chance.
        seasons: the seasons.
        allergic: place of the horse that may not have one product.
    """
    rows = [
        (one.horse, one.day + 1, str(rng.choice(["pain", "powder"])), "Lameness, see the vet's finding")
        for one in seasons.events.findings
        if rng.random() < 0.6
    ]
    rows += [
        (one.horse, one.day + 1, "joint", "Fetlock, see the vet's finding")
        for one in seasons.events.findings[:: max(1, len(seasons.events.findings) // 6)][:6]
        if (one.horse, one.day + 1) not in {row[:2] for row in rows}
    ]
    if seasons.events.cough:
        cough = seasons.events.cough
        sick = [pair for pair in zip(cough.horses, cough.begins, strict=True) if pair[0] != allergic]
        rows += [(horse, day + 1, "cough", "Cough and raised temperature") for horse, day in sick]
    reasons = {
        "ulcer": "Stomach, seen with the endoscope",
        "skin": "Rub under the girth",
        "manual": "Tight over the back",
    }
    for which, a_year in _PER_YEAR.items():
        wanted = round(a_year * seasons.grid.today / 365)
        rows += [
            (horse, day, which, reasons[which]) for horse, day in _quiet_days(rng, seasons, wanted, PRODUCTS[which])
        ]
    return _treated(seasons, rows)


def _quiet_days(rng: np.random.Generator, seasons: Seasons, wanted: int, product: Product) -> list[tuple[int, int]]:
    """Return horses and days far enough before any race for a product."""
    grid, found = seasons.grid, []
    span = product.days + (product.withdrawal or 0) + 1
    candidates = np.argwhere(seasons.present[:, 10 : grid.today - 1])
    for horse, begin in rng.permutation(candidates)[: 12 * wanted].tolist():
        day = begin + 10
        if seasons.present[horse, day : day + 2].all() and not (grid.race_m[horse, day : day + span] > 0).any():
            found.append((horse, day))
        if len(found) == wanted:
            break
    return found


def _treated(seasons: Seasons, rows: list[tuple[int, int, str, str]]) -> pl.DataFrame:
    grid, hands = seasons.grid, seasons.hands
    horses, days = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    heads = hands.gives[seasons.own.barn[horses], days]
    values = []
    for (horse, day, which, reason), head in zip(rows, heads.tolist(), strict=True):
        product, vet = PRODUCTS[which], hands.names[hands.vet[seasons.own.barn[horse]]]
        by_vet, prescribed = product.route == "ia", which not in {"skin", "manual"}
        values.append(
            said(
                product=product.name,
                quantity=product.quantity,
                route=product.route,
                what=product.what,
                reason=reason,
                substance=product.substance,
                batch=_batch(product.name[0], grid.on(day)) if prescribed else None,
                joint="fetlock" if by_vet else None,
                prescriber=vet if prescribed else None,
                giver=vet if by_vet else hands.names[head],
                course_end=str(grid.on(day + product.days - 1)) if product.days > 1 else None,
                food="out" if which == "powder" else None,
                withdrawal_days=product.withdrawal,
            )
        )
    return lines(
        "treatment",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=np.full(days.size, 16 * 3600 + 1200) + 30 * (horses % 30),
        author=seasons.names(heads),
        values=values,
    )


def _batch(letter: str, day: date) -> str:
    return f"{letter}{day.year % 100}{(day.month + 2) // 3}{(day.year * 7 + day.month * 13) % 90 + 10}"


def _at(day: date, hour: int) -> datetime:
    return datetime.combine(day, time(hour))
