"""The shape of a horse in words."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from django.utils.formats import date_format, number_format
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.diary.shape import named
from upsides.books.diary.trait_words import WORDS
from upsides.books.models import Person
from upsides.trip.traits import Agreement, Summary

APART: Final = 3
"""People who differ by this many points see a trait differently."""
MOST: Final = 4
"""Most traits that a sentence lists."""
ENOUGH: Final = 5
"""Fewer horses than this, scored by two people or more, tell too little of a single trait."""


def before_scoring(horse: str, others: int) -> str:
    """Return why a page shows no scores yet: nobody has scored it, or the reader has not."""
    if not others:
        return _("Nobody has scored the shape of %(horse)s yet.") % {"horse": horse}
    text = ngettext(
        "%(others)s person has scored the shape of %(horse)s; you see it once your own scores are entered.",
        "%(others)s people have scored the shape of %(horse)s; you see theirs once your own scores are entered.",
        others,
    )
    return text % {"horse": horse, "others": others}


def scoring(horse: str, *, correcting: bool, before: bool) -> str:
    """Return what the form is for, to somebody who has scored the horse."""
    if correcting:
        return _("You scored %(horse)s today; what you change here replaces that.") % {"horse": horse}
    if before:
        return _("Score %(horse)s as it stands there now; what you leave out keeps your last score.") % {"horse": horse}
    return ""


def about_shape(horse: str, judges: int, found: Mapping[str, Summary]) -> str:
    """Return what people see in a horse, and where they differ."""
    seen = ", ".join(named({name: one.mean for name, one in found.items()}))
    told = {"horse": horse, "seen": seen, "judges": judges}
    if judges == 1:
        if seen:
            return _("You see %(horse)s as: %(seen)s. Nobody else has scored it yet.") % told
        return _("You see nothing far from the average in %(horse)s. Nobody else has scored it yet.") % told
    if seen:
        text = ngettext(
            "%(judges)s person sees in %(horse)s: %(seen)s.", "%(judges)s people see in %(horse)s: %(seen)s.", judges
        )
    else:
        text = ngettext(
            "%(judges)s person sees nothing far from the average in %(horse)s.",
            "%(judges)s people together see nothing far from the average in %(horse)s.",
            judges,
        )
    return f"{text % told} {_differing(found)}"


def _differing(found: Mapping[str, Summary]) -> str:
    apart = sorted((name for name, one in found.items() if one.spread >= APART), key=lambda name: -found[name].spread)
    if not any(one.judges > 1 for one in found.values()):
        return _("No trait was scored by more than one of them.")
    if not apart:
        return _("Nowhere do they differ by more than two points.")
    traits = get_text_list([str(WORDS[name].about) for name in apart[:MOST]], _("and"))
    if len(apart) > MOST:
        return _("They see %(number)s traits differently, most of all %(traits)s.") % {
            "number": len(apart),
            "traits": traits,
        }
    return _("They see %(traits)s differently.") % {"traits": traits}


def seen_differently(name: str, one: Summary, lowest: int) -> str:
    """Return in words that people differ over a trait; empty where they do not by 3 points."""
    if one.spread < APART:
        return ""
    text = ngettext(
        "%(judges)s person sees %(trait)s differently, from %(low)s to %(high)s.",
        "%(judges)s people see %(trait)s differently, from %(low)s to %(high)s.",
        one.judges,
    )
    told = {"judges": one.judges, "trait": WORDS[name].about, "low": lowest, "high": lowest + one.spread}
    return text % told


def said(name: str, score: int, earlier: str) -> str:
    """Return one person's score: Ann Hazel 7, with the day where it is older than the person's last look."""
    told = {"name": name.replace(" ", "\u00a0"), "score": score, "day": earlier}
    return _("%(name)s\u00a0%(score)s (%(day)s)") % told if earlier else _("%(name)s\u00a0%(score)s") % told


def mean_of(one: Summary) -> str:
    """Return the mean of several people, empty for one."""
    return _("average %(mean)s") % {"mean": number_format(one.mean, decimal_pos=1)} if one.judges > 1 else ""


def called(person: Person) -> str:
    """Return somebody's name, or that it was removed."""
    return _("name removed") if person.erased_at else person.name


def last_time(score: int, day: str) -> str:
    """Return what a person scored before."""
    return _("Your last score: %(score)s, on %(day)s.") % {"score": score, "day": day}


def day_of(when: date) -> str:
    """Return a day as 3 May 2026, held together."""
    return date_format(when, "j F Y").replace(" ", "\u00a0")


def about_agreement(each: Mapping[str, Agreement | None], overall: Agreement | None) -> list[str]:
    """Return how far the yard's people agree over all horses, in sentences; none where that cannot be told."""
    if overall is None:
        return []
    share = number_format(100 * min(max(overall.absolute, 0.0), 1.0), decimal_pos=0)
    text = ngettext(
        "%(horses)s horse of the yard has been scored by two people or more: of all that scores differ by, %(share)s%% "
        "lies in the horses, the rest in who scores and in the single look.",
        "%(horses)s horses of the yard have been scored by two people or more: of all that scores differ by, "
        "%(share)s%% lies in the horses, the rest in who scores and in the single look.",
        overall.horses,
    )
    return [text % {"horses": overall.horses, "share": share}, *_best_and_least(each)]


def _best_and_least(each: Mapping[str, Agreement | None]) -> Sequence[str]:
    known = {name: one.absolute for name, one in each.items() if one is not None and one.horses >= ENOUGH}
    if len(known) < 2:
        return [_("That is little to go by yet.")]
    best, least = max(known, key=lambda name: known[name]), min(known, key=lambda name: known[name])
    told = {"best": WORDS[best].about, "least": WORDS[least].about}
    return [_("People agree best about %(best)s and least about %(least)s.") % told]
