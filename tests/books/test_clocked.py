"""Clocked work in the books: how splits and weights are typed, what cannot be right, what it says, what is ordered."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mornings import DAWN, DAY, Hands, enter, horses, who
from upsides.books import clock
from upsides.books.diary import Names, kind_of, read
from upsides.books.diary.clocked import INSTRUCTION_OF, INSTRUCTIONS, LEFT, Clocked
from upsides.books.diary.split_fields import mark_words, section_words
from upsides.books.diary.work import EXERCISES
from upsides.books.models import Entry, Gallop, Person, Role
from upsides.books.queries import moments
from upsides.books.queries.clocked import Runner, clocked_on, marks, weights, works
from upsides.books.queries.visitors import visitor
from upsides.books.services.diary import Draft, record
from upsides.books.services.lists import order
from upsides.errors import EntryRefusedError, KindNotYoursError
from upsides.recordings.stopwatch import sections
from upsides.trade.units import FURLONG_M

THREE = "1f 15.4, 2f 29.1, 3f 42.8"
KEPT = [[201.2, 15.4], [402.3, 29.1], [603.5, 42.8]]


@pytest.mark.parametrize(
    ("typed", "splits"),
    [
        (THREE, KEPT),
        ("1f 15,4; 2f 29,1; 3f 42,8", KEPT),
        ("1f 15.4,2f 29.1,3f 42.8", KEPT),
        ("1 furlong 15.4 s, 2 furlongs 29.1 s, 3 furlongs 42.8 s", KEPT),
        ("201.2:15.4 402.3:29.1 603.5:42.8", KEPT),
        ("201:15.4 402:29.1", [[201.0, 15.4], [402.0, 29.1]]),
        ("201:15,4 402:29,1", [[201.0, 15.4], [402.0, 29.1]]),
        ("201:15,402:29", [[201.0, 15.0], [402.0, 29.0]]),
        ("400 m 26.1", [[400.0, 26.1]]),
        ("400m 26.1 800 m 51.34", [[400.0, 26.1], [800.0, 51.34]]),
        ("400 metres 26.1", [[400.0, 26.1]]),
        ("4f 58.9\n5f 1:13.2\n8f 2:01", [[804.7, 58.9], [1005.8, 73.2], [1609.3, 121.0]]),
        ("0.5f 8", [[100.6, 8.0]]),
    ],
)
def test_splits_are_read_as_people_write_them(typed: str, splits: list[list[float]]) -> None:
    """Furlongs (201.168 m) or metres, point or comma, minutes or not, on one line or several, kept as numbers."""
    assert read("clocked", {"splits": typed}).kept() == {"splits": splits, "clock": "thumb"}


@pytest.mark.parametrize(
    ("typed", "reason"),
    [
        ("", "it is empty"),
        ("quick", "it cannot be read from 'quick' on"),
        ("1f 15.4, 2f", "it cannot be read from '2f' on"),
        ("1f 15.4 and 2f 29.1", "it cannot be read from 'and 2f 29.1' on"),
        ("1f15.4", "it cannot be read"),
        ("2f 29.1, 1f 15.4", "1f in 15.4 s does not come after 402.3 m in 29.1 s"),
        ("1f 15.4, 2f 15.4", "2f in 15.4 s does not come after 201.2 m in 15.4 s"),
        ("1f 15.4, 1f 15.9", "does not come after"),
        ("0f 1", "does not come after"),
        ("1f 15.4, 2f 16.4", "201.1 m in 1.0 s up to 2f would be 201.1 m/s"),
        ("1f 8.04", "201.2 m in 8.0 s up to 1f would be 25.0 m/s"),
        ("400 m 401", "400 m in 401.0 s up to 400 m would be 1.0 m/s"),
        ("1 15.4", "1 m in 15.4 s up to 1 m would be 0.1 m/s"),
        (", ".join(f"{place * 100} m {place * 7}" for place in range(1, 62)), "it has 61 marks, and 60 is the most"),
        (["1f 15.4"], "it is no text"),
        (15.4, "it is no text"),
    ],
)
def test_what_no_horse_can_do_is_refused_in_words(typed: object, reason: str) -> None:
    """Splits that cannot be read, do not rise, or would be faster than 25 or slower than 1 m/s are refused with why."""
    with pytest.raises(EntryRefusedError) as refused:
        read("clocked", {"splits": typed})
    assert refused.value.field == "times from the start"
    assert reason in refused.value.reason
    assert refused.value.remedy


SECTION = st.tuples(st.integers(20, 900), st.integers(11, 245))
"""Half metres and tenths of a metre a second, within what horses do."""


@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)  # the first draw reads all source for constants
@given(st.lists(SECTION, min_size=1, max_size=12))
def test_what_is_kept_comes_back_as_it_was(steps: list[tuple[int, int]]) -> None:
    """Splits that are offered for correction and sent unchanged are kept as they were."""
    metres = seconds = 0.0
    typed = []
    for length, speed in steps:
        metres, seconds = metres + length / 2, seconds + length / 2 / (speed / 10)
        typed.append(f"{metres:.1f}:{seconds:.2f}")
    kept = read("clocked", {"splits": " ".join(typed)})
    assert read("clocked", kept.typed()).kept() == kept.kept()
    assert kept.typed()["splits"].count(",") == len(steps) - 1


@pytest.mark.parametrize(
    ("typed", "kilograms"),
    [
        ("9-2", 58.1),
        ("9st 2lb", 58.1),
        ("58 kg", 58.0),
        ("58", 58.0),
        ("57,5 kg", 57.5),
        ("128 lb", 58.1),
        ("85 kg", 85),
    ],
)
def test_a_riders_weight_is_read_as_people_write_it(typed: str, kilograms: float) -> None:
    """Stones and pounds, pounds or kilograms: 9 st 2 lb are 128 lb of 0.45359237 kg (international pound)."""
    assert read("clocked", {"splits": THREE, "rider_kg": typed}).kept()["rider_kg"] == kilograms


@pytest.mark.parametrize("typed", ["9-15", "20", "20 kg", "200 kg", "heavy", "85"])
def test_a_weight_that_nobody_rides_at_is_refused(typed: str) -> None:
    """A weight that cannot be read, or that no rider has with his tack, is refused in words."""
    with pytest.raises(EntryRefusedError) as refused:
        read("clocked", {"splits": THREE, "rider_kg": typed})
    assert refused.value.field == "rider's weight with tack"


def test_it_says_what_was_done_in_one_sentence() -> None:
    """Distance, time, sections, ground, pace, what was left, and who was beside it stand in the order of the trade."""
    names = Names({("gallop", 2): "Cowslip Strip", ("horse", 7): "Trellis Minuet", ("person", 3): "J. Tesselwold"})
    typed: dict[str, object] = {"splits": THREE, "gallop": "2", "instruction": "half_speed", "left": "plenty"}
    plain = read("clocked", typed | {"upsides": "7"})
    said = "3f in 42.8 s (15.4, 13.7, 13.7) on Cowslip Strip, half-speed, plenty left"
    assert plain.words(names) == f"{said}; upsides Trellis Minuet."
    ridden = read("clocked", typed | {"rider": "3", "rider_kg": "58 kg", "text": "Moved well."})
    assert ridden.words(names) == f"{said}; ridden by J. Tesselwold at 58 kg. Moved well."
    assert read("clocked", {"splits": "400 m 26.1"}).words() == "400 m in 26.1 s."


def test_sections_that_are_unlike_say_their_length() -> None:
    """Where a mark was missed the section over two furlongs says so, and the others say that they are one."""
    assert section_words([[201.2, 15.4], [603.5, 42.8]]) == ["1f 15.4", "2f 27.4"]
    assert section_words([[200, 13.0], [400, 26.1]]) == ["13.0", "13.1"]
    assert [mark_words(metres) for metres in (201, 603.504, 600, 100)] == ["1f", "3f", "600 m", "100 m"]


def test_ordinal_words_go_from_least_to_most() -> None:
    """What is ordered and what was left are ordered scales, and every exercise that is clocked asks for one pace."""
    assert list(INSTRUCTIONS) == ["easy", "steady", "half_speed", "three_quarter", "bridle", "let_down", "asked"]
    assert list(LEFT) == ["nothing", "little", "some", "plenty", "hard_held"]
    paces = [list(INSTRUCTIONS).index(INSTRUCTION_OF[exercise]) for exercise in EXERCISES if exercise in INSTRUCTION_OF]
    assert paces == sorted(paces)


def test_what_is_kept_is_what_downstream_takes() -> None:
    """The splits that are kept go as they are into the stopwatch's arithmetic, where they have the thumb's error."""
    kept = read("clocked", {"splits": THREE})
    assert isinstance(kept, Clocked)
    found = sections(kept.splits)
    assert found.seconds == pytest.approx([15.4, 13.7, 13.7])
    assert found.sd_s == pytest.approx([0.15 * 2**0.5] * 3)


@pytest.mark.parametrize("role", list(Role))
def test_only_who_orders_work_clocks_it(loaded: object, role: Role) -> None:
    """Trainer, assistant and head person clock; of others no entry is taken."""
    draft = Draft(uuid4(), "clocked", horses(1)[0].pk, {"splits": THREE}, clock.now())
    if role in kind_of("clocked").by:
        assert record(draft, who(role.value)).values == {"splits": KEPT, "clock": "thumb"}
    elif role is not Role.OWNER:
        with pytest.raises(KindNotYoursError):
            record(draft, who(role.value))
    assert kind_of("clocked").by == {Role.TRAINER, Role.ASSISTANT, Role.HEAD_PERSON}


def test_rows_that_are_not_there_are_refused(loaded: object) -> None:
    """A gallop, rider or horse that the books do not have is refused by name, and nothing is written."""
    before = Entry.objects.count()
    for name in ("gallop", "rider", "upsides"):
        with pytest.raises(EntryRefusedError):
            record(
                Draft(uuid4(), "clocked", horses(1)[0].pk, {"splits": THREE, name: "99999"}, clock.now()),
                who("trainer"),
            )
    assert Entry.objects.count() == before


@pytest.fixture
def hands(loaded: object, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch)


@pytest.fixture
def ordered(hands: Hands) -> Callable[..., None]:
    """Order a horse's work for the day."""

    def ordered_(place: int, exercise: str, **values: Any) -> None:
        typed = {"exercise": exercise} | {name: str(value) for name, value in values.items()}
        order(horses(8)[place].pk, DAY, typed, who("trainer"))

    return ordered_


