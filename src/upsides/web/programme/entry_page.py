"""One horse and one race: may it run, off what, what was said, what can be said next and what waiting would teach."""

from datetime import datetime
from pathlib import Path
from typing import Any, Final
from uuid import uuid4

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books import clock
from upsides.books.models import Decision, Declarable, Engagement, Horse, Inside
from upsides.books.queries import moments
from upsides.books.queries.chances_standing import chances_standing
from upsides.books.queries.chances_wanted import pounds_of
from upsides.books.queries.engaged import Engaged, dues_by_stage, engaged, is_out
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.getting_a_run import Room, room_for
from upsides.books.queries.jockeys import Ride, hindrances, jockeys
from upsides.books.queries.moments import Moment
from upsides.books.queries.off_the_card import gaps
from upsides.books.queries.placing import Case, case_of, closes, mark_of, too_late, ways_in
from upsides.books.queries.programme import Programme, programme
from upsides.books.queries.visitors import Visitor, may_see_horse, opened
from upsides.books.services.deciding import FROM
from upsides.books.services.sights import saw
from upsides.placing import Race, Says, Stage, Terms, after_withdrawal
from upsides.web.programme.cases_words import case_shown, mark_words
from upsides.web.programme.chance_words import TAKEN_OUT, shown
from upsides.web.programme.gap_words import gap_words
from upsides.web.programme.jockey_words import against, choice
from upsides.web.programme.words import STAGES, at_course, carried_words, day, money, sums, titled, weight

Step = Decision.Step
BUTTONS: Final[dict[str, str | Promise]] = {
    Step.MEAN: gettext_lazy("Mean it for this race"),
    Step.ENTER: gettext_lazy("It is entered"),
    Step.SUPPLEMENT: gettext_lazy("It is entered late"),
    Step.CONFIRM: gettext_lazy("It is confirmed"),
    Step.DECLARE: gettext_lazy("It is declared"),
}
STAGE_OF: Final = {
    Step.ENTER: Stage.ENTER,
    Step.SUPPLEMENT: Stage.SUPPLEMENT,
    Step.CONFIRM: Stage.CONFIRM,
    Step.DECLARE: Stage.DECLARE,
}


def entry_page(folder: Path, who: Visitor, moment: Moment, code: str, number: int, path: str) -> dict[str, Any] | None:
    """Return the page; None where there is no such horse or race for the visitor. A look at plans is written down."""
    horse = moments.rows(Horse, moment).filter(id=number).first()
    found = programme(folder, moment)
    race = found.races.get(code)
    if horse is None or race is None or not may_see_horse(who, number):
        return None
    page = {"horse": horse, "race": race, "code": code, "title": titled(race), "moment": moment, "plans": False}
    if number not in opened(who, Inside.PLANS):
        return page | {"open": False}
    saw(who, Inside.PLANS, path, number)
    terms = terms_of(folder)
    entrant = entrants(folder, moment, [horse])[number]
    case = case_of(code, race, horse, entrant, terms)
    said = next((one for one in engaged(folder, moment, race.day, race.day, [number])
                 if one.engagement.race_code == code), None)  # fmt: skip
    page |= _chance(folder, who, moment, case, said, path)
    return page | {
        "open": True,
        "engaged": said,
        "where": f"{race.course}, {day(race.day)}",
        "sentence": about_entry(case, said),
        "case": case_shown(case),
        **_on_card(folder, moment, case, said, terms),
        "mark": mark_words(mark_of(race, entrant, terms)),
        "said": [_said(one) for one in said.decisions] if said else [],
        "spent": sums(said.spent) if said and said.spent else "",
        "state": said.engagement.get_state_display() if said else "",
        "waiting": waiting(horse, race, said, found, folder, moment),
        "ride": _ride(folder, moment, said, horse, race, code),
        "after_run": race.day < moment.day,
    }


def _on_card(folder: Path, moment: Moment, case: Case, said: Engaged | None, terms: Terms) -> dict[str, Any]:
    """Return where the horse stands among the entries; where the card does not name it, what that means instead."""
    listed = [said] if said and case.race.day >= moment.day else []
    missing = gaps(folder, moment, case.race, case.code, listed, (), terms)
    if told := gap_words(missing, case.race, terms, moment):
        return {"gaps": told, "room": ""}
    return {"room": room_words(room_for(folder, moment, case, terms, said.reached if said else None))}


