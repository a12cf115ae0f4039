"""A horse's plan, the string's week, and tomorrow's list from the plan: what pages say, to whom, and what is logged."""

import re
from datetime import date, timedelta
from html import unescape
from typing import Any

import pytest
from django.test import Client

import worlds
from mornings import EVE, Hands, enter, only, who
from upsides.books.models import Engagement, Entry, Gallop, Horse, Inside, Job, Sight
from upsides.books.models.answer import PLAN
from upsides.books.queries import moments
from upsides.books.queries.string_plan import planned_orders
from upsides.books.queries.usual import usual
from upsides.books.services.answers import store
from upsides.books.services.lists import order
from upsides.books.services.releases import release
from upsides.web.planning.pages import kind_words
from worlds import ClientAs

DAY = date(2026, 6, 20)
TOMORROW = DAY + timedelta(days=1)
ORDERS: dict[str, list[Any]] = {
    "hack_canter": ["hack canter", "hack_canter", None, False],
    "steady_canter": ["long steady canter", "steady_canter", None, False],
    "fast_3f": ["fast three furlongs on rising ground", "fast", 3.0, False],
    "half_speed_upsides": ["half-speed, upsides", "half_speed", 6.0, True, None],
    "off": ["day off", "off", None, False],
    "race": ["race", "race", None, False],
}
CANTERS = ["steady_canter"] * 10
BESIDE = [*["steady_canter"] * 3, "half_speed_upsides", *["steady_canter"] * 6]
BUSY = ["fast_3f", "off", "hack_canter", "half_speed_upsides", "off", *["steady_canter"] * 4, "race"]


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def string(hands: Hands) -> list[Horse]:
    three = only(3)
    Horse.objects.exclude(pk__in=[one.pk for one in three]).update(left="2026-06-01")
    Horse.objects.filter(pk__in=[one.pk for one in three]).update(joined="2026-01-05", left=None)
    return three


@pytest.fixture
def planned(string: list[Horse]) -> list[Horse]:
    """Three horses: one busy, one that canters, one without a plan."""
    keep(string)
    return string


def of_horse(days: list[str], routine: list[str], **more: Any) -> dict[str, Any]:
    metres = [0] * 26 + [30] + [0] * 3 + [600] + [0] * 13
    return {
        "kind": "sprinter", "cost": 2.0, "races": [], "says": ["In short."], "stages": ["From Sun 21 Jun: building."],
        "days": [list(pair) for pair in zip(days, routine, strict=True)], "later": [],
        "weeks": [["2026-06-21", "2026-06-21", 3.0, 8.0, metres]], **more,
    }  # fmt: skip


def keep(string: list[Horse], day: date = DAY, first: date = TOMORROW, orders: dict[str, list[Any]] = ORDERS) -> None:
    a, b, c = (str(one.pk) for one in string)
    busy = of_horse(BUSY, ["steady_canter", *BUSY[1:]], races=[["2026-06-30", 1207.0]],
                    says=["In short.", "Sun 21 Jun: fast instead of canter, because so it is."])  # fmt: skip
    values = {
        "first": str(first), "days": 10, "cost": 2.0, "bound": 2.0, "gap": 0.0, "proven": True, "orders": orders,
        "horses": {a: busy, b: of_horse(BESIDE, BESIDE)}, "pairs": [[3, int(a), int(b)]],
        "clashes": {c: ["it runs on Wed 24 Jun", "the vet leaves it at a walk"]},
    }  # fmt: skip
    store(PLAN, day, values, {})


def read(client: Client, path: str) -> str:
    answer = client.get(path)
    assert answer.status_code == 200, answer.content.decode()[:400]
    return unescape(answer.content.decode()).replace("\u00a0", " ")


def plain(page: str) -> str:
    return " ".join(re.sub(r"<[^>]+>", " ", page).split())


def answer_of(page: str) -> str:
    found = re.search(r'<p class="answer">(.*?)</p>', page)
    assert found
    return found[1]


