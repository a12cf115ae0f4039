"""Findings and lines of weight in English, for the command; pages translate by key."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Final

from upsides.placing.answers import Finding, Says
from upsides.placing.conditions.who import FAR_MORE

_NO_SURFACE: Final = "the race's surface is not stated; its mark is {turf} on turf and {all_weather} on all-weather"
SENTENCES: Final[dict[str, str]] = {
    "age": "it is {age} on the day; the race takes {ages}",
    "sex": "{is_a} on the day; the race takes {takes}",
    "mark": "mark {mark}; the band is {low} to {high}",
    "marks": _NO_SURFACE + "; the band is {low} to {high}",
    "benchmarks": _NO_SURFACE + "; the benchmark is {benchmark}",
    "benchmark": "mark {mark}; the benchmark is {benchmark}",
    "won": "won {count}; at least {least}, at most {most}",
    "placed": "placed {count} times; at least {least}, at most {most}",
    "ran": "ran {count} times; at least {least}, at most {most}",
    "earned": "earned {earned}; at most {most}",
    "sold for": "sold for {price}; at most {most}",
    "sire's price": "median price of the sire's yearlings {median}; at most {most}",
    "sire's trip": "sire or dam won over {won_over} m at most; {least} m are asked",
    "bands": "sire in bands {bands}; the race takes {takes}",
    "scheme": "qualified for {scheme}",
    "sire's fee": "fee of the sire {fee}; at most {most}",
    "novice": "won {count}; for novices, and how often one may have won is not said: see the authority's rules",
    "foaled": "foaled {foaled}; taken are those foaled from {first} to {last}",
    "trained in": "trained in {trained}; the race takes horses trained in {places}",
    "not trained in": "trained in {trained}; the race takes none trained in {places}",
    "bred in": "bred in {bred}; the race takes {places}",
    "claimable": "may be claimed for {price}, at the lowest {lowest}",
    "riders": "for {riders} riders, with at most {most} winners",
    "either": "one of several conditions",
    "every": "all of several conditions",
    "medicine": "given {substance} on {day}, {days} days before: for the vet to say; published: {published}",
    "clash": "its conditions contradict each other: {what}",
    "no rule": "no rule on {topic} is known for {place}",
    "left": "it is not in the yard from {day} on",
    "not yet here": "it comes to the yard on {day}",
    "mark elsewhere": "its mark is of {of}; the race is in {race}",
    "second start": "mark {mark} by a win at its second start; such a horse is taken rated {most} at most",
    "kept": "it may not run ({reason}) until {until}",
    "stand-down": "after {treatment} the first day is {first_day}; ask the vet, and the authority's current rules",
    "vaccination": "{disease}, {occasion} on {day}: {reason} {bound}",
    "vaccination not seen": "its record of {disease} was not seen",
    "tell gelded": "gelded on {day} since its last run: to be told when you {by}",
}
"""One sentence a key of a finding, with the names of its facts."""

MONEY: Final = "prizes in another currency count only at a rate that you give"
OPENINGS: Final = {Says.YES: "yes", Says.NO: "no", Says.UNKNOWN: "not known"}


def sentence(found: Finding) -> str:
    """Return a finding in English: what it says, why, and by which words or rule."""
    said = clause(found)
    by = f' ("{found.wording}")' if found.wording else f" ({found.rule})" if found.rule else ""
    return f"{OPENINGS[found.says]}: {said}{by}"


def clause(found: Finding, day: Callable[[date], str] = str) -> str:
    """Return what a finding says in English, without what it rests on.

    Args:
        found: the finding.
        day: how days are written.
    """
    facts = {name: day(fact) if isinstance(fact, date) else _text(fact) for name, fact in found.facts}
    return SENTENCES[found.key].format_map(facts) + _open(dict(found.facts))


def _open(facts: Mapping[str, object]) -> str:
    """Return of how many more runs it is not known whether they count."""
    if "open" not in facts:
        return ""
    money = f"; {MONEY}" if facts["worth"] else ""
    return (
        f"; of {facts['open']} more it is not known whether they count{money}"
        if facts["open"] != FAR_MORE
        else (f"; not all its runs are known here{money}")
    )


def _text(fact: object) -> str:
    if isinstance(fact, tuple):
        return ", ".join(map(_text, fact))
    if isinstance(fact, float):
        return f"{fact:g}"
    return "any number" if fact == "" else str(fact)
