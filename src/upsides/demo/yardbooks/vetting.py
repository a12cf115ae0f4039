"""What the vet, the laboratory, the farrier and whoever does the teeth found and did."""

from typing import Any, Final

import numpy as np
import polars as pl

from upsides.demo.yardbooks.events import BOX, NO_FAST, WALK, Finding
from upsides.demo.yardbooks.grid import SATURDAY
from upsides.demo.yardbooks.lines import lines, said
from upsides.demo.yardbooks.places import LABORATORY
from upsides.demo.yardbooks.rounds import evening_round, morning_round
from upsides.demo.yardbooks.seasons import Seasons

_LIMBS = ("near_fore", "off_fore", "near_hind", "off_hind")
_LIMB_ODDS = (0.36, 0.36, 0.14, 0.14)
_PLACES: Final[tuple[tuple[str, str | None], ...]] = (
    ("tendon", "back"),
    ("fetlock", "inside"),
    ("fetlock", "outside"),
    ("foot", None),
    ("knee", "front"),
    ("cannon", "front"),
)
_ON_A_HIND: Final[dict[tuple[str, str | None], tuple[str, str | None]]] = {("knee", "front"): ("hock", "inside")}
_ADVICE = {NO_FAST: "no_fast_work", WALK: "walk", BOX: "box"}
_FOUND = {
    NO_FAST: "A little filling, level at the trot. Sound to canter.",
    WALK: "Heat and some filling, short at the trot on hard ground. To be seen again.",
    BOX: "Sore to the touch and lame at the trot. Scanned, no change seen in the tendon.",
}
_VISIT_S = 10 * 3600 + 1800
ANALYTES: Final = (
    ("PCV", 38.5, 0.06, 0.04, "%", 32, 46, 0),
    ("Hb", 13.8, 0.06, 0.04, "g/dl", 11, 17, 1),
    ("RBC", 8.7, 0.06, 0.03, "×10¹²/l", 7, 11, 1),
    ("WBC", 8.2, 0.1, 0.12, "×10⁹/l", 5.5, 11.5, 1),
    ("neutrophils", 4.3, 0.12, 0.16, "×10⁹/l", 2.7, 6.7, 1),
    ("lymphocytes", 3.1, 0.12, 0.14, "×10⁹/l", 1.5, 5, 1),
    ("platelets", 155, 0.12, 0.12, "×10⁹/l", 90, 300, 0),
    ("fibrinogen", 2.4, 0.1, 0.15, "g/l", 1, 4, 1),
    ("SAA", 2.2, 0.2, 0.9, "mg/l", None, 20, 1),
    ("CK", 215, 0.15, 0.25, "U/l", 100, 400, 0),
    ("AST", 285, 0.14, 0.12, "U/l", 150, 400, 0),
    ("GGT", 19, 0.2, 0.15, "U/l", 8, 40, 0),
)
"""Name, median, spread of the logarithm between horses and within one, unit, the laboratory's interval, decimals."""
_HALF_A_YEAR = 182
_FOLLOWED_DAYS = 100
_GREW = 1.9
"""By how much the last GGT of the horse that is followed is higher, within the laboratory's interval."""
_SHOD = (28, 36)
_TO_MONDAY = (0, 0, 0, 0, 0, 2, 1)
_SHOES_A_YEAR = 0.5
_WRONG = ("lost", "loose", "sprung", "clenches", "worn")
_WRONG_ODDS = (0.3, 0.3, 0.1, 0.15, 0.15)
_DONE = (["new"], ["refit"], ["new"], ["refit"], ["trimmed"])