def test_a_horses_plan_opens_with_one_sentence(planned: list[Horse], client_as: ClientAs) -> None:
    """Fast days, the race and how much departs from the routine come first; days, reasons and distances follow."""
    page = read(client_as("trainer"), f"/horse/{planned[0].pk}/plan/")
    assert answer_of(page) == (
        "Fast work on Sun 21 Jun and Wed 24 Jun; it runs on Tue 30 Jun; other than the routine on 1 day of 10."
    )
    text = plain(page)
    assert "Sun 21 Jun fast three furlongs on rising ground long steady canter" in text
    assert f"half-speed, upsides with {planned[1].name}" in text
    assert "Sun 21 Jun: fast instead of canter, because so it is." in text
    assert "Tue 30 Jun: a race over 6 f" in text
    assert "3.0 f 8.0 f" in text
    assert "600 m" in text
    assert "30 m" not in text
    assert "In short." not in text
    assert "20 June 2026" in text.partition("Worked out:")[2]


def test_a_horse_without_a_plan_shows_what_clashes(planned: list[Horse], client_as: ClientAs) -> None:
    """The rules of which one must be given up stand there in words, on its page and in the week."""
    page = read(client_as("trainer"), f"/horse/{planned[2].pk}/plan/")
    assert answer_of(page) == f"{planned[2].name} has no plan: not all that is asked of it can be kept."
    assert "the vet leaves it at a walk" in page
    assert "it runs on Wed 24 Jun ; the vet leaves it at a walk" in plain(read(client_as("trainer"), "/plan/"))
    assert "there is a plan" not in plain(page).lower(), "an earlier version had not tried whether there is"


def test_a_horse_whose_rules_clash_twice_shows_both(planned: list[Horse], client_as: ClientAs) -> None:
    """Both clashes stand there, and without what there is a plan; that any one is enough only where it was tried."""
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    number, path = str(planned[2].pk), f"/horse/{planned[2].pk}/plan/"
    both = {
        "sets": [["it runs", "the vet says walk"], ["it swims", "no pool"]],
        "any_one": False,
        "without": ["it runs", "it swims"],
        "behind": ["it is too near"],
    }
    store(PLAN, row.day, row.values | {"clashes": {number: both}}, {})
    text = plain(read(client_as("trainer"), path))
    assert "These cannot all be kept together: it runs the vet says walk" in text
    assert "And these cannot all be kept together: it swims no pool" in text
    assert "At least one of each must be given up. There is a plan without: it runs it swims" in text
    assert "Giving up one alone is not always enough, for then this may stay in the way: it is too near" in text
    assert "it runs ; the vet says walk . And: it swims ; no pool . Behind them: it is too near" in plain(
        read(client_as("trainer"), "/plan/")
    )
    one = {"sets": [["it runs", "the vet says walk"]], "any_one": True, "without": []}
    store(PLAN, row.day, row.values | {"clashes": {number: one}}, {})
    assert "Give up any one of these and there is a plan: it runs" in plain(read(client_as("trainer"), path))


def test_what_is_open_for_the_vet_stands_before_the_days(
    planned: list[Horse], hands: Hands, client_as: ClientAs
) -> None:
    """Something that nobody took back is told before the orders, to be asked about first."""
    enter("leg", planned[0], hands.back(hours=3), "carer", limb="off_fore", place="fetlock", signs="filling")
    text = plain(read(client_as("trainer"), f"/horse/{planned[0].pk}/plan/"))
    assert text.index("Leg: off fore; fetlock; filling.") < text.index("Day by day")


def test_nothing_was_planned_yet(string: list[Horse], client_as: ClientAs) -> None:
    """Before the first night both pages say that nothing was worked out, and nothing is logged."""
    trainer = client_as("trainer")
    for path in (f"/horse/{string[0].pk}/plan/", "/plan/"):
        assert answer_of(read(trainer, path)) == "No work has been planned yet; it is planned every night."
    assert not Sight.objects.exists()


def test_the_week_has_a_row_a_horse(planned: list[Horse], client_as: ClientAs) -> None:
    """How many work fast tomorrow comes first; each horse with a plan has its ten days in few words, linked."""
    page = read(client_as("trainer"), "/plan/")
    assert answer_of(page) == ("1 of 2 horses works fast on Sunday 21 June; other than the routine in these days: 1.")
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", page, re.DOTALL)
    assert len(rows) == 2
    assert all(row.count("<td") == 10 for row in rows)
    assert f'href="/horse/{planned[0].pk}/plan/"' in page
    assert "<em>fast work, 3f</em>" in page
    assert 'href="/plan/"' in read(client_as("trainer"), "/")


