"""Lines kept of a horse: moves, official marks, what must be declared, shares, cautions."""

from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from upsides.books import clock
from upsides.books.models import Caution, Declarable, Engagement, Horse, Move, OfficialMark, Person, Share
from upsides.books.queries import moments
from upsides.books.queries.boxes import boxes
from upsides.books.queries.horse_book import Book, book
from upsides.books.queries.ownership import Held, faults
from upsides.books.services.boxes import Put, add_boxes, put
from upsides.books.services.ledgers import (
    add_line,
    change_line,
    move_horse,
    part_of,
    take_out_line,
)
from upsides.books.services.meanwhile import last_change
from upsides.errors import ChangedMeanwhileError, LineGoneError, LineRefusedError
from upsides.rules import By

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def by() -> Person:
    return Person.objects.get(login="secretary")


@pytest.fixture
def horse() -> Horse:
    return Horse.objects.order_by("pk")[2]


def kept(horse: Horse, *runs: date, folder: Path = Path("/nowhere")) -> Book:
    return book(moments.now(), horse.pk, runs, folder)


def move(day: date, to: str = "turned_out", note: str = "") -> dict[str, Any]:
    return {"to": to, "first_day": day, "note": note}


def mark(day: date, value: int = 78, ground: str = "turf", country: str = "GB") -> dict[str, Any]:
    return {"value": value, "ground": ground, "country": country, "effective": day}


def declare(what: str, day: date, declared: date | None = None) -> dict[str, Any]:
    return {"what": what, "happened_on": day, "declared_on": declared}


def share(owner: Person, day: date, part: str = "1", kind: str = "sole", **more: Any) -> dict[str, Any]:
    of = part_of(part)
    usual = {"managing": False, "leased_from_id": None, "last_day": None, "first_day": day, "kind": kind}
    return usual | {"owner_id": owner.pk, "numerator": of.numerator, "denominator": of.denominator} | more


def test_out_and_in_again(horse: Horse, by: Person) -> None:
    """A horse turned out is not in training from that day until it comes in; its box is free only if that was said."""
    today = clock.today()
    box = add_boxes("Top", "1", by)[0]
    put(Put(horse.pk, box.pk, today - 9 * DAY, None), by)
    move_horse(horse.pk, move(today - 5 * DAY), by, empty_box=False)
    assert not moments.in_training(moments.now()).filter(pk=horse.pk).exists()
    assert boxes(moments.now())[horse.pk].box == box.pk
    move_horse(horse.pk, move(today - 2 * DAY, "training"), by, empty_box=False)
    assert moments.in_training(moments.now()).filter(pk=horse.pk).exists()
    move_horse(horse.pk, move(today, "hospital"), by, empty_box=True)
    assert horse.pk not in boxes(moments.now())
    assert [one.to for one in kept(horse).moves] == ["hospital", "training", "turned_out"]


def test_a_move_is_corrected(horse: Horse, by: Person) -> None:
    """The day of a move can be corrected; a second move of a day is refused."""
    today = clock.today()
    line = add_line(Move, horse.pk, move(today), by)
    change_line(Move, line.pk, last_change(line), move(today - DAY, note="Long Meadow"), by)
    assert moments.whereabouts(moments.Moment(today - DAY))[horse.pk].note == "Long Meadow"
    with pytest.raises(LineRefusedError, match="that day already"):
        add_line(Move, horse.pk, move(today - DAY, "training"), by)


def test_marks_of_each_ground_stand_apart(horse: Horse, by: Person) -> None:
    """The mark that holds is the last one given for a ground and country by the day; a later one does not hold yet."""
    today = clock.today()
    for values in (mark(today - 30 * DAY, 70), mark(today, 74), mark(today + 5 * DAY, 80), mark(today, 66, "synthetic"),
                   mark(today, 102, "turf", "ire")):  # fmt: skip
        add_line(OfficialMark, horse.pk, values, by)
    now = {(one.ground, one.country): one.value for one in kept(horse).marks_now}
    assert now == {("turf", "GB"): 74, ("synthetic", "GB"): 66, ("turf", "IRE"): 102}
    assert len(kept(horse).marks) == 5


@pytest.mark.parametrize(
    ("model", "values", "field"),
    [
        (OfficialMark, {"value": 201}, "value"),
        (OfficialMark, {"country": "B1"}, "country"),
        (OfficialMark, {"effective": date(1999, 1, 1)}, "effective"),
        (Move, {"first_day": date(1999, 1, 1)}, "first_day"),
        (Declarable, {"happened_on": date(2040, 1, 1)}, "happened_on"),
        (Declarable, {"declared_on": date(2001, 1, 1)}, "declared_on"),
        (Caution, {"text": " \t "}, "text"),
        (Caution, {"text": "bites\x00"}, "text"),
        (Caution, {"skill": 5}, "skill"),
        (Caution, {"last_day": date(2001, 1, 1)}, "last_day"),
    ],
)
def test_lines_that_cannot_be(horse: Horse, by: Person, model: Any, values: dict[str, Any], field: str) -> None:
    """A line with an impossible day, number or word is refused with its field named, and nothing is written."""
    today = clock.today()
    right: dict[Any, dict[str, Any]] = {
        Move: move(today),
        OfficialMark: mark(today),
        Declarable: declare("hood", today),
        Caution: {"about": "box", "text": "Bites", "skill": 0, "first_day": today, "last_day": None},
    }
    with pytest.raises(LineRefusedError) as refused:
        add_line(model, horse.pk, right[model] | values, by)
    assert refused.value.field == field
    assert not model.objects.exists()


