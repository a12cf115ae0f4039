"""Reasons for and against a horse in a race, and the lines of a weight, in words."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.placing import Build, Finding, Line, Money, Says, Stage
from upsides.placing.amounts import Unit
from upsides.placing.conditions.who import FAR_MORE
from upsides.trade.age import AgeRange
from upsides.web.medicine.words import disease, treatment
from upsides.web.programme.words import BUILDS, STAGES, ages, day, money, weight

Facts = Mapping[str, Any]

LINES: Final[dict[str, str | Promise]] = {
    "top weight": gettext_lazy("top weight"),
    "below the highest mark": gettext_lazy("below the highest mark"),
    "weight": gettext_lazy("weight in the conditions"),
    "scale weight": gettext_lazy("weight by the scale"),
    "single-age weight": gettext_lazy("weight for its age alone"),
    "weight for age": gettext_lazy("weight for age"),
    "sex allowance": gettext_lazy("allowance for fillies and mares"),
    "allowance": gettext_lazy("allowance"),
    "penalty": gettext_lazy("penalty"),
    "penalties at most": gettext_lazy("penalties are limited"),
    "weights moved": gettext_lazy("all weights moved"),
    "claiming price": gettext_lazy("lower claiming price"),
    "rider's claim": gettext_lazy("the rider's claim"),
}
_PLAIN: Final[dict[str, str | Promise]] = {
    "claimable": gettext_lazy("Runners may be claimed for %(price)s."),
    "riders": gettext_lazy("For %(riders)s riders only."),
    "clash": gettext_lazy("Its conditions contradict each other: %(what)s."),
    "no rule": gettext_lazy("No rule on %(topic)s is known for %(place)s."),
    "left": gettext_lazy("It is not in the yard from %(day)s on."),
    "not yet here": gettext_lazy("It comes to the yard on %(day)s."),
    "mark elsewhere": gettext_lazy("Its mark is of %(of)s; the race is in %(race)s."),
    "sold for": gettext_lazy("Sold for %(price)s; the race takes horses sold for up to %(most)s."),
    "sire's price": gettext_lazy("Its sire's yearlings fetch %(median)s; the race takes up to %(most)s."),
    "sire's trip": gettext_lazy("Sire or dam won over %(won_over)s m at most; %(least)s m are asked."),
    "bands": gettext_lazy("Its sire stands in the bands %(bands)s; the race takes %(takes)s."),
    "scheme": gettext_lazy("Qualified for %(scheme)s or not: the race asks it."),
    "sire's fee": gettext_lazy("Its sire's fee: %(fee)s; the race takes up to %(most)s."),
    "novice": gettext_lazy(
        "For novices. It has won %(count)s times; how often a novice may have won is not said: see the "
        "authority's rules."
    ),
    "trained in": gettext_lazy("Trained in: %(trained)s; the race takes horses trained in: %(places)s."),
    "not trained in": gettext_lazy("Trained in: %(trained)s; the race takes none trained in: %(places)s."),
    "bred in": gettext_lazy("Bred in: %(bred)s; the race takes %(places)s."),
    "earned": gettext_lazy("It has earned %(earned)s; at most %(most)s are allowed."),
    "second start": gettext_lazy(
        "Its mark, %(mark)s, comes of a win at its second start; this class takes such a horse rated %(most)s at most."
    ),
    "medicine": gettext_lazy("Given %(substance)s on %(day)s, %(days)s days before the race: for the vet to say."),
    "tell gelded": gettext_lazy("Gelded on %(day)s since its last run: to be told when you %(by)s."),
}


def reason(found: Finding) -> str:
    """Return one reason as a sentence."""
    facts = dict(found.facts)
    special = _SPECIAL.get(found.key)
    if special is not None:
        return special(facts)
    told = {name: _fact(value) for name, value in facts.items()}
    return str(_PLAIN[found.key]) % told if found.key in _PLAIN else str(found)


def by(found: Finding) -> str:
    """Return what a reason rests on: the words of the conditions, or the rule; empty for the programme's columns."""
    if found.wording:
        return found.wording
    return str(found.rule) if found.rule else ""


def line_words(line: Line, unit: Unit) -> tuple[str, str]:
    """Return one line of a weight: what it is, and how much with its sign."""
    value = weight(abs(line.value), unit)
    signed = value if line.value >= 0 else f"−{value}"
    return str(LINES.get(line.key, line.key)), signed


def says(answer: Says) -> str:
    """Return yes, no or not known."""
    return {Says.YES: _("may run"), Says.NO: _("may not run"), Says.UNKNOWN: _("not known")}[answer]


def _fact(value: object) -> str:
    words = next((say for kind, say in _KINDS if isinstance(value, kind)), str)
    return words(value)


_KINDS: Final[tuple[tuple[type, Callable[[Any], str]], ...]] = (
    (Money, money),
    (AgeRange, ages),
    (Build, lambda value: str(BUILDS[value])),
    (Stage, lambda value: str(STAGES[value]).lower()),
    (date, day),
    (float, lambda value: f"{value:g}"),
    (tuple, lambda value: get_text_list([_fact(one) for one in value], _("or"))),
)


def _age(facts: Facts) -> str:
    told = {"age": facts["age"], "ages": ages(facts["ages"])}
    text = ngettext("It is %(age)s year old on the day; the race takes horses %(ages)s.",
                    "It is %(age)s years old on the day; the race takes horses %(ages)s.", facts["age"])  # fmt: skip
    return text % told


