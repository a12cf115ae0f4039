"""What is taken from rules: energy by mass and work, forage, starch; each figure with its rule.

They are data with sources (`rules/data/feeding.toml`); a yard's own rules go before them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from upsides.errors import FeedingRefusedError
from upsides.errors.wording import gettext as _
from upsides.rules import NONE, Overrides, Ruled
from upsides.rules.feeding import FEEDING
from upsides.rules.jurisdictions import ANYWHERE
from upsides.rules.lookup import in_force


@dataclass(frozen=True, slots=True)
class Defaults:
    """The figures in force on a day, each with the rule that gives it.

    Attributes:
        maintenance: Mcal a day for each kg of body mass, by "minimum", "average" and "elevated".
        work: how many times maintenance, by "light", "moderate", "heavy" and "very heavy".
        forage_wanted, forage_least: % of body mass a day as dry matter.
        appetite: the most dry matter a day in all, % of body mass.
        starch_meal, starch_day: g for each kg of body mass from which a caution is given.
        hours: hours a week from which work is of a kind, by the keys of `work`.
        canter_days, fast_days: days a week from which work is heavy, and very heavy.
    """

    maintenance: Mapping[str, Ruled]
    work: Mapping[str, Ruled]
    forage_wanted: Ruled
    forage_least: Ruled
    appetite: Ruled
    starch_meal: Ruled
    starch_day: Ruled
    hours: Mapping[str, Ruled]
    canter_days: Ruled
    fast_days: Ruled

    def __post_init__(self) -> None:
        least, wanted, most = self.forage_least.value, self.forage_wanted.value, self.appetite.value
        if not least <= wanted <= most:
            reason = _(
                "the least is {least:g} % of body mass and the most that is eaten {most:g} %", least=least, most=most
            )
            raise FeedingRefusedError(_("forage to give"), f"{wanted:g} %", reason, _("correct the yard's own rules"))


def defaults(on: date, overrides: Overrides = NONE) -> Defaults:
    """Return the figures in force on a day.

    Raises:
        NoRuleError: there is none on that day.
        FeedingRefusedError: a yard's own rules want less forage than the least, or more than is eaten.
    """
    found: dict[tuple[str, str], Ruled] = {}
    for entry in in_force("feeding", ANYWHERE, on, overrides):
        ruled = Ruled(float(entry.body["value"]), entry.body["unit"], entry.rule)
        found.setdefault((entry.body["kind"], entry.body["of"]), ruled)

    def every(kind: str) -> dict[str, Ruled]:
        return {of: found[kind, of] for of in FEEDING[kind]}

    return Defaults(
        maintenance=every("maintenance"),
        work=every("work"),
        forage_wanted=found["dry matter", "forage wanted"],
        forage_least=found["dry matter", "forage least"],
        appetite=found["dry matter", "appetite"],
        starch_meal=found["starch", "meal"],
        starch_day=found["starch", "day"],
        hours=every("hours from"),
        canter_days=found["days from", "canter"],
        fast_days=found["days from", "fast work"],
    )
