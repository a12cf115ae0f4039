"""Weeks outside their routine: each is told with what it has, what the routine has, and why."""

from dataclasses import replace

from planning.work.examples import dragged, moved
from planning.work.tiny_horses import MONDAY, PRICES, SETTINGS
from upsides.books.diary.work import ALLOWED
from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Plan, Race, Step
from upsides.planning.work.outside import string_outside, weeks_outside
from upsides.planning.work.plans import adapt, plan_work
from upsides.planning.work.said import plain
from upsides.planning.work.sentences import told
from upsides.planning.work.shared import Shared
from upsides.planning.work.shown import differences, string_differences
from upsides.planning.work.string import plan_string

SPRINTER = SETTINGS.routine("sprinter")
PLAIN = Horse(1, MONDAY, SPRINTER, name="Almond")


def lines(horse: Horse, plan: Plan) -> list[str]:
    """Return what is told of a plan."""
    return [plain(one) for one in told(horse, plan, PRICES)]


def missed(least: bool) -> Horse:  # noqa: FBT001 -- one of two
    """Return a horse whose day of fast work has another order by hand."""
    stood = dict(enumerate(plan_work(PLAIN, PRICES)[0].plan.days))
    return replace(PLAIN, stands=stood, knew=stood, pins={4: "walker"}, least=least)


def test_a_week_that_misses_its_work_is_told_with_the_reason() -> None:
    """Kept to the plan before, the week has no fast work; the order by hand, and what the plan is held to, are why."""
    horse = missed(least=True)
    found = adapt(horse, PRICES)
    assert not any(horse.routine.orders[name].fast for name in found.plan.days[:7])
    assert (
        "Week of Mon 30 Nov: no fast work (the routine has 3 to 3.5 f), because Almond does walker on Fri 4 Dec, as "
        "was fixed by hand and otherwise more would change of the plan that stands."
    ) in lines(horse, found.plan)


def test_what_stands_against_another_day_is_told() -> None:
    """Where on no other day nothing stands in the way, the rule of the best of them is told beside that of its own."""
    horse = replace(PLAIN, pins=dict.fromkeys(range(7), "walk") | {6: "off"}, days=7)
    (found,) = plan_work(horse, PRICES)
    (week,) = weeks_outside(horse, found.plan, PRICES, differences(horse, found.plan, PRICES))
    assert [part.kind for part in week.parts] == ["fast", "canter"]
    assert {reason.rule.kind for reason in week.reasons if reason.rule} == {"pin"}


def test_a_plan_as_the_routine_has_it_is_in_no_week_outside_it() -> None:
    """Nothing is told of weeks that have what their routine has, however far they reach."""
    horse = replace(PLAIN, races=(Race(30, 1200.0),))
    plan = plan_work(horse, PRICES)[0].plan
    assert weeks_outside(horse, plan, PRICES, differences(horse, plan, PRICES)) == ()


def test_every_week_that_costs_is_told() -> None:
    """A week is told where, and only where, it is priced for fast work, canter or lessons that it lacks or has over."""
    steps = (Step(0, 12, ALLOWED["walk"]),)
    for horse in (replace(PLAIN, steps=steps, races=(Race(24, 1200.0),)), moved().horse, missed(least=False)):
        found = adapt(horse, PRICES)
        weeks = weeks_outside(horse, found.plan, PRICES, differences(horse, found.plan, PRICES))
        names = [f"{kind}_{way}" for kind in ("fast", "canter", "lessons") for way in ("short", "over")]
        priced = sum(getattr(found.amounts, name) for name in names)
        assert abs(sum(abs(part.off) for week in weeks for part in week.parts) - priced) < 0.2
        assert all(week.reasons for week in weeks)
        assert len(weeks) <= len(asked(horse).weeks)


def test_what_others_have_taken_is_a_reason() -> None:
    """Where the one place in fast work of the other days is another's, that is told as what stands against them."""
    one, other = (replace(PLAIN, number=number, name=name) for number, name in ((1, "Almond"), (2, "Briar")))
    shared = Shared(workers={day: int(day == 4) for day in range(10)})
    found = plan_string([one, other], shared, PRICES)
    whole = found.horses, found.plans, found.pairs, shared, PRICES
    weeks = [week for own in string_outside(*whole, string_differences(*whole)) for week in own]
    kinds = {reason.rule.kind for week in weeks if week.first == 0 for reason in week.reasons if reason.rule}
    assert kinds == {"workers"}


def test_a_week_that_is_not_whole_is_told_by_its_days() -> None:
    """From a Thursday on the days of the week are named, and one day alone by itself."""
    horse = replace(PLAIN, first=MONDAY.replace(month=12, day=3), pins=dict.fromkeys(range(3), "walk"))
    weeks = [one for one in lines(horse, plan_work(horse, PRICES)[0].plan) if "(the routine has" in one]
    assert weeks[0].startswith(
        "Thu 3 Dec to Sun 6 Dec: no fast work (the routine has 1.7 to 3 f), nothing at the canter"
    )


def test_fast_work_near_a_race_is_told() -> None:
    """Fast work by hand two days before a race is told beside the routine's last."""
    horse = replace(PLAIN, races=(Race(6, 1200.0),), pins={4: "fast_3f"}, gap=1)
    assert "The fast work on Fri 4 Dec is 2 days before the race; the routine's last is 3 days before." in lines(
        horse, plan_work(horse, PRICES)[0].plan
    )


def test_a_horse_is_named_once_in_a_row() -> None:
    """Reasons one after the other call the horse by its name and then it."""
    horse = Horse(6, MONDAY, SPRINTER, (Race(18, 1200.0),), name="Almond")
    stood = dict(enumerate(plan_work(horse, PRICES)[0].plan.days))
    again = dragged(horse, stood, 1, 2)
    for line in lines(again, adapt(again, PRICES).plan):
        assert line.count("Almond") <= 1
