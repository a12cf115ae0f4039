"""Distances, times and speeds of work in words."""

from collections.abc import Sequence
from datetime import UTC, datetime
from math import isfinite
from typing import Final

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books import clock
from upsides.recordings.measured import Piece
from upsides.recordings.work import LEAST_SD, Split, counts, decimals, fair
from upsides.trade.units import FURLONG_M

KINDS: Final = {
    "stand": gettext_lazy("stood"),
    "walk": gettext_lazy("walk"),
    "trot": gettext_lazy("trot"),
    "canter": gettext_lazy("canter"),
    "fast": gettext_lazy("fast work"),
}
"""Gaits, as a list names them."""
_LAST: Final = (
    gettext_lazy("%(one)s\u00a0s for the last furlong"),
    gettext_lazy("%(two)s\u00a0s for the last two furlongs, %(one)s for one"),
    gettext_lazy("%(three)s\u00a0s for the last three furlongs, %(two)s for two"),
)
"""Times of the last furlongs, by how many there are."""
_HALVES: Final = ("", "½")
_NEAR_M: Final = 3.0
"""So near to whole furlongs a length is said in furlongs."""


def decimal(value: float, places: int = 1) -> str:
    """Return a number with so many decimals in the reader's way, a dash for none."""
    return number_format(round(value, places) + 0.0, places, use_l10n=True) if isfinite(value) else "–"


def about_furlongs(metres: float) -> str:
    """Return a distance to the nearest half furlong as 3½ f; below one furlong in tens of metres; a dash for none."""
    if not isfinite(metres):
        return "–"
    if metres < FURLONG_M * 0.95:
        return _("%(metres)s\u00a0m") % {"metres": round(metres / 10) * 10}
    whole, half = divmod(round(2 * metres / FURLONG_M), 2)
    return _("%(furlongs)s\u00a0f") % {"furlongs": f"{whole}{_HALVES[half]}"}


def length_words(metres: float) -> str:
    """Return a length between marks: 1 f, 2 f, or 187 m where it is not whole furlongs."""
    whole = round(metres / FURLONG_M)
    if whole and abs(metres - whole * FURLONG_M) <= _NEAR_M:
        return _("%(furlongs)s\u00a0f") % {"furlongs": whole}
    return _("%(metres)s\u00a0m") % {"metres": round(metres)}


def far(metres: float) -> str:
    """Return a distance as 4.2 km, or 350 m below a kilometre; a dash for none."""
    if not isfinite(metres):
        return "–"
    if metres < 1000:
        return _("%(metres)s\u00a0m") % {"metres": round(metres)}
    return _("%(km)s\u00a0km") % {"km": decimal(metres / 1000)}


def place(metres: float) -> str:
    """Return where a mark stands as 1,006 m."""
    return _("%(metres)s\u00a0m") % {"metres": f"{round(metres):,}"}


def speed(ms: float, sd_ms: float = float("nan")) -> str:
    """Return a speed as 12.4 m/s, with ± its standard error where that is known; a dash for none."""
    if not isfinite(ms):
        return "–"
    if not isfinite(sd_ms):
        return _("%(speed)s\u00a0m/s") % {"speed": decimal(ms)}
    places = decimals(sd_ms)
    told = {"speed": decimal(ms, places), "error": decimal(max(sd_ms, LEAST_SD), places)}
    return _("%(speed)s\u00a0±\u00a0%(error)s\u00a0m/s") % told


def a_furlong(ms: float) -> str:
    """Return a speed as seconds a furlong, a dash where it stands."""
    return _("%(seconds)s\u00a0s") % {"seconds": decimal(FURLONG_M / ms)} if isfinite(ms) and ms > 0.5 else "–"


def seconds_words(seconds: float, sd_s: float = float("nan")) -> str:
    """Return a time over a length as 14.2 ± 0.1; a dash for none."""
    if not isfinite(seconds):
        return "–"
    if not isfinite(sd_s):
        return decimal(seconds)
    places = 2 if sd_s < 0.095 else 1
    return _("%(seconds)s\u00a0±\u00a0%(error)s") % {
        "seconds": decimal(seconds, places),
        "error": decimal(sd_s, places),
    }


def bracketed(words: str, count: float) -> str:
    """Return a time, in brackets where its length does not count whole in the speed of its work."""
    return f"({words})" if count < 1.0 else words


def lasted(seconds: float) -> str:
    """Return how long something lasted as 12 min 30 s, or 45.2 s below two minutes; a dash for none."""
    if not isfinite(seconds):
        return "–"
    if seconds < 120:
        return _("%(seconds)s\u00a0s") % {"seconds": decimal(seconds)}
    minutes, rest = divmod(round(seconds), 60)
    return _("%(minutes)s\u00a0min\u00a0%(seconds)s\u00a0s") % {"minutes": minutes, "seconds": f"{rest:02d}"}


def rise_words(metres: float) -> str:
    """Return a rise as up 12 m, down 3 m, level; a dash where heights are not known."""
    if not isfinite(metres):
        return "–"
    if abs(metres) < 1:
        return _("level")
    told = {"metres": round(abs(metres))}
    return _("up %(metres)s\u00a0m") % told if metres > 0 else _("down %(metres)s\u00a0m") % told


def at_time(seconds: float) -> str:
    """Return a moment, seconds since 1970 UTC, as the time of day in the yard."""
    return f"{datetime.fromtimestamp(seconds, UTC).astimezone(clock.place().zone):%H:%M:%S}"


def kind_words(piece: Piece) -> str:
    """Return how far a piece of work went and at what: canter 5 f; 3½ f fast; 3½ f fast (6 f with canter)."""
    far, fast = piece.worked_m
    told = {"far": about_furlongs(far), "fast": about_furlongs(fast)}
    if piece.kind != "fast":
        return _("canter %(far)s") % told
    if far - fast >= FURLONG_M:
        return _("%(fast)s fast (%(far)s with canter)") % told
    return _("%(fast)s fast") % told


def last_times(splits: Sequence[Split]) -> str:
    """Return the times over the last furlongs at pace: 42.8 s for the last three furlongs, 27.9 for two."""
    usable = fair(splits)
    at_pace = counts(usable)
    whole = [one for one, count in zip(usable, at_pace, strict=True) if count == 1.0]
    while whole and abs(whole[-1].metres - FURLONG_M) > _NEAR_M:
        whole.pop()
    run: list[float] = []
    for split in reversed(whole):
        if abs(split.metres - FURLONG_M) > _NEAR_M or len(run) == 3:
            break
        run.append(split.seconds)
    told = {"three": decimal(sum(run[:3])), "two": decimal(sum(run[:2])), "one": decimal(sum(run[:1]))}
    if not run:
        return ""
    told["times"] = _LAST[len(run) - 1] % told
    return _("%(times)s, before it pulled up") % told if at_pace[-1] < 1.0 else told["times"]


def share_words(share: float) -> str:
    """Return a share as 98 in 100; what is not all as more than 99."""
    if not isfinite(share):
        return "–"
    if 0.995 <= share < 1.0:
        return _("more than 99 in 100")
    return _("%(share)s in 100") % {"share": round(100 * share)}


def fixes_words(fixes: int) -> str:
    """Return how many positions a recording has."""
    return ngettext("%(fixes)s position", "%(fixes)s positions", fixes) % {"fixes": f"{fixes:,}"}
