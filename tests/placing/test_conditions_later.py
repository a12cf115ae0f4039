"""Wordings on weights published later, course and distance, days of foaling, forfeits and declarations by hours.

Ordinary idioms of conditions; sentences, names and figures are our own.
"""

from dataclasses import replace
from datetime import date, time

import pytest

from planned_races import a_horse, a_race, a_run, london
from race_wordings import ON, values
from upsides.placing.amounts import Amount, Money
from upsides.placing.answers import Says
from upsides.placing.conditions.card import DaysAhead, SaidBy, Stake, WeightsOut
from upsides.placing.conditions.origins import Foaled
from upsides.placing.conditions.reading import Value, read_conditions
from upsides.placing.conditions.weights import Allowed, Penalty
from upsides.placing.conditions.who import Ages, Record
from upsides.placing.eligible import eligible
from upsides.placing.kinds import RunKind
from upsides.placing.programme import with_card
from upsides.placing.race import Due, Stage
from upsides.placing.weighing import weigh
from upsides.trade.age import AgeRange

LATER = RunKind(since_weights=True)
HERE, BOTH = RunKind(here=True), RunKind(here=True, this_trip=True)
FIVE = Amount(5.0)


def penal(on: float, kind: RunKind, least: int = 1) -> Penalty:
    return Penalty(Amount(on), Record("won", least, kind=kind))


WORDINGS: list[tuple[str, tuple[Value, ...]]] = [
    ("Penalties, since the weights were published, a winner 5lb", (penal(5, LATER),)),
    ("Penalties (after publication of the weights): a winner 5lb; of two races 8lb",
     (penal(5, LATER), penal(8, LATER, 2))),
    ("A winner of a race after the weights are published to carry 4lb extra", (penal(4, LATER),)),
    ("Penalties for winners since the weights were issued: one race 4lb, two races 7lb",
     (penal(4, LATER), penal(7, LATER, 2))),
    ("Weights published 14 July. Penalties, after publication of the weights, a winner 5lb",
     (WeightsOut(date(2025, 7, 14)), penal(5, RunKind(date(2025, 7, 14))))),
    ("Penalties (after 10 a.m. on 14 July): a winner 5lb", (penal(5, RunKind(date(2025, 7, 14))),)),
    ("Penalties are incurred from noon on 14 July; a winner 5lb", (penal(5, RunKind(date(2025, 7, 14))),)),
    ("No penalties after the weights are published", ()),
    ("Penalties: winner since the publication of the weights 6lb", (penal(6, LATER),)),
    (
        "Penalties: for each race won after weights are set 5lb",
        (Penalty(FIVE, Record("won", 1, kind=LATER), each=True),),
    ),
    ("Late entries close at noon on 28 July", (SaidBy(Stage.SUPPLEMENT, date(2025, 7, 28), time(12)),)),
    ("Forfeit stage: noon 28 July", (SaidBy(Stage.CONFIRM, date(2025, 7, 28), time(12)),)),
    ("foaled on or after 1 April", (Foaled(date(2025, 4, 1), None, True),)),
    ("which have won at the course", (Record("won", 1, kind=HERE),)),
    ("Course and distance winners 3lb extra", (penal(3, BOTH),)),
    ("a winner over the course and distance 4lb", (penal(4, BOTH),)),
    ("For horses which have won over course and distance", (Record("won", 1, kind=BOTH),)),
    ("Horses which have not won over this course", (Record("won", most=0, kind=HERE),)),
    ("Confined to previous course winners", (Record("won", 1, kind=HERE),)),
    ("Course winners are not eligible", (Record("won", most=0, kind=HERE),)),
    ("which have run at the course", (Record("ran", 1, kind=HERE),)),
    ("which have won over 7 furlongs or more", (Record("won", 1, kind=RunKind(metres=1408.176)),)),
    ("For two-year-olds foaled on or after 1 April", (Ages(AgeRange(2, 2)), Foaled(date(2025, 4, 1), None, True))),
    ("foaled between 1 March 2023 and 30 April 2023", (Foaled(date(2023, 3, 1), date(2023, 4, 30)),)),
    ("Two-year-olds foaled after 30 April allowed 5lb",
     (Allowed(FIVE, AgeRange(2, 2), foaled=Foaled(date(2025, 5, 1), None, True)),)),
    ("Allowances: horses foaled before 1 March 2023 5lb", (Allowed(FIVE, foaled=Foaled(None, date(2023, 2, 28))),)),
    ("£35 stake, £90 extra if not forfeited by noon, 3 June",
     (Stake(Money(35.0, "GBP")), SaidBy(Stage.CONFIRM, date(2025, 6, 3), time(12), Money(90.0, "GBP")))),
    ("Forfeit stage by noon, 3 June", (SaidBy(Stage.CONFIRM, date(2025, 6, 3), time(12)),)),
    ("48-hour declarations", (DaysAhead(Stage.DECLARE, 2),)),
    ("Forty-eight hour declarations apply", (DaysAhead(Stage.DECLARE, 2),)),
    ("Declarations to run: 24 hours", (DaysAhead(Stage.DECLARE, 1),)),
    ("Declare by 10 a.m. 48 hours before the race", (SaidBy(Stage.DECLARE, date(2025, 7, 30), time(10)),)),
]  # fmt: skip


