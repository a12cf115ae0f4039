"""Named margins against the published lists; the source stands beside each check."""

from datetime import date

import pytest

from upsides.errors import NoRuleError, NotPublishedError
from upsides.rules import margin_lengths, margin_seconds

NOW = date(2020, 1, 1)


@pytest.mark.parametrize(
    ("margin", "slits", "seconds"),
    [
        ("nose", 3, 0.018),
        ("head", 6, 0.036),
        ("neck", 12, 0.072),
        ("half length", 24, 0.144),
        ("three-quarter length", 30, 0.180),
        ("one length", 33, 0.198),
        ("one and a quarter lengths", 37, 0.222),
    ],
)
def test_japan_slits_in_seconds(margin: str, slits: int, seconds: float) -> None:
    """Each margin lasts its published slits of 6 ms.

    Source: Japanese encyclopaedia article on margins, 2021 and 2023.
    """
    got = margin_seconds("Japan", NOW, margin)
    assert got.value == pytest.approx(slits * 0.006, abs=1e-12)
    assert got.value == pytest.approx(seconds, abs=1e-12)
    assert got.unit == "s"


def test_japan_has_no_length_for_a_neck() -> None:
    """Only the time of a Japanese neck is published, so its length is refused and not worked out."""
    with pytest.raises(NotPublishedError, match="neck"):
        margin_lengths("Japan", NOW, "neck")


@pytest.mark.parametrize(
    ("jurisdiction", "margin", "lengths"),
    [
        # general question-and-answer page on lengths, undated
        ("Britain", "nose", 0.05),
        ("Britain", "short head", 0.1),
        ("Britain", "head", 0.2),
        ("Britain", "neck", 0.3),
        ("Britain", "half length", 0.5),
        ("Britain", "three-quarter length", 0.75),
        ("Britain", "one length", 1.0),
        # explainer of winning margins in a South African article, undated
        ("South Africa", "nose", 0.05),
        ("South Africa", "short head", 0.1),
        ("South Africa", "head", 0.2),
        ("South Africa", "neck", 0.25),
        ("South Africa", "half length", 0.5),
        ("South Africa", "one length", 1.0),
        # settlement rule of an Australian totalisator operator, undated
        ("Australia", "dead heat", 0.0),
        ("Australia", "nose", 0.1),
        ("Australia", "short head", 0.1),
        ("Australia", "head", 0.2),
        ("Australia", "long head", 0.25),
        ("Australia", "half neck", 0.25),
        ("Australia", "neck", 0.3),
        ("Australia", "long neck", 0.4),
        ("Australia", "half length", 0.5),
        ("Australia", "three-quarter length", 0.75),
        ("Australia", "one length", 1.0),
    ],
)
def test_named_margins_in_lengths(jurisdiction: str, margin: str, lengths: float) -> None:
    """Each jurisdiction's list gives its own decimals."""
    assert margin_lengths(jurisdiction, NOW, margin).value == lengths


@pytest.mark.parametrize(("margin", "lengths"), [("nose", 0.02), ("short head", 0.05), ("head", 0.1), ("neck", 0.25)])
def test_the_second_british_list_only_when_asked_for(margin: str, lengths: float) -> None:
    """The contradicting list (personal page, July 2012) is kept under its own name, with low confidence."""
    got = margin_lengths("Britain", NOW, margin, list_name="smaller values")
    assert (got.value, got.rule.confidence) == (lengths, "low")


def test_the_nose_came_into_use_in_britain_in_2008() -> None:
    """A nose is in the British list from 25 February 2008.

    Source: British Horseracing Authority, 21 February 2008.
    """
    assert margin_lengths("Britain", date(2008, 2, 25), "nose").value > 0
    with pytest.raises(NotPublishedError, match="nose"):
        margin_lengths("Britain", date(2008, 2, 24), "nose")


def test_a_jurisdiction_without_a_list_takes_the_common_one_and_says_so() -> None:
    """Hong Kong has no list here; the common one answers with low confidence."""
    got = margin_lengths("HK", NOW, "head")
    assert got.rule.jurisdiction == "anywhere"
    assert got.rule.confidence == "low"


def test_time_is_refused_where_margins_are_not_times() -> None:
    """Outside Japan no margin is defined by the photo-finish."""
    with pytest.raises(NoRuleError, match="Britain"):
        margin_seconds("Britain", NOW, "neck")
