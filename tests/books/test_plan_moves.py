"""A day of a plan moved by hand: what is ordered, what refuses it, how the next plan adapts, how it is undone."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import pytest

from books.test_plans_job import DAWN, do, hands, kept, string
from mornings import Hands, enter, who
from upsides.books.models import Engagement, Entry, Horse, Job
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.moments import Moment
from upsides.books.queries.string_plan import planned_orders
from upsides.books.services import plan_moves
from upsides.books.services.lists import make_list
from upsides.books.services.plan_moves import move_day, take_back_move
from upsides.errors.planning import WorkNotMovedError
from upsides.planning.work.said import Said, plain

__all__ = ["do", "hands", "string"]
pytestmark = pytest.mark.django_db
FIRST = DAWN.date() + timedelta(days=1)


def _row() -> Any:
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    return row


def _days(horse: Horse) -> list[str]:
    return [order for order, _routine in kept()["horses"][str(horse.pk)]["days"]]


def _moved(horse: Horse, do_later: Callable[[], Job]) -> tuple[list[str], int]:
    """Plan the string and move a work of a horse on by a day; return its days as planned, and which was moved."""
    do_later()
    before = _days(horse)
    day = _work(before)
    _move(horse, day, day + 1)
    return before, day


def _move(horse: Horse, from_: int, to: int) -> Any:
    days = FIRST + timedelta(days=from_), FIRST + timedelta(days=to)
    return move_day(horse, _row().pk, days, who("trainer"))


@pytest.fixture
def do_later(hands: Hands, do: Callable[[], Job]) -> Callable[[], Job]:
    """A function that makes the plan as a worker would, minutes after what was written and before what is next."""

    def done() -> Job:
        hands.to(hands.at + timedelta(minutes=5))
        job = do()
        hands.to(hands.at + timedelta(minutes=5))
        return job

    return done


def _standing(horse: Horse, day: int) -> list[dict[str, Any]]:
    on = FIRST + timedelta(days=day)
    found = Entry.objects.filter(kind="ordered", horse=horse, superseded_by=None, withdrawn=False,
                                 happened_at__date=on)  # fmt: skip
    return [one.values for one in found]


def _work(days: list[str]) -> int:
    """Return a day of work at a canter whose next day has another order."""
    return next(d for d in range(8) if "canter" in days[d] and days[d + 1] != days[d] and "canter" in days[d + 1])


def test_a_moved_day_is_kept_and_the_rest_adapts(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """The two days are exchanged, nothing else of any horse changes; the plan says what was moved, from where."""
    do_later()
    before, others = _days(string[0]), [_days(one) for one in string[1:]]
    day = _work(before)
    moved = _move(string[0], day, day + 1)
    assert not moved.freed
    (order,) = _standing(string[0], day + 1)
    assert (order["exercise"], order["moved_from"]) == (before[day], str(FIRST + timedelta(days=day)))
    do_later()
    after = _days(string[0])
    assert after == [*before[:day], before[day + 1], before[day], *before[day + 2 :]]
    assert [_days(one) for one in string[1:]] == others
    values = kept()
    own = values["horses"][str(string[0].pk)]
    assert [pair[0] for pair in own["changed"]] == [day, day + 1]
    words = [plain(Said.of_json(one)) for one in own["changes"]]
    assert "was moved by hand to" in words[0]
    assert "moved there by hand from" in words[1]
    assert values["proven"]


def test_the_same_facts_asked_again_change_nothing(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Asked again with nothing new the plan is the same, days and all, and says that no day changed."""
    do_later()
    first = {one.pk: _days(one) for one in string}
    do_later()
    assert {one.pk: _days(one) for one in string} == first
    assert (kept()["changes"], kept()["least"], kept()["held"]) == (0, 0, 3)


@pytest.mark.parametrize("missed", ["off", "walker", "hack_canter"])
def test_after_a_missed_day_as_little_changes_as_can_be(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job], missed: str
) -> None:
    """A horse that did something else than was planned for a day has all its other days as they stood."""
    enter("ordered", string[0], DAWN + timedelta(days=1), exercise="fast", furlongs=3)
    do_later()
    planned = _days(string[0])
    hands.to(DAWN + timedelta(days=1, hours=8))
    orders = kept()["orders"]
    for one in string:
        exercise = orders[_days(one)[0]][1]
        enter("exercise", one, hands.at, exercise=exercise if one != string[0] else missed)
    do_later()
    assert _days(string[0])[:9] == planned[1:]
    assert kept()["changes"] == 0


