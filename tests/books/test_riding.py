"""What riding takes of a person, erasing it, and the yard's own lists."""

from datetime import date, timedelta

import pytest

from staff_week import MONDAY, all_week, someone
from upsides.books.models import Bond, DayOff, Gallop, Person, Role, Shift, Skill, Thing, Yard
from upsides.books.queries import moments
from upsides.books.queries.people import person as shown
from upsides.books.queries.person_changes import changes
from upsides.books.queries.staff import week
from upsides.books.riding import Riding, read_riding, typed, typed_lb
from upsides.books.services import staff as writes
from upsides.books.services import yard_lists
from upsides.books.services.people import add_person, change_person, erase
from upsides.errors import BondRefusedError, EndBeforeStartError, PersonErasedError, RidingRefusedError, YardListError

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("in_britain")]


@pytest.mark.parametrize(
    ("text", "kilograms", "back"),
    [("9-2", 58.0598, "9-2"), ("9st 2lb", 58.0598, "9-2"), ("58 kg", 58.0, "58 kg"), ("128 lb", 58.0598, "9-2")],
)
def test_weights_are_read_as_typed(text: str, kilograms: float, back: str) -> None:
    """A weight reads in stones, pounds or kilograms (1 lb is 0.45359237 kg), and what fills the form reads the same."""
    found = read_riding(None, text, "", "", "", today=MONDAY).weight_kg
    assert found == pytest.approx(kilograms, abs=1e-4)
    assert typed(found) == back
    assert read_riding(None, typed(found), "", "", "", today=MONDAY).weight_kg == found


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("weight", (None, "9-15", "", "", "")),
        ("weight", (None, "9 lb", "", "", "")),
        ("weight", (None, "heavy", "", "", "")),
        ("claim", (None, "", "", "50", "")),
        ("claim", (None, "", "", "seven", "")),
        ("minimum", (None, "", "", "", "3-2")),
        ("born", (date(2027, 1, 1), "", "", "", "")),
        ("born", (date(1826, 1, 1), "", "", "", "")),
    ],
)
def test_what_riding_takes_is_refused_at_its_field(field: str, given: tuple[date | None, str, str, str, str]) -> None:
    """14 pounds behind stones, a weight or claim of nobody and a slip in the year are each refused."""
    with pytest.raises(RidingRefusedError) as refused:
        read_riding(*given, today=MONDAY)
    assert refused.value.field == field


def test_a_jockeys_least_weight_is_rounded_up() -> None:
    """53 kg are 116.8 lb, and who cannot do less rides at 117 lb; 8-4 is 116 lb."""
    assert read_riding(None, "", "", "", "53 kg", today=MONDAY).minimum_lb == 117
    assert read_riding(None, "", "", "7 lb", "8-4", today=MONDAY) == Riding(claim_lb=7, minimum_lb=116)
    assert typed_lb(116) == "8-4"


def test_what_riding_takes_is_kept_and_its_change_is_told() -> None:
    """What riding takes is on the person's page and in its history, and leaving it out of a change leaves it."""
    by, riding = someone("trainer"), Riding(date(2008, 9, 1), 58.0, Skill.QUIET, 7, 116)
    person = add_person("A. New", [Role.RIDER], riding=riding)
    change_person(person, by, name="A. Newer", roles=[Role.RIDER])
    found = shown(person.pk, moments.now())
    assert found is not None
    assert found.riding == riding
    change_person(person, by, name="A. Newer", roles=[Role.RIDER], riding=Riding(weight_kg=58.5))
    told = {(one.what, one.old, one.new) for one in changes(person.pk, moments.now())}
    assert {("weight_kg", "58 kg", "58.5 kg"), ("skill", "quiet horses", ""), ("minimum_lb", "8-4", "")} <= told


def test_erasing_takes_what_riding_takes_hours_and_days_off() -> None:
    """After erasing no table holds the person's birth, weight, hours, days off or bonds, today's or old."""
    by, riding = someone("trainer"), Riding(date(2007, 8, 13), 57.3, Skill.QUIET, 7, 113)
    person = add_person("A. New", [Role.RIDER], riding=riding)
    writes.set_hours(person, all_week("6-12"), MONDAY, by)
    writes.set_hours(person, all_week("6-11"), MONDAY, by)
    writes.off_sick(person, MONDAY, by)
    writes.bind(person, Bond.Kind.SUSPENSION, MONDAY, MONDAY, by)
    change_person(person, by, name="A. New", roles=[Role.RIDER], riding=Riding(weight_kg=57.7))
    erase(person, by)
    for model in (Person, Person.history.model):
        rows = model.objects.filter(id=person.pk).values_list("born", "weight_kg", "skill", "claim_lb", "minimum_lb")
        assert set(rows) == {(None, None, 0, None, None)}
    for model in (Shift, DayOff, Bond):
        assert not model._default_manager.filter(person=person).exists()
        assert not model.history.filter(person=person.pk).exists()
    assert person.pk not in {one.number for one in week(moments.now(), MONDAY)}
    with pytest.raises(PersonErasedError):
        writes.off_sick(person, MONDAY, by)
    with pytest.raises(PersonErasedError):
        writes.set_hours(person, all_week("6-12"), MONDAY, by)


