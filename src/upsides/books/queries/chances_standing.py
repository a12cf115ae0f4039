"""Chances as a reader should see them: none of a horse that can no longer get to the start."""

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from upsides.books import clock
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.chance_answers import Worked, chances_worked
from upsides.books.queries.engaged import engaged
from upsides.books.queries.entrants import terms_of
from upsides.books.queries.getting_a_run import taken_out
from upsides.books.queries.moments import Moment
from upsides.books.queries.placing import too_late
from upsides.books.queries.programme import programme
from upsides.placing import Stage
from upsides.results.race_cards import read_card, runner_called


def chances_standing(folder: Path, moment: Moment, codes: Collection[str]) -> dict[str, Worked]:
    """Return the chances in some races as they were known, by code, without those of horses that missed a step since.

    A horse that the card names runs, whatever was written down of its steps; one that it does not name, once the field
    is settled, does not.

    Args:
        folder: of the library.
        moment: when to look from.
        codes: of the races.
    """
    found = chances_worked(moment, codes)
    races, terms, at = programme(folder, moment).races, terms_of(folder), moment.at or clock.now()
    asked = {number for one in found.values() for number in one.horses}
    if not asked:
        return found
    days = [races[code].day for code in found if code in races]
    said = engaged(folder, moment, min(days, default=None), max(days, default=None), asked) if days else []
    reached = {(one.engagement.race_code, one.horse.pk): one.reached for one in said}
    names = {one.pk: one.name for one in moments.rows(Horse, moment).filter(id__in=asked)}
    standing = {}
    for code, one in found.items():
        card = read_card(folder, code, moment.at)
        named = {number for number in one.horses if runner_called(card, names.get(number, ""))}
        off = card and code in races and not taken_out(races[code], card, moment, terms)
        unnamed = one.horses.keys() - named if off else set()
        late = {n for n in one.horses if code in races and too_late(races[code], reached.get((code, n)), at, terms)}
        out = frozenset(n for n in one.horses if reached.get((code, n)) is Stage.WITHDRAW)
        late -= named | out
        kept = {number: chance for number, chance in one.horses.items() if number not in late | unnamed | out}
        less = frozenset(unnamed - late - out)
        standing[code] = replace(one, horses=kept, late=frozenset(late), unnamed=less, out=out)
    return standing