def test_orders_beyond_a_morning_are_told(planned: list[Horse], client_as: ClientAs) -> None:
    """Where more is ordered by hand than a morning takes the week says the day and both numbers, and that it stays."""
    assert "More than a morning takes" not in read(client_as("trainer"), "/plan/")
    row = moments.answer(PLAN, moments.now())
    assert row is not None
    gallop = Gallop.objects.create(name="Long Gallop", surface="turf")
    over = [["workers", 0, None, 2, 5], ["riders", 1, None, 8, 9], ["slots", 1, gallop.pk, 3, 4]]
    store(PLAN, DAY, {**row.values, "beyond": over}, {})
    text = plain(read(client_as("trainer"), "/plan/"))
    for line in (
        "Sun 21 Jun: 5 in fast work, where the morning takes 2.",
        "Mon 22 Jun: 9 ridden, where riders are there for 8.",
        "Mon 22 Jun: 4 on Long Gallop, where it takes 3.",
        "What is ordered by hand stays",
    ):
        assert line in text


def test_on_a_phone_a_horse_is_a_sentence(planned: list[Horse], client_as: ClientAs) -> None:
    """Beside the table stands each horse in a few words, its ten days and the way to its page folded away."""
    page = read(client_as("trainer"), "/plan/")
    folds = re.findall(r"<li><details><summary>.*?</details></li>", page, re.DOTALL)
    assert [plain(re.findall(r"<summary>(.*?)</summary>", one)[0]) for one in folds] == [
        f"{planned[0].name} fast work Sun 21 and Wed 24; runs Tue 30; 1 day is not the routine's",
        f"{planned[1].name} fast work Wed 24",
    ]
    assert all(one.count("<dt>") == 10 for one in folds)
    assert f'<a href="/horse/{planned[0].pk}/plan/">' in folds[0]


def test_days_that_have_gone_are_left_out(planned: list[Horse], hands: Hands, client_as: ClientAs) -> None:
    """Two days later the days before are not shown; as of the evening itself they are."""
    hands.to(EVE + timedelta(days=3))
    trainer = client_as("trainer")
    assert "Sun 21 Jun</th>" not in read(trainer, f"/horse/{planned[0].pk}/plan/")
    then = f"/horse/{planned[0].pk}/plan/?as_of=2026-06-21T02:00"
    assert "Sun 21 Jun</th>" in read(trainer, then)


@pytest.mark.parametrize("login", ["rider", "carer", "vet"])
def test_plans_are_not_open_without_a_release(planned: list[Horse], client_as: ClientAs, login: str) -> None:
    """A rider, a carer or a vet sees nothing of a plan; after a release they do, and that is written down."""
    client = client_as(login)
    assert answer_of(read(client, f"/horse/{planned[0].pk}/plan/")) == "What it will do is not open to you."
    assert answer_of(read(client, "/plan/")) == "This is not open here."
    assert f"/horse/{planned[0].pk}/plan/" not in read(client, f"/horse/{planned[0].pk}/")
    assert not Sight.objects.filter(person=who(login)).exists()
    release(who("trainer"), Inside.PLANS, person=who(login), horse=planned[0])
    assert answer_of(read(client, f"/horse/{planned[0].pk}/plan/")).startswith("Fast work on")
    week = read(client, "/plan/")
    assert planned[0].name in week
    assert planned[2].name not in week
    seen = set(Sight.objects.filter(person=who(login)).values_list("what", "page"))
    assert seen >= {("plans", f"/horse/{planned[0].pk}/plan/"), ("plans", "/plan/")}


def test_a_press_asks_for_the_plan_again(planned: list[Horse], client_as: ClientAs) -> None:
    """The press asks for one job, however often; nobody else may."""
    trainer = client_as("trainer")
    assert "Work it out again" in read(trainer, f"/horse/{planned[0].pk}/plan/")
    for _twice in range(2):
        answer = trainer.post("/plan/again/", {"horse": str(planned[0].pk)})
        assert answer.headers["Location"] == f"/horse/{planned[0].pk}/plan/"
    assert list(Job.objects.values_list("kind", "asked_by__login")) == [("plans", "trainer")]
    assert client_as("rider").post("/plan/again/").status_code == 403


