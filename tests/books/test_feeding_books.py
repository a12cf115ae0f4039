"""What the books hold about feeding: rations from a day on, feed boards, the store, what a horse needs."""

from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

import fed_yard
import worlds
from fed_yard import FedYard
from upsides import feeding
from upsides.books import clock
from upsides.books.amounts import read_delivery, read_serving
from upsides.books.models import FeedBatch, Horse, Move, Ration, Yard
from upsides.books.queries import moments
from upsides.books.queries.feed_needs import Asked, needs, weeks_of, weighings
from upsides.books.queries.feed_store import plans, store, used, who_ate
from upsides.books.queries.feeding import BarnBoard, OnBoard, boards, feeds, in_force, rations
from upsides.books.services.feed_store import Label, deliver, mark, write_feed, write_feed_times
from upsides.books.services.feeding import Amount, copy_ration, take_back, write_ration
from upsides.errors import FeedingRefusedError

DAY = timedelta(days=1)


@pytest.fixture
def fed(loaded: worlds.Yard) -> FedYard:
    return fed_yard.feed_the_yard()


def board_of(barn: str, day: date) -> BarnBoard:
    return next(one for one in boards(moments.now(), day) if one.barn == barn)


def on_board(fed: FedYard, place: int, day: date) -> OnBoard:
    every = (one for board in boards(moments.now(), day) for one in board.horses)
    return next(one for one in every if one.horse == fed.horses[place])


@pytest.mark.parametrize(
    ("typed", "kg"),
    [("", 0), ("2", 2), ("1.5 kg", 1.5), ("1,5", 1.5), ("1½", 1.5), ("500 g", 0.5), ("3 lb", 1.361), (" ½kg ", 0.5)],
)
def test_amounts_are_read_as_they_are_typed(typed: str, kg: float) -> None:
    """Kilograms, grams and pounds are read to a gram, with a point, a comma or a fraction."""
    assert read_serving("cubes at noon", typed) == pytest.approx(kg, abs=1e-12)


@pytest.mark.parametrize(("typed", "kg"), [("1,250 kg", 1250), ("1.2 t", 1200), ("500", 500)])
def test_deliveries_are_read_with_thousands(typed: str, kg: float) -> None:
    """In the weight of a delivery a comma before three digits groups thousands, and tonnes are read."""
    assert read_delivery("delivery", typed) == pytest.approx(kg)


@pytest.mark.parametrize(
    ("typed", "remedy"),
    [
        ("½ scoop", "weigh a scoop of this feed once"),
        ("2 sections", "weigh a section of this feed once"),
        ("a lot", "write it like 2"),
        ("-1", "write it like 2"),
        ("500", "look at the unit"),
        ("nan", "write it like 2"),
        ("1/0", "write it like 2"),
        ("9" * 200, "write it like 2"),
    ],
)
def test_what_is_no_weight_is_refused_with_a_remedy(typed: str, remedy: str) -> None:
    """A scoop, a word or grams typed as kilograms are refused, and the refusal names the field and what to do."""
    with pytest.raises(FeedingRefusedError, match=remedy) as refused:
        read_serving("cubes at noon", typed)
    assert refused.value.field == "cubes at noon"


def test_the_board_tells_nothing_written_from_nothing_given(fed: FedYard) -> None:
    """A horse without a ration is apart from one that gets nothing, and each stands in walking order."""
    brew = board_of("Zbrew", fed.today)
    assert [one.horse for one in brew.horses] == fed.horses[:3]
    assert brew.times == ("morning", "noon", "evening")
    assert [one.nothing for one in brew.horses] == [False, False, True]
    low = board_of("Zlow", fed.today).horses[0]
    assert (low.ration, low.nothing, low.row.written, low.changed) == (None, False, False, False)


def test_the_board_marks_what_changed(fed: FedYard) -> None:
    """Against the day before each amount is the same, more, less, new or stopped, with what it was."""
    row = on_board(fed, 1, fed.today).row
    told = {(time, line.feed): (line.kg, line.before, line.mark)
            for time, cell in zip(fed_yard.TIMES, row.times, strict=True) for line in cell}  # fmt: skip
    assert told == {
        ("morning", "zCubes"): (1.5, 2, "less"),
        ("morning", "zHay"): (0, 3, "stopped"),
        ("noon", "zHay"): (4, 0, "new"),
        ("evening", "zCubes"): (0, 2, "stopped"),
    }
    assert [on_board(fed, place, fed.today).changed for place in range(4)] == [False, True, False, False]


