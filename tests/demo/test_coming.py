"""The programmes of the invented country: read whole but for the words that are meant not to be, one meeting moved."""

from datetime import timedelta

import polars as pl

from upsides.demo import Books, Invented
from upsides.placing import Change, clashes, conditions_of, deadlines, races_of, settled


def test_the_programmes_are_read(invented: Invented, books: Books) -> None:
    """Every row is a race with its deadlines in order; of the wordings one sentence is not read."""
    first = books.programmes.filter(pl.col("heard") == books.programmes["heard"].min()).drop("heard")
    races, refused = races_of(first)
    assert refused == ()
    assert len(races) >= 100
    assert max(race.day for race in races) > invented.today + timedelta(days=80)
    unread = {words for race in races for words in conditions_of(race).unread}
    assert unread == {"Preference is given to horses trained within forty miles of the course."}
    assert not any(clashes(race) for race in races)
    for race in races:
        moments = [one.at for one in deadlines(race)]
        assert moments == sorted(moments)
        assert race.off is not None
        assert moments[-1] == race.off


def test_a_meeting_is_moved(books: Books) -> None:
    """The second programme puts one meeting off by a day; each of its races is the one that it was."""
    days = books.programmes["heard"].unique().sort().to_list()
    earlier, later = (races_of(books.programmes.filter(pl.col("heard") == day).drop("heard"))[0] for day in days)
    heard = settled(earlier, later)[1]
    assert {one.change for one in heard} == {Change.MOVED}
    assert all(one.before and one.race.day - one.before.day == timedelta(days=1) for one in heard)


def test_what_horses_are_meant_for_stands_in_it(invented: Invented, books: Books) -> None:
    """Every race to come that a horse of the yard is meant for is a race of the programme, of that day and trip."""
    races, _refused = races_of(books.programmes.drop("heard"))
    known = {(race.title, race.course, race.day): race.distance_m for race in races}
    ahead = books.engagements.filter(pl.col("day") >= invented.today)
    assert ahead.height >= 10
    for row in ahead.iter_rows(named=True):
        assert known[row["race"], row["course"], row["day"]] == row["distance_m"]