def test_what_must_be_declared_and_when(horse: Horse, by: Person) -> None:
    """A gelding is told with the next entry, headgear with the next declaration; once it ran since, that is said."""
    today = clock.today()
    Horse.objects.filter(pk=horse.pk).update(sex="gelding")
    for what, ago in (("gelded", 9), ("blinkers", 2)):
        add_line(Declarable, horse.pk, declare(what, today - ago * DAY), by)
    blinkers, gelded = kept(horse, today - 5 * DAY, today - 20 * DAY).told
    assert gelded.rule is not None
    assert blinkers.rule is not None
    assert (gelded.rule.by, blinkers.rule.by) == (By.ENTRY, By.DECLARATION)
    assert (gelded.ran, blinkers.ran) == (today - 5 * DAY, None)
    for days, race in ((30, "Later Stakes"), (6, "Next Stakes")):
        Engagement.objects.create(
            horse=horse, race=race, course="Moor", zone="Europe/London", day=today + days * DAY, state="meant"
        )
    assert {one.next.race for one in kept(horse).told if one.next} == {"Next Stakes"}
    line = gelded.row
    change_line(Declarable, line.pk, last_change(line), declare("gelded", today - 9 * DAY, today), by)
    assert [one.row.what for one in kept(horse).to_tell] == ["blinkers"]


def test_a_yards_own_rule_goes_first(horse: Horse, by: Person, tmp_path: Path) -> None:
    """What the yard's own rules say of a declaration wins over the shipped rules."""
    (tmp_path / "rules.toml").write_text(
        'topic = "declared facts"\n[[rule]]\nname = "Ours"\njurisdiction = "anywhere"\nsource = "Our authority, 2026"\n'
        'confidence = "high"\nwhat = "blinkers"\nby = "entry"\n'
    )
    add_line(Declarable, horse.pk, declare("blinkers", clock.today()), by)
    (told,) = kept(horse, folder=tmp_path).told
    assert told.rule is not None
    assert (told.rule.by, told.rule.rule.name) == (By.ENTRY, "Ours")


def test_no_mare_is_gelded(horse: Horse, by: Person) -> None:
    """A filly cannot be declared gelded."""
    Horse.objects.filter(pk=horse.pk).update(sex="filly")
    with pytest.raises(LineRefusedError, match="filly"):
        add_line(Declarable, horse.pk, declare("gelded", clock.today()), by)


def test_cautions_hold_from_to(horse: Horse, by: Person) -> None:
    """A caution holds on its first and last day, not before and not after."""
    today = clock.today()
    for first, last in ((0, None), (-9, 0), (-9, -1), (1, None)):
        values = {"about": "riding", "text": f"{first} {last}", "skill": 3, "first_day": today + first * DAY}
        add_line(Caution, horse.pk, values | {"last_day": None if last is None else today + last * DAY}, by)
    assert {one.text for one in kept(horse).cautions_now} == {"0 None", "-9 0"}


def test_two_correct_one_line(horse: Horse, by: Person) -> None:
    """Of two who correct a mark differently the second is told; a line changed since is not taken out unseen."""
    line = add_line(OfficialMark, horse.pk, mark(clock.today()), by)
    seen = last_change(line)
    change_line(OfficialMark, line.pk, seen, mark(clock.today(), 80), by)
    with pytest.raises(ChangedMeanwhileError, match="value"):
        change_line(OfficialMark, line.pk, seen, mark(clock.today(), 82), by)
    with pytest.raises(ChangedMeanwhileError):
        take_out_line(OfficialMark, line.pk, seen, by)
    take_out_line(OfficialMark, line.pk, last_change(line), by)
    with pytest.raises(LineGoneError):
        change_line(OfficialMark, line.pk, seen, mark(clock.today(), 82), by)


@pytest.mark.parametrize(
    ("text", "part"),
    [("1", 1), ("1/3", "1/3"), ("25%", "1/4"), ("25 %", "1/4"), ("0,25", "1/4"), (" 12.5% ", "1/8"), ("100%", 1)],
)
def test_parts_as_they_are_typed(text: str, part: Any) -> None:
    """Parts are read as fractions, decimals with point or comma, and per cent, exactly."""
    assert part_of(text) == Fraction(part)


