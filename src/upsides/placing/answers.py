"""Answers with reasons: a key that a page translates, the facts of the case, and the rule or wording that says so."""

from dataclasses import dataclass
from enum import StrEnum

from upsides.rules import Rule

Fact = str | int | float | object


class Says(StrEnum):
    """What one condition says of a horse."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Finding:
    """What one condition says of one horse.

    Attributes:
        key: which condition, a word that pages translate by (see `sentences.SENTENCES`).
        says: yes, no, or not known.
        facts: the facts of the case by name, in a fixed order.
        rule: the authority's rule that says so; None where the race's own conditions do.
        wording: the words of the conditions that it was read from; "" where it stands in the programme's columns.
    """

    key: str
    says: Says
    facts: tuple[tuple[str, Fact], ...] = ()
    rule: Rule | None = None
    wording: str = ""

    def fact(self, name: str) -> Fact:
        """Return one fact.

        Raises:
            KeyError: the finding has no such fact.
        """
        return dict(self.facts)[name]

    def __str__(self) -> str:
        from upsides.placing.sentences import sentence

        return sentence(self)


def finding(key: str, says: Says | bool, **facts: Fact) -> Finding:  # noqa: FBT001  # yes and no are the answer itself
    """Return a finding; a truth value stands for yes or no."""
    answer = says if isinstance(says, Says) else Says.YES if says else Says.NO
    return Finding(key, answer, tuple(facts.items()))


def between(sure: int, possible: int, least: int, most: int | None) -> Says:
    """Return whether a count that lies between `sure` and `possible` lies between `least` and `most`."""
    if possible < least or (most is not None and sure > most):
        return Says.NO
    if sure >= least and (most is None or possible <= most):
        return Says.YES
    return Says.UNKNOWN
