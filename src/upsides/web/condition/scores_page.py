"""How calls have stood up, person beside tool, ready for the template."""

from typing import Any, Literal

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.calls import Standing, standings_of
from upsides.books.queries.moments import Moment
from upsides.books.queries.visitors import Visitor
from upsides.charts.calibration import Group, calibration
from upsides.condition.calls import Brier, RanAfter, Scored
from upsides.web.condition.call_words import ASKED, chance_words, short_words
from upsides.web.condition.words import listed
from upsides.web.recordings import measures as m

FEW = 20
"""Scores of fewer calls than this say next to nothing."""


def scores_page(who: Visitor, moment: Moment) -> dict[str, Any]:
    """Return what the template needs; one's own calls first."""
    found = standings_of(who, moment)
    mine = [one for one in found if one.author.pk == who.person.pk]
    return {
        "moment": moment,
        "sentence": about_scores(mine[0]) if mine else _("You have called nothing yet."),
        "people": [_person(one, own=one in mine) for one in found],
    }


def about_scores(one: Standing) -> str:
    """Return how many calls were shown true or false, and where the person or the tool was nearer."""
    shown, left = sum(each.shown for each in one.scored), sum(each.open for each in one.scored)
    told: dict[str, object] = {"made": one.made, "shown": shown, "open": left}
    text = ngettext(
        "Of %(made)s call %(shown)s came true or did not",
        "Of %(made)s calls %(shown)s came true or did not",
        one.made,
    )
    nearer = [each for each in one.scored if each.beside > 1 and abs(each.better) > 2.0 * each.error]
    yours = listed([short_words(each.about).lower() for each in nearer if each.better > 0])
    tools = listed([short_words(each.about).lower() for each in nearer if each.better < 0])
    told |= {"counts": text % told, "yours": yours, "tools": tools}
    if yours and tools:
        return _("%(counts)s; you were nearer than the tool on %(yours)s, and it on %(tools)s.") % told
    if yours:
        return _("%(counts)s; you were nearer than the tool on %(yours)s.") % told
    if tools:
        return _("%(counts)s; the tool was nearer than you on %(tools)s.") % told
    return _("%(counts)s; who is nearer, you or the tool, cannot be told from luck.") % told


def _person(one: Standing, *, own: bool) -> dict[str, Any]:
    name = _("You") if own else _("name removed") if one.author.erased_at else one.author.name
    told = {"unseen": one.unseen, "made": one.made, "back": one.taken_back}
    return {
        "name": name,
        "own": own,
        "questions": [_question(each, name, one.waiting[each.about]) for each in one.scored],
        "ran": [ran_words(each) for each in one.ran if each.calls],
        "never": one.never,
        "how": _(
            "%(unseen)s of %(made)s were made on a day on which the tool's answers about that horse had not been shown "
            "before; %(back)s were taken back."
        )
        % told,
    }


def _question(one: Scored, name: str, waiting: int) -> dict[str, Any]:
    return {
        "about": short_words(one.about),
        "asked": ASKED[one.about],
        "sentence": score_words(one),
        "counts": counts_words(one, waiting),
        "rows": _rows(one, name),
        "picture": _picture(one),
        "groups": _groups(one),
    }


def _rows(one: Scored, name: str) -> list[tuple[str, ...]]:
    """Return scores with their parts, person and tool on the same calls; of the others there is only the person's."""
    told = {"name": name, "count": one.shown, "beside": one.beside}
    rows: list[tuple[str, Brier | None]] = [(name, one.alike), (_("The tool"), one.tool)]
    if one.beside < one.shown:
        rows = [
            (_("%(name)s, all %(count)s") % told, one.person),
            (_("%(name)s, the %(beside)s that the tool called too") % told, one.alike),
            (_("The tool, the same %(beside)s") % told, one.tool),
        ]
    parts = ("score", "calibration", "resolution", "uncertainty")
    return [(who, *(m.decimal(getattr(each, part), 3) for part in parts)) for who, each in rows if each is not None]


