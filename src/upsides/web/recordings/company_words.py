"""Horses upsides in sentences: who led, who finished in front, and by how much."""

from typing import Final

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.queries.unraced import Unraced
from upsides.books.queries.upsides import Partner
from upsides.recordings.company import Outcome
from upsides.web.recordings.works_words import source_words
from upsides.web.shell.templatetags.words import by_lengths

_SENTENCES: Final = {
    "first": gettext_lazy("Upsides %(other)s: led, and %(end)s, give or take %(error)s, %(source)s."),
    "second": gettext_lazy("Upsides %(other)s: followed, and %(end)s, give or take %(error)s, %(source)s."),
    "turns": gettext_lazy("Upsides %(other)s: led by turns, and %(end)s, give or take %(error)s, %(source)s."),
    "": gettext_lazy("Upsides %(other)s: %(end)s, give or take %(error)s, %(source)s."),
}
"""By who led: "first" is the horse itself, "second" the one beside it."""
_FINISHED: Final = {
    "first": gettext_lazy("finished %(lengths)s in front"),
    "second": gettext_lazy("finished %(lengths)s behind"),
    "": gettext_lazy("finished level as far as can be told"),
}
_ENDED: Final = {
    "first": gettext_lazy("was %(lengths)s in front at the end"),
    "second": gettext_lazy("was %(lengths)s behind at the end"),
    "": gettext_lazy("was level at the end as far as can be told"),
}
"""By who was in front at the end. Nobody finishes a canter."""
_BROKE_OFF: Final = {
    "first": gettext_lazy("was %(lengths)s in front where a recording of the two breaks off"),
    "second": gettext_lazy("was %(lengths)s behind where a recording of the two breaks off"),
    "": gettext_lazy("was level, as far as can be told, where a recording of the two breaks off"),
}
"""The same where nobody knows how it ended."""


def upsides_words(one: Partner, other: str, *, fast: bool) -> str:
    """Return how a work beside a horse went, seen from the horse whose page it is.

    Args:
        one: the other horse, and how they stood.
        other: what that is called.
        fast: whether it was fast work.
    """
    finish = one.finish
    lengths = {"lengths": by_lengths(abs(finish.lengths))}
    ends = _BROKE_OFF if one.breaks_off else _FINISHED if fast else _ENDED
    told = {
        "other": other, "end": ends[finish.front] % lengths,
        "error": by_lengths(finish.sd_lengths), "source": source_words(finish.source),
    }  # fmt: skip
    return str(_SENTENCES[one.led]) % told


def stood_words(outcome: Outcome) -> str:
    """Return how a horse stood to another at a mark: 1½ lengths in front, behind, or too close to tell."""
    told = {"lengths": by_lengths(abs(outcome.lengths))}
    if not outcome.front:
        return _("too close to tell")
    return _("%(lengths)s in front") % told if outcome.front == "first" else _("%(lengths)s behind") % told


def about_unraced(told: Unraced) -> str:
    """Return what a horse that has not run is thought to be worth, before and after its works."""
    ends = {
        "before": round(told.before.lb), "before_low": round(told.before.low), "before_high": round(told.before.high),
        "after": round(told.after.lb), "low": round(told.after.low), "high": round(told.after.high),
        "works": len(told.works),
    }  # fmt: skip
    if not told.works:
        return (
            _(
                "It has not run. Such horses of this yard are worth %(before)s\u00a0lb on our figures, four times in "
                "five between %(before_low)s and %(before_high)s; no work of it beside a horse that has run was "
                "measured."
            )
            % ends
        )
    words = ngettext(
        "It has not run. Such horses of this yard are worth %(before)s\u00a0lb on our figures, four times in "
        "five between %(before_low)s and %(before_high)s; with its %(works)s work beside horses that have run it is "
        "%(after)s\u00a0lb, between %(low)s and %(high)s.",
        "It has not run. Such horses of this yard are worth %(before)s\u00a0lb on our figures, four times in "
        "five between %(before_low)s and %(before_high)s; with its %(works)s works beside horses that have run it is "
        "%(after)s\u00a0lb, between %(low)s and %(high)s.",
        len(told.works),
    )
    return words % ends


def moved_words(pounds: float) -> str:
    """Return what one work says of a level: up 1.2 lb, down 3 lb, next to nothing."""
    told = {"pounds": f"{abs(pounds):.1f}"}
    if abs(pounds) < 0.5:
        return _("next to nothing")
    return _("%(pounds)s\u00a0lb better") % told if pounds > 0 else _("%(pounds)s\u00a0lb worse") % told