def test_works_come_paired_and_in_the_order_of_the_morning(hands: Hands, ordered: Callable[..., None]) -> None:
    """Horses ordered upsides are one work; pairs come first, fast before slow, by lot; who walks is left out."""
    rows = horses(8)
    number = [horse.pk for horse in rows]
    rider = Person.objects.get(login="rider")
    ordered(0, "hack_canter", lot=1)
    ordered(1, "fast", lot=2, furlongs=4, upsides=number[2], rider=rider.pk)
    ordered(2, "fast", lot=2, upsides=number[1])
    ordered(3, "half_speed", lot=1, upsides=number[4])
    ordered(4, "half_speed", lot=1, upsides=number[3])
    ordered(5, "walker")
    ordered(6, "fast", lot=3)
    ordered(7, "trot", lot=1)
    found = works(moments.now(), DAY)
    told = [[runner.horse for runner in work.runners] for work in found]
    assert told == [[number[3], number[4]], [number[1], number[2]], [number[6]], [number[0]]]
    assert (found[1].lot, found[1].furlongs, found[1].exercise) == (2, 4.0, "fast")
    assert found[1].runners[0] == Runner(number[1], rows[1].name, rider.pk, "three_quarter")
    assert works(moments.now(), DAY + timedelta(days=1)) == []


