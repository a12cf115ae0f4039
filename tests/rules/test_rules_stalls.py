"""On which side stall 1 stands.

Source: British Horseracing Authority, Rule (B)36 and notice on stalls numbering from 30 March 2011.
"""

from datetime import date
from typing import Literal

import pytest

from upsides.errors import NoRuleError, UnreadableError
from upsides.rules import stall_one_side


@pytest.mark.parametrize(
    ("on", "course", "side"),
    [
        (date(2011, 3, 29), "left", "left"),
        (date(2011, 3, 29), "right", "left"),
        (date(2011, 3, 30), "left", "left"),
        (date(2011, 3, 30), "right", "right"),
    ],
)
def test_side_of_stall_one_by_date(on: date, course: Literal["left", "right"], side: str) -> None:
    """Stall 1 is leftmost on a left-handed course and, from 30 March 2011, rightmost on the other."""
    assert stall_one_side("Britain", on, course)[0] == side


def test_other_answers_are_refused() -> None:
    """A place without a rule, and a course that turns neither way, are refused."""
    with pytest.raises(NoRuleError, match="Japan"):
        stall_one_side("Japan", date(2020, 1, 1), "left")
    with pytest.raises(UnreadableError, match="left or right"):
        stall_one_side("Britain", date(2020, 1, 1), "straight")  # type: ignore[arg-type]  # the refusal is meant
