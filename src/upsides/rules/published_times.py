"""What is published for a substance: detection times, withdrawal guidelines, withdrawal times, and findings of studies.

The four are different kinds. They are never mixed, compared or subtracted here, and no day is worked out from
them: that is for the vet who treats the horse.
"""

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from upsides.errors import UnreadableError
from upsides.errors.wording import gettext as _
from upsides.rules.describe_books import PUBLISHED
from upsides.rules.lookup import NONE, Overrides, candidates
from upsides.rules.rule import Entry, Rule
from upsides.trade.reading import tidy


class PublishedKind(StrEnum):
    """What sort of figure it is.

    DETECTION: how long it was found in a few horses in a trial of an authority. GUIDELINE: an advised time between the
    last dose and the race. WITHDRAWAL: a minimum that an authority sets. STUDY: what a single study found.
    """

    DETECTION = "detection time"
    GUIDELINE = "withdrawal guideline"
    WITHDRAWAL = "withdrawal time"
    STUDY = "detection in horses"


CAUTION: Final = (
    _(
        "A detection time was seen in a few healthy horses, at one dose, by one route, of one product: it is a guide "
        "and no withdrawal time."
    ),
    _("How long before a race a treatment must end is for the vet who treats the horse to say, with a margin on top."),
    _(
        "Repeated doses, another route or product, two medicines together, or bedding that holds what was passed can "
        "make it much longer."
    ),
    _("A stand-down is a legal minimum, and proves nothing about a sample."),
    _("The trainer answers for what is found, whatever was published; a sample can be tested before the race."),
)
"""What the authorities say beside such figures, in our words (British Horseracing Authority 2011, FEI 2011, European
Horserace Scientific Liaison Committee, Irish Horseracing Regulatory Board). To be shown wherever one of them is."""


@dataclass(frozen=True, slots=True)
class PublishedTime:
    """One published figure.

    Attributes:
        kind: what sort of figure.
        substance: the substance as published.
        hours: the figure, in hours.
        route, dose, sample: as published, "" where not stated.
        edition: of which list or study.
        rule: where it comes from, from when to when, and how well that was verified.
    """

    kind: PublishedKind
    substance: str
    hours: float
    route: str
    dose: str
    sample: str
    edition: str
    rule: Rule

    def __str__(self) -> str:
        how = ", ".join(part for part in (self.route, self.dose, self.sample) if part) or "route and dose not stated"
        return (
            f"{self.kind}, {self.rule.jurisdiction}: {self.substance} ({how}) {self.hours:g} hours, "
            f"edition {self.edition}; {self.rule.source} ({self.rule.confidence})"
        )


def published_times(
    substance: str, jurisdiction: str, on: date, *, overrides: Overrides = NONE
) -> tuple[PublishedTime, ...]:
    """Return what is published for a substance in a jurisdiction on a day: its own figures, its wider body's, studies.

    Args:
        substance: a name, in any case and with or without accents; all its words, or all words of a published name,
            must be in the other ("detomidine" finds "detomidine with butorphanol"). Names of products are not known.
        jurisdiction: a name or country code.
        on: the day; what is superseded by then is left out.
        overrides: the yard's own figures, which come first.

    Returns:
        The figures by kind; none where nothing was found, which does not mean that nothing is published.

    Raises:
        UnreadableError: the name is empty or no text.
    """
    words = _words(substance)
    if not words:
        raise UnreadableError("substance", substance, "clenbuterol")
    found = [
        entry
        for topic in PUBLISHED
        for entry in candidates(topic, jurisdiction, overrides)
        if entry.rule.in_force(on) and _meant(entry, words)
    ]
    return tuple(_time(entry) for entry in found)


def _words(name: str) -> set[str]:
    return set(re.findall(r"[\w-]+", tidy(name)))


def _meant(entry: Entry, words: set[str]) -> bool:
    names = (_words(name) for name in (entry.body["substance"], *entry.body.get("also", ())))
    return any(words <= name or name <= words for name in names)


def _time(entry: Entry) -> PublishedTime:
    body = entry.body
    route, dose, sample = (str(body.get(key, "")) for key in ("route", "dose", "sample"))
    kind = PublishedKind(entry.rule.topic)
    return PublishedTime(
        kind, body["substance"], float(body["hours"]), route, dose, sample, str(body["edition"]), entry.rule
    )
