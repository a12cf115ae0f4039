"""Plans of lots in words: rules that must hold or are broken, what departures cost, what is left out."""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from django.utils.functional import Promise
from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, ngettext_lazy

from upsides.books.queries.lot_morning import Gathered, LeftOut
from upsides.books.queries.young_lots import Barred
from upsides.planning.morning import Lot, Plan, Ride, Rider
from upsides.planning.prices import PARTS, Parts
from upsides.planning.rule import Clash, Rule
from upsides.rules import Limit

HOLDS: Final[Mapping[str, str | Promise]] = {
    "rider": gettext_lazy("every horse that may not stay on the walker has a rider"),
    "weight": gettext_lazy("%(one)s carries no more than its limit"),
    "skill": gettext_lazy("%(one)s is ridden by somebody who rides such horses"),
    "hours": gettext_lazy("%(one)s keeps to hours"),
    "most": gettext_lazy("%(one)s has no more lots than agreed"),
    "young": gettext_lazy("%(one)s, under eighteen, keeps to the limits of the young"),
    "size": gettext_lazy("%(one)s has no more horses than it takes"),
    "gallop": gettext_lazy("%(one)s has no more horses in a lot than it takes"),
    "partners": gettext_lazy("%(one)s and %(other)s work together"),
    "apart": gettext_lazy("%(one)s is kept apart from the other sex"),
    "not_with": gettext_lazy("%(one)s and %(other)s never go in one lot"),
    "not_by": gettext_lazy("%(one)s is not ridden by those who do not ride it"),
    "law": gettext_lazy("%(one)s, under eighteen, keeps to the law's hours of work and rest"),
    "pin": gettext_lazy("%(one)s goes as was fixed by hand"),
}
"""Rules as they must hold."""
BROKEN: Final[Mapping[str, str | Promise]] = {
    "rider": gettext_lazy("a horse that may not stay on the walker has no rider"),
    "weight": gettext_lazy("%(one)s: the rider is too heavy, or nobody knows how heavy"),
    "skill": gettext_lazy("%(one)s: its cautions ask for more of a rider"),
    "hours": gettext_lazy("%(one)s: the lot is outside the hours"),
    "most": gettext_lazy("%(one)s: too many lots"),
    "young": gettext_lazy("%(one)s, under eighteen: more than the limits of the young"),
    "size": gettext_lazy("%(one)s: more horses than it takes"),
    "gallop": gettext_lazy("%(one)s: more horses in a lot than it takes"),
    "partners": gettext_lazy("%(one)s and %(other)s are to work together, and go in two lots"),
    "apart": gettext_lazy("%(one)s: the other sex is in its lot"),
    "not_with": gettext_lazy("%(one)s and %(other)s are in one lot, and never go together"),
    "not_by": gettext_lazy("%(one)s: its rider does not ride it"),
    "law": gettext_lazy("%(one)s, under eighteen: outside the law's hours of work and rest"),
    "pin": gettext_lazy("%(one)s: it was fixed by hand otherwise"),
    "once": gettext_lazy("%(one)s: it has no rider or no lot, or stands there twice"),
    "twice": gettext_lazy("%(one)s: two horses at one time"),
    "unknown": gettext_lazy("%(one)s: it has no rider or lot of this morning"),
    "string": gettext_lazy("%(one)s: horses that work together are not beside each other in the string"),
}
"""Rules as they are broken."""
LACKS: Final = {"once", "unknown"}
"""Rules that say that a horse has no place in the morning."""
COSTS: Final[Mapping[str, Promise]] = {
    "usual": ngettext_lazy(
        "%(amount)g horse ridden by another than its usual rider",
        "%(amount)g horses ridden by another than their usual rider",
        "whole",
    ),
    "awkward": ngettext_lazy(
        "%(amount)g point of awkward rides above a fair share",
        "%(amount)g points of awkward rides above a fair share",
        "whole",
    ),
    "saddle": ngettext_lazy("%(amount)g further saddle", "%(amount)g further saddles", "whole"),
    "barn_order": ngettext_lazy(
        "%(amount)g lot away from the order of the barns", "%(amount)g lots away from the order of the barns", "whole"
    ),
    "walker": ngettext_lazy("%(amount)g horse left on the walker", "%(amount)g horses left on the walker", "whole"),
    "change_rider": ngettext_lazy(
        "%(amount)g horse with another rider than on the list",
        "%(amount)g horses with another rider than on the list",
        "whole",
    ),
    "change_lot": ngettext_lazy(
        "%(amount)g horse in another lot than on the list", "%(amount)g horses in another lot than on the list", "whole"
    ),
}
"""How much departs from a wish, by its name in `Parts`."""
LEFT_OUT: Final[Mapping[str, str | Promise]] = {
    "advice": gettext_lazy("%(one)s: the vet's advice does not allow what is ordered"),
    "closed": gettext_lazy("%(one)s: its gallop is closed"),
    "done": gettext_lazy("%(one)s: done already"),
    "gone": gettext_lazy("%(one)s: its lot has gone out"),
    "out": gettext_lazy("%(one)s: lot %(number)s pulled out at %(at)s; nothing of it is written as done yet"),
    "partner": gettext_lazy("%(one)s and %(other)s cannot work together: one is not ridden then, or goes elsewhere"),
}
_OF_RIDERS: Final = {"hours", "most", "young", "law", "twice"}
_OF_LOTS: Final = {"size", "string"}