def test_a_change_from_tomorrow_leaves_today_alone(fed: FedYard) -> None:
    """A ration from a day on holds from that day on and on no day before."""
    before = on_board(fed, 0, fed.today).row
    write_ration(fed.horses[0], fed.today + DAY, [Amount("noon", fed.hay.pk, 5)], fed.by)
    assert on_board(fed, 0, fed.today).row == before
    tomorrow = on_board(fed, 0, fed.today + DAY)
    assert tomorrow.changed
    assert [line.kg for line in tomorrow.row.times[1]] == [5]
    assert not on_board(fed, 0, fed.today + 2 * DAY).changed


def test_the_first_ration_is_a_change(fed: FedYard) -> None:
    """Where nothing was written the day before, that is said, and no amount is called new or more."""
    write_ration(fed.horses[3], fed.today, [Amount("noon", fed.hay.pk, 5)], fed.by)
    one = on_board(fed, 3, fed.today)
    assert one.first
    assert one.changed
    assert [line.mark for cell in one.row.times for line in cell] == ["not known"]


def test_two_rations_from_one_day_are_one(fed: FedYard) -> None:
    """Writing again from the same day replaces what was written, and its history keeps both."""
    for kg in (4, 5):
        write_ration(fed.horses[0], fed.today, [Amount("noon", fed.hay.pk, kg)], fed.by)
    row = Ration.objects.get(horse=fed.horses[0], first_day=fed.today)
    assert row.amounts == [{"time": "noon", "feed": fed.hay.pk, "kg": 5}]
    assert [past.amounts[0]["kg"] for past in Ration.history.filter(id=row.pk).order_by("history_id")] == [4, 5]
    assert {past.history_user_id for past in Ration.history.filter(id=row.pk)} == {fed.by.pk}


def test_a_ration_taken_back_lets_the_one_before_go_on(fed: FedYard) -> None:
    """After a ration is taken back, the one before it holds."""
    second = fed.horses[1]
    take_back(Ration.objects.get(horse=second, first_day=fed.today), fed.by)
    assert in_force(rations(moments.now()), fed.today)[second.pk].first_day == fed.today - 30 * DAY
    assert not on_board(fed, 1, fed.today).changed


def test_a_ration_that_cannot_be_is_not_written(fed: FedYard) -> None:
    """A feed, a feed time, an amount or a day that cannot be right is refused, and nothing of it is written."""
    horse, good, today = fed.horses[3], Amount("noon", fed.hay.pk, 5), fed.today
    for amounts, day, reason in [
        ([good, Amount("midnight", fed.hay.pk, 1)], today, "the yard feeds at morning, noon, evening"),
        ([good, Amount("noon", 10**6, 1)], today, "the yard has none of that number"),
        ([good, good], today, "written twice"),
        ([Amount("noon", fed.hay.pk, 21)], today, "look at the unit"),
        ([Amount("noon", fed.hay.pk, float("nan"))], today, "look at the unit"),
        ([good], horse.joined - DAY, "came on"),
        ([good], today + 400 * DAY, "look at the year"),
    ]:
        with pytest.raises(FeedingRefusedError, match=reason):
            write_ration(horse, day, amounts, fed.by)
    assert not Ration.objects.filter(horse=horse).exists()


def test_what_was_left_stands_beside_the_ration(fed: FedYard) -> None:
    """The board tells what a horse left last since the day before, and nothing where nobody wrote it down."""
    fed_yard.enter(fed, fed.horses[0], "feed_left", {"left": "all", "feed": "noon"}, fed.today - DAY, 12)
    fed_yard.enter(fed, fed.horses[0], "feed_left", {"left": "half", "feed": "evening"}, fed.today - DAY, 18)
    fed_yard.enter(fed, fed.horses[1], "feed_left", {"left": "all"}, fed.today - 2 * DAY, 18)
    left = on_board(fed, 0, fed.today).left
    assert left is not None
    assert (left.what.left, left.what.feed) == ("half", "evening")
    assert on_board(fed, 1, fed.today).left is None


