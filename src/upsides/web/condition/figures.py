"""Published figures beside a horse's own numbers, for the page."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.condition.exposure.figures import Effect, Figure, Part
from upsides.condition.exposure.held import Held, HeldPart
from upsides.web.condition.words import STANDINGS
from upsides.web.recordings import measures as m


@dataclass(frozen=True, slots=True)
class Shown:
    """A figure as the page shows it.

    Args:
        figure: as it was published.
        standing: how the horse stands to it.
        own: its own number or numbers beside the published ones, in words.
        interval: of the published effect, in words; empty where none could be read.
        against: what the figures say that go against it.
    """

    figure: Figure
    standing: str
    own: tuple[str, ...]
    interval: str
    against: tuple[str, ...]


def shown(held: Sequence[Held]) -> list[Shown]:
    """Return figures ready for the page."""
    return [
        Shown(
            one.figure,
            str(STANDINGS[one.standing]),
            tuple(own_words(part) for part in one.parts),
            interval_words(one.figure.effect),
            tuple(other.says for other in one.against),
        )
        for one in held
    ]


def about_figures(held: Sequence[Held], notable: Sequence[Held]) -> str:
    """Return how many published figures its own sums have reached or are near to."""
    reached = sum(one.standing == "reached" for one in notable)
    told = {"all": len(held), "reached": reached, "near": len(notable) - reached}
    return (
        _("Of %(all)s published figures it has reached %(reached)s and is near to %(near)s. They are not added up.")
        % told
    )


def interval_words(effect: Effect | None) -> str:
    """Return the interval of a published ratio, empty where none could be read."""
    if effect is None or effect.low is None or effect.high is None:
        return ""
    return _("95 %% interval %(low)s to %(high)s") % {"low": f"{effect.low:g}", "high": f"{effect.high:g}"}


def own_words(one: HeldPart) -> str:
    """Return the horse's own number, beside the published one where there is one."""
    part = one.part
    told = {"own": _number(part, one.own_told), "published": _number(part, one.published_told), "over": _over(part)}
    if one.own is None and part.quantity == "days since lay-up" and one.standing != "not known":
        return _("its own lay-up has not ended")
    if one.own is None:
        return _("its own number is not known")
    if part.value is None or part.relation == "no border":
        text = _("its own: %(own)s %(over)s") if told["over"] else _("its own: %(own)s")
    else:
        text = (
            _("its own: %(own)s %(over)s; published: %(published)s")
            if told["over"]
            else _("its own: %(own)s; published: %(published)s")
        )
    words = text % told
    if not one.whole:
        words = _("%(words)s (at least: the yard has not known it all that time)") % {"words": words}
    elif one.measured is not None and isfinite(one.measured):
        words = _("%(words)s (%(share)s measured)") % {"words": words, "share": m.share_words(one.measured)}
    return words


def _number(part: Part, value: float | None) -> str:
    if value is None:
        return ""
    match part.unit:
        case "furlongs":
            return _("%(value)s\u00a0f") % {"value": m.decimal(value)}
        case "m" if part.quantity in {"metres", "metres a day"}:
            return m.far(value)
        case "days":
            return ngettext("%(value)s day", "%(value)s days", round(value)) % {"value": round(value)}
    return f"{m.decimal(value, 2)}\u00a0{part.unit}"


def _over(part: Part) -> str:
    """Return over which days and speeds something was counted, empty for what is not in metres."""
    if part.quantity not in {"metres", "metres a day"}:
        return ""
    told = {"days": part.days, "low": f"{part.from_ms:g}", "high": f"{part.to_ms:g}"}
    if part.quantity == "metres a day":
        text = (
            _("a day above %(low)s\u00a0m/s since it entered training")
            if part.days is None
            else _("a day above %(low)s\u00a0m/s in %(days)s days")
        )
    elif isfinite(part.to_ms):
        text = (
            _("at %(low)s to %(high)s\u00a0m/s since it entered training")
            if part.days is None
            else _("at %(low)s to %(high)s\u00a0m/s in %(days)s days")
        )
    else:
        text = (
            _("above %(low)s\u00a0m/s since it entered training")
            if part.days is None
            else _("above %(low)s\u00a0m/s in %(days)s days")
        )
    return text % told
