"""How good a horse's plan is, as its page says it: weeks beside their routine, steps, and of which plan all that is."""

import re
from datetime import timedelta
from typing import Any

from mornings import who
from upsides.books.models import Horse
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.services.answers import store
from upsides.books.services.lists import order
from upsides.planning.work.said import Said
from web.test_plan_moves import _send
from web.test_plan_pages import (
    BUSY,
    DAY,
    ORDERS,
    TOMORROW,
    answer_of,
    hands,
    keep,
    of_horse,
    plain,
    planned,
    read,
    string,
)
from worlds import ClientAs

__all__ = ["hands", "planned", "string"]


def page_of(horse: Horse, client_as: ClientAs) -> str:
    """Return the plan of a horse as the trainer reads it."""
    return read(client_as("trainer"), f"/horse/{horse.pk}/plan/")


def keep_with(horse: Horse, own: dict[str, Any], **more: Any) -> None:
    """Keep the plan anew, with more of one horse."""
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    number = str(horse.pk)
    horses = {**row.values["horses"], number: {**row.values["horses"][number], **own}}
    store(PLAN, DAY, {**row.values, "horses": horses, **more}, {})


def test_weeks_stand_beside_their_routine(planned: list[Horse], client_as: ClientAs) -> None:
    """Each week has the routine's furlongs from and to; one that is outside them is told, with the reason."""
    no_fast = Said("week_no_fast", {"span": Said("span_one", {"high": 3.0})})
    week = Said("outside", {"week": Said("of_week", {"day": TOMORROW + timedelta(days=1)}), "has": (no_fast,)})
    metres = [0] * 44
    weeks = [["2026-06-21", "2026-06-21", 3.0, 8.0, metres, [3.0, 3.0], [0.0, 11.5]],
             ["2026-06-22", "2026-06-28", 0.0, 62.0, metres, [3.0, 3.5], [52.0, 80.0]]]  # fmt: skip
    keep_with(planned[0], {"weeks": weeks, "says": ["In short.", week.as_json()]})
    page = page_of(planned[0], client_as)
    assert "; 1 week is outside the routine." in answer_of(page)
    text = plain(page)
    assert "Week of Mon 22 Jun: no fast work (the routine has 3 f)." in text
    assert "21 Jun 26 3.0 f routine: 3.0 f 8.0 f routine: 0.0 to 11.5 f" in text
    assert "22 Jun 26 – routine: 3.0 to 3.5 f 62.0 f routine: 52.0 to 80.0 f" in text


def test_weeks_of_an_earlier_version_stand_alone(planned: list[Horse], client_as: ClientAs) -> None:
    """Where the routine's furlongs were not kept nothing is said of them."""
    page = page_of(planned[0], client_as)
    assert "3.0 f 8.0 f" in plain(page)
    assert "routine:" not in page
    assert "outside the routine" not in page


def test_what_stands_below_the_days_is_of_the_plan_before_a_move(planned: list[Horse], client_as: ClientAs) -> None:
    """Until the job has ended the page says that reasons and weeks are of the plan before, and afterwards no more."""
    of_before = "A day was moved by hand since: all below the days is still of the plan before that"
    assert of_before not in page_of(planned[0], client_as)
    _send(client_as("trainer"), planned[0], 1, 2)
    text = plain(page_of(planned[0], client_as))
    assert text.count(of_before) == 2
    assert text.index("Day by day") < text.index(of_before) < text.index("Other than the routine, and why")
    own = of_horse([BUSY[1], BUSY[0], *BUSY[2:]], BUSY, moves=[[1, 0]])
    keep_with(planned[0], own)
    assert of_before not in page_of(planned[0], client_as)


def test_an_order_since_is_not_in_the_weeks(planned: list[Horse], client_as: ClientAs) -> None:
    """What is ordered otherwise is said not to be counted in what stands below the days."""
    order(planned[0].pk, TOMORROW, {"exercise": "walk"}, who("trainer"))
    assert "What was ordered since is not counted below the days" in plain(page_of(planned[0], client_as))