def test_each_horse_is_in_one_work(ordered: Callable[..., None]) -> None:
    """Of three that are ordered upsides two are a pair and the third stands alone; nobody is clocked twice."""
    number = [horse.pk for horse in horses(3)]
    for place in range(3):
        others = ",".join(str(one) for one in number if one != number[place])
        ordered(place, "fast", lot=1, upsides=others)
    told = [[runner.horse for runner in work.runners] for work in works(moments.now(), DAY)]
    assert [len(pair) for pair in told] == [2, 1]
    assert sorted(one for pair in told for one in pair) == sorted(number)


def test_an_order_that_names_somebody_gone_is_a_work_alone(ordered: Callable[..., None]) -> None:
    """A partner that has no order of its own to work is not clocked with it."""
    ordered(0, "fast", upsides=horses(2)[1].pk)
    assert [len(work.runners) for work in works(moments.now(), DAY)] == [1]


def test_marks_of_a_gallop_are_its_own_or_its_furlongs(hands: Hands) -> None:
    """A gallop is clocked at its marks; without marks at every whole furlong of its length; else nowhere."""
    own = Gallop.objects.create(name="Marked", surface="turf", length_m=1200, marks=[0, 300, 700])
    plain = Gallop.objects.create(name="Plain", surface="turf", length_m=804)
    bare = Gallop.objects.create(name="Bare", surface="turf")
    Gallop.objects.create(name="Past", surface="turf", length_m=804, used=False)
    found = marks(moments.now())
    assert found == {own.pk: [300, 700], plain.pk: [201.2, 402.3, 603.5, 804.7], bare.pk: []}
    assert found[plain.pk][-1] == round(4 * FURLONG_M, 1)


def test_weights_are_those_of_riders(hands: Hands) -> None:
    """Of those who ride the weight is given where it is known; of others it is not."""
    Person.objects.filter(login="rider").update(weight_kg=57.5)
    Person.objects.filter(login="secretary").update(weight_kg=61)
    assert weights(moments.now()) == {who("rider").pk: 57.5}


def test_what_was_clocked_is_read_back_with_who_clocked_it(hands: Hands) -> None:
    """What stands of the day comes the last first; what was withdrawn or clocked yesterday does not."""
    one, other = horses(2)
    enter("clocked", one, DAWN - timedelta(days=1), splits=THREE)
    enter("clocked", one, DAWN, splits=THREE)
    enter("clocked", other, DAWN + timedelta(minutes=5), splits="400 m 26.1", login="head_person")
    found = clocked_on(moments.now(), DAY, visitor(who("carer"), barn=False))
    assert [(row.horse, row.author.login, work.splits) for row, work in found] == [
        (other.name, "head_person", [[400.0, 26.1]]),
        (one.name, "trainer", KEPT),
    ]


def test_an_entry_that_is_sent_twice_is_in_the_books_once(hands: Hands) -> None:
    """The same number with the same content is the entry that is there, also when it is made anew from the phone."""
    draft = Draft(uuid4(), "clocked", horses(1)[0].pk, {"splits": THREE, "clock": "thumb"}, DAWN)
    assert record(draft, who("trainer")) == record(draft, who("trainer"))
    assert Entry.objects.filter(kind="clocked").count() == 1
