"""One horse's chance in a race with what it rests on, ready for its template."""

from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.translation import gettext as _

from upsides.books.chances import RaceChance
from upsides.books.models import Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.moments import Moment
from upsides.books.queries.prize_shares import has_black_type, owners_parts, splits
from upsides.books.queries.programme import programme
from upsides.books.queries.visitors import Visitor, may_see_horse, opened
from upsides.books.queries.yard_rules import yard_rules
from upsides.books.services.sights import saw
from upsides.placing import Race
from upsides.web.programme.chance_words import chance, earned, net_of, rank, shown
from upsides.web.programme.draw_page import signed_lb
from upsides.web.programme.words import day, titled, trip, weight


def chance_page(folder: Path, who: Visitor, moment: Moment, code: str, number: int, path: str) -> dict[str, Any] | None:
    """Return the page; None where there is no such horse or race for the visitor. A look at chances is written down."""
    horse = moments.rows(Horse, moment).filter(id=number).first()
    race = programme(folder, moment).races.get(code)
    if horse is None or race is None or not may_see_horse(who, number):
        return None
    page = {"horse": horse, "code": code, "title": titled(race), "moment": moment, "plans": False,
            "where": f"{race.course}, {day(race.day)}, {trip(race)}"}  # fmt: skip
    if any(number not in opened(who, what) for what in (Inside.CHANCES, Inside.PLANS)):
        return page | {"open": False}
    saw(who, Inside.CHANCES, path, number)
    worked = chances_standing(folder, moment, [code]).get(code)
    one = worked.horses.get(number) if worked else None
    told = shown(worked, number)
    if worked is None or one is None:
        return page | {"open": True, "chance": told, "sentence": _nothing(horse.name, told)}
    return page | {
        "open": True,
        "sentence": about_chance(horse.name, one),
        "chance": told,
        "pieces": pieces(one, number, code, race),
        "earned": earned(one),
        "shared": shares_words(folder, race),
        "owners": [
            (part.name, f"{part.part}", net_of(part.amount, one.currency))
            for part in owners_parts(who, moment, number, race, one.net)
        ],
        "fit": day(worked.fit) if worked.fit else "",
        "worked": worked,
        "black_type": has_black_type(race),
    }


def _nothing(name: str, told: dict[str, Any]) -> str:
    return _("Nothing is known of the chance of %(name)s in it. %(why)s") % {
        "name": name, "why": told.get("why") or told["none"]
    }  # fmt: skip


def about_chance(name: str, one: RaceChance) -> str:
    """Return the chance to win, and where the horse stands among the runners."""
    return _("%(name)s has a chance to win of %(chance)s; by what each would show it stands %(rank)s.") % {
        "name": name, "chance": chance(one.win), "rank": rank(one)
    }  # fmt: skip


def pieces(one: RaceChance, horse: int, code: str, race: Race) -> list[dict[str, str]]:
    """Return what a chance rests on, piece by piece: what it is, what it says, and where its evidence stands."""
    return [
        {"what": _("What it is worth over the trip"), "says": _lb(one.shown), "at": reverse("horse_trip", args=[horse]),
         "see": _("its trip, from all evidence")},
        {"what": _("What its career adds"), "says": _signed(one.career), "at": reverse("horse", args=[horse]),
         "see": _("its runs")},
        {"what": _("What its weight takes off, against its rivals"), "says": _signed(-one.weighed),
         "at": reverse("race_horse", args=[code, horse]),
         "see": weight(one.weight, "lb") if one.weight else _("not known")},
        {"what": _("What its rivals are worth"), "says": _lb(one.level), "at": reverse("programme_race", args=[code]),
         "see": _rivals(one)},
        {"what": _("What the stall may add or take"), "says": _stall(one), "at": draw_address(race, round(one.size[0])),
         "see": _("the draw there")},
    ]  # fmt: skip


def shares_words(folder: Path, race: Race) -> list[tuple[str, str]]:
    """Return who has what of the winner's prize and of a later one, each with what it rests on; nothing by no rule."""
    names = (_("the winner's prize"), _("a later place's"))
    told = []
    for name, one in zip(names, splits(race, 2, yard_rules(folder).overrides), strict=False):
        parts = (
            (_("owners"), one.owner),
            (_("trainer"), one.trainer),
            (_("rider"), one.rider),
            (_("staff"), one.staff),
        )
        shares = ", ".join(f"{who} {100 * part:.1f}\u00a0%" for who, part in parts if part is not None)
        text = _("Of %(prize)s: %(shares)s.") % {"prize": name, "shares": shares}
        told.append((text, f"{one.rule.name}. {one.rule.source}. {one.rule.confidence}"))
    return told


def _rivals(one: RaceChance) -> str:
    if not one.races:
        told = {"known": len(one.known), "all": len(one.known) + len(one.drawn)}
        return _("the card: %(known)s of %(all)s rivals known") % told
    return _("%(count)s past races most like it") % {"count": one.races}


def _lb(one: tuple[float, float, float]) -> str:
    return _("%(middle)s\u00a0lb (%(low)s to %(high)s)") % {
        name: f"{value:.0f}" for name, value in zip(("middle", "low", "high"), one, strict=True)
    }


def _signed(value: float) -> str:
    return _("%(lb)s\u00a0lb") % {"lb": signed_lb(value)}


def _stall(one: RaceChance) -> str:
    if one.spread is None:
        return _("not known")
    if one.stall is not None and one.stall_worth is not None:
        told = {name: signed_lb(value) for name, value in zip(("lb", "low", "high"), one.stall_worth, strict=True)}
        return _("%(lb)s\u00a0lb (%(low)s to %(high)s) from stall %(stall)s") % (told | {"stall": one.stall})
    if one.stall is not None:
        return _("from stall %(stall)s") % {"stall": one.stall}
    return _("%(lb)s\u00a0lb either way") % {"lb": f"{one.spread:.1f}"}


def draw_address(race: Race, runners: int) -> str:
    """Return the address of the draw at a race's start."""
    asked = {"course": race.course, "trip": f"{race.distance_m or 0:g}m", "surface": race.surface or "",
             "runners": str(max(2, runners)), "bend": race.bend, "going": race.going, "rail": race.rail}  # fmt: skip
    return f"{reverse('draw')}?{urlencode({name: value for name, value in asked.items() if value})}"
