"""Examples that authorities publish on classes, marks, penalties and who gets a mark, those that stand nowhere else.

The other published examples are tests where what they are about is tested: band, top and bottom weight, two above the
band and out of the handicap in `tests/rules/test_rules_handicaps.py` and `test_weighing.py` (RC05 to RC12); minimum and
top weights, sex allowances, claims, what the published weight leaves out in `tests/rules/test_rules_allowances.py` and
`test_weighing.py`; who gives way in `test_getting_a_run.py`; bands, rises and averages of pattern races in
`tests/rules/test_rules_handicaps.py`; runs for a mark in `tests/rules/test_rules_entering.py` and
`test_getting_a_run.py`.
"""

from dataclasses import replace
from datetime import date

import pytest

from planned_races import DAY, a_horse, a_race, a_run
from upsides.placing.answers import Says
from upsides.placing.eligible import eligible
from upsides.placing.horse import Mark
from upsides.placing.race import Race
from upsides.placing.weighing import weigh
from upsides.rules import override, rating_bands, runs_for_mark

SECOND = (a_run("2025-05-10", 5), a_run("2025-06-10", 1))
FIRST = (a_run("2025-05-10", 1), a_run("2025-06-10", 1))
THIRD = (a_run("2025-04-10", 5), a_run("2025-05-10", 1), a_run("2025-06-10", 5))


def handicap(race_class: str, **more: object) -> Race:
    return a_race("rated 66-80; highest weight 9st 7lb", kinds=frozenset({"handicap"}), race_class=race_class, **more)


@pytest.mark.parametrize(
    ("mark", "race_class", "runs", "taken"),
    [
        (77, "5", SECOND, True),
        (78, "5", SECOND, False),
        (78, "6", SECOND, False),
        (78, "4", SECOND, True),
        (78, "5", FIRST, True),
        (78, "5", THIRD, True),
    ],
)
def test_a_winner_at_its_second_start_runs_in_classes_5_and_6_rated_77_or_less(
    mark: int,
    race_class: str,
    runs: tuple[object, ...],
    taken: bool,  # noqa: FBT001  # a case
) -> None:
    """A horse whose mark comes of a win at its second start is taken in classes 5 and 6 only if rated 77 or less; one
    that won first time out, one with three runs, and other classes, know no such limit (BHA, translating performance
    figures into an initial handicap rating, undated)."""
    found = eligible(a_horse(3, mark=mark, runs=runs), handicap(race_class))
    against = [one for one in found.findings if one.key == "second start" and one.says is Says.NO]
    assert bool(against) is not taken
    if against:
        assert found.says is Says.NO
        assert "rated 77 at most" in str(against[0])
        assert against[0].rule is not None
        assert "initial handicap rating" in against[0].rule.source


def test_the_limit_on_second_start_winners_is_dated_data() -> None:
    """The classes and the rating stand in the rule; a yard or a race may set others for days of its own, and where no
    authority says so nobody is kept out."""
    rule = runs_for_mark("GB", DAY)
    assert (rule.second_classes, rule.second_most, rule.rule.confidence) == (("5", "6"), 77, "high")
    assert runs_for_mark("JP", DAY).second_most is None
    own = override("runs for a mark", "From July", "GB", "a notice", valid_from=date(2025, 7, 1), runs=3,
                   won_second=2, won_second_classes=["6"], won_second_most=70)  # fmt: skip
    horse = a_horse(3, mark=78, runs=SECOND)
    for race, says in ((handicap("5", overrides=own), []), (handicap("6", overrides=own), [Says.NO]),
                       (handicap("5", overrides=own, day=date(2025, 6, 30)), [Says.NO])):  # fmt: skip
        assert [one.says for one in eligible(horse, race).findings if one.key == "second start"] == says


def test_turf_and_all_weather_marks_are_separate() -> None:
    """A horse may have a mark for turf and another for all-weather, and each race asks its own (BHA, as above)."""
    horse = a_horse(4, marks=(Mark(75, date(2025, 1, 1), "turf"), Mark(68, date(2025, 1, 1), "all-weather")))
    race = handicap("4")
    assert weigh(horse, replace(race, surface="turf")).published - weigh(
        horse, replace(race, surface="synthetic")).published == 7  # fmt: skip


def test_neighbouring_classes_overlap_by_five() -> None:
    """The lowest band of each class from 6 to 2 shares its five lowest ratings with the class below (BHA, flat racing
    structure adjusted, 15 December 2004: ranges of 15 lb overlap by 5)."""
    lowest = {name: min(rating_bands("GB", date(2020, 6, 1), name), key=lambda band: band.low) for name in "65432"}
    for below, above in zip("6543", "5432", strict=True):
        assert lowest[below].high - (lowest[above].low or 0) + 1 == 5


def test_a_group_winner_carries_5_lb_more_in_a_group_3() -> None:
    """A typical penalty of a Group race's winner in a Group 3 is 5 lb, as its conditions say; one that was placed in it
    has none ("What is a penalty?", two racing guides, undated)."""
    race = a_race(
        "Weights: 9st 2lb; penalties: after 31 August 2024, a winner of a Group 3 race 5lb", race_class="group 3"
    )
    won, placed = (a_run("2025-05-10", place, race_class="group 3") for place in (1, 2))
    assert weigh(a_horse(4, runs=(won,)), race).published == 9 * 14 + 2 + 5
    assert weigh(a_horse(4, runs=(placed,)), race).published == 9 * 14 + 2


@pytest.mark.parametrize("pounds", [5, 7])
def test_a_winner_carries_5_to_7_lb_before_it_is_rated_again(pounds: int) -> None:
    """Marks are set anew once a week; a winner in between carries what the conditions say, typically 5 to 7 lb, on top
    of its old mark ("What is a penalty?", two racing guides, undated)."""
    race = replace(handicap("4"), wording=f"rated 66-80; highest weight 9st 7lb; penalties, after June 28th, 2025, "
                   f"a winner {pounds}lb")  # fmt: skip
    before, since = (a_horse(4, mark=70, runs=(a_run(day),)) for day in ("2025-06-20", "2025-07-01"))
    assert weigh(since, race).published - weigh(before, race).published == pounds


@pytest.mark.parametrize(("kind", "claimed"), [("For 3yo+. Claiming price £10,000", True), ("For 3yo+", False)])
def test_any_runner_of_a_claiming_race_may_be_claimed(kind: str, claimed: bool) -> None:  # noqa: FBT001  # a case
    """In a claiming race any runner may be claimed, and that is said of ours (Rule (F)3, general categories)."""
    assert ("claimable" in {one.key for one in eligible(a_horse(4), a_race(kind)).findings}) is claimed
