"""Orders, what stands in their way, the usual, and lots written as done."""

from datetime import date, timedelta

import pytest

from mornings import DAWN, DAY, Hands, enter, only, who
from upsides.books.models import Caution, DayOff, Engagement, Gallop, Horse, Shift
from upsides.books.queries import moments
from upsides.books.queries.advice import advice
from upsides.books.queries.days import moment_on
from upsides.books.queries.lots import Against, Lot, done_on, lots, orders
from upsides.books.queries.morning import away_on
from upsides.books.queries.usual import usual
from upsides.books.services.lists import AT, done_as_ordered, make_list, order
from upsides.errors import EntryRefusedError, KindNotYoursError

pytestmark = pytest.mark.django_db
TOMORROW = DAY + timedelta(days=1)


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Four horses; all others are out of the way."""
    return only(4)


def ordered(horse: Horse, day: date = DAY, **values: object) -> None:
    order(horse.pk, day, {"exercise": "hack_canter", "lot": "1"} | values, who("trainer"))


def against(day: date = DAY) -> dict[str, list[Against]]:
    found = lots(moments.now(), day, away_on(moments.now(), day))
    return {ride.horse.name: list(ride.against) for lot in found for ride in lot.rides if ride.against}


def rider() -> dict[str, object]:
    return {"rider": str(who("rider").pk)}


def test_an_order_takes_the_place_of_the_one_before(string: list[Horse]) -> None:
    """What is ordered anew supersedes, both stay in the diary, and ordering the same again writes nothing."""
    ordered(string[0], **rider())
    assert order(string[0].pk, DAY, {"exercise": "hack_canter", "lot": "1"} | rider(), who("trainer")) is None
    ordered(string[0], exercise="walk", **rider())
    (entry,) = orders(moments.now(), DAY).values()
    assert entry.values["exercise"] == "walk"
    assert entry.supersedes is not None
    assert entry.happened_at == moment_on(DAY, AT)


def test_only_those_who_order_work_order_it(string: list[Horse]) -> None:
    """A rider or a carer orders no work; an exercise that there is not is refused by name."""
    for login in ("rider", "carer", "secretary", "vet"):
        with pytest.raises(KindNotYoursError):
            order(string[0].pk, DAY, {"exercise": "walk"}, who(login))
    with pytest.raises(EntryRefusedError, match="exercise"):
        order(string[0].pk, DAY, {"exercise": "sprint"}, who("trainer"))
    assert orders(moments.now(), DAY) == {}


def test_lots_stand_in_string_order(string: list[Horse]) -> None:
    """Lots come by number, rides by their place in the string, those without a place by name, those in no lot last."""
    a, b, c, d = string
    ordered(a, lot="2")
    ordered(b, lot="1", place="2")
    ordered(c, lot="1", place="1")
    ordered(d, exercise="box", lot="")
    found = lots(moments.now(), DAY)
    assert [(lot.number, [ride.horse for ride in lot.rides]) for lot in found] == [(1, [c, b]), (2, [a]), (None, [d])]


def test_a_vet_s_advice_stands_in_the_way_until_it_ends(string: list[Horse]) -> None:
    """Work that the advice does not allow is named on every day of it, the last included, and not on the day after."""
    enter("vet_finding", string[0], DAWN - timedelta(hours=12), "vet", text="x", advice="walk", until=TOMORROW)
    for day, held in ((DAY, True), (TOMORROW, True), (TOMORROW + timedelta(days=1), False)):
        ordered(string[0], day, **rider())
        assert against(day) == ({string[0].name: [Against.ADVICE]} if held else {})
        assert (string[0].pk in advice(moments.now(), day)) is held
    ordered(string[0], exercise="walk", **rider())
    assert against() == {}


def test_the_last_advice_counts(string: list[Horse], hands: Hands) -> None:
    """Advice without an end holds until the vet says otherwise; "carry on" ends it."""
    enter("vet_finding", string[0], hands.back(days=90), "vet", text="x", advice="led")
    assert advice(moments.now(), DAY)[string[0].pk].finding.advice == "led"
    enter("vet_finding", string[0], hands.back(hours=1), "vet", text="x", advice="as_usual")
    assert advice(moments.now(), DAY) == {}


def test_what_a_ride_lacks_is_named(string: list[Horse]) -> None:
    """No rider, a rider with two horses in a lot, one who is off, and one whom the horse's cautions ask more of."""
    person = who("rider")
    a, b, c, d = string
    ordered(a)
    assert against() == {a.name: [Against.NO_RIDER]}
    ordered(a, **rider())
    ordered(b, **rider())
    assert against() == {a.name: [Against.RIDER_TWICE], b.name: [Against.RIDER_TWICE]}
    ordered(b, lot="2", **rider())
    DayOff.objects.create(person=person, first_day=DAY, last_day=DAY, why="sick")
    assert against() == {a.name: [Against.RIDER_AWAY], b.name: [Against.RIDER_AWAY]}
    DayOff.objects.all().delete()
    person.skill = 2
    person.save()
    Caution.objects.create(horse=b, about="riding", text="strong", skill=3, first_day=date(2029, 1, 1))
    Caution.objects.create(horse=a, about="riding", text="was strong", skill=4, first_day=date(2029, 1, 1),
                           last_day=date(2029, 2, 1))  # fmt: skip
    assert against() == {b.name: [Against.SKILL]}
    ordered(c, exercise="led", lot="")
    ordered(d, exercise="race", lot="")
    assert c.name not in against()


