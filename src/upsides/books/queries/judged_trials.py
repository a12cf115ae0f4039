"""Racecourse gallops and trials of horses that have not run, as works beside others are judged."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import hypot
from typing import Final

from upsides.books.queries.judged import DAYS, Known
from upsides.books.queries.moments import Moment
from upsides.books.queries.told_of_runs import UNASKED, Report, reports
from upsides.recordings.company.outcome import LENGTH_M, Outcome
from upsides.recordings.judging import Beside, JudgedWork, Ridden, age_lb, margin_lb
from upsides.recordings.work import Work

RIDDEN: Final[Mapping[str, Ridden]] = {
    "asked": Ridden("nothing", "asked"),
    "hands_and_heels": Ridden("some", "let_down"),
    "not_asked": Ridden("plenty", "let_down"),
    "eased": Ridden("plenty", "let_down"),
    "": Ridden(),
}
"""Words of a report as words of a work: how much was left, and what was ordered."""
BY_EYE_M: Final = 0.5 * LENGTH_M
"""Error of lengths that somebody judged by eye; own choice."""


def judged_trials(moment: Moment, horses: Sequence[int], known: Known) -> dict[int, list[tuple[Work, JudgedWork]]]:
    """Return the gallops and trials of some horses beside others of known level, the last first, of each horse.

    One that was not asked and finished behind has shown nothing, and is left out.

    Args:
        moment: when to look from.
        horses: numbers of the horses that are judged.
        known: what is known of all.
    """
    told = [one for one in reports(moment) if one.said.what != "race" and one.day >= moment.day - timedelta(days=DAYS)]
    words = {(one.horse, one.day): one.said.asked or "" for one in told}
    found: dict[int, dict[tuple[date, int], tuple[Work, JudgedWork]]] = {}
    for one in told:
        behind, other = one.said.behind, one.said.beside
        if behind is None or other is None or not one.said.metres:
            continue
        for horse, partner, lengths in ((one.horse, other, -behind), (other, one.horse, behind)):
            spared = lengths < 0.0 and words.get((horse, one.day)) in UNASKED
            judged = horse in horses and not spared
            read = _beside(one, horse, partner, lengths, words, known) if judged else None
            if read is not None:
                work = Work(horse, one.when, "ordered", metres=float(one.said.metres), beside=(partner,))
                ridden = RIDDEN[words.get((horse, one.day), "")]
                found.setdefault(horse, {}).setdefault((one.day, partner), (work, JudgedWork(ridden, (read,))))
    return {horse: sorted(mine.values(), key=lambda each: each[0].when, reverse=True) for horse, mine in found.items()}


def _beside(
    one: Report, horse: int, partner: int, ahead: float, words: Mapping[tuple[int, date], str], known: Known
) -> Beside | None:
    """Return a partner as works are judged; None where its level is not known, or no scale spans their ages."""
    level, metres = known.levels.get(partner), float(one.said.metres or 0)
    ages = known.ages.get(horse), known.ages.get(partner)
    if level is None or ages[0] is None or ages[1] is None:
        return None
    by_age = age_lb(known.jurisdiction, one.day, metres, ages[0], ages[1], overrides=known.overrides)
    if by_age is None:
        return None
    outcome = Outcome(ahead * LENGTH_M, BY_EYE_M, "thumb")
    lb, sd = margin_lb(outcome, metres, one.day, overrides=known.overrides)
    ridden = RIDDEN[words.get((partner, one.day), "")]
    return Beside(partner, level.lb, level.sd_lb, ridden, lb + by_age[0], hypot(sd, by_age[1]))