@pytest.mark.parametrize(("wording", "meant"), WORDINGS, ids=[wording[:40] for wording, _ in WORDINGS])
def test_a_wording_is_read_to_its_end(wording: str, meant: tuple[Value, ...]) -> None:
    """Each wording becomes the rules that it means, and no word of it stays unread."""
    assert values(wording) == meant


@pytest.mark.parametrize(
    "wording",
    [
        "First forfeit by noon, 3 June, £80; second forfeit by noon, 17 June, £120",
        "£90 extra if not forfeited by noon 3 June. £60 extra if not forfeited by noon 17 June.",
        "fillies foaled before 1 March 2023 excluded",
        "Declarations 24 hours before the start",
    ],
)
def test_what_cannot_be_kept_is_shown_as_unread(wording: str) -> None:
    """Several forfeits, of which only one could be kept, those kept out by their day of foaling, and hours
    before an unknown start make no rule without a doubt: their words are shown as not read."""
    read = read_conditions(wording, on=ON, currency="GBP")
    assert read.settled == ()
    assert read.unread


def test_penalties_since_the_weights_wait_for_their_day() -> None:
    """A win before entries closed is no penalty; one after it may be one, so long as nobody says when the weights were
    published; where the wording says it, a win from that day on is one and an earlier one is none."""
    dues = (Due(Stage.ENTER, london("2025-06-20 12:00")),)
    words = "Weights: 9st each. Penalties, since the weights were published, a winner 5lb"
    before, between, after = (a_horse(runs=(a_run(day),)) for day in ("2025-06-01", "2025-06-24", "2025-07-01"))
    race = a_race(words, dues=dues)
    assert (weigh(before, race).published, weigh(before, race).settled) == (126.0, True)
    for one in (between, after):
        assert (weigh(one, race).published, weigh(one, race).settled) == (126.0, False)
    dated = a_race(f"Weights published on 26 June. {words}", dues=dues)
    told = [weigh(one, dated) for one in (before, between, after)]
    assert [(one.published, one.settled) for one in told] == [(126.0, True), (126.0, True), (131.0, True)]


def test_course_and_distance_are_those_of_the_race() -> None:
    """A win at the race's course over its distance counts, however the course is spelt and within a moved rail; one at
    another course, or over another distance, does not; of a run whose course nobody knows it is not known."""
    race = a_race("Weights: 9st each. Course and distance winners 3lb extra")
    there = {"course": "LARKMOOR", "distance_m": 2020.0}
    cases = [(there, 129.0, True), (there | {"course": "Stannock Down"}, 126.0, True),
             (there | {"distance_m": 1609.0}, 126.0, True), (there | {"course": ""}, 126.0, False)]  # fmt: skip
    for run, weight, settled in cases:
        carried = weigh(a_horse(runs=(a_run("2025-05-01", **run),)), race)
        assert (carried.published, carried.settled) == (weight, settled)
    shut = a_race("Course winners are not eligible")
    assert eligible(a_horse(runs=(a_run("2025-05-01", **there),), doses=()), shut).findings[0].says is Says.NO


def test_a_day_of_foaling_counts_where_it_is_known() -> None:
    """Foaled on 1 March of 2022: that day decides with a year and without; where the books have the year alone, known
    by the birthday of all horses, only a bound in another year decides."""
    born, year_only = a_horse(), replace(a_horse(), foaled=date(2022, 1, 1))
    maybe = Says.UNKNOWN
    asked = [
        ("foaled after 1 March", Says.NO, maybe),
        ("foaled on or after 1 March 2022", Says.YES, maybe),
        ("foaled before 1 January 2021", Says.NO, Says.NO),
        ("foaled after 31 December 2020", Says.YES, Says.YES),
    ]
    for wording, known, unknown in asked:
        for horse, says in ((born, known), (year_only, unknown)):
            found = next(one for one in eligible(horse, a_race(wording)).findings if one.key == "foaled")
            assert found.says is says, (wording, horse.foaled)
            assert "foaled" in str(found)
    race = a_race("Weights: 9st each. Three-year-olds foaled after 15 February allowed 2lb")
    assert weigh(born, race).published == 124.0
    assert not weigh(year_only, race).settled


def test_hours_of_declaration_take_the_authoritys_hour() -> None:
    """48-hour declarations are due two days before the race at the hour of the authority's rule; where the rule says so
    already, or nobody knows the hour, nothing is added."""
    race = a_race("72-hour declarations", zone="Europe/London")
    (due,) = with_card(race).dues
    assert (due.stage, due.at.date()) == (Stage.DECLARE, date(2025, 7, 2))
    assert due.at.hour == 10
    assert with_card(a_race("72-hour declarations", zone="Europe/London", jurisdiction="")).dues == ()
