"""Trips in words and pictures."""

import re
from datetime import date
from itertools import product

import pytest

from upsides.books.queries.trips import Trip
from upsides.charts.theme import LIGHT, variable
from upsides.charts.trip_curve import LONGEST_F, SHORTEST_F, TICKS_F
from upsides.trip.defaults import KINDS
from upsides.trip.disagreement import SIDES
from upsides.web.trip import sentences
from upsides.web.trip.by_distance import by_distance
from upsides.web.trip.pictures import curves, figures
from upsides.web.trip.words import KINDS as SAID_KINDS
from upsides.web.trip.words import between_words, in_a_hundred, share_words, trip_words, way_words

# Words ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("furlongs", "words"),
    [(5, "5f"), (7.4, "7½f"), (7.8, "1m"), (8.3, "1m½f"), (10.1, "1m2f"), (12, "1m4f"), (16.2, "2m"), (0.1, "½f")],
)
def test_trips_are_in_the_words_of_the_trade(furlongs: float, words: str) -> None:
    """To the nearest half furlong, in furlongs below a mile and miles from it on (common practice, no source)."""
    assert trip_words(furlongs) == words


def test_ranges_ways_and_shares_in_words() -> None:
    """A range of one trip is that trip; ways are told from a quarter of a furlong on; shares as people say them."""
    assert (between_words(5.9, 7.6), between_words(5.9, 6.1)) == ("6f–7½f", "6f")
    assert [way_words(way) for way in (0.2, -0.4, 1.1, -1.6, 2.0)] == [
        "", "half a furlong", "a furlong", "1½ furlongs", "2 furlongs",
    ]  # fmt: skip
    told = [(0.0, "next to nothing"), (0.25, "a quarter"), (1 / 3, "a third"), (0.5, "half"), (2 / 3, "two thirds")]
    assert [share_words(share) for share, _ in told] == [words for _, words in told]
    assert [in_a_hundred(chance) for chance in (0.0, 0.434, 1.0)] == [1, 43, 99]


def test_every_pair_of_pieces_can_disagree_in_words() -> None:
    """Whichever pieces disagree, over whatever kinds, that is one sentence, what it was bred or made for first."""
    told = {"longer": "family", "longer_kind": "stayer", "shorter": "runs", "shorter_kind": "sprinter"}
    assert sentences.disagreement(told, KINDS) == "Bred to stay, runs like a sprinter."
    said = set()
    names = [name for name, _ in SIDES]
    for one, other in product(names, names):
        if one != other:
            value = {"longer": one, "longer_kind": "stayer", "shorter": other, "shorter_kind": "middle distance"}
            said.add(sentences.disagreement(value, KINDS))
    assert len(said) == len(names) * (len(names) - 1)
    assert all(sentence[0].isupper() and sentence.endswith(".") for sentence in said)
    assert list(SAID_KINDS) == list(KINDS)


def test_what_a_piece_did_is_told_both_ways() -> None:
    """Shorter, longer, hardly; narrower, wider, as wide."""
    assert [sentences.moved(pull) for pull in (-0.6, 0.1, 1.0)] == [
        "moved it half a furlong shorter", "hardly moved it", "moved it a furlong longer",
    ]  # fmt: skip
    assert [sentences.narrows(by) for by in (1.0, 0.0, -0.5)] == [
        "narrows the range by a furlong", "leaves the range as wide", "widens the range by half a furlong",
    ]  # fmt: skip


def test_runs_are_gathered_by_distance() -> None:
    """Runs within a quarter of a furlong of each other are one line: how many, won, best, mean, and late."""
    run = {"figure_lb": 70.0, "late_standing": None, "position": 4, "distance_m": 1200.0}
    late = run | {"figure_lb": 80.0, "late_standing": 0.9, "position": 1, "distance_m": 1207.0}
    lines = by_distance([run | {"distance_m": 2000.0}, run, late, run | {"figure_lb": None}])
    assert [(one.trip, one.runs, one.won, one.best, one.usual, one.late) for one in lines] == [
        ("6f", 2, 1, 80, 75, "90 in 100"),
        ("1m2f", 1, 0, 70, 70, ""),
    ]