def rule_words(rule: Rule, known: Gathered, *, broken: bool = False, plan: Plan | None = None) -> str:
    """Return a rule in words, as it must hold or as it is broken, where a plan is given by that plan."""
    names = [_name(rule.kind, number, known) for number in rule.of]
    told = dict(zip(("one", "other"), names, strict=False))
    if broken and plan is not None and rule.kind in LACKS:
        return _lacks(rule.of[0], told["one"], known, plan)
    if broken and plan is not None and rule.kind == "rider":
        return _left_in(known, plan)
    if not broken and rule.kind == "rider" and (short := _too_few(known)):
        return short
    return str((BROKEN if broken else HOLDS)[rule.kind]) % told


def _lacks(number: int, name: str, known: Gathered, plan: Plan) -> str:
    """Return what a horse lacks that has no lot and rider of the morning in a plan, or else on the list."""
    there = known.rides.get(number)
    listed = Ride(number, None if there is None or there.order.lot is None else int(there.order.lot),
                  None if there is None else there.order.rider)  # fmt: skip
    ride = plan.of_horse().get(number, listed)
    told = {"one": name, "rider": known.riders.get(ride.rider or 0, _("its rider")), "number": ride.lot}
    if ride.lot is None and ride.rider is None:
        return _("%(one)s: it has no lot and no rider") % told
    if ride.lot is None:
        return _("%(one)s: it has no lot") % told
    if ride.rider is None:
        return _("%(one)s: it has no rider") % told
    if ride.rider not in {one.number for one in known.morning.riders}:
        return _("%(one)s: %(rider)s does not ride that morning") % told
    return _("%(one)s: there is no lot %(number)s any more that morning") % told


def _left_in(known: Gathered, plan: Plan) -> str:
    """Return which horses a plan leaves in that may not stay on the walker."""
    rides = plan.of_horse()
    left = [one for one in known.morning.horses if not one.walker and rides[one.number].lot is None]
    names = sorted(known.horses[one.number] for one in left)
    text = ngettext(
        "%(names)s may not stay on the walker, and has no rider",
        "%(names)s may not stay on the walker, and have no rider",
        len(names),
    )
    return text % {"names": get_text_list(names, _("and"))}


def _too_few(known: Gathered) -> str:
    """Return that horses need riders, where fewer rides can be had than horses must be ridden; else empty."""
    must = sum(not one.walker for one in known.morning.horses)
    seats = sum(min(one.most, _in_turn(one, known.morning.lots)) for one in known.morning.riders)
    if must <= seats:
        return ""
    told = {"must": must, "riders": len(known.morning.riders), "seats": seats}
    return (
        _(
            "every horse that may not stay on the walker has a rider: %(must)s have to be ridden, riders have room for "
            "%(seats)s (%(riders)s there that morning)"
        )
        % told
    )


def _in_turn(rider: Rider, lots: Sequence[Lot]) -> int:
    """Return in how many lots somebody can ride who is back from one before the next pulls out."""
    count, back = 0, 0
    for lot in sorted(lots, key=lambda one: one.ends):
        if _there(rider, lot) and lot.starts >= back:
            count, back = count + 1, lot.ends
    return count


def _there(rider: Rider, lot: Lot) -> bool:
    within = any(start <= lot.starts and lot.ends <= end for start, end in rider.hours)
    return within and lot.number not in rider.barred and (rider.lots is None or lot.number in rider.lots)


def _name(kind: str, number: int, known: Gathered) -> str:
    if kind in _OF_LOTS:
        return _("lot %(number)s") % {"number": number}
    if kind in _OF_RIDERS:
        return known.riders.get(number, str(number))
    return (known.gallops if kind == "gallop" else known.horses).get(number, str(number))


