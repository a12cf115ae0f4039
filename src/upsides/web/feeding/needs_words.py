"""What a horse needs, a proposal, and where the figures come from, in words."""

from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides import feeding
from upsides.books.queries.feed_needs import WEEKS, Asked, Needs
from upsides.rules import Ruled
from upsides.web.feeding.words import CONFIDENCE, WORKS, kg, plain, short


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing about a ration: what it is called, what it is, and what to know of it."""

    label: str
    words: str
    note: str = ""


def facts(found: Needs, asked: Asked) -> list[Fact]:
    """Return what is known of a horse's needs, and how its ration stands to them."""
    known = [Fact(_("Mass"), *_mass(found, asked)), Fact(_("Work"), *_work(found, asked))]
    if found.ration is None:
        return known
    return [*known, _energy(found.ration), _forage(found.ration), *_starch(found.ration), _protein(found.ration)]


def _mass(found: Needs, asked: Asked) -> tuple[str, str]:
    if asked.kg is not None:
        return _("%(mass)s, as named here") % {"mass": kg(asked.kg, 0)}, ""
    if found.weighing is None:
        return _("not known"), ""
    told = {"mass": kg(found.weighing.kg, 0), "day": short(found.weighing.day)}
    if found.weighing.how == "tape":
        return _("about %(mass)s by tape, %(day)s") % told, _("A tape is no scale: it may be off by a tenth.")
    return _("%(mass)s on the scale, %(day)s") % told, ""


def _work(found: Needs, asked: Asked) -> tuple[str, str]:
    if asked.work:
        return _("%(work)s, as named here") % {"work": WORKS[asked.work]}, ""
    if found.worked is None:
        return _("too little is written of it"), ""
    one = found.worked
    told = {"work": WORKS[one.work], "fast": plain(one.fast_days, 1), "canter": plain(one.canter_days, 1)}
    told |= {"weeks": str(WEEKS), "days": str(found.days)}
    words = _("%(work)s: %(fast)s days of fast work and %(canter)s of canter a week") % told
    note = _(
        "By the diary of the last %(weeks)s weeks, in which %(days)s days have something written. It holds no "
        "hours: each day ridden is counted as %(hours)s under the rider."
    )
    return words, note % (told | {"hours": _hours(asked.hours)})


def _hours(hours: float) -> str:
    return ngettext("%(number)s hour", "%(number)s hours", 1 if hours == 1 else 2) % {"number": plain(hours)}


def _energy(one: feeding.Ration) -> Fact:
    told = {"given": plain(one.given.mj, 0), "needed": plain(one.needed.mj, 0), "percent": plain(one.percent, 0)}
    words = _("%(given)s\u00a0MJ given, %(needed)s\u00a0MJ reckoned to be needed") % told
    return Fact(_("Energy a day"), words, _("Horses of one mass and work differ by a tenth either way."))


def _forage(one: feeding.Ration) -> Fact:
    forage = one.forage
    told = {"given": kg(forage.kg, 1), "percent": plain(forage.percent), "wanted": kg(forage.wanted_kg, 1)}
    told["least"] = kg(forage.least_kg, 1)
    words = _("%(given)s given as dry matter; %(wanted)s are advised, %(least)s are called the least") % told
    if forage.says == "as wanted":
        return Fact(_("Forage"), words)
    note = _(
        "Reviews ask for more than most racing yards feed: in 25 Thoroughbred yards it was 3.3 kg as fed (Southwood "
        "and others 1993). Hay that is not weighed, and grass, are not in this. "
        "A vet or nutritionist has the last word."
    )
    return Fact(_("Forage"), words, note)


def _starch(one: feeding.Ration) -> list[Fact]:
    most = max(one.meals, key=lambda meal: meal.starch.g_kg, default=None)
    if most is None:
        return []
    told = {"g": plain(most.starch.g_kg), "time": most.time, "feeds": ", ".join(one.starch.unstated)}
    words = _("at most %(g)s\u00a0g for each kg of body mass in a feed (%(time)s)") % told
    notes = []
    if one.starch.unstated:
        words = _("at least %(g)s\u00a0g for each kg of body mass in a feed (%(time)s)") % told
        notes.append(_("The label does not say it: %(feeds)s.") % told)
    if "reached" in {one.starch.caution, *(meal.starch.caution for meal in one.meals)}:
        notes.append(
            _(
                "Among 201 horses in Denmark, none in race training, stomach ulcers were commoner from 1 g in a feed "
                "and above 2 g in a day (Luthersson and others 2009). "
                "That is an association; ask the vet or a nutritionist."
            )
        )
    return [Fact(_("Starch"), words, " ".join(notes))]


def _protein(one: feeding.Ration) -> Fact:
    if one.protein_g is None:
        return Fact(_("Protein a day"), _("not known, because a label leaves it out"))
    return Fact(_("Protein a day"), _("%(g)s\u00a0g") % {"g": plain(one.protein_g, 0)})


def proposed(proposal: feeding.Proposal | None) -> dict[str, Any] | None:
    """Return a proposal as a table of feeds, now and then; None where there is none, or nothing would change."""
    if proposal is None:
        return None
    rows = [(one.feed, kg(one.now, 1), kg(one.then, 1)) for one in proposal.changes if one.now or one.then]
    if all(now == then for _feed, now, then in rows):
        return None
    return {"rows": rows, "adds": proposal.adds_feeds, "forage": kg(proposal.ration.forage.kg, 1)}


def change_words(pair: tuple[feeding.Weighing, feeding.Weighing] | None) -> str:
    """Return how the mass went between two weighings on a scale; empty where there are not two."""
    if pair is None:
        return ""
    first, last = pair
    told = {"first": short(first.day), "last": short(last.day), "was": kg(first.kg, 0), "now": kg(last.kg, 0)}
    told["week"] = plain(abs(feeding.change_a_week(first, last)), 1)
    if last.kg == first.kg:
        return _("It weighed %(now)s on %(first)s and on %(last)s.") % told
    if last.kg > first.kg:
        words = _("From %(was)s on %(first)s to %(now)s on %(last)s: %(week)s per cent more a week.")
    else:
        words = _("From %(was)s on %(first)s to %(now)s on %(last)s: %(week)s per cent less a week.")
    return words % told


def sources(figures: feeding.Defaults) -> list[tuple[Ruled, str]]:
    """Return every figure with its rule, and how well it is known."""
    groups = (figures.maintenance, figures.work, figures.hours)
    listed = [one for group in groups for one in group.values()]
    listed += [figures.canter_days, figures.fast_days, figures.forage_wanted, figures.forage_least, figures.appetite]
    listed += [figures.starch_meal, figures.starch_day]
    return [(one, str(CONFIDENCE.get(one.rule.confidence, one.rule.confidence))) for one in listed]