# Pictures ------------------------------------------------------------------------------------------------------------


def a_trip(best: float = 8.0) -> Trip:
    """Return a trip that is as likely shorter as longer, in ratio, than `best`."""
    furlongs = tuple(best * 2 ** (step / 20) for step in range(-30, 31))
    share = tuple(2.0 ** (-((step / 10) ** 2)) for step in range(-30, 31))
    total = sum(share)
    return Trip(
        "sprinter", 0.5, best, best / 1.1, best * 1.1, best / 1.3, best * 1.3, furlongs, tuple(s / total for s in share)
    )


def places(svg: str) -> list[float]:
    """Return where the distances that are named stand, px."""
    return [float(x) for x in re.findall(r'<text x="([\d.]+)" y="\d+">', svg)]


def test_the_dot_stands_at_the_best_trip_and_the_bands_beside_it() -> None:
    """On a scale of equal ratios: a mile stands half-way from 5f to 12.8f, and bands reach as far as they say."""
    svg = curves(a_trip(8.0), None)["wide"]
    ticks = dict(zip(TICKS_F, places(svg), strict=True))
    assert ticks[10] - ticks[5] == pytest.approx(ticks[16] - ticks[8], abs=0.2)
    dot = float(re.search(r'<circle cx="([\d.]+)"', svg)[1])
    assert dot == pytest.approx(ticks[8], abs=0.2)
    octave = ticks[10] - ticks[5]
    bands = re.findall(rf'<path d="M([\d.]+) [^"]*L([\d.]+) \d+H[^"]*" fill="var\({variable("heather_inner")}', svg)
    low, high = map(float, bands[0])
    assert (high - low) / octave == pytest.approx(2 * 0.1375, abs=0.01)  # log2 1.1 = 0.1375
    assert LIGHT.heather_wide in svg
    assert "style=" not in svg


def test_a_curve_ends_at_the_borders_of_the_picture() -> None:
    """The curve of a sprinter or a stayer is drawn within the picture, however far its grid reaches."""
    for best in (SHORTEST_F, LONGEST_F):
        svg = curves(a_trip(best), None)["narrow"]
        numbers = [
            float(x) for x, _ in re.findall(r"(-?[\d.]+) (-?[\d.]+)", " ".join(re.findall(r' d="([^"]+)"', svg)))
        ]
        assert min(numbers) >= 11.9
        assert max(numbers) <= 350 - 11.9


def test_runs_are_marks_that_say_what_they_are() -> None:
    """Each run with a figure is a mark with its words, round, diamond or square by the surface; words are escaped."""
    line = [{"furlongs": f, "figure_lb": 70.0, "low_lb": 60.0, "high_lb": 80.0} for f in (4.25, 8.0, 18.5)]
    run = {
        "date": date(2026, 6, 1),
        "course": "<Moor>",
        "position": 1,
        "dead_heat": False,
        "runners": 9,
        "outcome": "finished",
    }
    runs = [
        run | {"distance_m": 1609.344, "figure_lb": 75.0 - n, "surface": surface}
        for n, surface in enumerate(("turf", "dirt", "synthetic", None))
    ]
    svg = figures(line, [*runs, runs[0] | {"figure_lb": None}], "What it shows.")["wide"]
    marks = re.findall(r'<path d="([^"]+)"[^>]*><title>([^<]+)</title></path>', svg)
    assert len(marks) == 4
    assert all("&lt;Moor&gt;, 1609" in words and "1st of 9" in words for _, words in marks)
    assert len({re.sub(r"[\d. -]+", "", drawn) for drawn, _ in marks}) == 3
    assert '<desc id="figures-wide-desc">What it shows.</desc>' in svg