def test_gallops_are_entered_changed_and_taken_out_of_use() -> None:
    """A gallop of five furlongs is 1,006 m long (a furlong is 201.168 m); out of use its row stays."""
    by = someone("head_person")
    row = yard_lists.keep_gallop(yard_lists.read_ground("Long  Gallop", "turf", "5f", "22 m"), by)
    assert (row.name, row.length_m, row.rise_m) == ("Long Gallop", 1006, 22)
    yard_lists.keep_gallop(yard_lists.read_ground("Long Gallop", "turf", "1000 m", "-3"), by, row)
    yard_lists.keep_gallop(yard_lists.read_ground("Long Gallop", "turf", "1000 m", "-3"), by, row)
    yard_lists.set_used(row, by, used=False)
    row.refresh_from_db()
    assert (row.length_m, row.rise_m, row.used) == (1000, -3, False)
    assert Gallop.history.filter(id=row.pk).count() == 3
    assert set(Gallop.history.filter(id=row.pk).values_list("history_user", flat=True)) == {by.pk}


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("name", ("", "turf", "", "")),
        ("name", ("--", "turf", "", "")),
        ("name", ("LONG gallop", "turf", "", "")),
        ("length", ("New", "turf", "5 elephants", "")),
        ("length", ("New", "turf", "50", "")),
        ("length", ("New", "turf", "40 miles", "")),
        ("rise", ("New", "turf", "", "steep")),
        ("rise", ("New", "turf", "", "9000")),
    ],
)
def test_a_gallop_is_refused_at_its_field(field: str, given: tuple[str, str, str, str]) -> None:
    """No name, one that is there in other capitals, and a length or rise that is none are refused, and not kept."""
    by = someone("trainer")
    yard_lists.keep_gallop(yard_lists.read_ground("Long Gallop", "turf", "", ""), by)
    with pytest.raises(YardListError) as refused:
        yard_lists.keep_gallop(yard_lists.read_ground(*given), by)
    assert refused.value.field == field
    assert Gallop.objects.count() == 1


def test_things_have_one_name_a_kind() -> None:
    """Two things of one kind never share a name, in use or out of it; of two kinds they may."""
    by = someone("trainer")
    row = yard_lists.keep_thing(Thing.Kind.SCALE, "Walk-on", by)
    yard_lists.set_used(row, by, used=False)
    with pytest.raises(YardListError, match="already"):
        yard_lists.keep_thing(Thing.Kind.SCALE, "walk-ON", by)
    other = yard_lists.keep_thing(Thing.Kind.LORRY, "Walk-on", by)
    with pytest.raises(YardListError, match="already"):
        yard_lists.keep_thing(Thing.Kind.SCALE, "Walk-on", by, other)
    assert set(Thing.objects.values_list("kind", "name", "used")) == {
        ("scale", "Walk-on", False),
        ("lorry", "Walk-on", True),
    }


@pytest.mark.parametrize(
    ("name", "feeds", "field"),
    [
        ("", ["morning"], "name"),
        ("Y", [], "feed_times"),
        ("Y", ["noon", "Noon"], "feed_times"),
        ("Y", ["x" * 31], "feed_times"),
    ],
)
def test_the_yards_name_and_feeds(name: str, feeds: list[str], field: str) -> None:
    """The yard has a name and at least one feed, each of its own name; else nothing is changed."""
    by = someone("trainer")
    yard_lists.change_yard("Tallow  Mere", [" early ", "", "late"], by)
    assert Yard.objects.values_list("name", "feed_times").get() == ("Tallow Mere", ["early", "late"])
    with pytest.raises(YardListError) as refused:
        yard_lists.change_yard(name, feeds, by)
    assert refused.value.field == field
    assert Yard.objects.get().name == "Tallow Mere"


def test_what_binds_jockeys() -> None:
    """A retainer is an owner's, a suspension has an end, neither stands twice, and either can be ended."""
    rider, by, owner = someone("rider"), someone("trainer"), someone("owner")
    last = MONDAY + timedelta(days=6)
    retained = writes.bind(rider, Bond.Kind.RETAINER, MONDAY, None, by, owner=owner)
    writes.bind(rider, Bond.Kind.SUSPENSION, MONDAY, last, by, country="GB")
    with pytest.raises(BondRefusedError, match="owner"):
        writes.bind(rider, Bond.Kind.RETAINER, MONDAY, None, by, owner=someone("vet"))
    with pytest.raises(BondRefusedError, match="last day"):
        writes.bind(rider, Bond.Kind.SUSPENSION, MONDAY, None, by)
    with pytest.raises(BondRefusedError, match="already"):
        writes.bind(rider, Bond.Kind.RETAINER, last, last, by, owner=owner)
    with pytest.raises(EndBeforeStartError):
        writes.bind(rider, Bond.Kind.SUSPENSION, last, MONDAY, by)
    assert Bond.objects.count() == 2
    writes.unbind(retained, MONDAY + timedelta(days=2), by)
    retained.refresh_from_db()
    assert retained.last_day == MONDAY + timedelta(days=1)
    writes.unbind(retained, MONDAY, by)
    assert not Bond.objects.filter(kind="retainer").exists()


def test_who_has_left_is_there_as_long_as_hours_hold() -> None:
    """With a closed sign-in somebody stays in the week while hours hold, and goes with them."""
    rider, by = someone("rider"), someone("trainer")
    writes.set_hours(rider, all_week("6-12"), MONDAY - timedelta(days=70), by)
    Person.objects.filter(pk=rider.pk).update(is_active=False)
    assert rider.pk in {one.number for one in week(moments.now(), MONDAY)}
    writes.set_hours(rider, {}, MONDAY, by)
    assert rider.pk not in {one.number for one in week(moments.now(), MONDAY)}
