from datetime import date

import numpy as np
import pytest

from upsides.demo.clock import judged, margin, par_seconds, section_lengths
from upsides.demo.country import allowance, growth_gap, pounds_per_length

# Unified European scale, 2017 version: single published values (lb) that a three-year-old receives.
EUROPE_2017 = [
    (10, date(2018, 7, 8), 10),
    (12, date(2018, 7, 24), 11),
    (14, date(2018, 8, 24), 10),
    (16, date(2018, 7, 24), 15),
    (16, date(2018, 8, 8), 13),
    (14, date(2018, 9, 8), 9),
    (16, date(2018, 10, 24), 8),
    (5, date(2018, 10, 8), 0),
    (6, date(2018, 10, 8), 1),
    (7, date(2018, 10, 8), 2),
]


@pytest.mark.parametrize(("furlongs", "day", "published"), EUROPE_2017)
def test_invented_weight_for_age_is_like_the_european(furlongs: int, day: date, published: int) -> None:
    """The invented country's three-year-old allowance lies within 3 lb of the published European one."""
    assert abs(allowance(3, day, furlongs * 201.168) - published) <= 3


def test_growth_ends_at_four() -> None:
    """An average horse lacks nothing from four and a half on and more the younger it is."""
    ages = np.array([2.3, 3.0, 3.5, 4.5, 6.0])
    gap = growth_gap(ages, 1600.0)
    assert (np.diff(gap[:4]) < 0).all()
    assert gap[3] == gap[4] == 0


def test_pounds_per_length_meets_the_published_ends() -> None:
    """3 lb at five furlongs, about 2 at a mile, 1 at fifteen furlongs (paraphrase of the British guide)."""
    assert pounds_per_length(5 * 201.168) == pytest.approx(3.0)
    assert pounds_per_length(8 * 201.168) == pytest.approx(2.0, abs=0.15)
    assert pounds_per_length(15 * 201.168) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("gap", "lengths", "words"),
    [
        (0.0, 0.0, "dht"),
        (0.04, 0.05, "nse"),
        (0.11, 0.1, "sh hd"),
        (0.2, 0.2, "hd"),
        (0.3, 0.3, "nk"),
        (0.45, 0.5, "½"),
        (1.26, 1.25, "1¼"),
        (7.6, 7.5, "7½"),
        (22.4, 22.0, "22"),
    ],
)
def test_margins_are_the_common_list(gap: float, lengths: float, words: str) -> None:
    """Nose 0.05, short head 0.1, head 0.2, neck 0.3, then quarters, halves, whole lengths (common list)."""
    assert margin(gap) == (lengths, words)


def test_judged_lengths_add_up_margins() -> None:
    """Published lengths behind the winner are the sum of the margins in front."""
    lengths, words = judged(np.array([0.0, 0.3, 1.5, 1.501]))
    assert lengths.tolist() == [0.0, 0.3, 1.55, 1.55]
    assert words == ["", "nk", "1¼", "dht"]


def test_sections_are_counted_from_the_post() -> None:
    """Sections of 400 m are counted back from the post, the odd piece first."""
    assert section_lengths(1400) == [200.0, 400.0, 400.0, 400.0]
    assert section_lengths(1600) == [400.0] * 4


def test_par_is_near_published_standards() -> None:
    """Times lie within 3 % of Hong Kong's 2008 standard times for good horses at 1000, 1600 and 2000 m."""
    # Course standard times of 21 July 2008, turf, best class: 56.2, 94.0 and 121.9 s.
    for distance, published in ((1000, 56.2), (1600, 94.0), (2000, 121.9)):
        assert par_seconds(distance, 0.0) == pytest.approx(published, rel=0.03)
