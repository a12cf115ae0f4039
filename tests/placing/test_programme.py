"""Programmes read by a shape into races to come, and newer word of a race in the place of older."""

import re
from dataclasses import fields
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from planned_races import a_horse, a_race
from programme_lists import HEAD, SHAPE, line, read
from upsides.errors import CurrencyUnknownError, FileUnreadableError, RaceRefusedError, ShapeError, ZoneMissingError
from upsides.placing.amounts import Amount, Money
from upsides.placing.answers import Says
from upsides.placing.eligible import eligible
from upsides.placing.programme import CALLED, Change, races_of, settled
from upsides.placing.race import Build, Due, Race, Stage
from upsides.results.fields import PROGRAMME_FIELDS
from upsides.results.importing import add, rows_lost
from upsides.results.library import Library
from upsides.results.programme import keep_programme, kept_programmes
from upsides.results.programme_rows import (
    NO_CURRENCY,
    NO_SUCH_CURRENCY,
    NO_SUCH_PLACE,
    NO_SUCH_TIME,
    NO_SUCH_ZONE,
    NO_ZONE,
    TWO_ZONES,
)
from upsides.results.shape import read_shape
from upsides.trade.age import AgeRange


def one(rows: str, **more: dict[str, str]) -> Race:
    """Return the only race of a programme in which nothing is at fault."""
    listed = read(rows, **more)
    assert listed.refused.is_empty(), listed.refused
    races, refused = races_of(listed.races)
    assert refused == ()
    return races[0]


def test_a_row_becomes_a_race() -> None:
    """Every column of a programme arrives in its place, with times in UTC and weights in pounds."""
    race = one(line())
    assert (race.source, race.id, race.number, race.course, race.zone) == (
        "calendar",
        "101",
        "3",
        "Larkmoor",
        "Europe/London",
    )
    assert race.day == date(2025, 7, 5)
    assert race.distance_m == pytest.approx(2011.68)
    assert (race.race_class, race.kinds, race.handicap) == ("4", frozenset({"handicap"}), True)
    assert (race.ages, race.band, race.top_weight) == (AgeRange(3), (66.0, 80.0), Amount(133.0))
    assert race.wording == "Fillies allowed 3lb\nPenalties: after 1 June for each race won 6lb"
    assert race.off == datetime(2025, 7, 5, 13, 35, tzinfo=UTC)
    assert race.dues == (
        Due(Stage.ENTER, datetime(2025, 6, 29, 11, tzinfo=UTC), Money(40.0, "GBP")),
        Due(Stage.DECLARE, datetime(2025, 7, 3, 9, tzinfo=UTC)),
    )
    assert race.prize is not None
    assert (race.prize.total, race.prize.win, race.prize.currency) == (10_000.0, Money(6000.0, "GBP"), "GBP")
    assert (race.most_runners, race.stall_side, race.bend, race.to_bend_m, race.rail) == (
        14, "inside", "left", 350.0, "C+3",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("declare", "zone", "expected"),
    [
        ("03/07/2025 10:00", "Europe/London", datetime(2025, 7, 3, 9, tzinfo=UTC)),
        ("03/01/2025 10:00", "Europe/London", datetime(2025, 1, 3, 10, tzinfo=UTC)),
        ("03/07/2025 10:00", "America/New_York", datetime(2025, 7, 3, 14, tzinfo=UTC)),
        ("03/07/2025 10:00", "Australia/Sydney", datetime(2025, 7, 3, 0, tzinfo=UTC)),
        ("2025-07-03T10:00:00+0200", "Europe/London", datetime(2025, 7, 3, 8, tzinfo=UTC)),
        ("26/10/2025 01:30", "Europe/London", datetime(2025, 10, 26, 0, 30, tzinfo=UTC)),
    ],
)
def test_times_are_by_the_courses_clock(declare: str, zone: str, expected: datetime) -> None:
    """Summer time is the course's own, an offset is kept, and of a time that comes twice it is the first."""
    assert one(line(Declare=declare, Zone=zone)).dues[-1].at == expected


def test_a_time_without_any_zone_is_refused() -> None:
    """Where neither row, yard nor shape says the zone of a course, its times are refused one by one and the race stays;
    a zone given for the course is taken, and one in the shape for all."""
    listed = read(line(Zone=""))
    assert set(listed.refused["reason"]) == {NO_ZONE}
    assert listed.refused["field"].to_list() == ["off_at", "enter_by", "declare_by"]
    assert races_of(listed.races)[0][0].dues == ()
    assert one(line(Zone=""), zones={"larkmoor": "Europe/London"}).dues[-1].at.hour == 9
    whole = read(line(Zone=""), shape='timezone = "Europe/London"\n' + SHAPE)
    assert whole.refused.is_empty()
    with pytest.raises(ZoneMissingError, match="Europe/Dublin"):
        a_race(dues=(Due(Stage.DECLARE, datetime(2025, 7, 3, 10)),))  # noqa: DTZ001  # what is refused