def test_a_move_taken_back_gives_the_plan_before(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Taken back after it was planned round, the plan is the one from before the move, and the order is withdrawn."""
    before, day = _moved(string[0], do_later)
    do_later()
    assert _days(string[0]) != before
    back = take_back_move(string[0], FIRST + timedelta(days=day + 1), who("trainer"))
    assert back.to == FIRST + timedelta(days=day + 1)
    assert _standing(string[0], day + 1) == []
    do_later()
    assert _days(string[0]) == before


def test_moved_on_it_came_from_the_first_day_and_moved_home_it_is_taken_back(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Moved a second time only the last day has the order; moved back to where it came from no order is left."""
    before, day = _moved(string[0], do_later)
    do_later()
    to = next(d for d in range(10) if d not in {day, day + 1} and _days(string[0])[d] not in {before[day], "race"})
    assert _move(string[0], day + 1, to).freed
    assert _standing(string[0], day + 1) == []
    (order,) = _standing(string[0], to)
    assert order["moved_from"] == str(FIRST + timedelta(days=day))
    do_later()
    after = _days(string[0])
    assert (after[to], after[day], after[day + 1]) == (before[day], before[to], before[day + 1])
    _move(string[0], to, day)
    assert all(_standing(string[0], each) == [] for each in (day, day + 1, to))
    do_later()
    assert _days(string[0]) == before


def test_an_order_under_a_move_is_ordered_again(string: list[Horse], hands: Hands, do_later: Callable[[], Job]) -> None:
    """A day that was ordered before something was moved there keeps lot and rider, and has its order back after."""
    rider = who("rider")
    enter("ordered", string[0], DAWN + timedelta(days=3), exercise="walk", lot=2, place=4, rider=rider.pk)
    do_later()
    day = next(d for d in range(10) if "canter" in _days(string[0])[d])
    _move(string[0], day, 2)
    (order,) = _standing(string[0], 2)
    assert (order["lot"], order["place"], order["rider"]) == (2, 4, rider.pk)
    take_back_move(string[0], FIRST + timedelta(days=2), who("trainer"))
    (order,) = _standing(string[0], 2)
    assert (order["exercise"], order.get("moved_from")) == ("walk", None)


def test_a_day_that_was_moved_away_is_not_moved_again(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Until the string is planned anew its day is not moved a second time, nor filled by another; taken back it is."""
    _before, day = _moved(string[0], do_later)
    other = next(d for d in range(9) if d not in {day, day + 1})
    for from_, to in ((day, day + 1), (day, other), (other, day)):
        with pytest.raises(WorkNotMovedError, match=r"its work of .* was moved to"):
            _move(string[0], from_, to)
    assert len(Entry.objects.filter(kind="ordered", horse=string[0])) == 1
    take_back_move(string[0], FIRST + timedelta(days=day + 1), who("trainer"))
    _move(string[0], day, day + 1)
    assert len(_standing(string[0], day + 1)) == 1


def test_the_list_of_a_day_that_was_moved_away_has_the_others_work(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Ordered as planned before the string is planned anew, no work is ordered twice."""
    do_later()
    before, kinds = _days(string[0]), kept()["orders"]
    day = _work(before)
    _move(string[0], day, day + 1)
    planned = [planned_orders(moments.now(), FIRST + timedelta(days=day + more))[string[0].pk] for more in (0, 1)]
    assert [one.exercise for one in planned] == [kinds[before[day + 1]][1], kinds[before[day]][1]]
    make_list(FIRST + timedelta(days=day), who("trainer"), {})
    (order,) = _standing(string[0], day)
    assert order["exercise"] == kinds[before[day + 1]][1]
    do_later()
    assert kept()["clashes"] == {}
    assert _days(string[0])[day : day + 2] == [before[day + 1], before[day]]


def test_moved_on_what_stood_there_before_is_ordered_again(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """An order by hand of a day through which work was moved on stands there again, and stays when that is undone."""
    do_later()
    day = _work(_days(string[0]))
    enter("ordered", string[0], DAWN + timedelta(days=day + 2), exercise="walk", text="in hand")
    _move(string[0], day, day + 1)
    days = _days(string[0])
    to = next(d for d in range(9) if d not in {day, day + 1} and days[d] not in {days[day], "race"})
    assert not _move(string[0], day + 1, to).freed
    (order,) = _standing(string[0], day + 1)
    assert (order["exercise"], order["text"], order.get("moved_from")) == ("walk", "in hand", None)
    take_back_move(string[0], FIRST + timedelta(days=to), who("trainer"))
    assert _standing(string[0], to) == []
    assert len(_standing(string[0], day + 1)) == 1


@pytest.mark.parametrize("rides", [True, False])
def test_work_under_a_rider_is_not_moved_to_a_day_on_which_nobody_rides(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job], monkeypatch: pytest.MonkeyPatch, *, rides: bool
) -> None:
    """It is refused at once, where somebody rides on other days; where nobody is known to ride at all it is not."""
    do_later()
    day = _work(_days(string[0]))

    def riding(_now: Moment, days: list[date]) -> list[int]:
        return [2 * (rides and one != FIRST + timedelta(days=day + 1)) for one in days]

    monkeypatch.setattr(plan_moves, "riding", riding)
    if not rides:
        _move(string[0], day, day + 1)
        return
    with pytest.raises(WorkNotMovedError, match="nobody rides on"):
        _move(string[0], day, day + 1)
    assert _standing(string[0], day + 1) == []


def _vet(horse: Horse, hands: Hands, day: date) -> None:
    enter("vet_finding", horse, hands.back(minutes=1), "vet", text="short", advice="box", until=str(day))


def _declared(horse: Horse, _hands: Hands, day: date) -> None:
    Engagement.objects.create(horse=horse, race="Coombe Stakes", course="Coombe", zone="Europe/London", day=day,
                              distance_m=1200, state="declared")  # fmt: skip


@pytest.mark.parametrize(("since", "told"), [(_vet, "the vet does not leave"), (_declared, "it runs on")])
def test_what_stands_against_a_day_is_said_at_once(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job], since: Callable[..., None], told: str
) -> None:
    """Nothing is ordered where the vet does not leave it open, or the horse runs; the reason is said."""
    do_later()
    day = _work(_days(string[0]))
    since(string[0], hands, FIRST + timedelta(days=day + 1))
    with pytest.raises(WorkNotMovedError, match=told) as refusal:
        _move(string[0], day, day + 1)
    assert string[0].name in str(refusal.value)
    assert _standing(string[0], day + 1) == []


def test_only_days_to_come_of_the_last_plan_are_moved(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """An older plan, a day that is none of its, the same work and a move that was none are refused."""
    do_later()
    days = _days(string[0])
    day, on = _work(days), FIRST + timedelta(days=1)
    trainer = who("trainer")
    with pytest.raises(WorkNotMovedError, match="worked out anew"):
        move_day(string[0], _row().pk - 1, (on, FIRST), trainer)
    for pair in ((FIRST - timedelta(days=1), on), (on, FIRST + timedelta(days=30)), (date.min, on)):
        with pytest.raises(WorkNotMovedError, match="no such day"):
            move_day(string[0], _row().pk, pair, trainer)
    with pytest.raises(WorkNotMovedError, match="does the same"):
        _move(string[0], day, day)
    with pytest.raises(WorkNotMovedError, match="nothing was moved"):
        take_back_move(string[0], on, trainer)


def test_a_move_that_clashes_is_told_and_can_be_taken_back(
    string: list[Horse], hands: Hands, do_later: Callable[[], Job]
) -> None:
    """Fast work by hand on two days in a row leaves no plan: the rules are told; taken back there is one."""
    enter("ordered", string[0], DAWN + timedelta(days=5), exercise="fast", furlongs=3)
    do_later()
    before = _days(string[0])
    quick = [day for day, name in enumerate(before) if ("fast" in name or "half" in name) and day != 4]
    if not quick:
        enter("ordered", string[0], DAWN + timedelta(days=9), exercise="fast", furlongs=3)
        do_later()
        before = _days(string[0])
        quick = [8]
    _move(string[0], quick[0], 5)
    do_later()
    values = kept()
    assert set(values["clashes"]) == {str(string[0].pk)}
    words = " ".join(plain(Said.of_json(one)) for one in values["clashes"][str(string[0].pk)]["sets"][0])
    assert "as was fixed by hand" in words
    assert "from one fast work or race to the next" in words
    take_back_move(string[0], FIRST + timedelta(days=5), who("trainer"))
    do_later()
    assert _days(string[0])[4] == before[4]
    assert kept()["clashes"] == {}