def cost_words(amounts: Parts, costs: Parts) -> list[str]:
    """Return what a plan costs by part, those that cost nothing left out."""
    found = []
    for part in PARTS:
        amount = getattr(amounts, part)
        if amount:
            what = str(COSTS[part] % {"amount": amount, "whole": 1 if amount == 1 else 2})
            found.append(_("%(what)s: %(minutes)g min") % {"what": what, "minutes": getattr(costs, part)})
    return found


def proof_words(total: float, bound: float, *, proven: bool, nearest: bool = False) -> str:
    """Return how good a plan is; the nearest one to a list is held against those that change as little."""
    gap = max(total - bound, 0.0)
    told = {"total": round(total, 1), "bound": round(bound, 1), "gap": round(gap, 1)}
    if proven and nearest:
        return _("It costs %(total)g minutes; no plan changes less, and none that changes as little costs less.") % told
    if proven:
        return _("It costs %(total)g minutes, and no plan costs less.") % told
    return (
        _("It costs %(total)g minutes; none costs less than %(bound)g, so it may be %(gap)g above the cheapest.") % told
    )


def about_plan(made: str, changes: int, proof: str, listed: str, moved: int = 0) -> str:
    """Return what a plan comes to beside the list."""
    text = ngettext(
        "The plan of %(made)s changes %(count)s horse of the list.",
        "The plan of %(made)s changes %(count)s horses of the list.",
        changes,
    )
    if not changes and not moved:
        text = _("The list is as the plan of %(made)s has it.")
    places = ngettext(
        "It gives another place in the string to %(count)s more, and nothing else of it changes.",
        "It gives another place in the string to %(count)s more, and nothing else of them changes.",
        moved,
    ) % {"count": moved}
    told = (text % {"made": made, "count": changes}, places if moved else "", proof, listed)
    return " ".join(part for part in told if part)


def nobody_words() -> str:
    """Return that a morning has no horse for a lot."""
    return _("There is nothing to plan: no horse is ordered to be ridden that morning, or all are done.")


def list_words(total: float, broken: int) -> str:
    """Return what the list as it stands comes to."""
    if broken:
        text = ngettext("The list breaks %(count)s rule.", "The list breaks %(count)s rules.", broken)
        return text % {"count": broken}
    return _("The list costs %(total)g minutes.") % {"total": round(total, 1)}


def board_words(total: float, broken: int) -> str:
    """Return what a plan laid by hand comes to; of one that names no lot or rider the cost is not known, and is 0."""
    told = {"count": broken, "total": round(total, 1)}
    if not broken:
        return _("It keeps every rule and costs %(total)g minutes.") % told
    if not total:
        return ngettext("It breaks %(count)s rule.", "It breaks %(count)s rules.", broken) % told
    text = ngettext(
        "It breaks %(count)s rule and costs %(total)g minutes.",
        "It breaks %(count)s rules and costs %(total)g minutes.",
        broken,
    )
    return text % told


def clash_words(clash: Clash[Rule], known: Gathered) -> str:
    """Return that there is no plan, the rules that clash, and what would have to give as far as it was tried."""
    words = clash.told(lambda rule: rule_words(rule, known))
    if clash.any_one and len(words.rules) == 1:
        return _("No plan keeps this: %(rule)s.") % {"rule": words.rules[0]}
    if clash.any_one:
        return _("No plan keeps all of these together: %(rules)s. Give up any one of them and there is a plan.") % {
            "rules": "; ".join(words.rules)
        }
    lines = [_("No plan keeps all of these together: %(rules)s.") % {"rules": "; ".join(one)} for one in words.sets]
    one_set = len(words.sets) == 1
    lines.append(
        _("At least one of them must be given up.") if one_set else _("At least one of each must be given up.")
    )
    if words.without:
        lines.append(_("There is a plan without these: %(rules)s.") % {"rules": "; ".join(words.without)})
    return " ".join(lines)


def left_out_words(one: LeftOut, known: Gathered) -> str:
    """Return which horse is not planned, and why."""
    lot = int(known.rides[one.horse].order.lot or 0) if one.horse in known.rides else 0
    told = {"one": known.horses.get(one.horse, ""), "other": known.horses.get(one.other or 0, _("another"))}
    return str(LEFT_OUT[one.why]) % (told | {"number": lot, "at": _clock(known.settings.defaults.lot(lot).starts)})


def left_out_lines(known: Gathered) -> list[str]:
    """Return which horses are not planned, and why; those of a lot that pulled out by the clock in one line."""
    return [*out_lines(known), *(left_out_words(one, known) for one in known.left_out if one.why != "out")]


