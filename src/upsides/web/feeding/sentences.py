"""Feed boards, rations and the store in sentences."""

from collections.abc import Sequence
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides import feeding
from upsides.books.models import Horse
from upsides.books.queries.feed_needs import Needs
from upsides.books.queries.feed_store import InStore
from upsides.books.queries.feeding import OnBoard
from upsides.web.feeding.words import WORKS, kg, plain, short


def about_board(barn: str, horses: Sequence[OnBoard], day: date, today: date) -> str:
    """Return how many horses there are, how many rations changed, and how many have none."""
    changed, none = sum(one.changed for one in horses), sum(one.ration is None for one in horses)
    told = {"horses": _horses(len(horses)), "barn": barn, "changed": _changed(changed, day, today)}
    told["none"] = ngettext("%(number)s horse has none written", "%(number)s horses have none written", none) % {
        "number": none
    }
    if not horses:
        return _("No horse in training stands here.")
    if not barn:
        text = (
            _("%(horses)s without a box; %(changed)s; %(none)s.")
            if none
            else _("%(horses)s without a box; %(changed)s.")
        )
        return text % told
    return (
        _("%(horses)s in %(barn)s; %(changed)s; %(none)s.") if none else _("%(horses)s in %(barn)s; %(changed)s.")
    ) % told


def about_boards(horses: Sequence[OnBoard], day: date, today: date) -> str:
    """Return the same of all barns together."""
    changed, none = sum(one.changed for one in horses), sum(one.ration is None for one in horses)
    told = {"horses": _horses(len(horses)), "changed": _changed(changed, day, today)}
    text = ngettext("%(number)s horse has none written", "%(number)s horses have none written", none)
    told["none"] = text % {"number": none}
    return (_("%(horses)s; %(changed)s; %(none)s.") if none else _("%(horses)s; %(changed)s.")) % told


def _horses(number: int) -> str:
    return ngettext("%(number)s horse", "%(number)s horses", number) % {"number": number}


def _changed(number: int, day: date, today: date) -> str:
    told = {"number": number}
    if day == today:
        words = ngettext(
            "%(number)s ration changed since yesterday", "%(number)s rations changed since yesterday", number
        )
        return words % told if number else _("no ration changed since yesterday")
    if (day - today).days == 1:
        words = ngettext(
            "%(number)s ration is otherwise than today", "%(number)s rations are otherwise than today", number
        )
        return words % told if number else _("no ration is otherwise than today")
    words = ngettext(
        "%(number)s ration is otherwise than the day before",
        "%(number)s rations are otherwise than the day before",
        number,
    )
    return words % told if number else _("no ration is otherwise than the day before")


def about_ration(horse: Horse, servings: Sequence[feeding.Serving] | None, found: Needs, *, here: bool) -> str:
    """Return what a horse gets, against what it needs where that is known; of one that is not here, that."""
    told: dict[str, object] = {"horse": horse.name}
    if not here:
        return _("%(horse)s is not in training here: its ration is not given.") % told
    if servings is None:
        return _("No ration is written for %(horse)s.") % told
    if not servings:
        return _("%(horse)s gets nothing.") % told
    told["kg"] = kg(sum(one.kg for one in servings), 1)
    if found.ration is None:
        return _("%(horse)s gets %(kg)s a day.") % told
    told |= {"mj": plain(found.ration.given.mj, 0), "needed": plain(found.ration.needed.mj, 0)}
    told |= {"work": WORKS[found.work], "mass": kg(found.kg or 0, 0)}
    words = _(
        "%(horse)s gets %(kg)s a day, %(mj)s\u00a0MJ; "
        "a horse of %(mass)s in %(work)s is reckoned to need %(needed)s\u00a0MJ."
    )
    return words % told


def unknown(found: Needs) -> str:
    """Return why nothing can be said of what a horse needs; empty where it can."""
    if found.kg is None:
        return _(
            "What it needs cannot be reckoned: nobody wrote down what it weighs, nor its girth and length by tape."
        )
    if not found.work:
        return _(
            "What it needs cannot be reckoned: its work is written down on %(days)s of the last 28 days only. "
            "Name the class of its work below."
        ) % {"days": found.days}
    return ""


def about_store(found: Sequence[InStore], today: date) -> str:
    """Return how many feeds there are, and which is to be ordered first."""
    used = [one for one in found if one.feed.used]
    if not used:
        return _("No feed is on the list yet.")
    text = ngettext("%(number)s feed is in use", "%(number)s feeds are in use", len(used)) % {"number": len(used)}
    due = [(one.stock.order_by, one.feed.name) for one in used if one.stock and one.stock.order_by]
    if not due:
        return _("%(feeds)s; of none can be said when to order it.") % {"feeds": text}
    if now := [name for day, name in due if day <= today]:
        return _("%(feeds)s; to be ordered now: %(names)s.") % {"feeds": text, "names": ", ".join(now)}
    day, name = min(due)
    return _("%(feeds)s; the first to order is %(feed)s, by %(day)s.") % {
        "feeds": text,
        "feed": name,
        "day": short(day),
    }


def about_eaters(eaters: Sequence[feeding.Eater]) -> str:
    """Return how many horses ate a batch, or may have."""
    if not eaters:
        return _("By what is written down, no horse ate of it between these days.")
    sure = sum(one.sureness == feeding.SURENESS[0] for one in eaters)
    told = {"horses": _horses(len(eaters)), "sure": sure}
    if sure == len(eaters):
        return _("%(horses)s ate of it: no other batch of the feed was open.") % told
    return _("%(horses)s ate of it or may have; for %(sure)s of them no other batch of the feed was open.") % told