def test_another_row_of_the_file_names_the_zone_of_a_course() -> None:
    """A row without a zone takes that of its course on another row, before or behind it, and above an older one's; two
    zones for one course settle nothing, and a zone in the shape is none for a race of another jurisdiction."""
    named, bare = line(Id="101", Zone="Europe/Dublin"), line(Id="102", Zone="", Course="LARKMOOR")
    for rows in (named + bare, bare + named):
        listed = read(rows, zones={"larkmoor": "Europe/Paris"})
        assert listed.refused.is_empty()
        assert set(listed.races["zone"]) == {"Europe/Dublin"}
    listed = read(named + line(Id="103", Zone="Europe/Paris") + bare)
    assert listed.races["zone"].to_list() == ["Europe/Dublin", "Europe/Paris", None]
    told = listed.refused.filter(field="zone")
    assert (told["line"].to_list(), told["reason"].to_list()) == ([4], [TWO_ZONES])
    shape = 'timezone = "Europe/London"\n' + SHAPE.replace("rail =", "jurisdiction =")
    abroad = read(line(Zone="", Rail="FR") + line(Id="102", Zone="", Rail="GB"), shape=shape)
    assert abroad.races["zone"].to_list() == [None, "Europe/London"]
    assert set(abroad.refused["reason"]) == {NO_ZONE}
    assert all(word in NO_ZONE for word in ("Europe/Dublin", "offset", "shape"))


def test_a_jurisdiction_that_is_none_is_emptied_and_told() -> None:
    """A race of nobody knows where keeps its times by its own zone and asks no rules of a place; it breaks nothing."""
    shape = SHAPE.replace("rail =", "jurisdiction =")
    listed = read(line(Rail="Atlantis") + line(Id="102", Rail="Ireland"), shape=shape)
    assert (listed.refused["reason"].to_list(), listed.refused["line"].to_list()) == ([NO_SUCH_PLACE], [2])
    (nowhere, there), refused = races_of(listed.races)
    assert (nowhere.jurisdiction, there.jurisdiction, len(nowhere.dues), refused) == ("", "Ireland", 2, ())
    assert eligible(a_horse(4, mark=84), nowhere).says is Says.NO


def test_times_and_zones_that_cannot_be_are_refused() -> None:
    """An hour that the clock leaps over and a zone that is none are told, and nothing is put in their place."""
    assert read(line(Declare="30/03/2025 01:30")).refused["reason"].to_list() == [NO_SUCH_TIME]
    assert NO_SUCH_ZONE in read(line(Zone="Larkmoor/Moor")).refused["reason"].to_list()


def test_a_row_without_day_or_course_is_left_out_and_told() -> None:
    """Such rows are refused with their line; the others are taken."""
    listed = read(line(Date="") + line(Id="102", Course="") + line(Id="103"))
    assert listed.races["race_id"].to_list() == ["103"]
    assert listed.refused.filter(fate="row")["line"].unique().sort().to_list() == [2, 3]


def test_a_row_left_out_counts_once() -> None:
    """A row whose day is none has times that hang on the day, and is one row left out all the same."""
    listed = read(line(Date="31/06/2025", Off="14:00"))
    assert set(listed.refused["field"]) >= {"day", "off_at"}
    assert rows_lost(listed.refused) == 1


def test_a_race_that_stands_twice_is_taken_once() -> None:
    """The first line counts; a later one is refused, with a word of its own where it says something else."""
    listed = read(line() + line() + line(Max="16"))
    assert listed.races.height == 1
    reasons = listed.refused.sort("line")["reason"].to_list()
    assert [reason.endswith("already") for reason in reasons] == [True, False]


def test_two_races_of_one_name_are_two() -> None:
    """Course, day and number tell races of one name apart where the source has no number of its own."""
    rows = line(Id="") + line(Id="", No="4") + line(Id="", Date="06/07/2025") + line(Id="", Course="Starcross Down")
    races, _ = races_of(read(rows).races)
    assert len({(race.course, race.day, race.number) for race in races}) == 4
    _, heard = settled((), races)
    assert [one.change for one in heard] == [Change.NEW] * 4


