"""How a horse is, out of the books: what it did, its signs, what is for the vet, and no more than may be seen."""

from datetime import UTC, date, datetime, timedelta
from math import nan
from pathlib import Path

import pytest

import worlds
from condition_yard import of, trainer, unraced
from mornings import EVE, Hands, enter, who
from upsides.books.answers import kept_changes
from upsides.books.models import Engagement, Horse, Move, Outing, Person
from upsides.books.models.answer import HEARTS
from upsides.books.outings import kept
from upsides.books.queries import moments
from upsides.books.queries.advice import advice
from upsides.books.queries.condition import horse_condition
from upsides.books.queries.condition_done import done_by
from upsides.books.queries.condition_signs import signs_of
from upsides.books.queries.condition_vet import for_the_vet, open_for_the_vet
from upsides.books.queries.visitors import visitor
from upsides.books.services.answers import store
from upsides.condition.fresh.answer import Travel, fresh
from upsides.condition.fresh.latest import Latest, Missing
from upsides.recordings.bouts.evenness import Evenness
from upsides.recordings.heart.trends import Change
from upsides.recordings.measured import Measured
from upsides.rules import override

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horse(hands: Hands) -> Horse:
    return unraced()


def outing(horse: Horse, at: datetime, speeds: dict[str, list[object]], **heart: object) -> Outing:
    metres = sum(float(one[0]) for one in speeds.values())  # type: ignore[arg-type]  # metres stand first
    return Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=metres, fast_m=0.0,
        measured={"speeds": speeds, "heart": heart}, recorded_at=at,
    )  # fmt: skip


def test_of_two_recordings_of_one_morning_one_counts(horse: Horse, hands: Hands) -> None:
    """Of a watch and a tracker at the same time what saw more counts; the evening's outing counts besides."""
    at = hands.back(hours=14)
    outing(horse, at, {"24": [3000.0, None, False]})
    outing(horse, at + timedelta(minutes=4), {"24": [3100.0, None, False]})
    outing(horse, at + timedelta(hours=9), {"4": [500.0, None, False]})
    assert of(horse).done.windows[0].metres == pytest.approx(3600.0)


def test_what_a_tracker_measured_stands_before_what_was_said(horse: Horse, hands: Hands) -> None:
    """On a day with a tracker neither the entry nor the stopwatch adds anything; on one without, the word counts."""
    at = hands.back(days=1)
    outing(horse, at, {"24": [3000.0, None, False]})
    enter("exercise", horse, at, exercise="fast", furlongs="5f")
    assert of(horse).done.windows[0].metres == pytest.approx(3000.0)
    enter("exercise", horse, hands.back(days=2), exercise="half_speed", furlongs="5f")
    window = of(horse).done.windows[0]
    assert window.by_source["told"] == pytest.approx(5 * 201.168)
    assert window.measured == pytest.approx(3000.0 / window.metres)
    assert window.unknown == 5


def test_an_order_says_nothing_of_a_day_that_is_not_over(horse: Horse, hands: Hands) -> None:
    """What was ordered for today is not done yet; tomorrow it stands, unless something else was done."""
    enter("ordered", horse, hands.back(hours=13), exercise="half_speed", furlongs="5f")
    assert of(horse).done.week.metres == 0
    hands.to(EVE + timedelta(days=1))
    assert of(horse).done.week.metres > 5 * 201.168
    enter("exercise", horse, hands.back(hours=36), exercise="off")
    assert of(horse).done.week.metres == 0


def test_a_small_entry_early_takes_nothing_from_the_sums(horse: Horse, hands: Hands) -> None:
    """Of a horse that goes out every day a walk in hand, or a tracker that saw a few hundred metres, early today leaves
    the sums to end with yesterday, so that seven days hold seven days' work; an entry of the day's work moves them on
    to today."""
    for back in range(1, 12):
        outing(horse, hands.back(days=back, hours=12), {"24": [3000.0, None, False]})
    whole, today = of(horse).done, hands.back(hours=14)
    assert (whole.until, whole.windows[0].metres) == (EVE.date() - timedelta(days=1), 21e3)
    enter("exercise", horse, today, exercise="led")
    outing(horse, today, {"3": [400.0, None, False]})
    early = of(horse).done
    assert (early.until, early.windows, early.week) == (whole.until, whole.windows, whole.week)
    enter("exercise", horse, today, exercise="trot")
    told = of(horse).done
    assert told.until == EVE.date()
    assert told.windows[0].metres == pytest.approx(18e3 + 400.0 + 1800.0)


