"""The horse's own heart in one recording: how it came down, and how it rose with speed. No class and no grade."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isfinite, nan
from typing import Any, Final

import numpy as np
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from upsides.charts.heart_line import SIZES, HeartWords, heart_picture
from upsides.recordings.heart.highest import Effort, Highest, highest
from upsides.recordings.heart.line import HeartLine, Means, NoLine, ReadOff, heart_line, means_of
from upsides.recordings.heart.recovery import Recovered, recovery
from upsides.recordings.measured import Measured
from upsides.recordings.track import Track
from upsides.web.recordings.measures import decimal
from upsides.web.recordings.messages import message_words
from upsides.web.shell.refusals import in_words

EFFORTS: Final = frozenset({"trot", "canter", "fast"})
READ_AT: Final = (140.0, 200.0)
"""Heart rates at which a speed is read off, besides the horse's own highest; as published."""


@dataclass(frozen=True, slots=True)
class HeartShown:
    """What the page says of the heart.

    Args:
        highest: the highest rate that it held, or why that is not told, in words; "" where none was held.
        recovered: when after the last work, and how many beats or why not.
        readoffs: at which rate, and at which speed or why not.
        line: the line in a sentence, or why there is none.
        pictures: the means and the line, wide and narrow; empty without means.
    """

    highest: str
    recovered: list[tuple[str, str]]
    readoffs: list[tuple[str, str]]
    line: str
    pictures: dict[str, SafeString] = field(default_factory=dict)


def heart_shown(track: Track, measured: Measured) -> HeartShown | None:
    """Return what is said of the heart, None without any rate."""
    if not np.isfinite(track.heart_bpm).any():
        return None
    bouts = [bout for bout in measured.bouts if bout.kind in EFFORTS]
    quick = [Effort(one.kind, one.start_s, one.start_s + one.seconds) for one in bouts if one.kind != "trot"]
    top = highest(track, quick)
    means = means_of(track, [(bout.start_s, bout.start_s + bout.seconds) for bout in bouts])
    line = heart_line(means, track.heart_kept) if means.speed_ms.size else NoLine("")
    last = max((work.start_s + work.seconds for work in measured.works), default=nan)
    return HeartShown(
        _highest(top),
        [_recovered(one) for one in recovery(track, last)] if isfinite(last) else [],
        _readoffs(line, top.held),
        _about_line(line),
        _pictures(means, line),
    )


def _highest(top: Highest) -> str:
    if top.said:
        return message_words(top.said[0])[0]
    return _("%(beats)s beats a minute") % {"beats": round(top.held)} if isfinite(top.held) else ""


def _recovered(one: Recovered) -> tuple[str, str]:
    after = _("%(minutes)s min after") % {"minutes": round(one.after_s / 60)}
    if not isfinite(one.bpm):
        return after, in_words(one.why_not)
    return after, _("%(beats)s beats a minute") % {"beats": round(one.bpm)}


def _readoffs(line: HeartLine | NoLine, top: float) -> list[tuple[str, str]]:
    if isinstance(line, NoLine):
        return []
    named = [(_("%(beats)s beats") % {"beats": round(bpm)}, line.at(bpm)) for bpm in READ_AT]
    named.append((_("its own highest of this morning"), line.at(top)))
    return [(name, _read(one)) for name, one in named]


def _read(one: ReadOff) -> str:
    if not isfinite(one.speed_ms):
        return in_words(one.why_not)
    told = {"speed": decimal(one.speed_ms), "low": decimal(one.low_ms), "high": decimal(one.high_ms)}
    if one.beyond:
        return _("%(speed)s m/s, 9 times in 10 between %(low)s and %(high)s; the line was drawn out to there") % told
    return _("%(speed)s m/s, 9 times in 10 between %(low)s and %(high)s") % told


def _about_line(line: HeartLine | NoLine) -> str:
    if isinstance(line, NoLine):
        why = in_words(line.why_not) or _("nothing steady in it")
        return _("There is no line of heart on speed: %(why)s.") % {"why": why}
    told = {
        "rise": decimal(line.b),
        "used": line.used,
        "slow": decimal(line.slowest_ms),
        "fast": decimal(line.fastest_ms),
    }
    return (
        _("The heart rose by %(rise)s beats for each m/s, by %(used)s means of 5 s from %(slow)s to %(fast)s m/s.")
        % told
    )


def _pictures(means: Means, line: HeartLine | NoLine) -> dict[str, SafeString]:
    points = list(zip(means.speed_ms.tolist(), means.heart_bpm.tolist(), strict=True))
    if len(points) < 3:
        return {}
    drawn = [] if isinstance(line, NoLine) else _drawn(line)
    words = _about_line(line)
    return {width: _picture(points, drawn, size, words, width) for width, size in SIZES.items()}


def _picture(
    points: Sequence[tuple[float, float]], drawn: Any, size: tuple[int, int], words: str, width: str
) -> SafeString:
    said = HeartWords(f"heart-{width}", _("Heart on speed"), words, _("speed, m/s"))
    return mark_safe(heart_picture(points, drawn, size, said))  # noqa: S308 (drawn by charts, which escapes its words)


def _drawn(line: HeartLine) -> list[tuple[float, float, float, float]]:
    """Return the line with its own 90 % range, from the slowest to the fastest mean."""
    found = []
    for v in np.linspace(line.slowest_ms, line.fastest_ms, 12).tolist():
        at = np.array([1.0, v])
        middle, wide = line.a + line.b * v, 1.645 * float(np.sqrt(at @ line.covariance @ at))
        found.append((v, middle, middle - wide, middle + wide))
    return found