def test_steps_and_bound_stand_on_both_pages(planned: list[Horse], client_as: ClientAs) -> None:
    """The horse's steps, the string's and that none comes to less stand there, as the command says them."""
    keep_with(planned[0], {"cost": 11.5, "change": 1.5}, cost=13.5, bound=13.5)
    keep_with(planned[1], {"cost": 2.0, "change": 0.0}, cost=13.5, bound=13.5)
    text = plain(page_of(planned[0], client_as))
    own = f"{planned[0].name} departs by 10 steps from the routine and by 1.5 steps from the plan before."
    whole = "Over the whole string the plan departs by 12 steps from the routine and by 1.5 steps from the plan before."
    assert own in text
    assert whole in text
    assert "A step is one day with an order one step of effort easier than the routine's." in text
    assert "2 steps from the routine." in plain(page_of(planned[1], client_as))
    week = plain(read(client_as("trainer"), "/plan/"))
    assert whole in week
    assert "No plan that keeps every limit departs less from the routine, over the whole string." in week


def test_a_stopped_search_says_what_no_plan_comes_to(planned: list[Horse], client_as: ClientAs) -> None:
    """Gap and bound stand there where the search was stopped."""
    keep_with(planned[0], {"change": 0.0}, cost=13.5, bound=11.0, gap=2.5, proven=False)
    text = plain(page_of(planned[0], client_as))
    assert "by at most 2.5 steps more than it must, and no plan comes to less than 11 steps in all." in text


def test_other_plans_name_the_steps_of_both(planned: list[Horse], client_as: ClientAs) -> None:
    """By how much another plan departs stands beside what the best departs by, and that its search was stopped."""
    days = [["steady_canter", one] for one in BUSY]
    other = {"more": 3.7, "proven": False, "days": days, "says": [], "later": [], "leaves": []}
    keep_with(planned[0], {"cost": 11.5, "change": 1.5, "others": [other]})
    text = plain(page_of(planned[0], client_as))
    assert (
        "by 3.7 steps more than the plan above. That is 13.7 steps in all, where the plan above has 10 steps." in text
    )
    assert "Its search was stopped, so there may be one that departs less." in text


def test_an_earlier_version_kept_no_steps_of_its_own(planned: list[Horse], client_as: ClientAs) -> None:
    """Where changes and departures were kept in one number nothing is said of it."""
    assert "departs by" not in plain(page_of(planned[0], client_as))


def test_a_plan_that_departs_less_for_a_day_more_stands_beside_the_changes(
    planned: list[Horse], client_as: ClientAs
) -> None:
    """It is told with its days, also where no day changed, with the button that orders it and the way to it below."""
    days = [[BUSY[0], "steady_canter"], ["hack_canter", BUSY[1]], *([one, one] for one in BUSY[2:])]
    other = {"more": -3.7, "changes": 1, "proven": True, "days": days, "says": [], "later": [], "leaves": []}
    keep_with(planned[0], {"cost": 11.5, "change": 0.0, "others": [other]}, held=3)
    page = page_of(planned[0], client_as)
    section = page.partition("Other than in the plan before, and why")[2].partition("</section>")[0]
    assert (
        "No day is other than in the plan before. With 1 more day changed it would depart from the routine by 3.7 "
        "steps less: hack canter on Mon 22 Jun."
    ) in plain(section)
    assert 'href="#other-1"' in section
    assert "/plan/choose/" in section
    assert 'id="other-1"' in page
    assert page.count("Order this plan") == 2
    keep_with(planned[0], {"others": [other | {"more": 3.7}]})
    assert "With 1 more day changed" not in page_of(planned[0], client_as)
    keep_with(planned[0], {"others": [{name: one for name, one in other.items() if name != "changes"}]})
    assert "more day changed" not in page_of(planned[0], client_as)


def test_what_each_order_is_stands_folded(planned: list[Horse], client_as: ClientAs) -> None:
    """Each order of the plan has its parts: metres, speed, and rise and surface where they are known."""
    assert "What each order is" not in page_of(planned[0], client_as), "an earlier version kept no parts"
    parts = [[2500, 1.8, 0.0, ""], [603, 15.5, 12.1, "turf"], [400, 9.0, -3.0, "the sea shore"]]
    orders = {name: [*(one[:4]), None, parts if name == "fast_3f" else []] for name, one in ORDERS.items()}
    keep(planned, orders=orders)
    folded = page_of(planned[0], client_as).partition("What each order is")[2].partition("</details>")[0]
    text = plain(folded)
    assert "fast three furlongs on rising ground 2,500 m at 1.8 m/s 603 m at 15.5 m/s, rising 12 m, on turf" in text
    assert "400 m at 9.0 m/s, falling 3 m, on the sea shore" in text
    assert "day off no distance" in text
    assert "race" not in re.findall(r"<dt>(.*?)</dt>", folded)