def test_a_stopwatch_tells_that_the_order_was_done(horse: Horse, hands: Hands) -> None:
    """Clocked over three furlongs today the rest of the outing that was ordered counts besides, as it does tomorrow."""
    at = hands.back(hours=13)
    enter("ordered", horse, at, exercise="fast", furlongs="5f")
    assert of(horse).done.until == EVE.date() - timedelta(days=1)
    enter("clocked", horse, at, splits="1f 14.2, 2f 27.9, 3f 41.5")
    today = of(horse).done
    assert today.until == EVE.date()
    assert today.windows[0].metres > 3 * 201.168 + 3000
    hands.to(EVE + timedelta(days=1))
    assert of(horse).done.windows[0].metres == pytest.approx(today.windows[0].metres)


def test_what_is_done_besides_takes_nothing_from_the_work(horse: Horse, hands: Hands) -> None:
    """An hour on the walker in the afternoon leaves the fast work of the morning standing, and what was ordered where
    nobody wrote the work down; an order of the walker counts once."""
    morning, afternoon = hands.back(days=1, hours=12), hands.back(days=1, hours=4)
    enter("exercise", horse, morning, exercise="fast", furlongs="5f")
    worked = of(horse).done
    enter("exercise", horse, afternoon, exercise="walker")
    both = of(horse).done
    assert both.since_fast == worked.since_fast == 1
    assert both.windows[0].metres == pytest.approx(worked.windows[0].metres + 3000.0)
    enter("ordered", horse, hands.back(days=2, hours=12), exercise="half_speed", furlongs="6f")
    enter("exercise", horse, hands.back(days=2, hours=4), exercise="swim")
    assert of(horse).done.windows[0].by_source["told"] == pytest.approx(11 * 201.168)
    enter("ordered", horse, hands.back(days=3, hours=12), exercise="walker")
    ordered = of(horse).done.windows[0].metres
    enter("exercise", horse, hands.back(days=3, hours=4), exercise="walker")
    assert of(horse).done.windows[0].metres == pytest.approx(ordered)


def test_a_horse_enters_training_when_it_comes_back_into_it(horse: Horse, hands: Hands) -> None:
    """It entered training on the day it came, and after a rest on the day it came back; away it is in none."""

    def entered() -> int:
        return int(done_by(worlds.yard().library, moments.now(), [horse]).yard.entered[0])

    assert date.fromordinal(entered()) == date(2026, 1, 5)
    Move.objects.create(horse=horse, to="turned_out", first_day=date(2026, 3, 1))
    assert entered() == 0
    Move.objects.create(horse=horse, to="training", first_day=date(2026, 5, 1))
    Move.objects.create(horse=horse, to="training", first_day=date(2026, 5, 9))
    assert date.fromordinal(entered()) == date(2026, 5, 1)


def test_masses_of_another_scale_are_left_out(horse: Horse, hands: Hands) -> None:
    """A mass is held against those of the scale that the last one was taken on: scales differ."""
    for back in range(20, 10, -1):
        enter("mass", horse, hands.back(days=back), kg="520 kg", scale="Old platform")
    for back in range(9, 1, -1):
        enter("mass", horse, hands.back(days=back), kg="500 kg", scale="New platform")
    enter("mass", horse, hands.back(hours=3), kg="499 kg", scale="New platform")
    sign = of(horse).fresh.signs[0]
    assert isinstance(sign, Latest)
    assert (sign.usual, sign.count, sign.where) == (500.0, 8, "within")


def test_every_published_figure_can_have_an_own_number(hands: Hands) -> None:
    """Of a horse that works, runs, rested and is weighed every published number that is not for another age has the
    horse's own beside it: a figure that nothing of a yard's can be held against is not among them."""
    here = {one.pk: one for one in moments.in_training(moments.now())}
    ran = done_by(worlds.yard().library, moments.now(), list(here.values())).ran
    found = here[max(here, key=lambda number: max(ran[number], default=(date.min, 0.0)))]
    last, _metres = max(ran[found.pk])
    Horse.objects.filter(pk=found.pk).update(joined=date(2025, 1, 5))
    at = datetime(last.year, last.month, last.day, 6, tzinfo=UTC)
    enter("mass", found, at - timedelta(days=1), kg="500 kg")
    enter("mass", found, at + timedelta(days=1), kg="495 kg")
    for back in (0, 1, 90, 91):
        outing(found, hands.back(days=back, hours=12), {"30": [3000.0, None, False]})
    told = of(Horse.objects.get(pk=found.pk))
    assert [one.figure.key for one in told.held if any(part.own is None for part in one.parts)] == []


