"""Sections of runs in words and numbers."""

import pytest

from upsides.web.races.sections import late_short, late_words, section_names, sections

RUN = {
    "section_m": [200.0, 400.0, 400.0],
    "section_s": [13.04, 23.5, 24.0],
    "section_position": [7, 5, 2],
    "section_behind": [3.25, 2.0, 0.5],
}


def test_sections_are_named_by_their_end() -> None:
    """Sections are called by the distance covered at their end, the last by its own length."""
    assert section_names([200.0, 400.0, 400.0]) == ["to 200 m", "to 600 m", "last 400 m"]
    assert section_names([]) == []


def test_a_runs_sections() -> None:
    """Each section has the run's own time, its place and the lengths behind at its end."""
    found = sections(RUN)
    assert [section.time for section in found] == ["13.04", "23.50", "24.00"]
    assert [section.place for section in found] == ["7th", "5th", "2nd"]
    assert [section.behind for section in found] == ["3.2", "2.0", "0.5"]


@pytest.mark.parametrize("missing", [None, []])
def test_what_is_not_published_is_not_shown(missing: object) -> None:
    """A run without sections, or a race whose sections have no lengths, shows none; a missing place stays empty."""
    assert sections(RUN | {"section_m": missing}) == []
    assert sections(RUN | {"section_s": missing, "section_position": missing}) == []
    assert [section.place for section in sections(RUN | {"section_position": missing})] == ["", "", ""]
    assert [section.time for section in sections(RUN | {"section_s": [13.04, 23.5]})] == ["13.04", "23.50", "–"]


def test_late_speed_in_words() -> None:
    """Late speed against the whole race is told as faster or slower, with how many were slower late."""
    fast = {"late_speed": 1.0234, "late_standing": 0.71}
    assert late_words(fast) == (
        "Over the last 400\u00a0m it went 2.3\u00a0% faster than over the whole race. "
        "Of all runs over this course and trip, 71\u00a0% were slower late."
    )
    assert "1.2\u00a0% slower" in late_words({"late_speed": 0.988, "late_standing": None})
    assert late_short(fast) == "+2.3\u00a0%, 71"
    assert late_short({"late_speed": 0.988, "late_standing": None}) == "−1.2\u00a0%"
    assert (late_words({}), late_short({"late_speed": None})) == ("", "–")