def test_a_plan_under_way_tells_how_far_it_is_and_can_be_stopped(planned: list[Horse], client_as: ClientAs) -> None:
    """Both pages tell best, bound and gap of the running job and stop it; afterwards it can be asked for anew."""
    trainer, path = client_as("trainer"), f"/horse/{planned[0].pk}/plan/"
    trainer.post("/plan/again/")
    doing = "best 31.5 steps, none below 30.0, gap 1.5"
    Job.objects.update(state=Job.State.RUNNING, started_at=EVE, progress=0.6, doing=doing)
    for page in (read(trainer, path), read(trainer, "/plan/")):
        assert "The string's work is being planned." in plain(page)
        assert f"60 %, {doing}" in plain(page)
        assert "Work it out again" not in page
    assert "being planned" not in read(client_as("rider"), path)
    assert client_as("rider").post("/plan/stop/").status_code == 403
    answer = trainer.post("/plan/stop/", {"horse": str(planned[0].pk)})
    assert answer.headers["Location"] == path
    assert Job.objects.get().cancel_asked_at is not None
    assert "Work it out again" in read(trainer, path)


# Tomorrow's list ------------------------------------------------------------------------------------------------------


def test_the_list_is_made_as_planned(planned: list[Horse], hands: Hands, client_as: ClientAs) -> None:
    """What is planned is the default, said so; what a person ordered stays; the others have the usual."""
    a, b, c = planned
    for back in (7, 14):
        enter("exercise", c, hands.back(days=back - 1), exercise="trot")
    order(b.pk, TOMORROW, {"exercise": "walk"}, who("trainer"))
    trainer = client_as("trainer")
    before = plain(read(trainer, "/evening/"))
    assert "not ordered yet planned: fast work, 3f" in before
    assert "walk planned: long steady canter" in before
    assert "Order as planned for 2 horses" in before
    trainer.post("/evening/make/", {"day": str(TOMORROW)})
    made = {one.horse_id: one.values for one in Entry.objects.filter(kind="ordered", superseded_by=None)}
    assert (made[a.pk]["exercise"], made[a.pk]["furlongs"]) == ("fast", 3.0)
    assert made[b.pk]["exercise"] == "walk"
    assert made[c.pk]["exercise"] == "trot"
    assert "fast work, 3f as planned" in plain(read(trainer, "/evening/"))
    assert Sight.objects.filter(person=who("trainer"), page="/evening/", what="plans").exists()


def test_the_form_of_an_order_says_what_was_planned(planned: list[Horse], client_as: ClientAs) -> None:
    """What is filled in from the plan is said to be as planned, another order beside what was; only to who may know."""
    a, b, c = planned
    order(b.pk, TOMORROW, {"exercise": "walk"}, who("trainer"))
    trainer = client_as("trainer")
    forms = [plain(read(trainer, f"/evening/{one.pk}/?day={TOMORROW}")) for one in planned]
    assert "As planned." in forms[0]
    assert "Planned: long steady canter." in forms[1]
    assert "lanned" not in forms[2]
    seen = Sight.objects.filter(person=who("trainer"), what="plans").values_list("horse", flat=True)
    assert set(seen) == {a.pk, b.pk}
    assert c.pk not in seen


def test_a_plan_gives_way(planned: list[Horse], hands: Hands) -> None:
    """A vet's advice, a race and fast work of today go before the plan; a plan of days ago is not taken."""
    a, b, _ = planned
    assert usual(moments.now(), TOMORROW, {})[a.pk].exercise == "fast"
    day3 = usual(moments.now(), TOMORROW + timedelta(days=3), {})[a.pk]
    assert (day3.exercise, day3.upsides) == ("half_speed", [b.pk])
    enter("exercise", a, hands.back(hours=10), exercise="fast")
    assert usual(moments.now(), TOMORROW, {})[a.pk].exercise != "fast"
    enter("vet_finding", b, hands.back(hours=1), "vet", text="x", advice="walk", until="2026-06-30")
    assert usual(moments.now(), TOMORROW, {})[b.pk].exercise == "walk"
    Engagement.objects.create(horse=a, race="Coombe Stakes", course="Coombe", zone="Europe/London", day=TOMORROW,
                              distance_m=1200, state="declared")  # fmt: skip
    assert usual(moments.now(), TOMORROW, {})[a.pk].exercise == "race"
    hands.to(EVE + timedelta(days=2))
    assert planned_orders(moments.now(), TOMORROW + timedelta(days=2)) == {}


