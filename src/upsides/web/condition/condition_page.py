"""The page about a horse's condition, ready for its template."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from upsides.books.queries.condition import Condition, HorseCondition, horse_condition
from upsides.books.queries.condition_answers import warmth_known
from upsides.books.queries.condition_signs import odd_and_usual
from upsides.books.queries.condition_vet import given_and_found
from upsides.books.queries.diary import Written
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.condition.done.summary import Window
from upsides.condition.fresh.latest import Missing
from upsides.web.condition import evidence, sentences
from upsides.web.condition.figures import about_figures, shown
from upsides.web.condition.picture import DAYS, axis_of, days_of, pictures, weeks_of
from upsides.web.condition.steps import steps_of
from upsides.web.condition.words import SOURCES, exercise_words, listed, missing_words
from upsides.web.recordings import measures as m
from upsides.web.recordings.weeks import PARTS
from upsides.web.shell.templatetags.words import short_day


def told_of(library: Path, who: Visitor, moment: Moment, number: int) -> dict[str, Any] | None:
    """Return what the template needs, None where the visitor may see no such horse."""
    found = horse_condition(library, who, moment, number)
    if found is None:
        return None
    given = given_and_found(moment, number, who, DAYS) if found.condition is not None else []
    return condition_page(found, given, warmth_known(moment))


def condition_page(found: HorseCondition, given: Sequence[Written], warmth: tuple[int, int]) -> dict[str, Any]:
    """Return what the template needs; `sentence` is empty where nothing is shown.

    Args:
        found: the horse.
        given: what was given to it and found.
        warmth: of how many readings of the yard's hearts it was known how warm it was, and how many there were.
    """
    page: dict[str, Any] = {"found": found, "sentence": ""}
    if found.condition is None:
        return page
    told = found.condition
    axis = axis_of(told, given)
    return page | {
        "sentence": sentences.about(told),
        "pictures": pictures(axis, found.horse.name),
        "days": days_of(axis),
        "done": _done(told),
        "fit": {
            "sentence": sentences.about_fit(told.fit, told.done.on),
            "pieces": [evidence.piece_words(one) for one in told.fit.pieces],
            "missing": missing_words(told.fit.missing),
            "warmth": evidence.warmth_words(*warmth) if told.fit.pieces else "",
        },
        "fresh": _fresh(told)
        | {
            "scale": told.signs.scale,
            "unheard": told.fresh.unheard,
            "exercise": exercise_words(told.signs.exercise) if told.signs.exercise else "",
        },
        "unwatched": told.worked_out.watched is None,
        "stands_out": [words for _kind, words in told.readings_out],
        "vet": {
            "sentence": sentences.about_vet(told.vet, sentences.strides_of(told)),
            "strides": [words for _kind, words in told.strides_out],
            "felt": sentences.legs_words(told.vet.since_felt),
            "open": told.vet.open,
            "shoes": told.vet.shoes,
            "ask": len(told.vet.open) > len(told.vet.shoes),
            "done": told.vet.done,
            "bloods": [evidence.blood_words(one) for one in told.vet.bloods],
            "even": evidence.even_words(told.vet.even),
            "uneven": told.vet.uneven,
        },
        "figures": {
            "sentence": about_figures(told.held, told.notable),
            "notable": shown(told.notable),
            "others": shown([one for one in told.held if one not in told.notable]),
        },
    }


def _done(told: Condition) -> dict[str, Any]:
    windows = [one for one in told.done.windows if not one.empty]
    return {
        "sentence": sentences.about_done(told.done),
        "since": sentences.since_words(told.done),
        "until": sentences.until_words(told.done),
        "table_alone": not told.worked_out.exercises,
        "windows": [_window(one) for one in windows],
        "empty": max((one.days for one in told.done.windows if one.empty and one.days), default=0),
        "bins": steps_of(windows),
        "parts": [str(label) for _low, label in PARTS],
        "weeks": [
            (
                short_day(week.monday),
                [(str(label), m.far(far)) for (_low, label), far in zip(PARTS, week.metres, strict=True)],
            )
            for week in reversed(weeks_of(told))
            if any(week.metres)
        ],
    }


def _window(one: Window) -> dict[str, Any]:
    return {
        "days": one.days,
        "metres": m.far(one.metres),
        "canter": m.far(one.canter_m),
        "fast": m.far(one.fast_m),
        "strides": f"{round(one.strides, -2):,.0f}",
        "measured": "–" if one.measured is None else m.share_words(one.measured),
        "sources": listed([SOURCES[name] for name in one.by_source]),
        "unknown": one.unknown,
        "whole": one.whole,
    }


def _fresh(told: Condition) -> dict[str, Any]:
    fresh = told.fresh
    found: list[str] = []
    if not isinstance(fresh.racing_mass, Missing):
        found += evidence.racing_mass_words(fresh.racing_mass)
    odd, _usual = odd_and_usual(fresh, told.stands_out)
    signs = [one for one in fresh.signs if not isinstance(one, Missing)]
    found += [evidence.sign_words(one, drifting=one.what in odd) for one in signs]
    if not isinstance(fresh.appetite, Missing):
        found.append(evidence.appetite_words(fresh.appetite))
    found += [evidence.last_word_words(one) for one in (fresh.rider, fresh.mind) if not isinstance(one, Missing)]
    if fresh.since_run is not None:
        found += evidence.since_run_words(fresh.since_run)
    found.append(evidence.travel_words(fresh.travel))
    return {"sentence": sentences.about_fresh(told), "signs": found, "missing": missing_words(fresh.missing)}