def _chance(folder: Path, who: Visitor, moment: Moment, case: Case, said: Engaged | None, path: str) -> dict[str, Any]:
    """Return the horse's chance where chances are open to the visitor, which is written down; nothing elsewhere."""
    if case.horse.pk not in opened(who, Inside.CHANCES) or not case.open or case.race.day < moment.day:
        return {}
    if is_out(said):
        return {"chance": {"none": str(TAKEN_OUT)}}
    found = chances_standing(folder, moment, [case.code]).get(case.code)
    saw(who, Inside.CHANCES, path, case.horse.pk)
    evidence = reverse("race_chance", args=[case.code, case.horse.pk])
    return {"chance": shown(found, case.horse.pk, pounds_of(case.carried)), "evidence": evidence}


def room_words(found: Room | None) -> str:
    """Return where a horse stands among the entries and its chance of a run; empty where nothing is known of them."""
    if found is None:
        return ""
    by = {"weight": _("by weight"), "mark": _("by mark"), "ballot": _("by ballot")}[found.standing.by]
    rank = f"{found.best}" if found.best == found.worst else _("%(best)s to %(worst)s") % {
        "best": found.best, "worst": found.worst
    }  # fmt: skip
    least, most = f"{100 * found.least:.0f}", f"{100 * found.most:.0f}"
    chance = f"{most}\u00a0%" if least == most else _("%(least)s to %(most)s\u00a0%%") % {"least": least, "most": most}
    told = {"rank": rank, "by": by, "entries": found.entries, "chance": chance, "unknown": found.unknown}
    text = _("Among the %(entries)s entries it stands %(rank)s %(by)s; its chance of a run is %(chance)s.") % told
    if found.unknown:
        text += " " + _("Of %(unknown)s of the others it is not known where they stand.") % told
    return text


def forms_of(folder: Path, horse: Horse, race: Race, said: Engaged | None) -> dict[str, Any]:
    """Return what can be said now: the steps with their cost and deadline, taking out, a jockey."""
    terms, moment, over = terms_of(folder), moments.now(), race.day < clock.today()
    state = Engagement.State(said.engagement.state) if said else None
    here = moments.in_training(moment).filter(pk=horse.pk).exists()
    steps = [step for step in BUTTONS if here and state in FROM[Step(step)] and not (over and step == Step.MEAN)]
    return {
        "steps": [_step(step, race, terms) for step in steps if _possible(step, race, terms, said)],
        "over": over,
        "out": _out(race, terms, said) if state in FROM[Step.WITHDRAW] and not over else None,
        "books": here and state in FROM[Step.JOCKEY] and not over,
        "jockeys": [(one.pk, choice(one)) for one in jockeys(moment)],
        "facts": list(moments.rows(Declarable, moment).filter(horse=horse.pk, declared_on=None)),
        "jockey_id": uuid4(),
        "out_id": uuid4(),
    }


def _possible(step: str, race: Race, terms: Terms, said: Engaged | None) -> bool:
    """Return whether a step is offered: none whose stage the race does not have, none that skips a confirmation."""
    dues = dues_by_stage(race, terms)
    if step == Step.MEAN:
        return Stage.ENTER not in dues or bool(ways_in(race, clock.now(), terms))
    if step == Step.SUPPLEMENT:
        due = dues.get(Stage.SUPPLEMENT)
        return due is not None and (due.at >= clock.now() or race.day < clock.today())
    if step == Step.CONFIRM:
        return Stage.CONFIRM in dues and (said is None or said.reached is Stage.ENTER)
    if step == Step.DECLARE and Stage.CONFIRM in dues:
        return said is not None and said.reached is not Stage.ENTER
    return True


def _step(step: str, race: Race, terms: Terms) -> dict[str, Any]:
    stage = STAGE_OF.get(Step(step))
    due = dues_by_stage(race, terms).get(stage) if stage else None
    return {
        "step": step,
        "client_id": uuid4(),
        "words": str(BUTTONS[step]),
        "by": at_course(due, clock.place().zone.key) if due else "",
        "cost": money(due.cost) if due and due.cost else "",
        "late": race.day < clock.today() or (due is not None and due.at < clock.now()),
        "facts": step in {Step.ENTER, Step.DECLARE, Step.SUPPLEMENT},
    }


def _out(race: Race, terms: Terms, said: Engaged | None) -> dict[str, Any]:
    """Return what taking the horse out would bring with it."""
    declared = said is not None and said.engagement.state == Engagement.State.DECLARED
    if not declared:
        return {"declared": False}
    told: dict[str, str] = {}
    for name, certified in (("certified", True), ("otherwise", False)):
        rest = after_withdrawal(race, certified=certified, terms=terms)
        told[name] = day(rest.first_day) if rest and rest.first_day else ""
        told[f"{name}_rule"] = str(rest.rule) if rest else ""
    return {"declared": True} | told