@pytest.mark.parametrize(("text", "expected"), [("DOUBLOONS", ""), ("eur", "EUR"), ("gns", "guineas"), ("E4", "")])
def test_what_is_no_currency_is_told_and_its_sums_are_left_out(text: str, expected: str) -> None:
    """A currency is three letters or guineas; any other word is told with its row, and no sum of it is ever shown."""
    listed = read(line(Cur=text))
    race = races_of(listed.races)[0][0]
    told = list(listed.refused.select("field", "value", "reason").iter_rows())
    assert told == ([] if expected else [("currency", text.upper(), NO_SUCH_CURRENCY)])
    assert (race.prize.currency if race.prize else "") == expected
    assert (race.dues[0].cost is None) is not bool(expected)


def test_money_without_a_currency_is_told_and_never_reckoned_with() -> None:
    """A sum of which no currency is known is told and left out; one in another currency needs a rate."""
    shape = SHAPE.replace('currency = "GBP"\n', "")
    listed = read(line(), shape=shape)
    assert listed.refused["reason"].to_list() == [NO_CURRENCY]
    race = races_of(listed.races)[0][0]
    assert (race.prize, race.dues[0].cost) == (None, None)
    abroad = one(line(Cur="EUR"))
    with pytest.raises(CurrencyUnknownError, match="rate"):
        abroad.worth(1, "GBP")
    assert abroad.worth(1, "GBP", {("EUR", "GBP"): 0.85}) == pytest.approx(5100.0)
    assert abroad.worth(3, "EUR") is None


def test_newer_word_of_a_race_supersedes_the_older() -> None:
    """A race heard of again takes the place of what was known, with what has changed; others stay as they were."""
    first, _ = races_of(read(line() + line(Id="102", No="4")).races)
    newer, _ = races_of(read(line(Max="16", Prize="12000")).races)
    races, heard = settled(first, newer)
    assert [race.id for race in races] == ["101", "102"]
    assert (heard[0].change, heard[0].differs) == (Change.CHANGED, ("prize", "most_runners"))
    assert races[0].most_runners == 16
    assert settled(races, newer)[1][0].change is Change.SAME


def test_a_moved_race_is_the_same_race_on_its_new_day() -> None:
    """By the source's number, or by the day it was moved from, the race of the old day is gone and that is told."""
    known, _ = races_of(read(line()).races)
    by_number, heard = settled(known, races_of(read(line(Date="12/07/2025")).races)[0])
    assert [race.day for race in by_number] == [date(2025, 7, 12)]
    assert heard[0].change is Change.MOVED
    assert "moved from 2025-07-05" in str(heard[0])
    assert by_number[0].moved_from == date(2025, 7, 5)
    again, told = settled(by_number, races_of(read(line(Date="12/07/2025")).races)[0])
    assert (again[0].moved_from, told[0].change) == (date(2025, 7, 5), Change.SAME)
    known, _ = races_of(read(line(Id="")).races)
    moved, heard = settled(known, races_of(read(line(Id="", Date="12/07/2025", Was="05/07/2025")).races)[0])
    assert [race.day for race in moved] == [date(2025, 7, 12)]
    assert heard[0].before == known[0]


def test_a_race_that_may_have_been_moved_is_asked_about() -> None:
    """Without a number or a word on it, a race of the same name on another day is new, and the old one is shown."""
    known, _ = races_of(read(line(Id="")).races)
    both, heard = settled(known, races_of(read(line(Id="", Date="12/07/2025")).races)[0])
    assert len(both) == 2
    assert (heard[0].change, heard[0].alike) == (Change.NEW, known[0])


def test_the_wording_says_class_kind_and_fees() -> None:
    """Class, kind and fees that stand in the wording alone arrive; a time or distance beside unread words does not."""
    race = one(line(Title="Sedge", Conditions='"A Novice Stakes (Class 5). £75 to enter, £20 to declare"', Fee=""))
    assert (race.race_class, race.kinds) == ("5", frozenset({"novice"}))
    assert [due.cost for due in race.dues] == [Money(75.0, "GBP"), Money(20.0, "GBP")]
    late = one(line(Conditions="First entries close at noon on 29 June", Enter=""))
    assert [due.stage for due in late.dues] == [Stage.DECLARE]
    late = one(line(Conditions="Late entries close at noon on 29 June", Enter=""))
    assert [due.stage for due in late.dues] == [Stage.DECLARE, Stage.SUPPLEMENT]
    assert one(line(Title="3 Counties Handicap")).race_class == ""
    far = one(line(Conditions="About one mile and three parts", Distance=""))
    assert far.distance_m is None