def test_a_free_day_of_the_week_is_not_at_work(string: list[Horse]) -> None:
    """Somebody with hours on Mondays only is away on a Wednesday; without any known hours one is taken to be there."""
    assert away_on(moments.now(), DAY) == {}
    Shift.objects.create(
        person=who("rider"), weekday=0, starts="05:30", ends="12:00", rides=True, first_day=date(2029, 1, 1)
    )
    assert set(away_on(moments.now(), DAY)) == {who("rider").pk}
    assert away_on(moments.now(), DAY + timedelta(days=5)) == {}


def test_a_closed_gallop_stands_in_the_way(string: list[Horse], hands: Hands) -> None:
    """A gallop closed by the last word of today or yesterday is named; opened again it is not."""
    gallop = Gallop.objects.create(name="Uphill", surface="woodchip")
    ordered(string[0], gallop=str(gallop.pk), **rider())
    enter("gallop_state", None, hands.back(hours=20), gallop_row=gallop.pk, state="closed", going="frozen")
    assert against() == {string[0].name: [Against.GALLOP_CLOSED]}
    enter("gallop_state", None, hands.back(hours=1), gallop_row=gallop.pk, state="open", going="good")
    assert against() == {}


def test_fast_work_after_fast_work_is_named(string: list[Horse], hands: Hands) -> None:
    """Fast work the day after fast work, or after a race, is asked about; a canter is not."""
    a, b, c, _ = string
    for horse, did in ((a, "fast"), (b, "race"), (c, "fast")):
        enter("exercise", horse, hands.back(days=1), exercise=did)
    ordered(a, exercise="half_speed", **rider())
    ordered(b, exercise="fast", lot="2", **rider())
    ordered(c, lot="3", **rider())
    assert against() == {a.name: [Against.FAST_TWICE], b.name: [Against.RAN_YESTERDAY]}


def test_the_usual_is_what_it_does_on_that_weekday(string: list[Horse], hands: Hands) -> None:
    """The commonest of the last four weeks' same weekdays, without fast work; without any, of all days; else a walk."""
    a, b, c, _ = string
    for week, did in enumerate(("fast", "steady_canter", "hack_canter", "hack_canter"), start=1):
        enter("exercise", a, DAWN + timedelta(days=1) - timedelta(weeks=week), exercise=did)
    enter("exercise", b, DAWN - timedelta(days=3), exercise="steady_canter")
    enter("exercise", c, DAWN - timedelta(days=3), exercise="fast")
    found = usual(moments.now(), TOMORROW, {})
    assert [found[one.pk].exercise for one in (a, b, c)] == ["hack_canter", "steady_canter", "walk"]