def test_horses_turned_out_are_not_on_the_board_nor_fed_from_the_store(fed: FedYard) -> None:
    """A horse that is not in training stands on no board, and its ration uses nothing while it is away."""
    away, today = fed.horses[0], fed.today
    Move.objects.create(horse=away, to=Move.To.TURNED_OUT, first_day=today - 2 * DAY)
    assert away not in [one.horse for one in board_of("Zbrew", today).horses]
    told = used(plans(moments.now(), feeds(moments.now())), today - 3 * DAY, today)
    assert [row.kg for row in told if row.feed == "zBalancer"] == pytest.approx([0.1])
    cubes = {row.day: row.kg for row in told if row.feed == "zCubes"}
    assert cubes == pytest.approx({today - 3 * DAY: 8, today - 2 * DAY: 4, today - DAY: 4, today: 1.5})


def test_what_the_yard_uses_is_the_sum_over_its_horses(fed: FedYard) -> None:
    """The yard's use of each feed a day agrees with the rows of each horse that the room of feeding makes."""
    found, first = plans(moments.now(), feeds(moments.now())), fed.today - 31 * DAY
    whole = {(row.day, row.feed): row.kg for row in used(found, first, fed.today)}
    summed: dict[tuple[date, str], float] = {}
    for row in feeding.fed_between(found, first, fed.today):
        summed[row.day, row.feed] = summed.get((row.day, row.feed), 0) + row.kg
    assert whole == pytest.approx(summed)


def test_the_store_says_what_is_left_and_when_to_order(fed: FedYard) -> None:
    """What was delivered less what rations took is left; it lasts as long as today's rations use it."""
    told = {one.feed.name: one for one in store(moments.now(), 10)}
    cubes = told["zCubes"].stock
    assert cubes is not None
    # open for 20 days with today: 4 kg a day the first horse, 4 and today 1.5 the second; what was fed before that
    # is of another batch
    assert cubes.taken == pytest.approx(19 * 8 + 5.5)
    assert cubes.left == pytest.approx(500 - 157.5)
    assert cubes.unaccounted == 0
    assert cubes.last_day == fed.today + 62 * DAY
    assert cubes.order_by == fed.today + 52 * DAY
    assert told["zHay"].stock is None
    assert told["zHay"].a_day == pytest.approx(3 + 4)


def test_a_batch_is_traced_to_those_that_ate_it(fed: FedYard) -> None:
    """Every horse that was fed the feed while the batch stood open is found, with the days and how sure it is."""
    found = dict(who_ate(moments.now(), fed.batch, fed.today - 2 * DAY, fed.today))
    assert set(found) == set(fed.horses[:2])
    assert [found[horse].kg for horse in fed.horses[:2]] == pytest.approx([12, 4 + 4 + 1.5])
    assert {eater.sureness for eater in found.values()} == {"only this batch was open"}
    with pytest.raises(FeedingRefusedError, match="turn the days round"):
        who_ate(moments.now(), fed.batch, fed.today, fed.today - DAY)


def test_days_of_a_batch_must_be_in_order(fed: FedYard) -> None:
    """A batch opened before it came, finished before it was opened, or on a day to come is refused and stays."""
    came = fed.batch.delivered_on
    for opened, finished in [(came - DAY, None), (None, came), (came + DAY, came), (fed.today + DAY, None)]:
        with pytest.raises(FeedingRefusedError):
            mark(fed.batch, opened, finished, fed.by)
    with pytest.raises(FeedingRefusedError, match="to come"):
        deliver(fed.hay, "", fed.today + DAY, "500", fed.by)
    assert FeedBatch.objects.get() == fed.batch
    assert FeedBatch.objects.get().opened_on == fed.batch.opened_on


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"name": "ZHAY"}, "the yard has one of that name"),
        ({"name": " "}, "no name"),
        ({"energy": "3107"}, "MJ a kg as fed"),
        ({"energy": "a lot"}, "stands on the label"),
        ({"dry_matter": "0.88"}, "in per cent"),
        ({"dry_matter": "120"}, "share of 1"),
        ({"starch": "60", "protein": "40"}, "more than its dry matter"),
        ({"kind": "sweet"}, "there is none"),
    ],
)
def test_a_label_that_cannot_be_is_refused(fed: FedYard, change: dict[str, str], reason: str) -> None:
    """A figure that no feed has, or a name that is taken, is refused, and the list stays as it is."""
    typed = {"name": "zOats", "kind": "concentrate", "energy": "12.1", "dry_matter": "87 %", "starch": "41"} | change
    with pytest.raises(FeedingRefusedError, match=reason):
        write_feed(Label(**typed), fed.by)
    assert len(feeds(moments.now())) == 3


