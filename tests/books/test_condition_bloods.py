"""Bloods among what a vet may want to know: the laboratory's interval, and the horse's own change."""

import numpy as np
import pytest

import worlds
from mornings import EVE, Hands, enter, who
from upsides.books.models import Horse
from upsides.books.queries import moments
from upsides.books.queries.condition_bloods import bloods_of
from upsides.books.queries.visitors import visitor

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(loaded: worlds.Yard, monkeypatch: pytest.MonkeyPatch) -> Hands:
    return Hands(monkeypatch, EVE)


@pytest.fixture
def horses(hands: Hands) -> list[Horse]:
    return list(moments.in_training(moments.now()).order_by("pk")[:5])


def sample(horse: Horse, hands: Hands, days: int, lines: str, laboratory: str = "Moor End") -> None:
    enter("bloods", horse, hands.back(days=days), "vet", laboratory=laboratory, results=lines)


def found(horse: Horse) -> list[tuple[str, bool, bool]]:
    told = bloods_of(moments.now(), horse.pk, visitor(who("trainer"), barn=False), 28)
    return [(one.analyte.name, one.analyte.outside, one.change is not None) for one in told]


def test_outside_the_printed_interval_is_told(horses: list[Horse], hands: Hands) -> None:
    """Of the last sample what lies outside what its laboratory prints is told, and nothing of older samples."""
    sample(horses[0], hands, 60, "PCV 52 % 32-46")
    sample(horses[0], hands, 5, "PCV 40 % 32-46\nSAA 640 mg/l < 20\nAST 300 U/l")
    assert found(horses[0]) == [("SAA", True, False)]
    sample(horses[1], hands, 30, "PCV 52 % 32-46")
    assert found(horses[1]) == []


def steady(horses: list[Horse], hands: Hands) -> None:
    """Seven samples a fortnight apart of each horse, about 300 with a variation of two in a hundred."""
    rng = np.random.default_rng(8)
    for horse in horses:
        for back in range(7, 0, -1):
            sample(horse, hands, 2 + 14 * back, f"AST {300 * np.exp(rng.normal(0, 0.02)):.0f} U/l 150-400")


def test_a_change_beyond_its_own_is_told_within_the_interval(horses: list[Horse], hands: Hands) -> None:
    """After seven results a fortnight apart a rise of 20 % is told where results differ by about 6; of 1 % is not."""
    steady(horses, hands)
    sample(horses[0], hands, 2, "AST 360 U/l 150-400")
    sample(horses[1], hands, 2, "AST 302 U/l 150-400")
    assert found(horses[0]) == [("AST", False, True)]
    assert found(horses[1]) == []
    (one,) = bloods_of(moments.now(), horses[0].pk, visitor(who("trainer"), barn=False), 28)
    assert one.allowed == pytest.approx(np.sqrt(2) * 1.96 * 2.0, rel=0.5)


def test_another_laboratory_has_another_past(horses: list[Horse], hands: Hands) -> None:
    """A result of another laboratory is not held against those of the first."""
    steady(horses, hands)
    sample(horses[0], hands, 2, "AST 360 U/l 150-400", "Chalk")
    assert found(horses[0]) == []


def test_what_is_beyond_measuring_is_not_computed_with(horses: list[Horse], hands: Hands) -> None:
    """A result that is only said to be below what can be measured says nothing of change."""
    steady(horses, hands)
    sample(horses[0], hands, 2, "AST < 100 U/l 50-400")
    assert found(horses[0]) == []
