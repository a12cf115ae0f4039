"""Whether a race takes a horse: yes, no, or not known, with each reason."""

from dataclasses import dataclass, replace

from upsides.errors import NoRuleError
from upsides.placing.answers import Finding, Says, finding
from upsides.placing.bars import bars, to_tell
from upsides.placing.conditions.who import PLAIN, Terms, Who
from upsides.placing.horse import Horse
from upsides.placing.race import Race
from upsides.placing.race_rules import Stated, clashes, conditions_of, stated, torn


@dataclass(frozen=True, slots=True)
class Eligibility:
    """What a race's conditions, and the rules, say of a horse as it stands.

    Attributes:
        findings: every reason, one a condition, for and against.
        unread: words of the conditions that were not read; as long as there are any, there is no plain yes.
        notes: what must be told or known besides, and stands in nobody's way.
    """

    findings: tuple[Finding, ...]
    unread: tuple[str, ...]
    notes: tuple[Finding, ...] = ()

    @property
    def says(self) -> Says:
        """No where one reason says no; not known where one is not known or words were not read; else yes."""
        said = {one.says for one in self.findings}
        if Says.NO in said:
            return Says.NO
        return Says.UNKNOWN if self.unread or Says.UNKNOWN in said else Says.YES

    @property
    def against(self) -> tuple[Finding, ...]:
        """The reasons that say no."""
        return tuple(one for one in self.findings if one.says is Says.NO)

    @property
    def open(self) -> tuple[Finding, ...]:
        """The reasons of which it is not known what they say."""
        return tuple(one for one in self.findings if one.says is Says.UNKNOWN)


def eligible(horse: Horse, race: Race, terms: Terms = PLAIN) -> Eligibility:
    """Return whether a race takes a horse.

    The horse is taken as it stands: cut it by `Horse.as_of` to ask as of a day. A horse that will be gelded or sold
    before the race by what is known now is judged so.
    """
    either = torn(race)
    findings = [
        _asked(one, horse, race, terms, contradicted=type(one.value) in either)
        for one in stated(race, terms)
        if hasattr(one.value, "says")
    ]
    findings += [finding("clash", Says.UNKNOWN, what=words) for words in clashes(race)]
    findings += bars(horse, race, terms)
    return Eligibility(tuple(findings), conditions_of(race).unread, tuple(to_tell(horse, race, terms)))


def _asked(one: Stated, horse: Horse, race: Race, terms: Terms, *, contradicted: bool) -> Finding:
    """Ask one condition; a no that unread words may narrow, or that another condition contradicts, is not known."""
    condition: Who = one.value  # type: ignore[assignment]  # only values that say something come here
    try:
        found = condition.says(horse, race, terms)
    except NoRuleError as error:
        found = finding("no rule", Says.UNKNOWN, topic=error.topic, place=error.jurisdiction)
    doubted = Says.UNKNOWN if (one.doubtful or contradicted) and found.says is Says.NO else found.says
    return replace(found, says=doubted, wording=one.wording)