def test_the_wording_fills_what_the_columns_leave_open() -> None:
    """Times, stake, prizes and room that stand in the wording alone arrive; what a column says goes before."""
    text = (
        '"One mile. Enter by noon, June 29th. £40 stake. Declare by 10.00 a.m. July 3rd. £4187 to the winning horse. '
        'The second to receive £1964. Field limit 12"'
    )
    bare = line(Conditions=text, Distance="", Enter="", Declare="", Fee="", Max="", Prize="", n_1st="", n_2nd="")
    race = one(bare)
    assert race.dues == (
        Due(Stage.ENTER, datetime(2025, 6, 29, 11, tzinfo=UTC), Money(40.0, "GBP")),
        Due(Stage.DECLARE, datetime(2025, 7, 3, 9, tzinfo=UTC)),
    )
    assert race.prize is not None
    assert (race.prize.by_place, race.most_runners, race.distance_m) == ((4187.0, 1964.0), 12, 1609.344)
    assert one(line(Conditions=text, Distance="")).most_runners == 14
    assert one(line(Conditions=text, Distance="")).prize.win == Money(6000.0, "GBP")
    unzoned = read(line(Conditions=text, Enter="", Declare="", Off="", Zone=""))
    assert races_of(unzoned.races)[0][0].dues == ()


def test_columns_that_cannot_be_read_stand_with_the_wording() -> None:
    """Ages and sexes that are no words of the trade show as not read, so that no horse gets a plain yes."""
    race = one(line(Ages="veterans", Sex="any but ponies"))
    assert "Ages: veterans." in race.wording
    assert "Sexes: any but ponies." in race.wording
    assert one(line(Sex="f&m")).builds == frozenset({Build.FEMALE})
    assert one(line(Sex="colts and geldings")).builds == frozenset({Build.ENTIRE, Build.GELDING})


def test_a_band_upside_down_is_refused() -> None:
    """A row whose lower mark is above the upper makes no race and is told with its line."""
    races, refused = races_of(read(line(Band="80-66")).races)
    assert (races, [item.line for item in refused]) == ((), [2])
    with pytest.raises(RaceRefusedError, match="66-80"):
        a_race(band=(80.0, 66.0))


def test_kinds_of_tables_are_not_mistaken(tmp_path: Path) -> None:
    """A programme is not taken for results, and a shape cannot mix the two or leave its races without a name."""
    shape, file = tmp_path / "calendar.toml", tmp_path / "calendar.csv"
    shape.write_text(SHAPE)
    file.write_text(f"{HEAD}\n{line()}")
    with pytest.raises(FileUnreadableError, match="programme"):
        add(Library.create(tmp_path / "library"), [file], str(shape))
    mixed = SHAPE + '[table.race]\nrace_id = "Id"\ndate = "Date"\n'
    with pytest.raises(ShapeError, match="of their own"):
        read_shape(mixed, "mixed")
    with pytest.raises(ShapeError, match="apart"):
        read_shape(re.sub(r"(?m)^(race_id|number|title) = .*$", "", SHAPE), "nameless")


def test_the_documented_shape_is_accepted() -> None:
    """The example in docs/placing.md passes, and the page names every field of a race to come."""
    page = (Path(__file__).parents[2] / "docs" / "placing.md").read_text(encoding="utf-8")
    example = re.search(r"```toml\n(.*?)```", page, re.DOTALL)
    assert example is not None
    assert read_shape(example[1], "docs/placing.md").tables[0].kind == "programme"
    fields = page.partition("### The fields")[2].partition("- **Times.**")[0]
    assert set(re.findall(r"`(\w+)`", fields)) == PROGRAMME_FIELDS.keys()


def test_programmes_are_kept_whole_and_in_order(tmp_path: Path) -> None:
    """What was brought in is read back as it was, in order, as of the day asked about."""
    library = Library.create(tmp_path / "library").folder
    first, second = read(line()).races, read(line(Max="16")).races
    keep_programme(library, first, date(2025, 6, 1))
    keep_programme(library, second, date(2025, 6, 20))
    assert [frame["most_runners"][0] for frame in kept_programmes(library)] == [14, 16]
    then = kept_programmes(library, date(2025, 6, 10))
    assert len(then) == 1
    assert then[0].drop("heard").equals(first)
    assert [path.suffix for path in (library / "programme").iterdir()] == [".parquet"] * 2


def test_whatever_changes_of_a_race_has_a_name() -> None:
    """Each attribute of a race is called by words of the trade where newer word of it differs."""
    assert set(CALLED) == {one.name for one in fields(Race)} - {"moved_from"}