def test_what_nobody_measured_is_a_finding(horse: Horse, hands: Hands) -> None:
    """A mass of 19 days ago says nothing of today, and its days are told."""
    enter("mass", horse, hands.back(days=19), kg="500 kg")
    assert Missing("mass", 19) in of(horse).fresh.missing


def test_a_heart_after_work_is_read_by_its_second(horse: Horse, hands: Hands) -> None:
    """The recovery is the heart sixty seconds after the last work, whatever other seconds are kept."""
    outing(horse, hands.back(hours=14), {"24": [3000.0, None, False]}, after={"60": 131.0, "120": 99.0})
    sign = of(horse).fresh.signs[3]
    assert isinstance(sign, Latest)
    assert sign.value == 131.0


def alternating(horse: Horse, hands: Hands, last: float) -> Latest:
    """Let a horse canter and do fast work in turn, its heart 16 higher after fast work; return its recovery."""
    hearts = [last, *(float(118 + 16 * (back % 3 == 0) + (back * 7) % 5) for back in range(1, 36))]
    for back, bpm in enumerate(hearts):
        at = hands.back(days=2 * back, hours=14)
        outing(horse, at, {"24": [3000.0, None, False]}, after={"60": bpm})
        enter("exercise", horse, at, exercise="fast" if back % 3 == 0 else "hack_canter")
    sign = of(horse).fresh.signs[3]
    assert isinstance(sign, Latest)
    return sign


def test_fast_work_is_held_against_fast_work(horse: Horse, hands: Hands) -> None:
    """A horse that is as it always was is within after fast work, though its heart is higher than after a canter."""
    sign = alternating(horse, hands, 137.0)
    assert (sign.where, sign.count) == ("within", 11)
    assert of(horse).signs.exercise == "fast"
    assert len(of(horse).signs.recoveries) == 36


def test_a_heart_that_is_high_after_its_exercise_is_above(horse: Horse, hands: Hands) -> None:
    """A heart higher than after the horse's other fast mornings is above."""
    assert alternating(horse, hands, 152.0).where == "above"


def test_a_canter_is_held_against_canters(horse: Horse, hands: Hands) -> None:
    """A heart after a canter that would be usual after fast work is above; where the diary says no exercise the gait of
    the last work tells what is alike."""
    alternating(horse, hands, 136.0)
    hands.to(EVE + timedelta(days=1))
    at = hands.back(hours=14)
    outing(horse, at, {"24": [3000.0, None, False]}, after={"60": 136.0})
    enter("exercise", horse, at, exercise="hack_canter")
    assert of(horse).fresh.unusual == ("recovery",)
    hands.to(EVE + timedelta(days=2))
    at = hands.back(hours=14)
    measured = {"speeds": {}, "heart": {"after": {"60": 136.0}}, "works": [{"kind": "canter"}]}
    Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0, measured=measured, recorded_at=at
    )
    sign = of(horse).fresh.signs[3]
    assert isinstance(sign, Latest)
    assert (sign.count, sign.where) == (0, "cannot be told")


def test_a_race_that_it_left_for_is_a_journey(horse: Horse, hands: Hands) -> None:
    """A journey of the diary has its hours where somebody wrote them; one to a race that it ran in counts where the
    day's sheet says when it left, once a day, and one to a race that it did not run in does not."""
    fields = {"race": "Coombe Stakes", "course": "Coombe", "zone": "Europe/London", "state": "declared"}
    for back in (2, 3, 40):
        at = hands.back(days=back)
        Engagement.objects.create(horse=horse, day=at.date(), leaves_at=at, **fields)
    enter("travel", horse, hands.back(days=3), lorry="Blue", to="Coombe", hours="2.5")
    enter("travel", horse, hands.back(days=5), lorry="Blue", to="Moor")

    def journeys(*ran: int) -> Travel:
        runs = [(hands.back(days=back).date(), 1600.0, nan) for back in ran]
        seen = signs_of(moments.now(), horse.pk, trainer(), runs, 0).seen
        return fresh(seen, moments.now().day).travel

    assert journeys() == Travel(3, 2.5, 2)
    assert journeys(3) == Travel(3, 2.5, 2)
    assert journeys(2, 40) == Travel(2, None, 3)


