"""The morning as its planner takes it: what the books say, what is assumed, and what is left out."""

from datetime import date, time, timedelta
from pathlib import Path

import pytest

from mornings import DAWN, DAY, Hands, enter, only, who
from upsides.books.lot_words import assumed_words, cost_words, law_words, left_out_lines, left_out_words
from upsides.books.models import Caution, DayOff, Gallop, Horse, Person, Post, Shift, Yard
from upsides.books.queries import moments
from upsides.books.queries.days import moment_on
from upsides.books.queries.lot_morning import Gathered, LeftOut, gather
from upsides.books.queries.lots import Against
from upsides.books.services.lists import order
from upsides.errors import MorningRefusedError
from upsides.planning.morning import ALL_DAY, Lot, Ride
from upsides.planning.prices import SHIPPED, Parts
from upsides.planning.verifying import verify

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def hands(db: None, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    """Four horses; all others are out of the way."""
    return only(4)


def ordered(horse: Horse, day: date = DAY, **values: object) -> None:
    order(horse.pk, day, {"exercise": "steady_canter", "lot": "1"} | values, who("trainer"))


def gathered(folder: Path, day: date = DAY) -> Gathered:
    return gather(folder, moments.now(), day)


def test_what_is_ordered_is_what_is_planned(string: list[Horse], tmp_path: Path) -> None:
    """Horses that are ridden are there with exercise, cautions, gallop and partners; walker, race and box are not."""
    a, b, c, d = string
    gallop = Gallop.objects.create(name="Furze Hill", surface="turf")
    ordered(a, gallop=gallop.pk, upsides=str(b.pk))
    ordered(b, gallop=gallop.pk, exercise="fast")
    ordered(c, exercise="walker", lot="")
    ordered(d, exercise="race", lot="")
    Caution.objects.create(horse=a, about="riding", text="strong", skill=3, first_day=date(2029, 1, 1))
    Caution.objects.create(horse=a, about="riding", text="was", skill=4, first_day=DAY, last_day=DAY - timedelta(1))
    found = gathered(tmp_path).morning
    horses = {one.number: one for one in found.horses}
    assert set(horses) == {a.pk, b.pk}
    assert (horses[a.pk].asks, horses[a.pk].partners, horses[b.pk].exercise) == (3, (b.pk,), "fast")
    assert [one.number for one in found.gallops] == [gallop.pk]
    assert found.pairs == ((min(a.pk, b.pk), max(a.pk, b.pk)),)


def test_cautions_say_whom_a_horse_carries_and_goes_with(string: list[Horse], tmp_path: Path) -> None:
    """The lightest limit that holds, what it is kept from, who does not ride it; the yard's own file goes before.

    The list says when its rider is too heavy, or does not ride it.
    """
    a, b = string[:2]
    rider = who("rider")
    Person.objects.filter(pk=rider.pk).update(weight_kg=64.0, skill=4)
    for horse in (a, b):
        ordered(horse, rider=rider.pk)
    for kg, last in ((66.0, None), (62.5, None), (50.0, DAY - timedelta(1))):
        Caution.objects.create(horse=a, about="riding", text="light", heaviest_kg=kg, first_day=date(2029, 1, 1),
                               last_day=last)  # fmt: skip
    Caution.objects.create(horse=a, about="riding", text="fights", apart=True, apart_from=b, not_by=rider,
                           first_day=date(2029, 1, 1))  # fmt: skip
    found = gathered(tmp_path)
    one = next(one for one in found.morning.horses if one.number == a.pk)
    assert (one.carries_kg, one.apart, one.not_with, one.not_by) == (62.5, True, (b.pk,), frozenset({rider.pk}))
    assert found.morning.foes == ((min(a.pk, b.pk), max(a.pk, b.pk)),)
    assert {Against.WEIGHT, Against.NOT_BY} <= set(found.rides[a.pk].against)
    text = SHIPPED.read_text(encoding="utf-8")
    (tmp_path / "lots.toml").write_text(
        f'{text}\n[horse."{a.name}"]\ncarries_kg = 70\napart = false\n', encoding="utf-8"
    )
    one = next(one for one in gathered(tmp_path).morning.horses if one.number == a.pk)
    assert (one.carries_kg, one.apart) == (70.0, False)


def test_riders_come_with_their_hours(string: list[Horse], tmp_path: Path) -> None:
    """Hours that are entered hold, somebody off is not there, and one without hours is there and named as such."""
    rider = who("rider")
    Person.objects.filter(pk=rider.pk).update(weight_kg=60.0, skill=3, born=date(2013, 1, 1))
    ordered(string[0])
    found = gathered(tmp_path)
    assert {one.number: one.hours for one in found.morning.riders}[rider.pk] == ALL_DAY
    assert rider.name in found.unsaid["hours"]
    Shift.objects.create(person=rider, weekday=DAY.weekday(), starts=time(6), ends=time(9, 30), rides=True,
                         first_day=date(2029, 1, 1))  # fmt: skip
    found = gathered(tmp_path)
    (one,) = [one for one in found.morning.riders if one.number == rider.pk]
    assert (one.hours, one.weight_kg, one.skill, one.young) == (((360, 570),), 60.0, 3, True)
    assert one.most == found.morning.young.lots
    DayOff.objects.create(person=rider, first_day=DAY, last_day=DAY, why="sick")
    assert rider.pk not in {one.number for one in gathered(tmp_path).morning.riders}
    taken = gather(tmp_path, moments.now(), DAY, also=[rider.pk])
    assert rider.pk in {one.number for one in taken.morning.riders}


def test_the_law_keeps_the_young_from_lots(string: list[Horse], tmp_path: Path) -> None:
    """Of a rider of 16 the lot before six is barred, and after work until eight in the evening all lots before eight.

    Working Time (Amendment) Regulations 2002, explanatory note: no work from 10 p.m. to 6 a.m.; Acas, Employing younger
    workers: 12 hours of rest in each day.
    """
    Yard.objects.update(jurisdiction="GB")
    rider = who("rider")
    Person.objects.filter(pk=rider.pk).update(weight_kg=55.0, skill=2, born=date(2013, 6, 1))
    ordered(string[0])

    def work(weekday: int, starts: int, ends: int) -> None:
        Shift.objects.create(person=rider, weekday=weekday, starts=time(starts), ends=time(ends), rides=True,
                             first_day=date(2029, 1, 1))  # fmt: skip

    work(DAY.weekday(), 5, 11)
    found = gathered(tmp_path)
    (one,) = [one for one in found.morning.riders if one.number == rider.pk]
    assert one.barred == frozenset({1})
    (words,) = law_words(found)
    assert words == (
        f"{rider.name}, under eighteen, has no horse in lot 1: no work at night (Britain, young workers, night)."
    )
    work(DAY.weekday() - 1, 10, 20)
    found = gathered(tmp_path)
    (one,) = [one for one in found.morning.riders if one.number == rider.pk]
    assert one.barred == frozenset(lot.number for lot in found.morning.lots if lot.starts < 8 * 60) == {1, 2, 3}
    assert "12 hours of rest in each day" in law_words(found)[0]
    Person.objects.filter(pk=rider.pk).update(born=date(2011, 6, 1))
    assert not gathered(tmp_path).barred


def test_the_list_is_the_plan_that_people_know(string: list[Horse], tmp_path: Path) -> None:
    """Today's list stands, in string order; that of a day to come may still be changed for nothing."""
    a, b, c, _ = string
    rider, other = who("rider"), Person.objects.create(name="Q. Tallow")
    Post.objects.create(person=other, role="rider")
    for day in (DAY, DAY + timedelta(days=1)):
        ordered(a, day, rider=rider.pk, place="7")
        ordered(b, day, rider=other.pk, place="2")
        ordered(c, day)
    found = gathered(tmp_path)
    assert found.listed.rides == (Ride(b.pk, 1, other.pk, 1), Ride(a.pk, 1, rider.pk, 2))
    assert found.morning.stands == found.listed
    assert gathered(tmp_path, DAY + timedelta(days=1)).morning.stands is None
    assert [rule.kind for rule in verify(found.morning, found.listed, found.settings.prices).broken] == ["once"]


def test_the_usual_rider_is_who_rode_it_most(string: list[Horse], hands: Hands, tmp_path: Path) -> None:
    """Of four weeks the one who rode the horse most often counts, whoever was the last."""
    often, last = who("rider"), who("carer")
    for days in (9, 8, 7):
        enter("exercise", string[0], hands.back(days=days), exercise="walk", rider=often.pk)
    Post.objects.create(person=last, role="rider")
    enter("exercise", string[0], hands.back(days=2), exercise="walk", rider=last.pk)
    ordered(string[0])
    (horse,) = gathered(tmp_path).morning.horses
    assert horse.usual == often.pk


def test_a_partner_without_a_gallop_goes_where_the_other_goes(string: list[Horse], tmp_path: Path) -> None:
    """Of two that work together one gallop is enough to be said; two gallops are told once; without one it is said."""
    a, b, c, d = string
    here, there = (Gallop.objects.create(name=name, surface="turf") for name in ("Furze Hill", "Long Sand"))
    ordered(a, gallop=here.pk, upsides=str(b.pk))
    ordered(b, upsides=str(a.pk))
    ordered(c, gallop=here.pk, upsides=str(d.pk))
    ordered(d, gallop=there.pk, upsides=str(c.pk))
    found = gathered(tmp_path)
    assert {one.number: one.gallop for one in found.morning.horses}[b.pk] == here.pk
    assert found.morning.pairs == ((min(a.pk, b.pk), max(a.pk, b.pk)),)
    assert len(found.left_out) == 1
    assert found.left_out[0].why == "partner"
    assert not any("gallop and" in one for one in assumed_words(found))
    ordered(c)
    ordered(d)
    assert "2 horses have no gallop and are counted on none." in assumed_words(gathered(tmp_path))


def test_what_costs_is_counted_in_words() -> None:
    """One horse is a horse, and two are horses."""
    assert cost_words(Parts(change_lot=1, usual=2), Parts(change_lot=12, usual=20)) == [
        "2 horses ridden by another than their usual rider: 20 min",
        "1 horse in another lot than on the list: 12 min",
    ]


def test_what_stands_in_the_way_is_left_out_by_name(string: list[Horse], hands: Hands, tmp_path: Path) -> None:
    """Against the vet's advice, on a closed gallop, or done already no ride is planned; a lot that went out is gone."""
    a, b, c, d = string
    gallop = Gallop.objects.create(name="Furze Hill", surface="turf")
    for horse in string:
        ordered(horse, lot="2")
    ordered(b, lot="2", gallop=gallop.pk)
    ordered(d, lot="2", upsides=str(a.pk))
    enter("vet_finding", a, hands.back(hours=3), "vet", text="x", advice="walk", until=DAY)
    enter("gallop_state", None, hands.back(hours=1), gallop_row=gallop.pk, state="closed")
    enter("exercise", c, DAWN, exercise="steady_canter", lot="1", rider=who("rider").pk)
    found = gathered(tmp_path)
    assert [one.number for one in found.morning.horses] == [d.pk]
    assert set(found.left_out) == {
        LeftOut(a.pk, "advice"), LeftOut(b.pk, "closed"), LeftOut(c.pk, "done"), LeftOut(d.pk, "partner", a.pk),
    }  # fmt: skip
    assert 1 not in {lot.number for lot in found.morning.lots}
    assert {one.number: one.most for one in found.morning.riders}[who("rider").pk] == 8


def test_a_lot_that_went_out_is_left_as_it_is(string: list[Horse], tmp_path: Path) -> None:
    """With one horse of a lot written as done the others of it are out as well, and their riders have had a ride."""
    a, b, c, _ = string
    ordered(a)
    ordered(b, rider=who("rider").pk)
    ordered(c, lot="2")
    enter("exercise", a, DAWN, exercise="steady_canter", lot="1")
    found = gathered(tmp_path)
    assert [one.number for one in found.morning.horses] == [c.pk]
    assert set(found.left_out) == {LeftOut(a.pk, "done"), LeftOut(b.pk, "gone")}
    assert {one.number: one.most for one in found.morning.riders}[who("rider").pk] == 8


def test_lots_that_are_out_at_one_time_are_told(string: list[Horse], tmp_path: Path) -> None:
    """Where a yard's own lots pull out before others are back, the plan says that nobody rides in both."""
    for lot, horse in enumerate(string, start=1):
        ordered(horse, lot=str(lot))
    said = "A lot pulls out before the one before is back: who rides in one has no horse in the other."
    assert said not in assumed_words(gathered(tmp_path))
    text = SHIPPED.read_text(encoding="utf-8")
    (tmp_path / "lots.toml").write_text(text.replace("minutes = 50", "minutes = 60"), encoding="utf-8")
    assert said in assumed_words(gathered(tmp_path))


def test_a_lot_is_gone_when_its_time_is_past(string: list[Horse], hands: Hands, tmp_path: Path) -> None:
    """On its day a lot of which nothing is written has gone some minutes after its time, which the yard sets.

    So it was at an earlier moment, but not on another day, and once the last lot is past none is taken out.
    """
    a, b, c, _ = string
    ordered(a)
    ordered(b, rider=who("rider").pk)
    ordered(c, lot="2")
    hands.to(DAWN + timedelta(minutes=5))  # 6:05, twenty minutes after 5:45
    assert {one.number for one in gathered(tmp_path).morning.horses} == {a.pk, b.pk, c.pk}
    hands.to(DAWN + timedelta(minutes=6))
    found = gathered(tmp_path)
    assert [one.number for one in found.morning.horses] == [c.pk]
    assert set(found.left_out) == {LeftOut(a.pk, "out"), LeftOut(b.pk, "out")}
    assert 1 not in {lot.number for lot in found.morning.lots}
    assert {one.number: one.most for one in found.morning.riders}[who("rider").pk] == 8
    assert left_out_lines(found) == [
        "Lot 1 pulled out at 5:45; nothing of it is written as done yet: 2 horses stay as ordered"
    ]
    assert "lot 1 pulled out at 5:45" in left_out_words(found.left_out[0], found)
    assert not gather(tmp_path, moments.as_of(DAWN), DAY).left_out
    later = DAY + timedelta(days=1)
    ordered(a, later)
    assert not gathered(tmp_path, later).left_out
    text = SHIPPED.read_text(encoding="utf-8")
    (tmp_path / "lots.toml").write_text(text.replace("grace = 20", "grace = 60"), encoding="utf-8")
    assert not gathered(tmp_path).left_out
    (tmp_path / "lots.toml").write_text(text.replace("grace = 20\n", ""), encoding="utf-8")
    assert len(gathered(tmp_path).left_out) == 2
    hands.to(DAWN + timedelta(hours=2))
    found = gathered(tmp_path)
    assert not found.left_out
    assert any(line.startswith("By the clock every lot has pulled out") for line in assumed_words(found))


def test_an_earlier_moment_knows_nothing_of_later(string: list[Horse], hands: Hands, tmp_path: Path) -> None:
    """As of a moment the morning is what it was then."""
    ordered(string[0])
    then = moments.as_of(hands.at)
    hands.to(hands.at + timedelta(hours=1))
    ordered(string[1])
    ordered(string[0], exercise="walk")
    (horse,) = gather(tmp_path, then, DAY).morning.horses
    assert (horse.number, horse.exercise) == (string[0].pk, "steady_canter")
    assert moment_on(DAY, time(5)) <= hands.at


def test_a_yard_s_own_file_says_what_the_books_cannot(string: list[Horse], tmp_path: Path) -> None:
    """Lots, gallops and horses of the yard's own copy hold; a word that there is not is refused by name."""
    text = SHIPPED.read_text(encoding="utf-8").replace("first = 345", "first = 360").replace("count = 5", "count = 1")
    name = string[0].name
    own = f'{text}\n[horse."{name}"]\ncarries_kg = 57\napart = true\nsaddle = "wide"\n'
    (tmp_path / "lots.toml").write_text(own, encoding="utf-8")
    ordered(string[0])
    found = gathered(tmp_path)
    (horse,) = found.morning.horses
    assert (horse.carries_kg, horse.apart, horse.saddle) == (57.0, True, "wide")
    assert found.morning.lots == (Lot(1, 360, 410, 24),)
    assert found.settings.own
    (tmp_path / "lots.toml").write_text(own.replace("apart", "afar"), encoding="utf-8")
    with pytest.raises(MorningRefusedError, match="afar"):
        gathered(tmp_path)


def test_the_morning_knows_names(string: list[Horse], tmp_path: Path) -> None:
    """Horses, riders and gallops of a morning bear their names, so that what is refused of them is refused by name."""
    gallop = Gallop.objects.create(name="Furze Hill", surface="turf")
    ordered(string[0], gallop=gallop.pk)
    morning = gathered(tmp_path).morning
    assert [one.called for one in morning.horses] == [string[0].name]
    assert [one.called for one in morning.gallops] == ["Furze Hill"]
    assert morning.riders
    assert all(one.called == one.name != "" for one in morning.riders)
