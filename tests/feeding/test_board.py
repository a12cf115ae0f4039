"""The feed board of a barn."""

import pytest

from upsides.errors import FeedingRefusedError
from upsides.feeding import Line, Place, Serving, board

PLACES = [Place("Elm", "2", "Umber"), Place("Elm", "1", "Loam"), Place("Elm", "", "Wharf")]
TIMES = ["morning", "evening"]
OATS, HAY = Serving("morning", "oats", 2.0), Serving("evening", "hay", 6.0)


def test_horses_stand_in_walking_order_with_a_cell_for_each_feed_time() -> None:
    """Rows follow the walk and not the names, and each has one cell a feed time, empty ones too."""
    found = board(PLACES, TIMES, {"Umber": [OATS], "Loam": [HAY], "Wharf": []}, {})
    assert found.times == ("morning", "evening")
    assert [row.place.horse for row in found.rows] == ["Umber", "Loam", "Wharf"]
    assert [[len(cell) for cell in row.times] for row in found.rows] == [[1, 0], [0, 1], [0, 0]]


@pytest.mark.parametrize(
    ("now", "before", "line"),
    [
        ([OATS], [OATS], Line("oats", 2.0, 2.0, "same")),
        ([OATS], [Serving("morning", "oats", 1.5)], Line("oats", 2.0, 1.5, "more")),
        ([OATS], [Serving("morning", "oats", 2.5)], Line("oats", 2.0, 2.5, "less")),
        ([OATS], [], Line("oats", 2.0, 0.0, "new")),
        ([], [OATS], Line("oats", 0.0, 2.0, "stopped")),
    ],
)
def test_changes_against_yesterday_are_marked(now: list[Serving], before: list[Serving], line: Line) -> None:
    """More, less, new and stopped are marked with what it was, and a row says whether anything changed."""
    (row,) = board(PLACES[:1], TIMES, {"Umber": now}, {"Umber": before}).rows
    assert row.times == ((line,), ())
    assert row.changed == (line.mark != "same")


def test_an_unknown_yesterday_is_not_called_new() -> None:
    """Where yesterday is not written down nothing is marked as changed."""
    (row,) = board(PLACES[:1], TIMES, {"Umber": [OATS]}, {}).rows
    assert row.times[0] == (Line("oats", 2.0, None, "not known"),)
    assert not row.changed


def test_a_horse_without_a_ration_is_not_one_that_gets_nothing() -> None:
    """A horse with no ration written down says so; one whose ration is empty is written."""
    found = board(PLACES[:2], TIMES, {"Loam": []}, {"Umber": [OATS]})
    assert [row.written for row in found.rows] == [False, True]
    assert found.rows[0].times == ((), ())


def test_a_feed_moved_to_another_feed_time_stops_at_one_and_is_new_at_the_other() -> None:
    """Marks are by feed time."""
    (row,) = board(PLACES[:1], TIMES, {"Umber": [Serving("evening", "oats", 2.0)]}, {"Umber": [OATS]}).rows
    assert [[line.mark for line in cell] for cell in row.times] == [["stopped"], ["new"]]


def test_what_cannot_be_printed_is_refused() -> None:
    """A feed time that the yard has not, a feed written twice and a horse in two boxes are refused."""
    with pytest.raises(FeedingRefusedError, match="feed time of Umber"):
        board(PLACES[:1], TIMES, {"Umber": [Serving("noon", "oats", 1.0)]}, {})
    with pytest.raises(FeedingRefusedError, match="written twice"):
        board(PLACES[:1], TIMES, {"Umber": [OATS, OATS]}, {})
    with pytest.raises(FeedingRefusedError, match="two boxes"):
        board([PLACES[0], Place("Oak", "7", "Umber")], TIMES, {}, {})
