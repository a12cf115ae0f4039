"""The three best plans on a horse's page: how each differs from best and routine, and one tap to order it."""

from typing import Any

import pytest
from django.test import Client

from mornings import Hands, who
from upsides.books.models import Entry, Horse, Inside, Job
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.services.answers import store
from upsides.books.services.releases import release
from web.test_plan_pages import BESIDE, DAY, answer_of, hands, keep, plain, planned, read, string
from worlds import ClientAs

__all__ = ["hands", "planned", "string"]

LATER = [*["steady_canter"] * 5, "fast_3f", *["steady_canter"] * 4]
NEVER = ["steady_canter"] * 10


@pytest.fixture
def chosen_from(planned: list[Horse]) -> Horse:
    """The horse that works upsides on Wed 24 Jun, with two other plans, and beside it one without a plan."""
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    horse, partner = planned[1], planned[0]

    def other(days: list[str], more: float, says: list[str]) -> dict[str, Any]:
        pairs = [list(pair) for pair in zip(days, BESIDE, strict=True)]
        return {"more": more, "proven": True, "days": pairs, "says": says, "later": [], "leaves": [[3, partner.pk]]}

    others = [other(LATER, 3.0, ["Fri 26 Jun: fast instead of canter, because so it is."]), other(NEVER, 3.5, [])]
    values = row.values["horses"] | {str(horse.pk): row.values["horses"][str(horse.pk)] | {"others": others}}
    store(PLAN, DAY, {**row.values, "horses": values}, {})
    return horse


def _press(client: Client, horse: Horse, place: int, answer: int | None = None) -> Any:
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    asked = {"answer": str(answer or row.pk), "place": str(place)}
    return client.post(f"/horse/{horse.pk}/plan/choose/", asked)


def test_each_other_plan_stands_with_its_differences(
    chosen_from: Horse, planned: list[Horse], client_as: ClientAs
) -> None:
    """When it works fast, by how much it departs more, each day beside the best plan's, reasons, and who is left."""
    text = plain(read(client_as("trainer"), f"/horse/{chosen_from.pk}/plan/"))
    first, _, second = text.partition("Two other plans")[2].partition("No fast work in these days")
    assert "Fast work on Fri 26 Jun It departs from the routine by 3 steps more than the plan above." in first
    assert "Wed 24 Jun long steady canter half-speed, upsides" in first
    assert "Fri 26 Jun fast three furlongs on rising ground long steady canter" in first
    assert "Fri 26 Jun: fast instead of canter, because so it is." in first
    assert f"{planned[0].name} would then have nobody to go with on Wed 24 Jun." in first
    assert "by 3.5 steps more" in second
    assert text.count("Order this plan") == 2


def test_one_tap_orders_a_plan(chosen_from: Horse, client_as: ClientAs) -> None:
    """The days on which the plans differ are ordered, and the string's work is asked to be planned round them."""
    trainer = client_as("trainer")
    answer = _press(trainer, chosen_from, 0)
    assert answer.headers["Location"] == f"/horse/{chosen_from.pk}/plan/"
    made = Entry.objects.filter(kind="ordered", horse=chosen_from).order_by("happened_at")
    assert [(f"{one.happened_at:%a}", one.values["exercise"]) for one in made] == [
        ("Wed", "steady_canter"), ("Fri", "fast"),
    ]  # fmt: skip
    assert list(Job.objects.values_list("kind", "state")) == [("plans", "waiting")]
    page = read(trainer, f"/horse/{chosen_from.pk}/plan/")
    assert "2 days are ordered." in page
    assert "half-speed, upsides with" in page
    assert answer_of(page).endswith("; 2 days are ordered otherwise since.")
    assert page.count("ordered since: long steady canter") == 1
    assert "ordered since: fast work, 3f" in page


def test_a_plan_that_is_not_the_last_is_refused_in_words(chosen_from: Horse, client_as: ClientAs) -> None:
    """A page that has grown old orders nothing; it comes back with the reason and the plans of now."""
    answer = _press(client_as("trainer"), chosen_from, 0, answer=1_000_000)
    assert answer.status_code == 400
    text = plain(answer.content.decode())
    assert f"This plan of {chosen_from.name} cannot be ordered: it has been worked out anew since" in text
    assert "Two other plans" in text
    assert not Entry.objects.filter(kind="ordered").exists()
    assert not Job.objects.exists()


def test_who_orders_no_work_chooses_no_plan(chosen_from: Horse, client_as: ClientAs) -> None:
    """A rider to whom the plan is released sees the plans and no button, and a press of theirs is refused."""
    release(who("trainer"), Inside.PLANS, person=who("rider"), horse=chosen_from)
    text = read(client_as("rider"), f"/horse/{chosen_from.pk}/plan/")
    assert "Two other plans" in text
    assert "Order this plan" not in text
    assert _press(client_as("rider"), chosen_from, 0).status_code == 403
    assert _press(client_as("trainer"), chosen_from, 7).status_code == 400


def test_days_that_have_gone_take_the_plans_with_them(chosen_from: Horse, hands: Hands, client_as: ClientAs) -> None:
    """Once a day on which the plans differ is past none of them is shown; nor where none is kept."""
    path = f"/horse/{chosen_from.pk}/plan/"
    hands.to(hands.at.replace(day=25))
    assert "Two other plans" not in read(client_as("trainer"), path)
    hands.to(hands.at.replace(day=20))
    keep(list(Horse.objects.filter(left=None).order_by("pk")))
    assert "Two other plans" not in read(client_as("trainer"), path)