def test_a_feed_time_that_rations_name_stays(fed: FedYard) -> None:
    """Feed times can be named anew as long as no ration that holds or is to come names one that goes."""
    with pytest.raises(FeedingRefusedError, match="rations still name it"):
        write_feed_times(["morning", "evening"], fed.by)
    assert write_feed_times(["Morning", "noon", "evening", "late night"], fed.by)[-1] == "late night"
    assert Yard.objects.get().feed_times == ["morning", "noon", "evening", "late night"]


def test_a_copy_is_the_same_or_scaled_by_mass(fed: FedYard) -> None:
    """A ration copied by mass scales forage and concentrate and leaves supplements; without a mass nobody gets any."""
    first, _second, _third, fourth = fed.horses
    source = Ration.objects.get(horse=first)
    with pytest.raises(FeedingRefusedError, match=fourth.name):
        copy_ration(source, [fed.horses[1], fourth], fed.today + DAY, fed.by, {first.pk: 500, fed.horses[1].pk: 480})
    assert not Ration.objects.filter(first_day=fed.today + DAY).exists()
    masses = {first.pk: 500.0, fourth.pk: 450.0}
    made = copy_ration(source, [fourth], fed.today + DAY, fed.by, masses)[0]
    assert [one["kg"] for one in made.amounts] == pytest.approx([1.8, 2.7, 1.8, 0.1])
    same = copy_ration(source, [fourth], fed.today + 2 * DAY, fed.by)[0]
    assert same.amounts == source.amounts


def test_a_scale_goes_before_a_tape_and_the_last_of_each_counts(fed: FedYard) -> None:
    """The mass is the last one on a scale however new a tape is; without one it is the tape's, and says so."""
    first, second, third = fed.horses[:3]
    fed_yard.enter(fed, first, "mass", {"kg": "490"}, fed.today - 30 * DAY)
    fed_yard.enter(fed, first, "mass", {"kg": "486"}, fed.today - 20 * DAY)
    fed_yard.enter(fed, first, "tape", {"girth_cm": "185", "length_cm": "165"}, fed.today - DAY)
    fed_yard.enter(fed, second, "tape", {"girth_cm": "185", "length_cm": "165"}, fed.today - DAY)
    fed_yard.enter(fed, third, "tape", {"girth_cm": "185"}, fed.today - DAY)
    found = weighings(moments.now(), [horse.pk for horse in fed.horses])
    assert found[first.pk] == feeding.Weighing(fed.today - 20 * DAY, 486)
    assert (found[second.pk].how, found[second.pk].kg) == ("tape", pytest.approx(185**2 * 165 / 11880))
    assert third.pk not in found


def test_a_week_is_counted_by_the_hardest_of_each_day(fed: FedYard) -> None:
    """Each day counts once by the hardest thing done; a week of which too little is written is left out."""
    week = ["steady_canter", "fast", "walk", "hack_canter", "half_speed", "led", "off"]
    fed_yard.work(fed, fed.horses[0], week)
    fed_yard.enter(fed, fed.horses[0], "exercise", {"exercise": "walker"}, fed.today - DAY, 15)
    for back in (1, 2, 3):
        fed_yard.enter(fed, fed.horses[1], "exercise", {"exercise": "fast"}, fed.today - back * DAY)
    weeks, days = weeks_of(moments.now(), fed.horses[0].pk, 1.5)
    assert days == 28
    usual = feeding.Week(canter_days=2, fast_days=2, off_days=1, hours=7.5)
    assert len(weeks) == 4
    assert weeks[1:] == [usual] * 3
    assert weeks[0].fast_days == 2
    assert weeks_of(moments.now(), fed.horses[1].pk, 1) == ([], 3)