def out_lines(known: Gathered) -> list[str]:
    """Return which lots pulled out by the clock, with how many horses that stay as ordered."""
    out = Counter(int(known.rides[one.horse].order.lot or 0) for one in known.left_out if one.why == "out")
    lines = []
    for number, count in sorted(out.items()):
        text = ngettext(
            "Lot %(number)s pulled out at %(at)s; nothing of it is written as done yet: "
            "%(count)s horse stays as ordered",
            "Lot %(number)s pulled out at %(at)s; nothing of it is written as done yet: "
            "%(count)s horses stay as ordered",
            count,
        )
        at = _clock(known.settings.defaults.lot(number).starts)
        lines.append(text % {"number": number, "at": at, "count": count})
    return lines


def assumed_words(known: Gathered) -> list[str]:
    """Return what the books do not say and was assumed."""
    defaults, unsaid = known.settings.defaults, known.unsaid
    text = ngettext("%(count)s lot", "%(count)s lots", len(known.morning.lots)) % {"count": len(known.morning.lots)}
    where = _("the yard's own lots.toml") if known.settings.own else _("the shipped lots.toml")
    told = {"lots": text, "where": where, "first": _clock(defaults.first), "minutes": defaults.minutes}
    told |= {"most": defaults.most, "gallop": defaults.gallop_most}
    found = [
        _(
            "From %(where)s: %(lots)s of at most %(most)s horses and %(minutes)s minutes, the day's first at "
            "%(first)s; at most %(gallop)s horses of a lot on a gallop."
        )
        % told,
        _(
            "Of cautions it is read whom it takes to ride the horse, whom it carries, with whom it does not go and who "
            "does not ride it, not their words."
        ),
    ]
    if any(one.out_with(other) for one in known.morning.lots for other in known.morning.lots if one is not other):
        found.append(_("A lot pulls out before the one before is back: who rides in one has no horse in the other."))
    nowhere = sum(one.gallop is None for one in known.morning.horses)
    if nowhere:
        text = ngettext(
            "%(count)s horse has no gallop and is counted on none.",
            "%(count)s horses have no gallop and are counted on none.",
            nowhere,
        )
        found.append(text % {"count": nowhere})
    words = {
        "hours": _("no hours are entered, taken to be there all morning: %(names)s"),
        "weight": _("no weight is entered, rides only horses without a limit: %(names)s"),
        "skill": _("what is ridden is not entered, rides only horses that ask for no more than usual: %(names)s"),
        "born": _("no day of birth is entered, taken to be grown up: %(names)s"),
    }
    missing = [words[what] % {"names": ", ".join(names)} for what, names in unsaid.items() if names]
    if known.gone.over:
        found.append(
            _("By the clock every lot has pulled out: what is not written as done is planned as if it were to come.")
        )
    return [*law_words(known), *found, *missing]


LAW: Final[Mapping[Limit, str | Promise]] = {
    Limit.DAY: gettext_lazy("no more than %(allowed)g hours of work a day"),
    Limit.WEEK: gettext_lazy("no more than %(allowed)g hours of work a week"),
    Limit.DAILY_REST: gettext_lazy("%(allowed)g hours of rest in each day"),
    Limit.WEEKLY_REST: gettext_lazy("%(allowed)g hours of rest in a row in each week"),
    Limit.NIGHT: gettext_lazy("no work at night"),
    Limit.SCHOOL_AGE: gettext_lazy("below %(allowed)g years only children's rules hold, which are not kept here"),
}


def law_words(known: Gathered) -> list[str]:
    """Return which riders under eighteen have no horse in which lots, by which rules on hours of work and rest."""
    return [_law(known.riders.get(number, str(number)), one) for number, one in sorted(known.barred.items())]


def _law(name: str, barred: Barred) -> str:
    limits = {
        f"{LAW[one.limit] % {'allowed': one.allowed}} ({one.rule.name})" if one.rule else
        str(LAW[one.limit] % {"allowed": one.allowed})
        for one in barred.limits
    }  # fmt: skip
    lots = get_text_list([str(number) for number in sorted(barred.lots)], _("and"))
    text = ngettext(
        "%(name)s, under eighteen, has no horse in lot %(lots)s: %(limits)s.",
        "%(name)s, under eighteen, has no horse in lots %(lots)s: %(limits)s.",
        len(barred.lots),
    )
    return text % {"name": name, "lots": lots, "limits": "; ".join(sorted(limits))}


def _clock(minute: int) -> str:
    return f"{minute // 60}:{minute % 60:02}"