def test_a_day_off_takes_no_lot_away(planned: list[Horse], hands: Hands) -> None:
    """On the day after a day off a horse goes in the lot and place, and under the rider, of its last order ridden."""
    a, _b, _c = planned
    rider = who("rider").pk
    values = {"exercise": "hack_canter", "lot": "3", "place": "7", "rider": str(rider)}
    order(a.pk, DAY - timedelta(days=1), values, who("trainer"))
    order(a.pk, DAY, {"exercise": "off"}, who("trainer"))
    found = usual(moments.now(), TOMORROW, {})[a.pk]
    assert (found.exercise, found.lot, found.place, found.rider) == ("fast", 3, 7, rider)


def test_planned_pairs_go_together(planned: list[Horse], hands: Hands) -> None:
    """Two that the plan has upsides are ordered in one lot, beside each other, to the gallop that the plan fills."""
    a, b, _ = planned
    gallop = Gallop.objects.create(name="Furze Hill", surface="turf")
    keep(planned, orders=ORDERS | {"half_speed_upsides": ["half-speed, upsides", "half_speed", 6.0, True, gallop.pk]})
    for horse, lot in ((a, "1"), (b, "2")):
        order(horse.pk, DAY, {"exercise": "hack_canter", "lot": lot, "place": "4"}, who("trainer"))
    found = usual(moments.now(), TOMORROW + timedelta(days=3), {})
    told = [(one.lot, one.place, one.gallop, one.upsides) for one in (found[a.pk], found[b.pk])]
    assert told == [(1, 1, gallop.pk, [b.pk]), (1, 2, gallop.pk, [a.pk])]


def test_work_goes_to_the_gallop_it_mostly_goes_to(planned: list[Horse], hands: Hands) -> None:
    """Where the plan fills no gallop a horse that did something else last goes where such work mostly went."""
    a, b, _ = planned
    gallop = Gallop.objects.create(name="Furze Hill", surface="turf")
    enter("exercise", b, hands.back(days=4), exercise="fast", gallop=gallop.pk)
    assert usual(moments.now(), TOMORROW, {})[a.pk].gallop == gallop.pk
    enter("gallop_state", None, hands.back(hours=1), gallop_row=gallop.pk, state="closed")
    assert usual(moments.now(), TOMORROW, {})[a.pk].gallop is None


def test_a_horse_s_page_says_as_what_it_is_planned() -> None:
    """A kind and the natures over it are called in words, those of a yard's own file as it has them."""
    assert kind_words("middle_distance, keen") == "middle distance, keen"
    assert kind_words("old_hurdler, idle") == "old hurdler, idle"


def test_the_week_says_of_whom_the_vet_is_asked(planned: list[Horse], hands: Hands, client_as: ClientAs) -> None:
    """Of a horse with heat in a leg that is to work fast line and table say it, until its legs are felt as usual."""
    asked = "ask the vet before it works"
    assert asked not in read(client_as("trainer"), "/plan/")
    enter("leg", planned[0], hands.back(hours=3), limb="near_fore", place="fetlock", signs="heat")
    assert read(client_as("trainer"), "/plan/").count(asked) == 2
    enter("legs_felt", planned[0], hands.back(hours=1))
    assert asked not in read(client_as("trainer"), "/plan/")


def test_a_planned_race_is_no_order(planned: list[Horse]) -> None:
    """Whether a horse runs is for the entries to say, so a day that the plan keeps for a race orders nothing."""
    assert planned[0].pk not in planned_orders(moments.now(), TOMORROW + timedelta(days=9))
    assert planned[1].pk in planned_orders(moments.now(), TOMORROW + timedelta(days=9))