@pytest.mark.parametrize(
    "text", ["0", "2", "-1/2", "1/0", "half", "", "1e-3", "١/٣", "0.00001", "1/99999", "9" * 99, "%"]
)
def test_parts_that_are_none(text: str) -> None:
    """What is no part of one is refused in words."""
    with pytest.raises(LineRefusedError, match=r"horse|whole"):
        part_of(text)


def test_leases_are_from_somebody(horse: Horse, by: Person) -> None:
    """A lease names whom it is from, nothing else does, and nobody leases from himself; a sole owner owns it all."""
    today, owner, other = clock.today(), Person.objects.get(login="owner"), Person.objects.get(login="owner2")
    for wrong in (
        share(owner, today, kind="lease"),
        share(owner, today, leased_from_id=other.pk),
        share(owner, today, kind="lease", leased_from_id=owner.pk),
        share(owner, today, part="1/2"),
        share(owner, today, last_day=today - DAY),
    ):
        with pytest.raises(LineRefusedError):
            add_line(Share, horse.pk, wrong, by)
    line = add_line(Share, horse.pk, share(owner, today, kind="lease", leased_from_id=other.pk), by)
    assert line.leased_from_id == other.pk


BEGIN = date(2025, 1, 1)
PARTS = st.lists(
    st.tuples(st.integers(1, 4), st.integers(0, 20), st.one_of(st.none(), st.integers(0, 12)), st.booleans()),
    max_size=6,
)


@given(PARTS, st.integers(0, 10), st.one_of(st.none(), st.integers(0, 30)))
def test_days_on_which_parts_are_not_one(
    drawn: list[tuple[int, int, int | None, bool]], first: int, length: int | None
) -> None:
    """The days that are told are exactly those whose parts, added up day by day, are not one with one who decides."""
    held = [
        Held(Fraction(1, part), BEGIN + start * DAY, None if days is None else BEGIN + (start + days) * DAY, managing)
        for part, start, days, managing in drawn
    ]
    begins = BEGIN + first * DAY
    ends = None if length is None else begins + length * DAY
    told = faults(held, begins, ends)
    for number in range(60):
        day = BEGIN + number * DAY
        here = [one for one in held if one.first <= day and (one.last is None or day <= one.last)]
        total, managing = sum((one.part for one in here), Fraction()), sum(one.managing for one in here)
        right = total == 1 and (managing == 1 or (len(here) == 1 and managing == 0))
        covered = [one for one in told if one.first <= day and (one.last is None or day <= one.last)]
        within = begins <= day and (ends is None or day <= ends)
        if not within or right:
            assert not covered
        else:
            (fault,) = covered
            assert (fault.total, fault.managing) == (total, managing)


@given(st.lists(st.tuples(st.integers(1, 9), st.integers(0, 40)), min_size=1, max_size=5, unique_by=lambda one: one[1]))
def test_a_horse_sold_on_in_whole_is_always_whole(sales: list[tuple[int, int]]) -> None:
    """Whoever sells all parts on a day to new owners who begin that day leaves no day without an owner."""
    days = sorted(day for _, day in sales)
    held = []
    for (count, _), day, after in zip(sales, days, [*days[1:], None], strict=True):
        last = None if after is None else BEGIN + (after - 1) * DAY
        held += [Held(Fraction(1, count), BEGIN + day * DAY, last, number == 0) for number in range(count)]
    assert faults(held, BEGIN + days[0] * DAY) == []


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"heaviest_kg": 12.0}, "heaviest_kg"), ({"apart_from_id": 0}, "apart_from"), ({"not_by_id": 0}, "not_by"),
     ({"apart": True}, "apart")],
)  # fmt: skip
def test_whom_a_horse_carries_can_be_right(horse: Horse, by: Person, wrong: dict[str, object], field: str) -> None:
    """Nobody weighs twelve kilograms, nobody has number 0, and a gelding is not kept from the other sex."""
    Horse.objects.filter(pk=horse.pk).update(sex="gelding")
    values = {"about": "riding", "text": "light", "skill": 0, "first_day": clock.today(), "last_day": None}
    with pytest.raises(LineRefusedError) as refused:
        add_line(Caution, horse.pk, values | wrong, by)
    assert refused.value.field == field


def test_a_caution_keeps_whom_the_horse_carries(horse: Horse, by: Person) -> None:
    """The heaviest rider, the horse that it fights with and who does not ride it are kept as they were said."""
    other = Horse.objects.exclude(pk=horse.pk)[0]
    values = {"about": "riding", "text": "light", "skill": 0, "first_day": clock.today(), "last_day": None}
    said = {"heaviest_kg": 62.5, "apart": False, "apart_from_id": other.pk, "not_by_id": by.pk}
    line = add_line(Caution, horse.pk, values | said, by)
    assert {name: getattr(Caution.objects.get(pk=line.pk), name) for name in said} == said
    with pytest.raises(LineRefusedError):
        add_line(Caution, horse.pk, values | {"apart_from_id": horse.pk}, by)