def test_the_usual_gives_way(string: list[Horse], hands: Hands) -> None:
    """Who raced walks the day after, who runs is down for its race, advice bounds work, who is absent rides nothing."""
    a, b, c, d = string
    for horse in string:
        enter("exercise", horse, DAWN - timedelta(days=6), exercise="hack_canter")
        ordered(horse, lot="1", **rider())
    enter("exercise", a, hands.back(hours=1), exercise="race")
    Engagement.objects.create(
        horse=b, race="Selling Stakes", course="Tallow", zone="Europe/London", day=TOMORROW, state="declared"
    )
    enter("vet_finding", c, hands.back(hours=1), "vet", text="x", advice="led", until=TOMORROW)
    found = usual(moments.now(), TOMORROW, {})
    assert [found[one.pk].exercise for one in string] == ["walk", "race", "led", "hack_canter"]
    assert (found[d.pk].rider, found[d.pk].lot) == (who("rider").pk, 1)
    assert usual(moments.now(), TOMORROW, {who("rider").pk: "sick"})[d.pk].rider is None


def test_the_usual_rider_takes_over(string: list[Horse], hands: Hands) -> None:
    """A horse whose last rider is away has the one who rode it most, if he is there and has no other in that lot."""
    first, second, third, _ = string
    usually = who("assistant").pk
    for horse, lot in ((first, "1"), (second, "1"), (third, "2")):
        for days in (9, 10):
            enter("exercise", horse, DAWN - timedelta(days=days), exercise="hack_canter", rider=str(usually))
        ordered(horse, lot=lot, **rider())
    away = {who("rider").pk: "sick"}
    found = usual(moments.now(), TOMORROW, away)
    assert [found[one.pk].rider for one in (first, second, third)] == [usually, None, usually]
    found = usual(moments.now(), TOMORROW, away | {usually: "holiday"})
    assert {found[one.pk].rider for one in (first, second, third)} == {None}


def test_the_list_is_made_once(string: list[Horse]) -> None:
    """Making the list orders the usual for horses without an order, leaves the others, and does nothing twice."""
    ordered(string[0], TOMORROW, exercise="swim", lot="")
    assert make_list(TOMORROW, who("trainer"), {}) == 3
    assert make_list(TOMORROW, who("trainer"), {}) == 0
    there = orders(moments.now(), TOMORROW)
    assert there[string[0].pk].values["exercise"] == "swim"
    assert len(there) == 4


def test_a_lot_is_written_as_done(string: list[Horse], hands: Hands) -> None:
    """All of a lot did what was ordered but the one of which something else was written; twice writes nothing more."""
    a, b, c, _ = string
    for one in (a, b):
        ordered(one, exercise="steady_canter", **rider())
    ordered(c, lot="2", **rider())
    enter("exercise", b, hands.back(minutes=5), exercise="walk")
    found: Lot = lots(moments.now(), DAY)[0]
    assert not found.out
    assert done_as_ordered(DAY, 1, who("assistant")) == 1
    assert done_as_ordered(DAY, 1, who("assistant")) == 0
    did = done_on(moments.now(), DAY)
    assert {one.name: did[one.pk].exercise for one in (a, b)} == {a.name: "steady_canter", b.name: "walk"}
    assert c.pk not in did
    assert lots(moments.now(), DAY)[0].out


def test_a_list_of_an_earlier_moment_is_what_it_was(string: list[Horse], hands: Hands) -> None:
    """As of before a change the old order stands."""
    ordered(string[0], **rider())
    then = hands.to(DAWN + timedelta(minutes=5))
    hands.to(DAWN + timedelta(minutes=10))
    ordered(string[0], exercise="walk", **rider())
    found = lots(moments.as_of(then), DAY)
    assert [ride.order.exercise for lot in found for ride in lot.rides] == ["hack_canter"]