def trotted(horse: Horse, at: datetime, half: float | None) -> None:
    """Enter a morning whose tracker told how even the strides at trot were, or that it could not."""
    even = Evenness(half=nan if half is None else half, half_sd=0.005, why_not="" if half else "unsteady")
    measured = {"speeds": {}, "even": kept(Measured(even=even))["even"]}
    Outing.objects.create(
        horse=horse, day=at.date(), began=at, matched="hand", metres=0.0, fast_m=0.0, measured=measured, recorded_at=at
    )


def test_a_trot_less_even_than_it_was_is_for_the_vet(horse: Horse, hands: Hands) -> None:
    """Strides at trot are held against the horse's own past, mornings that could not tell left out; less even than nine
    in ten of these is for the vet, and without a device nothing is said."""
    assert (of(horse).vet.even, of(horse).vet.uneven) == (None, False)
    for back in range(30, 22, -1):
        trotted(horse, hands.back(days=back), 0.975 + 0.005 * (back % 3))
    trotted(horse, hands.back(days=21), None)
    trotted(horse, hands.back(days=20), 0.978)
    assert isinstance(of(horse).vet.even, Missing)
    trotted(horse, hands.back(days=3), 0.979)
    assert not of(horse).vet.uneven
    trotted(horse, hands.back(days=1), 0.9)
    found = of(horse).vet.even
    assert isinstance(found, Latest)
    assert (found.value, found.days_ago, found.where, of(horse).vet.uneven) == (0.9, 1, "below", True)


def test_another_s_word_on_the_mind_waits_for_one_s_own(horse: Horse, hands: Hands) -> None:
    """What somebody else thinks of its mind is counted but neither told nor called missing, until the reader has said
    it too."""
    enter("mind", horse, hands.back(hours=5), "carer", mind="dull")
    told = of(horse)
    assert (told.signs.unheard, isinstance(told.fresh.mind, Missing)) == (1, True)
    assert "mind" not in {one.what for one in told.fresh.missing}
    enter("mind", horse, hands.back(hours=4), mind="bright")
    told = of(horse)
    assert (told.signs.unheard, told.fresh.mind.word) == (0, "bright")  # type: ignore[union-attr]  # it is there


def test_what_is_for_the_vet_stands_until_something_takes_it_back(horse: Horse, hands: Hands) -> None:
    """What was found on a leg stands until the legs were felt and as usual, and anything until the vet came."""
    enter("leg", horse, hands.back(days=3), "carer", limb="near_fore", place="tendon", signs="heat")
    enter("rider_word", horse, hands.back(days=2), "carer", felt="uneven")
    found = of(horse).vet
    assert [(one.entry.kind, one.author) for one in found.open] == [("rider_word", who("carer")), ("leg", who("carer"))]
    enter("legs_felt", horse, hands.back(days=1), "carer")
    found = of(horse).vet
    assert [one.entry.kind for one in found.open] == ["rider_word"]
    assert found.since_felt == hands.back(days=1).date()
    enter("vet_finding", horse, hands.back(hours=2), text="sound")
    found = of(horse).vet
    assert (found.open, [one.entry.kind for one in found.done]) == ((), ["vet_finding"])


def test_a_shoe_stands_open_until_the_farrier_saw_to_its_foot(horse: Horse, hands: Hands) -> None:
    """A loose near hind shoe stands with who saw it; legs felt, the vet and another foot's shoe leave it standing, the
    farrier's visit to that foot ends it."""
    enter("shoe", horse, hands.back(days=3), "carer", wrong="loose", feet="near_hind")
    enter("legs_felt", horse, hands.back(days=2))
    enter("vet_finding", horse, hands.back(days=2), text="sound")
    enter("farrier", horse, hands.back(days=2), done="new", feet="near_fore,off_fore")
    found = of(horse).vet
    assert [one.words for one in found.open] == ["Shoe: loose; near hind."]
    assert found.shoes == found.open
    assert horse.pk in open_for_the_vet(moments.now(), [horse.pk], trainer())
    enter("farrier", horse, hands.back(days=1), done="refit", feet="near_hind")
    assert of(horse).vet.open == ()