def test_needs_follow_from_mass_and_work(fed: FedYard, tmp_path: Path) -> None:
    """The ration is held against the mass and class that count, and the draft meets energy exactly."""
    first, now = fed.horses[0], moments.now()
    ration = Ration.objects.get(horse=first)
    given = [feeding.Serving(one["time"], feeds(now)[one["feed"]].name, one["kg"]) for one in ration.amounts]
    ask = lambda asked: needs(tmp_path, now, first, given, feeds(now).values(), fed_yard.TIMES, asked)  # noqa: E731
    assert ask(Asked()).ration is None
    fed_yard.enter(fed, first, "mass", {"kg": "480"}, fed.today - DAY)
    assert ask(Asked()).work == ""
    found = ask(Asked(work="moderate"))
    assert found.ration is not None
    assert found.ration.needed.mj == pytest.approx(480 * 0.0333 * 1.4 * 4.184)
    assert found.ration.given.mj == pytest.approx(4 * 13 + 3 * 9 + 0.1 * 11)
    assert found.proposal is not None
    assert found.proposal.ration.given.mj == pytest.approx(found.ration.needed.mj)
    assert ask(Asked(work="moderate", kg=500)).kg == 500


def test_a_rule_of_the_yards_own_goes_first(fed: FedYard, tmp_path: Path) -> None:
    """A figure that the yard wrote into its rules is used instead of the shipped one."""
    rule = """
[[rule]]
topic = "feeding"
name = "Moderate work, as our nutritionist has it"
jurisdiction = "anywhere"
source = "our nutritionist"
confidence = "high"
kind = "work"
of = "moderate"
unit = "times average maintenance"
value = 2.0
"""
    (tmp_path / "rules.toml").write_text(rule)
    asked = Asked(work="moderate", kg=500)
    found = needs(tmp_path, moments.now(), fed.horses[0], (), feeds(moments.now()).values(), fed_yard.TIMES, asked)
    assert found.ration is not None
    assert found.ration.needed.mj == pytest.approx(500 * 0.0333 * 2 * 4.184)


def test_a_board_is_what_it_was_at_a_moment(fed: FedYard, monkeypatch: pytest.MonkeyPatch) -> None:
    """As of a moment the board says what was written then, whatever is written, renamed, taken back or left since."""
    Yard.objects.update(fixed_day=None)
    start = datetime.combine(fed.today, datetime.min.time(), clock.place().zone) + timedelta(hours=20)
    monkeypatch.setattr(clock, "now", lambda: start)
    at = moments.as_of(start)
    for model in (Ration, Yard, Horse):
        model.history.update(history_date=start - timedelta(days=31))
    type(fed.hay).history.update(history_date=start - timedelta(days=31))
    shown = boards(at, fed.today)
    monkeypatch.setattr(clock, "now", lambda: start + timedelta(hours=1))
    write_ration(fed.horses[3], fed.today, [Amount("noon", fed.hay.pk, 5)], fed.by)
    take_back(Ration.objects.get(horse=fed.horses[1], first_day=fed.today), fed.by)
    write_feed(Label("zMeadow hay", "forage", "9", "85"), fed.by, fed.hay)
    fed_yard.enter(fed, fed.horses[0], "feed_left", {"left": "all"}, fed.today, 18)
    assert boards(at, fed.today) == shown
    assert boards(moments.now(), fed.today) != shown


def test_a_board_asks_the_same_number_of_questions_for_any_yard(fed: FedYard) -> None:
    """How often a board asks the database does not depend on how many horses and rations there are."""
    with CaptureQueriesContext(connection) as few:
        boards(moments.now(), fed.today)
    model = Horse.objects.order_by("pk")[0]
    for number in range(120):
        horse = Horse.objects.create(
            horse_key=f"more:{number}", name=f"More {number}", foaled=model.foaled, sex=model.sex, joined=model.joined
        )
        for back in (40, 0):
            write_ration(horse, fed.today - back * DAY, [Amount("noon", fed.hay.pk, 1 + back / 10)], fed.by)
    with CaptureQueriesContext(connection) as many:
        found = boards(moments.now(), fed.today)
    assert sum(one.changed for board in found for one in board.horses) == 121
    assert len(many) == len(few) <= 13
