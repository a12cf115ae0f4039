"""Another plan of a horse chosen: what is ordered, what refuses it, and that the next plan is the one chosen."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from books.test_plans_job import DAWN, do, hands, kept, string
from mornings import Hands, enter, who
from upsides.books.diary.work import UNRIDDEN
from upsides.books.models import Engagement, Entry, Horse, Job
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.services.plans import choose_plan
from upsides.errors import PlanNotChosenError

__all__ = ["do", "hands", "string"]
pytestmark = pytest.mark.django_db
Days = list[list[str]]


def _number() -> int:
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    return row.pk


def _plans(horse: Horse) -> tuple[Days, list[Days]]:
    own = kept()["horses"][str(horse.pk)]
    return own["days"], [one["days"] for one in own["others"]]


def _fast(days: Days) -> tuple[str, ...]:
    orders = kept()["orders"]
    return tuple("fast" if orders[name][1] in {"fast", "half_speed"} else "" for name, _routine in days)


@pytest.mark.parametrize("place", [0, 1])
def test_the_plan_chosen_is_the_next_one(string: list[Horse], hands: Hands, do: Callable[[], Job], place: int) -> None:
    """Days on which the plans differ are ordered, no others; the plan made then is the one that was chosen."""
    do()
    best, others = _plans(string[0])
    assert len({_fast(one) for one in [best, *others]}) == 3
    number = _number()
    assert choose_plan(string[0], number, place, who("trainer")) > 0
    ordered = {one.happened_at.date() for one in Entry.objects.filter(kind="ordered", horse=string[0])}
    first = DAWN.date() + timedelta(days=1)
    differ = {first + timedelta(days=day) for day in range(10) if any(one[day] != best[day] for one in others)}
    assert ordered == differ
    assert choose_plan(string[0], number, place, who("trainer")) == 0, "ordered so already"
    do()
    assert [name for name, _ in _plans(string[0])[0]] == [name for name, _ in others[place]]


def test_an_order_of_the_list_keeps_its_lot(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """A day that was ordered as planned before keeps lot and rider when another plan is chosen."""
    do()
    best, others = _plans(string[0])
    day = next(day for day in range(10) if others[0][day] != best[day])
    exercise = kept()["orders"][best[day][0]][1]
    on = DAWN + timedelta(days=1 + day)
    enter("ordered", string[0], on, exercise=exercise, lot=2, place=4)
    choose_plan(string[0], _number(), 0, who("trainer"))
    (now,) = Entry.objects.filter(kind="ordered", horse=string[0], superseded_by=None, happened_at__date=on.date())
    assert now.values["exercise"] == kept()["orders"][others[0][day][0]][1]
    assert (now.values["lot"], now.values["place"]) == (2, 4)


def test_a_day_without_an_order_goes_where_the_horse_last_went(
    string: list[Horse], hands: Hands, do: Callable[[], Job]
) -> None:
    """Ordered anew a day has lot, place and rider of the last order under a rider, whatever was a day off since."""
    rider = who("rider")
    enter("ordered", string[0], DAWN - timedelta(days=3), exercise="hack_canter", lot=2, place=4, rider=rider.pk)
    enter("ordered", string[0], DAWN - timedelta(days=2), exercise="off")
    do()
    choose_plan(string[0], _number(), 0, who("trainer"))
    made = Entry.objects.filter(kind="ordered", horse=string[0], happened_at__gt=DAWN)
    ridden = [one.values for one in made if one.values["exercise"] not in UNRIDDEN]
    assert ridden
    assert {(one["lot"], one["place"], one["rider"]) for one in ridden} == {(2, 4, rider.pk)}


def _vet(horse: Horse, hands: Hands, day: Any) -> None:
    enter("vet_finding", horse, hands.back(minutes=1), "vet", text="short", advice="box", until=str(day))


def _other_order(horse: Horse, _hands: Hands, day: Any) -> None:
    enter("ordered", horse, DAWN + (day - DAWN.date()), exercise="swim")


def _declared(horse: Horse, _hands: Hands, day: Any) -> None:
    Engagement.objects.create(horse=horse, race="Coombe Stakes", course="Coombe", zone="Europe/London", day=day,
                              distance_m=1200, state="declared")  # fmt: skip


@pytest.mark.parametrize(
    ("since", "told"),
    [(_vet, "the vet does not leave"), (_other_order, "something else was ordered"), (_declared, "it runs on")],
)
def test_what_was_written_since_stands_in_the_way(
    string: list[Horse], hands: Hands, do: Callable[[], Job], since: Callable[..., None], told: str
) -> None:
    """What the books have learned since refuses the plan whole: nothing is ordered, and the reason is said."""
    do()
    best, others = _plans(string[0])
    last = max(day for day in range(10) if others[0][day] != best[day])
    since(string[0], hands, DAWN.date() + timedelta(days=1 + last))
    before = Entry.objects.count()
    with pytest.raises(PlanNotChosenError, match=told) as refusal:
        choose_plan(string[0], _number(), 0, who("trainer"))
    assert string[0].name in str(refusal.value)
    assert Entry.objects.count() == before


def test_only_a_plan_of_the_last_answer_is_chosen(string: list[Horse], hands: Hands, do: Callable[[], Job]) -> None:
    """A page older than the last plan, a third plan where there are two, and days that have gone are refused."""
    do()
    number = _number()
    with pytest.raises(PlanNotChosenError, match="worked out anew"):
        choose_plan(string[0], number - 1, 0, who("trainer"))
    with pytest.raises(PlanNotChosenError, match="there is no such plan"):
        choose_plan(string[0], number, 2, who("trainer"))
    hands.to(DAWN + timedelta(days=12))
    with pytest.raises(PlanNotChosenError, match="is past"):
        choose_plan(string[0], number, 0, who("trainer"))
