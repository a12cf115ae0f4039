from datetime import date

import pytest
from django.utils.translation import override

from upsides.results.schema import OUTCOMES
from upsides.web.shell.templatetags import words


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (1, "1st"),
        (2, "2nd"),
        (3, "3rd"),
        (4, "4th"),
        (11, "11th"),
        (12, "12th"),
        (13, "13th"),
        (21, "21st"),
        (112, "112th"),
    ],
)
def test_ordinals(number: int, text: str) -> None:
    """English ordinals, the teens included."""
    assert words.ordinal(number) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.05, "a nose"),
        (0.1, "a short head"),
        (0.2, "a head"),
        (0.3, "a neck"),
        (0.5, "½"),
        (0.75, "¾"),
        (1.0, "1"),
        (3.95, "4"),
        (12.3, "12¼"),
        (None, "–"),
    ],
)
def test_lengths(number: float | None, text: str) -> None:
    """Named margins of the common list up to a neck, quarters of a length beyond."""
    assert words.lengths(number) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.3, "a neck"),
        (0.75, "¾\u00a0length"),
        (1.0, "1\u00a0length"),
        (2.75, "2¾\u00a0lengths"),
        (1.25, "1¼\u00a0lengths"),
    ],
)
def test_lengths_with_their_word(number: float, text: str) -> None:
    """One length or less is singular."""
    assert words.by_lengths(number) == text


@pytest.mark.parametrize(("seconds", "text"), [(56.2, "56.20"), (68.2, "1:08.20"), (119.996, "2:00.00"), (None, "–")])
def test_clock(seconds: float | None, text: str) -> None:
    """Minutes appear from one on, and rounding carries into them."""
    assert words.clock(seconds) == text


def test_days() -> None:
    """Days are written the British way and never break over a line."""
    assert words.day(date(2026, 5, 3)) == "3\u00a0May\u00a02026"
    assert words.short_day(date(2026, 5, 3)) == "3\u00a0May\u00a026"


def test_finish() -> None:
    """Placed, dead-heated and fallen runs each have their words."""
    run = {"position": 2, "outcome": "finished", "dead_heat": False, "runners": 11}
    assert words.finish(run) == "2nd of 11"
    assert words.finish(run | {"dead_heat": True, "position": 1}) == "dead heat 1st of 11"
    assert words.finish(run | {"position": None, "outcome": "pulled_up"}) == "pulled up"
    assert words.beaten(run | {"beaten_lengths": 2.5}) == "2½"
    assert words.beaten(run | {"position": 1, "beaten_lengths": 0.0}) == "won"


def test_pounds() -> None:
    """Pounds are whole; none is a dash."""
    assert words.lb(83.6) == "84"
    assert words.lb(None) == "–"


def test_weights_and_trips() -> None:
    """Weights and trips carry their unit and never break from it; none is a dash."""
    assert words.pounds(126.0) == "126\u00a0lb"
    assert words.metres(1609.344) == "1609\u00a0m"
    assert words.pounds(None) == words.metres(None) == words.surface(None) == "–"
    assert words.surface("synthetic") == "synthetic"


def test_every_outcome_has_words() -> None:
    """Whatever can become of an entry is said in words, without a mark of how it is kept."""
    for outcome in OUTCOMES:
        said = words.finish({"position": None, "outcome": outcome, "dead_heat": False})
        assert said == outcome.replace("_", " ")


def test_words_follow_the_language() -> None:
    """Months are those of the language in use, also after another language was used before."""
    with override("fr"):
        assert words.day(date(2026, 5, 3)) == "3\u00a0mai\u00a02026"
    assert words.day(date(2026, 5, 3)) == "3\u00a0May\u00a02026"
