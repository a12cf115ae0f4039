"""Whom to look at first, ready for page and paper; and how the string has run."""

from collections.abc import Mapping
from typing import Any

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from upsides.books.models.answer import FORM
from upsides.books.queries import moments
from upsides.books.queries.boxes import in_walking_order
from upsides.books.queries.condition_first import First, LookAt
from upsides.books.queries.moments import Moment
from upsides.paper import BarnLooks, Look
from upsides.web.condition.words import in_so_many, signed

SPLITS = {
    "barn": gettext_lazy("Barn"),
    "gallop": gettext_lazy("Where it last worked fast"),
    "lorry": gettext_lazy("Lorry"),
    "feed": gettext_lazy("Feed batch"),
}
TO_ASK = (
    gettext_lazy("Temperatures morning and evening of all that ran below expectation, and of their neighbours"),
    gettext_lazy("A blood sample of some of them and of some that ran well, on the same day by the same laboratory"),
    gettext_lazy("The airways looked into after work, and a wash taken where the vet wants one"),
    gettext_lazy("Droppings looked at for worms"),
    gettext_lazy("A sample of hay, feed and water where one batch or barn stands out"),
    gettext_lazy("Heart and pulse listened to at rest, of those whose recovery has grown longer"),
)
"""What a vet might be asked about when a string runs below expectation: common practice, no source."""


def about_looks(shown: LookAt) -> str:
    """Return how many to look at, in one sentence; of those beyond what the yard can look at, how many cannot wait."""
    wait = shown.more - shown.beyond
    told = {"count": len(shown.first), "string": shown.string, "beyond": shown.beyond, "more": wait}
    if not shown.string and not shown.first:
        return _("Nothing is known of that day: the books have no horse in training on it.")
    if not shown.first:
        return _("Nothing that was entered or read asks for anybody's eyes.")
    if not shown.more:
        text = ngettext("%(count)s of %(string)s to look at first.", "%(count)s of %(string)s to look at first.",
                        len(shown.first))  # fmt: skip
        return text % told
    if not shown.beyond:
        text = ngettext(
            "%(count)s of %(string)s to look at first; %(more)s more has something that can wait.",
            "%(count)s of %(string)s to look at first; %(more)s more have something that can wait.",
            wait,
        )
        return text % told
    text = ngettext(
        "%(count)s of %(string)s to look at first; %(beyond)s more asks for eyes beyond what the yard can look at",
        "%(count)s of %(string)s to look at first; %(beyond)s more ask for eyes beyond what the yard can look at",
        shown.beyond,
    )
    if not wait:
        return _("%(words)s.") % {"words": text % told}
    rest = ngettext("%(more)s has something that can wait", "%(more)s have something that can wait", wait)
    return _("%(words)s; %(rest)s.") % {"words": text % told, "rest": rest % told}


def watched_words(shown: LookAt) -> str:
    """Return up to when readings were watched, or that they were not for the day."""
    if not shown.string:
        return ""
    if shown.watched is None:
        return _("What stands out in the readings was not worked out for this day; every night does it.")
    words = _("Readings were watched up to %(day)s.") % {"day": date_format(shown.watched, "j F Y")}
    if shown.for_nothing is None:
        return words
    text = _(
        "The yard's own limit: about %(count)s a day begin to stand out with nothing behind it; each then stands for "
        "some days."
    )
    return f"{words} {text % {'count': number_format(shown.for_nothing, 1)}}"


def by_barns(shown: LookAt) -> tuple[BarnLooks, ...]:
    """Return the horses barn by barn in walking order, for paper."""
    of = {one.horse.pk: one for one in shown.first}
    stands = {number: one.stood for number, one in of.items() if one.stood is not None}
    found: dict[str, list[Look]] = {}
    for horse in in_walking_order([one.horse for one in shown.first], stands):
        one = of[horse.pk]
        found.setdefault(one.stood.barn if one.stood else _("Without a box"), []).append(_look(one))
    return tuple(BarnLooks(title, tuple(looks)) for title, looks in found.items())


def _look(one: First) -> Look:
    return Look(one.horse.name, one.stood.name if one.stood else "", tuple(why.words for why in one.reasons))


def form_of_yard(moment: Moment) -> dict[str, Any]:
    """Return how the string has run, for the page; `sentence` says why where it cannot be told."""
    answer = moments.answer(FORM, moment)
    if answer is None:
        return {"sentence": _("How the string has run was not worked out for this day."), "parts": []}
    if "yard" not in answer.values:
        return {"sentence": _("Too few runs are known to say how the string has run of late."), "parts": []}
    yard = answer.values["yard"]
    return {
        "sentence": form_words(yard),
        "raw": _raw_words(yard, answer.values),
        "parts": [
            (SPLITS[one["split"]], one["name"], _short(one)) for one in answer.values["parts"] if one["runs"] > 0
        ],
        "ask": TO_ASK if yard["high"] < 0 else (),
        "day": answer.day,
    }


def form_words(yard: Mapping[str, Any]) -> str:
    """Return whether it is the yard, or luck."""
    told = _told(yard) | {"chance": in_so_many(yard["below"])}
    if yard["high"] < 0:
        return _(
            "The string runs below expectation: %(lb)s\u00a0lb, nine in ten between %(low)s and %(high)s; more than "
            "two pounds below, %(chance)s."
        ) % told  # fmt: skip
    if yard["low"] > 0:
        return _("The string runs above expectation: %(lb)s\u00a0lb, nine in ten between %(low)s and %(high)s.") % told
    return _(
        "How the string has run cannot be told from luck: %(lb)s\u00a0lb, nine in ten between %(low)s and %(high)s."
    ) % told  # fmt: skip


def _raw_words(yard: Mapping[str, Any], values: Mapping[str, Any]) -> str:
    """Return what the last runs came to, and towards what the answer is drawn from there."""
    if yard["raw_lb"] is None:
        return _("It had no run in the last three weeks by a horse that had run three times before.")
    told = {"runs": yard["runs"], "raw": signed(yard["raw_lb"]), "all": values["runs"]}
    text = ngettext(
        "%(runs)s run in three weeks came to %(raw)s\u00a0lb.",
        "%(runs)s runs in three weeks came to %(raw)s\u00a0lb on average.",
        yard["runs"],
    )
    if values.get("year_lb") is None:  # kept before it was told
        return text % told
    why = _(
        "Each is held against what horse, weight and rider had shown before its day, and against what all runs known "
        "here came to; horses that had not run three times before are left out, and a run beaten far counts less. "
        "Most of what so few runs show is luck, so the answer is drawn from there towards the mean of the year's "
        "%(all)s runs, %(year)s\u00a0lb."
    )
    return f"{text % told} {why % (told | {'year': signed(values['year_lb'])})}"


def _short(one: Mapping[str, Any]) -> str:
    text = ngettext(
        "%(lb)s\u00a0lb, nine in ten %(low)s to %(high)s, %(runs)s run",
        "%(lb)s\u00a0lb, nine in ten %(low)s to %(high)s, %(runs)s runs",
        one["runs"],
    )
    return text % (_told(one) | {"runs": one["runs"]})


def _told(one: Mapping[str, Any]) -> dict[str, str]:
    return {name: signed(one[name]) for name in ("lb", "low", "high")}