def score_words(one: Scored) -> str:
    """Return who was nearer, and by how much beside its doubt."""
    if one.person is None:
        return _("Nothing has come true or not yet.")
    told = {"score": m.decimal(one.person.score, 3), "shown": one.shown}
    if one.tool is None or one.alike is None:
        text = ngettext(
            "%(score)s over %(shown)s call; the tool said nothing to it.",
            "%(score)s over %(shown)s calls; the tool said nothing to them.",
            one.shown,
        )
        return text % told
    told |= {
        "tool": m.decimal(one.tool.score, 3),
        "alike": m.decimal(one.alike.score, 3),
        "beside": one.beside,
        "apart": m.decimal(abs(one.better), 3),
    }
    told["error"] = m.decimal(one.error, 3) if one.beside > 1 else "–"
    if one.better >= 0:
        text = _(
            "%(score)s over %(shown)s. On the %(beside)s of them that the tool called too they score %(alike)s and the "
            "tool %(tool)s: the calls were nearer by %(apart)s (standard error %(error)s)."
        )
    else:
        text = _(
            "%(score)s over %(shown)s. On the %(beside)s of them that the tool called too they score %(alike)s and the "
            "tool %(tool)s: the calls were further off by %(apart)s (standard error %(error)s)."
        )
    words = text % told
    few = _("So few calls say next to nothing.")
    return f"{words} {few}" if one.shown < FEW else words


def counts_words(one: Scored, waiting: int) -> str:
    """Return how many are open and wait, and between which ends the score lies."""
    told = {"open": one.open, "least": m.decimal(one.least, 3), "most": m.decimal(one.most, 3)}
    wait = ngettext("%(count)s waits.", "%(count)s wait.", waiting) % {"count": waiting} if waiting else ""
    if not one.open:
        return f"{_('None stays open.')} {wait}".strip()
    text = ngettext(
        "%(open)s stays open, since nothing showed it; whatever it would have turned out to be, the score lies between "
        "%(least)s and %(most)s.",
        "%(open)s stay open, since nothing showed them; whatever they would have turned out to be, the score lies "
        "between %(least)s and %(most)s.",
        one.open,
    )
    return f"{text % told} {wait}".strip()


def ran_words(one: RanAfter) -> str:
    """Return how often horses ran after a verdict."""
    places = 1 if chance_words(one.low) == chance_words(one.high) else 0
    told: dict[str, object] = {"calls": one.calls, "ran": one.ran}
    told |= {name: _share_words(getattr(one, name), places) for name in ("share", "low", "high")}
    if one.said == "would run":
        return (
            _(
                "Said to run: %(calls)s, of which %(ran)s ran; so about %(share)s do, nine in ten between %(low)s and "
                "%(high)s."
            )
            % told
        )
    return (
        _(
            "Said not to run: %(calls)s, of which %(ran)s ran; so about %(share)s do, nine in ten between %(low)s and "
            "%(high)s."
        )
        % told
    )


def _share_words(share: float, places: int) -> str:
    """Return a share as so many in a hundred, never none nor all of them."""
    least = 10.0**-places
    return _("%(of)s in 100") % {"of": m.decimal(min(max(100 * share, least), 100 - least), places)}


def _groups(one: Scored) -> list[Group]:
    """Return the groups of chances of the person and of the tool, where both called on the same calls."""
    return [*_of(one.alike or one.person, "person"), *_of(one.tool, "tool")]


def _of(one: Brier | None, whose: Literal["person", "tool"]) -> list[Group]:
    if one is None:
        return []
    found = []
    for said, came, count in zip(one.said, one.came, one.counts, strict=True):
        told = {"said": chance_words(said), "came": round(100 * came), "count": count}
        text = (
            _("Said by the person, %(said)s: %(came)s %% of %(count)s came true")
            if whose == "person"
            else _("Said by the tool, %(said)s: %(came)s %% of %(count)s came true")
        )
        found.append(Group(whose, said, came, count, text % told))
    return found


def _picture(one: Scored) -> SafeString:
    groups = _groups(one)
    if not groups:
        return SafeString("")
    title = _("%(about)s: chances that were said, and the share of them that came true") % {
        "about": short_words(one.about)
    }
    return mark_safe(calibration(groups, title, _("said, in 100"), _("came true, in 100")))  # noqa: S308 (charts escapes its words)
