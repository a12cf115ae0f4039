"""Writes of decisions about races: meant, entered, confirmed, declared, withdrawn, a jockey booked. Rows are added."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Final
from uuid import UUID

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Decision, Declarable, Engagement, Horse, Person, Yard
from upsides.books.queries import moments
from upsides.books.queries.engaged import dues_by_stage, reached_by
from upsides.books.queries.entrants import entrants, terms_of
from upsides.books.queries.jockeys import Hindrance, Kind, Ride, hindrances, jockeys_called
from upsides.books.queries.placing import case_of
from upsides.books.queries.programme import programme
from upsides.books.services.diary import next_stamp
from upsides.books.services.jobs import ask
from upsides.books.services.meanwhile import save
from upsides.errors import (
    DecisionLateError,
    DecisionRefusedError,
    DecisionTwiceError,
    HorseHereUnknownError,
    RaceUnknownError,
)
from upsides.errors.wording import gettext as _
from upsides.placing import Deadline, Race, Says, Stage, Terms

Step = Decision.Step
State = Engagement.State
AFTER: Final = {
    Step.MEAN: State.MEANT,
    Step.ENTER: State.ENTERED,
    Step.SUPPLEMENT: State.ENTERED,
    Step.CONFIRM: State.CONFIRMED,
    Step.DECLARE: State.DECLARED,
    Step.WITHDRAW: State.WITHDRAWN,
}
"""How far a horse has come after a step."""
STAGES: Final[Mapping[Step, Stage]] = {
    Step.ENTER: Stage.ENTER,
    Step.SUPPLEMENT: Stage.SUPPLEMENT,
    Step.CONFIRM: Stage.CONFIRM,
    Step.DECLARE: Stage.DECLARE,
    Step.WITHDRAW: Stage.WITHDRAW,
}
FROM: Final[Mapping[Step, frozenset[State | None]]] = {
    Step.MEAN: frozenset({None, State.WITHDRAWN}),
    Step.ENTER: frozenset({None, State.MEANT, State.WITHDRAWN}),
    Step.SUPPLEMENT: frozenset({None, State.MEANT}),
    Step.CONFIRM: frozenset({State.ENTERED}),
    Step.DECLARE: frozenset({State.ENTERED, State.CONFIRMED}),
    Step.WITHDRAW: frozenset({State.MEANT, State.ENTERED, State.CONFIRMED, State.DECLARED}),
    Step.JOCKEY: frozenset({State.MEANT, State.ENTERED, State.CONFIRMED, State.DECLARED}),
}
"""From where a step can be made; None where nothing was said yet."""
STEP_WORDS: Final = {
    Step.MEAN: "meant for it",
    Step.ENTER: "entered",
    Step.SUPPLEMENT: "entered late",
    Step.CONFIRM: "confirmed",
    Step.DECLARE: "declared",
    Step.WITHDRAW: "taken out",
    Step.JOCKEY: "given a jockey",
}
SLACK: Final = timedelta(minutes=5)
LONGEST_WHY, LONGEST_NAME, HIGHEST_CLAIM = 200, 120, 14


@dataclass(frozen=True, slots=True)
class Said:
    """A decision as a page hands it in.

    Args:
        client_id: its number, made with the page.
        horse: number of the horse.
        race_code: of the race in the programme.
        step: a value of `Decision.Step`.
        said_at: when it was said to the authority, None for now.
        why: why, or whatever is to be remembered.
        certified: of a declared horse that is taken out, whether a vet certified it.
        rider: number of the jockey where the books know him.
        jockey: else his name.
        claim_lb: what he claims, pounds.
        anyway: whether it is said though the rules say that it may not be.
        declared: numbers of what was declared of the horse with it.
    """

    client_id: UUID
    horse: int
    race_code: str
    step: str
    said_at: datetime | None = None
    why: str = ""
    certified: bool | None = None
    rider: int | None = None
    jockey: str = ""
    claim_lb: int | None = None
    anyway: bool = False
    declared: Collection[int] = ()


@transaction.atomic
def decide(folder: Path, said: Said, by: Person) -> Decision:
    """Write a decision down, and how far the horse has come by it; the same number is the same decision.

    Args:
        folder: of the library, which holds the programme.
        said: what was decided.
        by: who writes it down.

    Raises:
        RaceUnknownError: no programme names the race.
        HorseHereUnknownError: the yard does not have the horse in training.
        DecisionRefusedError: it cannot be said of this horse and race.
        DecisionLateError: it had to be said earlier.
        DecisionTwiceError: another decision has its number.
    """
    yard = Yard.objects.select_for_update().first()
    before = Decision.objects.filter(client_id=said.client_id).select_related("engagement").first()
    if before is not None:
        if (before.engagement.horse_id, before.step) != (said.horse, said.step):
            raise DecisionTwiceError
        return before
    race, horse = _race(folder, said.race_code), _horse(said.horse, said.step)
    row = _engagement(horse, race, said.race_code)
    stamp = next_stamp(yard)
    at = said.said_at or stamp
    _fitting(row, race, horse, said, at, stamp)
    due = _due(folder, race, row, horse, said, at)
    if said.step in {Step.ENTER, Step.SUPPLEMENT, Step.DECLARE} and not said.anyway:
        _may_run(folder, race, horse, said.race_code)
    rider = _jockey(folder, race, horse, said) if said.step == Step.JOCKEY else None
    row = _written(row, race, horse, said, by, terms_of(folder))
    _declare(horse, said, by)
    cost = due.cost if due else None
    if said.step != Step.JOCKEY:
        ask("chances", afresh=True)
    return Decision.objects.create(
        client_id=said.client_id,
        engagement=row,
        step=said.step,
        by=by,
        said_at=at,
        recorded_at=stamp,
        cost=None if cost is None else Decimal(str(round(cost.amount, 2))),
        currency=cost.currency if cost else "",
        rider=rider,
        jockey="" if rider else said.jockey.strip()[:LONGEST_NAME],
        claim_lb=said.claim_lb,
        certified=said.certified if said.step == Step.WITHDRAW else None,
        why=" ".join(said.why.split()),
    )


def _race(folder: Path, code: str) -> Race:
    race = programme(folder, moments.now()).races.get(code)
    if race is None:
        raise RaceUnknownError(code)
    return race


def _horse(number: int, step: str) -> Horse:
    """Return the horse; one that left, or stands elsewhere for a time, can only be taken out."""
    takes = Horse.objects.all() if step == Step.WITHDRAW else moments.in_training(moments.now())
    horse = takes.filter(pk=number).first()
    if horse is None:
        known = Horse.objects.filter(pk=number).values_list("name", flat=True).first()
        raise HorseHereUnknownError(known or str(number))
    return horse


def _engagement(horse: Horse, race: Race, code: str) -> Engagement | None:
    """Return the engagement that stands, one that was entered by hand before the programme came among them."""
    rows = Engagement.objects.select_for_update().filter(horse=horse)
    by_hand = rows.filter(race_code="", race=race.title, course=race.course, day=race.day)
    return rows.filter(race_code=code).first() or by_hand.first()


def _fitting(row: Engagement | None, race: Race, horse: Horse, said: Said, at: datetime, stamp: datetime) -> None:
    """Refuse what cannot be meant: an unknown step, one that does not follow, a moment to come, words too long."""

    def refused(field: str, reason: str, remedy: str) -> DecisionRefusedError:
        return DecisionRefusedError(horse.name, str(race), field, reason, remedy)

    state = State(row.state) if row else None
    if said.step not in FROM:
        raise refused(_("step"), _("there is no such step"), _("choose one of the page"))
    if state not in FROM[Step(said.step)]:
        told = state.value if state else _("not meant for it")
        step = STEP_WORDS[Step(said.step)]
        raise refused(
            _("step"),
            _("it stands as {told}, and from there it cannot be {step}", told=told, step=step),
            _("load the page again"),
        )
    if said.step == Step.WITHDRAW and state is State.DECLARED and said.certified is None:
        raise refused(
            _("certified"),
            _("it is declared, and it is not said whether a vet certifies that it cannot run"),
            _("say yes or no, for when it may race again hangs on it"),
        )
    if at > stamp + SLACK:
        raise refused("said_at", _("that moment is still to come"), _("write when it was said"))
    if race.day < clock.today() and said.step != Step.WITHDRAW and not _caught_up(race, said, at):
        remedy = _("write what came of it in the diary, and of what was said before it, when it was said")
        raise refused(_("step"), _("the race is over"), remedy)
    if len(said.why) > LONGEST_WHY:
        raise refused(_("why"), _("it is too long"), _("use at most 200 letters"))
    if said.claim_lb is not None and not 0 <= said.claim_lb <= HIGHEST_CLAIM:
        raise refused("claim_lb", _("no rider claims that"), _("write 0 to 14 pounds"))


def _caught_up(race: Race, said: Said, at: datetime) -> bool:
    """Return whether a step is one that was said in time and is written down only after the race."""
    stages = {Step.ENTER, Step.SUPPLEMENT, Step.CONFIRM, Step.DECLARE}
    return said.step in stages and at.astimezone(race.clock or clock.place().zone).date() <= race.day


def _due(folder: Path, race: Race, row: Engagement | None, horse: Horse, said: Said, at: datetime) -> Deadline | None:
    """Return the deadline of a step; None where none is known, or none matters."""
    stage = STAGES.get(Step(said.step)) if said.step in Step.values else None
    if stage is None:
        return None
    dues = dues_by_stage(race, terms_of(folder))
    if stage is Stage.WITHDRAW and (row is None or row.state != State.DECLARED):
        return None
    due = dues.get(stage)
    if stage is Stage.SUPPLEMENT and due is None:
        raise DecisionRefusedError(
            horse.name, str(race), _("step"), _("the programme has no late entry for it"), _("ask the authority")
        )
    if stage is Stage.DECLARE and row is not None and Stage.CONFIRM in dues:
        _confirmed(row, race, horse)
    if due is not None and at > due.at + SLACK:
        raise DecisionLateError(horse.name, str(race), due.local)
    return due


def _confirmed(row: Engagement, race: Race, horse: Horse) -> None:
    """Refuse the declaration of an entry that the programme wants confirmed first; a late entry needs no such word."""
    if row.state == State.ENTERED and reached_by(row, tuple(row.decisions.all())) is Stage.ENTER:
        raise DecisionRefusedError(
            horse.name, str(race), _("step"), _("its entry was not confirmed"), _("write the confirmation first")
        )


def _may_run(folder: Path, race: Race, horse: Horse, code: str) -> None:
    entrant = entrants(folder, moments.now(), [horse])[horse.pk]
    case = case_of(code, race, horse, entrant, terms_of(folder))
    if case.says is Says.NO:
        raise DecisionRefusedError(
            horse.name,
            str(race),
            _("anyway"),
            _("by the conditions and rules known here it may not run ({against})", against=case.eligible.against[0]),
            _("correct what is wrong in the books, or tick that it is said all the same"),
        )


def _jockey(folder: Path, race: Race, horse: Horse, said: Said) -> Person | None:
    """Return the jockey where the books know him, by name too; one who is suspended on the day is refused."""
    rider = Person.objects.filter(pk=said.rider, is_active=True, erased_at=None).first() if said.rider else None
    if said.rider and rider is None:
        raise DecisionRefusedError(
            horse.name, str(race), _("rider"), _("the books have no such person"), _("choose somebody of the list")
        )
    rider = rider or _called(said.jockey, horse, race)
    if rider is None:
        return None
    ride = Ride(rider, "", said.claim_lb)
    found: list[Hindrance] = hindrances(folder, moments.now(), ride, horse, race, said.race_code)
    if not said.anyway and any(one.kind is Kind.SUSPENDED for one in found):
        raise DecisionRefusedError(
            horse.name,
            str(race),
            _("rider"),
            _("{name} is suspended on that day", name=rider.name),
            _("choose another, or correct what binds him"),
        )
    return rider


def _called(name: str, horse: Horse, race: Race) -> Person | None:
    """Return the jockey whom a typed name means, so that what binds him is asked; None where the books know none."""
    found = jockeys_called(moments.now(), name)
    if len(found) > 1:
        raise DecisionRefusedError(
            horse.name,
            str(race),
            "jockey",
            _("the books know more than one {name}", name=found[0].name),
            _("choose him from the list"),
        )
    return found[0] if found else None


def _written(row: Engagement | None, race: Race, horse: Horse, said: Said, by: Person, terms: Terms) -> Engagement:
    """Write the engagement as it stands after a step, as the programme has the race."""
    one = row or Engagement(horse=horse)
    if said.step != Step.JOCKEY:
        one.state = AFTER[Step(said.step)]
    fill(one, race, said.race_code, terms)
    save(one, by)
    return one


def fill(one: Engagement, race: Race, code: str, terms: Terms) -> None:
    """Set an engagement's fields as the programme and the rules have the race."""
    at = {stage: due.at for stage, due in dues_by_stage(race, terms).items()}
    one.race_code, one.race = code, (race.title or str(race))[:120]
    one.course, one.country, one.zone = race.course[:60], race.jurisdiction[:10], race.zone or one.zone or "UTC"
    one.day, one.off_at = race.day, race.off
    one.distance_m = round(race.distance_m) if race.distance_m else None
    one.enter_by, one.confirm_by, one.declare_by = at.get(Stage.ENTER), at.get(Stage.CONFIRM), at.get(Stage.DECLARE)


def _declare(horse: Horse, said: Said, by: Person) -> None:
    """Write down that facts about the horse were declared with the step."""
    if said.step not in {Step.ENTER, Step.DECLARE, Step.SUPPLEMENT}:
        return
    today = clock.today()
    for fact in Declarable.objects.select_for_update().filter(
        horse=horse, pk__in=list(said.declared), declared_on=None, happened_on__lte=today
    ):
        fact.declared_on = today
        save(fact, by)