def test_droppings_lapse_before_what_was_seen_on_a_leg(horse: Horse, hands: Hands) -> None:
    """Droppings end with the next look that finds the horse as usual, or after the days that the yard sets for them;
    what was found on a leg stands as long as the yard sets for that, and no such look ends it."""
    enter("leg", horse, hands.back(days=20), "carer", limb="near_fore", place="tendon", signs="heat")
    enter("droppings", horse, hands.back(days=6), "carer", droppings="hard")
    enter("droppings", horse, hands.back(days=7), "carer", droppings="few")
    seen = of(horse).vet.open
    assert [one.entry.kind for one in seen] == ["droppings", "leg"]
    own = override("looking first", "Ours", "anywhere", "the yard", kind="days open, droppings", unit="days", value=6)
    (leg,) = for_the_vet(moments.now(), horse.pk, trainer(), own).open
    assert leg.entry.kind == "leg"
    assert horse.pk in open_for_the_vet(moments.now(), [horse.pk], trainer(), own)
    own = override("looking first", "Ours", "anywhere", "the yard", kind="days open", unit="days", value=20)
    assert [one.entry.kind for one in for_the_vet(moments.now(), horse.pk, trainer(), own).open] == ["droppings"]
    enter("as_usual", horse, hands.back(days=1), "carer")
    assert [one.entry.kind for one in of(horse).vet.open] == ["leg"]
    assert open_for_the_vet(moments.now(), [horse.pk], trainer(), own) == frozenset()
    own = override("looking first", "Ours", "anywhere", "the yard", kind="days open", unit="days", value=60)
    enter("lameness", horse, hands.back(days=50), "vet", limb="off_fore", scale="5", grade="2")
    assert [one.entry.kind for one in for_the_vet(moments.now(), horse.pk, trainer(), own).open] == ["leg", "lameness"]


def test_a_vets_restriction_never_ends_by_itself(horse: Horse, hands: Hands) -> None:
    """Advice without an end holds years later, until the vet says otherwise."""
    enter("vet_finding", horse, hands.back(days=900), "vet", text="x", advice="no_fast_work")
    held = advice(moments.now(), hands.at.date())
    assert held[horse.pk].finding.advice == "no_fast_work"
    enter("vet_finding", horse, hands.back(days=1), "vet", text="x", advice="as_usual")
    assert horse.pk not in advice(moments.now(), hands.at.date())


def test_a_temperature_is_open_by_the_rule_of_the_list(horse: Horse, hands: Hands) -> None:
    """A temperature that draws the eye on the list of whom to look at first stands open for the vet in its words there,
    by the yard's own rule where it has one; a cooler one later ends it."""
    enter("temperature", horse, hands.back(days=6), celsius="38.4")
    enter("temperature", horse, hands.back(hours=4), celsius="38.4")
    own = override("looking first", "Our own", "anywhere", "the yard", kind="temperature", unit="°C", value=38.3)
    assert of(horse).vet.open == ()
    (one,) = for_the_vet(moments.now(), horse.pk, trainer(), own).open
    assert one.words == "Temperature 38.4 °C."
    for back in range(10, 6, -1):
        enter("temperature", horse, hands.back(days=back), celsius="37.6")
    enter("temperature", horse, hands.back(hours=3), celsius="39.0")
    (one,) = of(horse).vet.open
    assert one.words == "Temperature 39.0 °C; its usual is 37.6."
    enter("temperature", horse, hands.back(hours=1), celsius="37.7")
    assert of(horse).vet.open == ()


def test_a_change_of_the_heart_is_read_from_what_the_worker_found(horse: Horse, hands: Hands) -> None:
    """A heart 5 % lower a minute after work points to fitter, with the chance that its interval gives."""
    day = moments.now().day
    change = Change(horse.pk, day - timedelta(days=22), day - timedelta(days=1), -0.05, -0.08, -0.02, 0.0, 0.9)
    store(HEARTS, day, {"recovery": kept_changes({horse.pk: change})}, {})
    fit = of(horse).fit
    assert fit.together == "one alone"
    assert fit.pointing("fitter") == ("recovery",)
    assert fit.lowest == pytest.approx(0.996, abs=0.003)


@pytest.mark.parametrize(("login", "open_"), [("trainer", True), ("rider", False), ("vet", False)])
def test_condition_is_inside_information(horse: Horse, login: str, open_: bool) -> None:  # noqa: FBT001 -- a case
    """It is open where figures are: to the trainer, not to a rider or a vet without a release, on no barn phone."""
    folder: Path = worlds.yard().library
    person = Person.objects.get(login=login)
    found = horse_condition(folder, visitor(person, barn=False), moments.now(), horse.pk)
    assert found is not None
    assert (found.open, found.condition is not None) == (open_, open_)
    on_the_phone = horse_condition(folder, visitor(person, barn=True), moments.now(), horse.pk)
    assert on_the_phone is not None
    assert not on_the_phone.open
