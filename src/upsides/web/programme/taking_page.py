"""A programme on its way in, ready for its template: which column says what, what it would bring, what was not read."""

from collections import Counter
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books import clock
from upsides.books.intake import files
from upsides.books.models import Yard
from upsides.books.queries import moments
from upsides.books.queries.programme import programme
from upsides.books.services.programmes import Taken, look_at
from upsides.errors import UpsidesError
from upsides.errors.wording import gettext
from upsides.placing import Change, Heard, Race, conditions_of
from upsides.results.description import Shape
from upsides.results.programme import FOLDER, last_programme
from upsides.results.programme_drafting import About, draft_programme
from upsides.results.reasons import worded
from upsides.results.shape import read_shape
from upsides.web.programme.words import day, titled
from upsides.web.shell.refusals import refused

KEPT_SHAPE: Final = "shape.toml"
MOST_TOLD: Final = 40
CHANGES: Final[dict[Change, str | Promise]] = {
    Change.NEW: gettext_lazy("new"),
    Change.SAME: gettext_lazy("as they were"),
    Change.CHANGED: gettext_lazy("changed"),
    Change.MOVED: gettext_lazy("moved"),
}


def shape_place(folder: Path, sha: str) -> Path:
    """Return where the shape of a kept file lies while it is worked at."""
    return folder / files.FOLDER / f"{sha}.toml"


def shape_of(folder: Path, sha: str) -> str:
    """Return the shape of a kept file: as it was put right, else the yard's last one if it fits, else a draft.

    Raises:
        TableGoneError: the file is no longer kept.
    """
    _kept, place = files.kept(sha, folder)
    mine = shape_place(folder, sha)
    if mine.exists():
        return mine.read_text("utf-8")
    last = folder / FOLDER / KEPT_SHAPE
    if last.exists() and _fits(folder, place, last.read_text("utf-8")):
        return last.read_text("utf-8")
    yard = moments.rows(Yard, moments.now()).get()
    money = Counter(race.prize.currency for race in programme(folder, moments.now()).races.values() if race.prize)
    usual = money.most_common(1)[0][0] if money else ""
    return draft_programme(place, About("calendar", yard.jurisdiction, usual, yard.zone))


def _fits(folder: Path, place: Path, text: str) -> bool:
    try:
        look_at(folder, place, read_shape(text, KEPT_SHAPE))
    except UpsidesError:
        return False
    return True


def taking_page(folder: Path, sha: str) -> dict[str, Any]:
    """Return what a kept file would bring by its shape.

    Raises:
        TableGoneError: the file is no longer kept.
    """
    kept, place = files.kept(sha, folder)
    text = shape_of(folder, sha)
    page: dict[str, Any] = {"sha": sha, "file": kept.name, "shape": text, "can_take": False}
    try:
        shape = read_shape(text, gettext("shape"))
        looked = look_at(folder, place, shape)
    except UpsidesError as error:
        return page | {"sentence": _("The table cannot be read yet."), "wrong": refused(error)}
    return page | shown(looked) | {"usual": usual(shape)}


def usual(shape: Shape) -> list[str]:
    """Return what is taken where a row says no zone or no currency of its own."""
    told = []
    if shape.timezone_stated:
        told.append(_("Times of courses of which nobody names a zone are taken by the clock of %(zone)s.")
                    % {"zone": shape.timezone})  # fmt: skip
    if shape.currency:
        told.append(_("Sums without a currency are taken as %(currency)s.") % {"currency": shape.currency})
    return [*told, _("Where that is wrong, write it otherwise below.")] if told else []


def shown(looked: Taken) -> dict[str, Any]:
    """Return what a programme would bring, for the template."""
    counts = Counter(one.change for one in looked.heard)
    unread = [one.race for one in looked.heard if conditions_of(one.race).unread]
    refused = [(row["line"], row["field"], row["value"], worded(row["reason"]), row["fate"] == "row")
               for row in looked.listed.refused.head(MOST_TOLD).iter_rows(named=True)]  # fmt: skip
    fresh = [one for one in looked.heard if one.change is not Change.SAME]
    return {
        "sentence": about_taking(looked, len(fresh)),
        "can_take": bool(fresh),
        "counts": [(str(CHANGES[change]), counts[change]) for change in CHANGES if counts[change]],
        "fresh": [(day(one.race.day), one.race.course, _told_apart(one.race, fresh),
                   one.told or str(CHANGES[one.change])) for one in fresh[:MOST_TOLD]],
        "more": max(0, len(fresh) - MOST_TOLD),
        "refused": refused,
        "left": max(0, looked.listed.refused.height - MOST_TOLD),
        "no_race": [(one.line, one.reason) for one in looked.refused],
        "clashing": looked.clashing,
        "unread": len(unread),
        "unused": list(looked.listed.unused),
    }  # fmt: skip


def _told_apart(race: Race, fresh: list[Heard]) -> str:
    """Return what a race is called, with its number where another of that day and course is called the same."""
    called = (race.day, race.course, race.title)
    same = sum((one.race.day, one.race.course, one.race.title) == called for one in fresh)
    if same < 2 or not race.number or not race.title:
        return titled(race)
    return _("%(title)s, race %(number)s") % {"title": race.title, "number": race.number}


def about_taking(looked: Taken, fresh: int) -> str:
    """Return how many races it names, and how many of them say something new."""
    told = {
        "races": len(looked.heard),
        "fresh": fresh,
        "lines": len(
            {row["line"] for row in looked.listed.refused.to_dicts() if row["fate"] == "row"}
            | {one.line for one in looked.refused}
        ),
    }
    text = ngettext("It names one race", "It names %(races)s races", len(looked.heard)) % told
    text += "; " + ngettext("one says something new.", "%(fresh)s say something new.", fresh) % told
    if not told["lines"]:
        return text
    more = ngettext("One line cannot be read.", "%(lines)s lines cannot be read.", int(told["lines"]))
    return f"{text} {more % told}"


def last_taken() -> dict[str, Any]:
    """Return the last programme that stands, for the page that takes it back; nothing where there is none."""
    found = last_programme(settings.UPSIDES_LIBRARY)
    if found is None:
        return {}
    number, heard, races = found
    return {"last": {"number": number, "heard": day(heard), "races": races}, "today": clock.today()}
