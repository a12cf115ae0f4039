"""Lessons at the stalls among the easy days of a routine that has none."""

from dataclasses import replace

import pytest

from planning.work.tiny_horses import MONDAY, SETTINGS
from upsides.planning.work.asked import asked
from upsides.planning.work.horse import Horse, Past, Race


def lessons_of(horse: Horse) -> list[int]:
    """Return the days on which the routine asks for a lesson."""
    return [day for day, order in enumerate(asked(horse).orders) if order.lesson]


@pytest.mark.parametrize("kind", ["miler", "sprinter", "returning", "stayer"])
def test_lessons_come_once_a_week_until_none_is_left(kind: str) -> None:
    """Whatever its kind, a horse has one lesson a week on an easy day, and none once it has learned."""
    horse = Horse(1, MONDAY, SETTINGS.routine(kind), (Race(40, 1600.0),), lessons=3, back=60)
    days = lessons_of(horse)
    assert len(days) == 3
    assert len({day // 7 for day in days}) == 3
    assert lessons_of(replace(horse, lessons=0)) == []
    plain = asked(replace(horse, lessons=0)).orders
    assert {plain[day].name for day in days} == {horse.routine.order("easy").name}


def test_a_lesson_that_was_had_is_the_week_s() -> None:
    """After a lesson on Tuesday the rest of that week has none, and the next has one."""
    wednesday = MONDAY.replace(day=2, month=12)
    horse = Horse(1, wednesday, SETTINGS.routine("miler"), lessons=3, past=(Past(-1, lesson=True),))
    assert min(lessons_of(horse)) >= 5
    assert min(lessons_of(replace(horse, past=(Past(-3, lesson=True),)))) < 5