def _sex(facts: Facts) -> str:
    told = {"is_a": _fact(facts["is_a"]), "takes": get_text_list([_fact(one) for one in facts["takes"]], _("or"))}
    return _("On the day it is: %(is_a)s; the race takes: %(takes)s.") % told


def _mark(facts: Facts) -> str:
    low, high = facts["low"], facts["high"]
    told = {"mark": _fact(facts["mark"]), "low": _fact(low), "high": _fact(high)}
    if facts["mark"] == "none":
        return _("It has no mark on that day.")
    if high == "":
        return _("Its mark is %(mark)s; the race takes marks from %(low)s.") % told
    return _("Its mark is %(mark)s; the race takes marks of %(low)s to %(high)s.") % told


def _benchmark(facts: Facts) -> str:
    told = {name: _fact(value) for name, value in facts.items()}
    if facts["mark"] == "none":
        return _("It has no mark; the race is a benchmark %(benchmark)s.") % told
    return _("Its mark is %(mark)s; the race is a benchmark %(benchmark)s.") % told


def _marks(facts: Facts) -> str:
    """Return what a race without a surface says of a horse whose mark is not the same on each."""
    told = {name: _("none") if value == "none" else _fact(value) for name, value in facts.items()}
    text = _("The race's surface is not stated; its mark is %(turf)s on turf and %(all_weather)s on all-weather.")
    if "benchmark" in facts:
        return f"{text % told} {_('The race is a benchmark %(benchmark)s.') % told}"
    if facts["high"] == "":
        return f"{text % told} {_('The race takes marks from %(low)s.') % told}"
    return f"{text % told} {_('The race takes marks of %(low)s to %(high)s.') % told}"


def _won(facts: Facts) -> str:
    count = facts["count"]
    text = ngettext("It won %(count)s such race.", "It won %(count)s such races.", count) % {"count": count}
    return f"{text} {_limits(facts)}{_open(facts)}"


def _placed(facts: Facts) -> str:
    count = facts["count"]
    text = ngettext("It was placed %(count)s time.", "It was placed %(count)s times.", count) % {"count": count}
    return f"{text} {_limits(facts)}{_open(facts)}"


def _ran(facts: Facts) -> str:
    count = facts["count"]
    text = ngettext("It ran %(count)s time.", "It ran %(count)s times.", count) % {"count": count}
    return f"{text} {_limits(facts)}{_open(facts)}"


def _open(facts: Facts) -> str:
    """Return of how many more runs it is not known whether they count, and what would tell."""
    if "open" not in facts:
        return ""
    count = facts["open"]
    text = ngettext(
        "Of %(count)s more it is not known whether it counts.",
        "Of %(count)s more it is not known whether they count.",
        count,
    ) % {"count": count}
    text = _("Not all its runs are known here.") if count == FAR_MORE else text
    money = _("Prizes in another currency count only at a rate that you give.") if facts["worth"] else ""
    return f" {text} {money}".rstrip()


def _limits(facts: Facts) -> str:
    least, most = facts["least"], facts["most"]
    told = {"least": least, "most": most}
    if most == "":
        return _("The race asks for %(least)s or more.") % told
    if not least:
        return _("The race takes %(most)s at most.") % told if most else _("The race takes none.")
    return _("The race takes %(least)s to %(most)s.") % told


def _foaled(facts: Facts) -> str:
    how = "j F" if facts["any_year"] else "j F Y"
    told = {name: date_format(facts[name], how) if facts[name] else "" for name in ("first", "last")}
    born = facts["foaled"]
    told |= {"born": date_format(born, "j F Y") if isinstance(born, date) else ""}
    text = _("Foaled on %(born)s.") if told["born"] else _("Its day of foaling is not entered.")
    if not told["last"]:
        return f"{text} {_('The race takes those foaled on %(first)s or later.')}" % told
    if not told["first"]:
        return f"{text} {_('The race takes those foaled on %(last)s or earlier.')}" % told
    return f"{text} {_('The race takes those foaled from %(first)s to %(last)s.')}" % told


def _kept(facts: Facts) -> str:
    told = {"reason": facts["reason"]}
    if not isinstance(facts["until"], date):
        return _("It may not run (%(reason)s); no end is set.") % told
    return _("It may not run (%(reason)s) until %(until)s.") % (told | {"until": day(facts["until"])})


def _vaccination(facts: Facts) -> str:
    told = {"disease": disease(facts["disease"]), "day": day(facts["day"])}
    return _("Its record of %(disease)s is not in order on %(day)s, as far as these rules know.") % told


def _not_vaccinated(facts: Facts) -> str:
    return _("No dose against %(disease)s is entered.") % {"disease": disease(facts["disease"])}


def _stood_down(facts: Facts) -> str:
    told = {"treatment": treatment(facts["treatment"]), "first_day": day(facts["first_day"])}
    text = _("After %(treatment)s the first day is %(first_day)s. Ask the vet, and the authority's current rules.")
    return text % told


def _ways(facts: Facts) -> str:
    return " ".join(reason(one) for one in facts["ways"])


_SPECIAL: Final[dict[str, Callable[[Facts], str]]] = {
    "age": _age,
    "sex": _sex,
    "mark": _mark,
    "benchmark": _benchmark,
    "marks": _marks,
    "benchmarks": _marks,
    "won": _won,
    "placed": _placed,
    "ran": _ran,
    "foaled": _foaled,
    "kept": _kept,
    "vaccination": _vaccination,
    "vaccination not seen": _not_vaccinated,
    "stand-down": _stood_down,
    "either": _ways,
    "every": _ways,
}
