"""The sections of a run and of a race, in words and numbers for tables."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from upsides.ratings.sections import Parts
from upsides.web.shell.templatetags.words import clock, ordinal


@dataclass(frozen=True, slots=True)
class Section:
    """One section of a run.

    Args:
        words: where it lies: first 400 m, to 1200 m, last 400 m.
        time: the horse's own time, a dash for none.
        place: its place at the end of it, empty for none.
        behind: lengths behind the leader there, empty for none.
    """

    words: str
    time: str
    place: str
    behind: str


def sections(run: Mapping[str, Any]) -> list[Section]:
    """Return a run's sections in running order, none where the table of results has none for it.

    Args:
        run: with section_m of its race and section_s, section_position and section_behind of its own.
    """
    names = section_names(run.get("section_m") or [])
    times, places, behind = (_wide(run.get(key), len(names)) for key in _OWN)
    if all(value is None for value in (*times, *places)):
        return []
    told = zip(names, map(clock, times), map(_place, places), map(_behind, behind), strict=True)
    return [Section(*row) for row in told]


def section_names(lengths: Sequence[float]) -> list[str]:
    """Return where each section lies, by its end from the start; the last by its length."""
    names, covered = [], 0.0
    for length in lengths:
        covered += length
        names.append(_("to %(metres)s m") % {"metres": f"{covered:.0f}"})
    if names:
        names[-1] = _("last %(metres)s m") % {"metres": f"{lengths[-1]:.0f}"}
    return names


def late_words(run: Mapping[str, Any]) -> str:
    """Return how fast a run was late against the whole of it, and how that compares; empty where it is not known."""
    speed, standing = run.get("late_speed"), run.get("late_standing")
    if speed is None:
        return ""
    told = {"metres": f"{Parts().late_m:.0f}", "percent": f"{abs(speed - 1) * 100:.1f}"}
    if speed >= 1:
        words = _("Over the last %(metres)s\u00a0m it went %(percent)s\u00a0%% faster than over the whole race.") % told
    else:
        words = _("Over the last %(metres)s\u00a0m it went %(percent)s\u00a0%% slower than over the whole race.") % told
    if standing is None:
        return words
    usual = _("Of all runs over this course and trip, %(share)s\u00a0%% were slower late.")
    return f"{words} {usual % {'share': f'{standing * 100:.0f}'}}"


def late_short(run: Mapping[str, Any]) -> str:
    """Return the same in two numbers, for a column; a dash where it is not known."""
    speed, standing = run.get("late_speed"), run.get("late_standing")
    if speed is None:
        return "–"
    change = f"{(speed - 1) * 100:+.1f}".replace("-", "−")
    told = {"change": change, "share": "" if standing is None else f"{standing * 100:.0f}"}
    return _("%(change)s\u00a0%%, %(share)s") % told if told["share"] else _("%(change)s\u00a0%%") % told


_OWN = ("section_s", "section_position", "section_behind")


def _wide(values: Sequence[Any] | None, count: int) -> list[Any]:
    """Return values cut or filled up to as many as there are sections."""
    return [*(values or ())][:count] + [None] * max(0, count - len(values or ()))


def _place(place: int | None) -> str:
    return "" if place is None else ordinal(place)


def _behind(lengths: float | None) -> str:
    return "" if lengths is None else f"{lengths:.1f}"