def findings(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return what came of each finding: a leg felt, not right, the vet's word and grade, and the second look."""
    found = seasons.events.findings
    horses = np.array([one.horse for one in found])
    evening = np.array([one.day for one in found])
    limb = rng.choice(_LIMBS, len(found), p=_LIMB_ODDS)
    drawn = [_PLACES[i] for i in rng.integers(len(_PLACES), size=len(found))]
    where = [_ON_A_HIND.get(at, at) if "hind" in leg else at for at, leg in zip(drawn, limb, strict=True)]
    late = evening_round(rng, seasons, horses)
    felt: dict[str, Any] = {
        "horse": seasons.codes(horses),
        "day": seasons.grid.first + evening,
        "author": seasons.heads(horses, evening),
    }
    legs = [
        said(limb=leg, place=place, side=side, signs=["heat", "filling", "sore"][: 3 if one.advice == BOX else 2],
             how_much="slight" if one.advice == NO_FAST else "plain")
        for one, leg, (place, side) in zip(found, limb, where, strict=True)
    ]  # fmt: skip
    asked = [said(limb=leg, ask_vet=True) for leg in limb]
    parts = [lines("leg", second=late, values=legs, **felt), lines("not_right", second=late + 60, values=asked, **felt)]
    return [*parts, *_visits(rng, seasons, found, limb.tolist()), _this_morning(rng, seasons)]


def _visits(rng: np.random.Generator, seasons: Seasons, found: list[Finding], limb: list[str]) -> list[pl.DataFrame]:
    grid, vets = (
        seasons.grid,
        seasons.names(seasons.hands.vet[seasons.own.barn[np.array([one.horse for one in found])]]),
    )
    horses, next_day = np.array([one.horse for one in found]), np.array([one.day + 1 for one in found])
    visit: dict[str, Any] = {"horse": seasons.codes(horses), "day": grid.first + next_day, "author": vets}
    words = [
        said(
            text=_FOUND[one.advice],
            advice=_ADVICE[one.advice],
            until=str(grid.on(one.until)),
            again=str(grid.on(one.until)),
            vet=vet,
        )
        for one, vet in zip(found, vets, strict=True)
    ]
    grades = [
        said(limb=leg, scale="5", grade=0.5 if one.advice == NO_FAST else float(rng.integers(2, 6)) / 2,
             gait="trot", surface="hard", circle="straight")
        for one, leg in zip(found, limb, strict=True)
    ]  # fmt: skip
    second = np.full(len(found), _VISIT_S) + 600 * (horses % 3)
    seen = [i for i, one in enumerate(found) if one.until < grid.today]
    again = lines(
        "vet_finding",
        horse=[visit["horse"][i] for i in seen],
        day=[grid.first + found[i].until for i in seen],
        second=[15 * 3600 + 300 * (i % 5) for i in range(len(seen))],
        author=[vets[i] for i in seen],
        values=[said(text="Seen again: level on hard ground, no heat.", vet=vets[i]) for i in seen],
    )
    return [
        lines("vet_finding", second=second, values=words, **visit),
        lines("lameness", second=second + 60, values=grades, **visit),
        again,
    ]


def _this_morning(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return the warm, filled near fore that was found this morning and that nobody has judged yet."""
    horse, day = np.array([seasons.events.morning.leg]), np.array([seasons.grid.today])
    return lines(
        "leg",
        horse=seasons.codes(horse),
        day=seasons.grid.first + day,
        second=np.minimum(morning_round(rng, seasons, horse), 5 * 3600 + 2400),
        author=seasons.carers(horse, day),
        values=[said(limb="near_fore", place="tendon", signs=["heat", "filling"], how_much="plain")],
    )


def bloods(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return blood samples, about two a year a horse, and three of the cough; lognormal round each horse's own mean.

    One horse of late gave one every fortnight.
    """
    grid, weekday = seasons.grid, seasons.grid.weekday
    own = np.exp(rng.normal(0, [row[2] for row in ANALYTES], (len(grid.codes), len(ANALYTES))))
    rows = []
    for horse in range(len(grid.codes)):
        for day in range(int(grid.here[horse].argmax()) + int(rng.integers(20, 150)), grid.today, _HALF_A_YEAR):
            while day < grid.today and (weekday[day] >= SATURDAY or not seasons.present[horse, day]):
                day += 1  # noqa: PLW2901 -- the next day on which it can be
            if day < grid.today and grid.here[horse, day]:
                rows.append((horse, day, False))
    if seasons.events.cough:
        rows += [
            (horse, day + 1, True)
            for horse, day in zip(seasons.events.cough.horses[:3], seasons.events.cough.begins[:3], strict=True)
        ]
    followed = _followed(seasons, {horse for horse, day, _ in rows if day >= grid.today - _FOLLOWED_DAYS})
    rows += followed
    horses, days = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    spread = np.exp(rng.normal(0, [row[3] for row in ANALYTES], (len(rows), len(ANALYTES))))
    raised = np.ones((len(rows), len(ANALYTES)))
    raised[[i for i, row in enumerate(rows) if row[2]]] = [1, 1, 1, 1.5, 1.7, 1, 1, 1.8, 90, 1, 1, 1]
    if followed:
        raised[-1, [row[0] for row in ANALYTES].index("GGT")] = _GREW
    values = own[horses] * spread * raised * [row[1] for row in ANALYTES]
    vets = seasons.names(seasons.hands.vet[seasons.own.barn[horses]])
    return lines(
        "bloods",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=np.full(days.size, 9 * 3600) + 240 * (horses % 12),
        author=vets,
        values=[said(laboratory=LABORATORY, results=_results(row)) for row in values.tolist()],
    )


def _followed(seasons: Seasons, sampled: set[int]) -> list[tuple[int, int, bool]]:
    """Return seven samples of one horse that is there and was not sampled of late, every fortnight until this week."""
    grid = seasons.grid
    last = next((day for day in range(grid.today - 2, 0, -1) if grid.weekday[day] < SATURDAY), 0)
    days = [last - 14 * back for back in reversed(range(7))]
    if days[0] < 0:
        return []
    there = seasons.present[:, days].all(axis=1) & seasons.present[:, grid.today]
    horse = next((one for one in np.flatnonzero(there).tolist() if one not in sampled), None)
    return [] if horse is None else [(horse, day, False) for day in days]


def _results(values: list[float]) -> list[dict[str, object]]:
    """Return the laboratory's lines."""
    found = []
    for (name, _, _, _, unit, low, high, places), value in zip(ANALYTES, values, strict=True):
        line: dict[str, object] = {"name": name, "value": float(round(value, places)), "unit": unit}
        line |= {end: float(limit) for end, limit in (("low", low), ("high", high)) if limit is not None}
        found.append(line)
    return found


def scopes(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what was seen with the endoscope: of three that coughed, and of some on the day after a race."""
    grid = seasons.grid
    raced = np.argwhere((grid.race_m[:, : grid.today - 2] > 0) & seasons.present[:, 1 : grid.today - 1])
    chosen = rng.permutation(raced)[: round(9 * grid.today / 365)]
    rows = [(int(horse), int(day) + 1, f"Mucus {rng.integers(0, 2)} of 5, no blood seen.") for horse, day in chosen]
    if seasons.events.cough:
        rows += [(horse, day + 1, "Mucus 3 of 5, throat red. Sample taken.") for horse, day in
                 zip(seasons.events.cough.horses[:3], seasons.events.cough.begins[:3], strict=True)]  # fmt: skip
    horses, days = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    vets = seasons.names(seasons.hands.vet[seasons.own.barn[horses]])
    samples = [f"T{day:05d}" if "Sample" in text else None for _, day, text in rows]
    return lines(
        "scope",
        horse=seasons.codes(horses),
        day=grid.first + days,
        second=np.full(days.size, 11 * 3600) + 300 * (horses % 7),
        author=vets,
        values=[
            said(text=text, sample=sample, vet=vet)
            for (_, _, text), sample, vet in zip(rows, samples, vets, strict=True)
        ],
    )


def farrier(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what the farrier did, every four to five weeks, with the day on which the horse is due again."""
    grid, weekday = seasons.grid, seasons.grid.weekday
    rows = []
    for horse in range(len(grid.codes)):
        day, turn = int(grid.here[horse].argmax()) + int(rng.integers(3, 30)), 0
        while day < grid.today and grid.here[horse, day]:
            day += _TO_MONDAY[weekday[day]]
            again = day + int(rng.integers(*_SHOD))
            away = seasons.events.turned_out[horse, min(day, grid.today)]
            if day < grid.today and grid.here[horse, day]:
                rows.append(
                    (horse, day, said(done=["trimmed"] if away else _DONE[turn % 4], again=str(grid.on(again))))
                )
            day, turn = again, turn + 1
    return _done(seasons, "farrier", rows, 13 * 3600)


def shoes(rng: np.random.Generator, seasons: Seasons) -> list[pl.DataFrame]:
    """Return what was wrong with shoes, found on evening rounds, and the farrier's visit the day after.

    About one horse in two has it in a year. One of yesterday evening waits for him this morning.
    """
    grid, waits = seasons.grid, _waits(seasons)
    days = np.argwhere(seasons.present[:, : grid.today - 1])
    drawn = days[rng.choice(len(days), round(_SHOES_A_YEAR * len(days) / 365), replace=False)]
    rows = [(int(horse), int(day)) for horse, day in drawn] + [(waits, grid.today - 1)]
    horses, evening = np.array(rows).T
    wrong, feet = rng.choice(_WRONG, len(rows), p=_WRONG_ODDS), rng.choice(_LIMBS, len(rows), p=_LIMB_ODDS)
    found = lines(
        "shoe",
        horse=seasons.codes(horses),
        day=grid.first + evening,
        second=evening_round(rng, seasons, horses),
        author=seasons.heads(horses, evening),
        values=[said(wrong=[one], feet=[foot]) for one, foot in zip(wrong, feet, strict=True)],
    )
    mended = [
        (horse, day + 1, said(done=["pulled"] if one in {"lost", "sprung"} else ["refit"], feet=[foot]))
        for (horse, day), one, foot in zip(rows[:-1], wrong, feet, strict=False)
    ]
    return [found, _done(seasons, "farrier", mended, 8 * 3600)]


def _waits(seasons: Seasons) -> int:
    """Return a horse in work of which nothing else is told this morning."""
    grid, morning = seasons.grid, seasons.events.morning
    taken = {morning.warm, morning.leg, morning.walking, morning.runner, *morning.runners, morning.due, morning.overdue}
    at_work = np.flatnonzero(grid.at_work[:, grid.today - 30 : grid.today + 1].all(axis=1))
    return next(int(one) for one in at_work[::-1] if int(one) not in taken)


def teeth(rng: np.random.Generator, seasons: Seasons) -> pl.DataFrame:
    """Return what was done to teeth, twice a year."""
    grid, weekday = seasons.grid, seasons.grid.weekday
    texts = (
        "Rasped, nothing else.",
        "Sharp edges taken off.",
        "Wolf tooth out on the near side.",
        "Looked at, nothing to do.",
    )
    rows = []
    for horse in range(len(grid.codes)):
        for day in range(int(grid.here[horse].argmax()) + int(rng.integers(10, 150)), grid.today, _HALF_A_YEAR):
            at = day + _TO_MONDAY[weekday[day]]
            while at < grid.today and not seasons.present[horse, at]:
                at += 7  # the dentist's next Monday
            if at < grid.today:
                rows.append((horse, at, said(text=texts[int(rng.integers(4))], again=str(grid.on(at + _HALF_A_YEAR)))))
    return _done(seasons, "teeth", rows, 14 * 3600)


def _done(seasons: Seasons, kind: str, rows: list[tuple[int, int, str]], begins: int) -> pl.DataFrame:
    horses, days = np.array([row[0] for row in rows]), np.array([row[1] for row in rows])
    return lines(
        kind,
        horse=seasons.codes(horses),
        day=seasons.grid.first + days,
        second=begins + 150 * (horses % 25),
        author=seasons.heads(horses, days),
        values=[row[2] for row in rows],
    )
