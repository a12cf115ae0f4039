"""Rules that are missing, unpublished or malformed."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _
from upsides.errors.wording import joined


class NoRuleError(UpsidesError):
    """No rule is in force for a jurisdiction on a date.

    Args:
        topic: what was asked for, e.g. "margins".
        jurisdiction: where.
        on: the date asked about.
        exists: what there is instead, one text a rule.
    """

    def __init__(self, topic: str, jurisdiction: str, on: object, exists: list[str]) -> None:
        known = "; ".join(exists) if exists else _("none at all")
        super().__init__(
            _(
                "{topic}: no rule for {jurisdiction} on {on}. Known: {known}. Use a date within one of these, or "
                "add the rule to the yard's own rules",
                topic=topic,
                jurisdiction=jurisdiction,
                on=on,
                known=known,
            )
        )
        self.topic, self.jurisdiction, self.on, self.exists = topic, jurisdiction, on, exists


class NotPublishedError(UpsidesError):
    """A rule is in force, but gives no value for the case asked about.

    Args:
        topic: what was asked for, e.g. "weight for age".
        case: the case, e.g. "Australia on 2014-03-05, 1400 m, age 3".
        covers: what the rules in force do give.
    """

    def __init__(self, topic: str, case: str, covers: list[str]) -> None:
        super().__init__(
            _(
                "{topic}: nothing is published for {case}. Published: {covers}. Nothing is guessed in between; add "
                "the value to the yard's own rules if you have it",
                topic=topic,
                case=case,
                covers=joined(covers, by="; ") or _("nothing"),
            )
        )
        self.topic, self.case, self.covers = topic, case, covers


class RuleFileError(UpsidesError):
    """A file or table of rules that cannot be used; none of it is.

    Args:
        file: the file, or "given in code".
        where: the rule or field at fault.
        reason: what is wrong and how to put it right.
    """

    def __init__(self, file: object, where: str, reason: str) -> None:
        super().__init__(_("rules in {file}, {where}: {reason}", file=file, where=where, reason=reason))
        self.file, self.where, self.reason = str(file), where, reason


class NotEligibleError(UpsidesError):
    """A horse that a race's conditions do not take."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