def about_entry(case: Case, said: Engaged | None) -> str:
    """Return whether the horse may run, off what weight, how far it has come and what comes next."""
    told = {"name": case.horse.name, "weight": carried_words(case.carried)}
    if case.says is Says.NO:
        text = _("By the conditions and rules known here %(name)s may not run in it.") % told
    elif case.says is Says.UNKNOWN:
        text = _("It is not known whether %(name)s may run in it.") % told
    elif case.carried is None:
        text = _("%(name)s may run in it; its weight cannot be told.") % told
    else:
        text = _("%(name)s may run in it, off %(weight)s.") % told
    if said is None:
        return text
    state = _("It stands as: %(state)s.") % {"state": said.engagement.get_state_display()}
    if not said.must or said.due is None:
        return f"{text} {state}"
    more = {"what": str(STAGES[said.due.stage]).lower(), "when": at_course(said.due, clock.place().zone.key)}
    return f"{text} {state} {_('Next: %(what)s by %(when)s.') % more}"


def decided(one: Decision) -> str:
    """Return what was said, in words; a jockey's row that names nobody says that none is booked any more."""
    if one.step == Step.JOCKEY and not one.rider and not one.jockey:
        return _("no jockey is booked")
    return str(one.get_step_display())


def _said(one: Decision) -> dict[str, Any]:
    rider = one.rider.name if one.rider else one.jockey
    claim = weight(float(one.claim_lb), "lb") if one.claim_lb else ""
    cost = f"{one.cost:,.2f}".removesuffix(".00") if one.cost is not None else ""
    return {
        "row": one,
        "words": decided(one),
        "rider": rider,
        "claim": claim,
        "cost": f"{cost}\u00a0{one.currency}" if cost else "",
    }


def waiting(
    horse: Horse, race: Race, said: Engaged | None, found: Programme, folder: Path, moment: Moment
) -> list[str]:
    """Return what will be known by the next moment at which no can still be said."""
    at, terms = moment.at or clock.now(), terms_of(folder)
    shut = closes(race, terms) and not ways_in(race, at, terms)
    if shut and (said is None or said.reached in {None, Stage.WITHDRAW}):
        return []
    dues = [one for one in dues_by_stage(race, terms).values() if one.at >= at]
    chances = [one for one in dues if one.stage is not Stage.SUPPLEMENT]
    if said is not None and said.due is not None:
        chances = [one for one in chances if one.at >= said.due.at]
    if len(chances) < 2:
        return []
    first, last = chances[0], chances[-1] if chances[-1].stage is not Stage.WITHDRAW else chances[-2]
    told = [_("No can still be said up to %(when)s.") % {"when": at_course(last)}]
    return [*told, *_by_then(horse, race, found, folder, moment, at, last.at), *_field(first.stage, last.at)]


def _by_then(
    horse: Horse, race: Race, found: Programme, folder: Path, moment: Moment, at: datetime, until: datetime
) -> list[str]:
    last, terms = until.date(), terms_of(folder)
    runs = [one for one in engaged(folder, moment, moment.day, last, [horse.pk])
            if one.race.day < race.day and (horse.left is None or one.race.day < horse.left)
            and not is_out(one) and not too_late(one.race, one.reached, at, terms)]  # fmt: skip
    told = [
        _("By then %(name)s has run in %(race)s on %(day)s.")
        % {"name": horse.name, "race": titled(one.race), "day": day(one.race.day)}
        for one in runs
    ]
    days = {one.day for one in found.races.values() if at.date() <= one.day < last}
    if not days:
        return told
    text = ngettext(
        "The results of one day of racing are known by then, and the figures made of them.",
        "The results of %(count)s days of racing are known by then, and the figures made of them.",
        len(days),
    )
    return [*told, text % {"count": len(days)}]


def _field(stage: Stage, _until: datetime) -> list[str]:
    if stage is Stage.ENTER:
        return [_("Once entries have closed, the field that it would meet is known.")]
    return []


def _ride(
    folder: Path, moment: Moment, said: Engaged | None, horse: Horse, race: Race, code: str
) -> dict[str, Any] | None:
    booked = said.ride if said else None
    if booked is None:
        return None
    name = booked.rider.name if booked.rider else booked.jockey
    found = hindrances(folder, moment, Ride(booked.rider, booked.jockey, booked.claim_lb), horse, race, code)
    return {"name": name, "claim": booked.claim_lb, "against": [against(one, name) for one in found]}
