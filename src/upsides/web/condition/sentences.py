"""How a horse is, in sentences: the answer first."""

from collections.abc import Sequence
from datetime import date, timedelta

from django.contrib.humanize.templatetags.humanize import apnumber
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.models import Move
from upsides.books.queries.condition import Condition
from upsides.books.queries.condition_first import SHORTER, UNEVEN
from upsides.books.queries.condition_signs import odd_and_usual
from upsides.books.queries.condition_vet import ForTheVet
from upsides.condition.done.summary import Done
from upsides.condition.fit import Fit
from upsides.condition.fresh.answer import Fresh
from upsides.condition.fresh.words import Word
from upsides.web.condition.words import PIECES, SIGNS, ago, days_ago, in_so_many, listed, word_of
from upsides.web.recordings import measures as m
from upsides.web.shell.templatetags.words import short_day


def about(condition: Condition) -> str:
    """Return the answer: of a horse out of work or elsewhere that it is; then fit, fresh, anything for the vet."""
    told = {
        "fit": capfirst(about_fit(condition.fit, condition.done.on)),
        "fresh": about_fresh(condition),
        "vet": about_vet(condition.vet, strides_of(condition)),
    }
    text = _("%(fit)s; %(fresh)s; %(vet)s.") % told
    out = out_of_work(condition)
    return _("%(out)s %(rest)s") % {"out": out, "rest": text} if out else text


def out_of_work(condition: Condition) -> str:
    """Return where a horse is and since when no work of it is known; empty for one in training that works."""
    done, place = condition.done, condition.place
    elsewhere = place is not None and place.to != Move.To.TRAINING
    if not done.idle and not elsewhere and condition.left is None:
        return ""
    if condition.left is not None:
        where = _("It left the yard on %(day)s") % {"day": date_format(condition.left, "j F Y")}
    elif place is not None and elsewhere:
        told = {"where": Move.To(place.to).label, "day": date_format(place.first_day, "j F Y")}
        where = _("Not in training: %(where)s since %(day)s") % told
    else:
        where = _("It is in training")
    if not done.idle:
        return _("%(where)s.") % {"where": where}
    if done.since_work is None:
        return _("%(where)s; no work of it is known.") % {"where": where}
    last = date_format(done.on - timedelta(days=done.since_work), "j F Y")
    text = ngettext(
        "%(where)s; no work of it is known since %(last)s (%(days)s day).",
        "%(where)s; no work of it is known since %(last)s (%(days)s days).",
        done.since_work,
    )
    return text % {"where": where, "last": last, "days": done.since_work}


def about_fit(fit: Fit, on: date) -> str:
    """Return whether it is fitter than then, as far as anything tells, and how long ago that is; without a full stop.

    Args:
        fit: all pieces of the horse.
        on: the day.
    """
    told = {
        "up": listed([PIECES[kind] for kind in fit.pointing("fitter")]),
        "down": listed([PIECES[kind] for kind in fit.pointing("less fit")]),
        "ago": ago([(on - one.since).days for one in fit.pieces if one.points != "cannot tell"]),
        "others": _others(fit),
    }
    if fit.together == "disagree":
        up, down = (
            [(on - one.since).days for one in fit.pieces if one.points == way] for way in ("fitter", "less fit")
        )
        told |= {"up_ago": ago(up), "down_ago": ago(down)}
        text = _("%(up)s points to fitter than %(up_ago)s, %(down)s to less fit than %(down_ago)s%(others)s")
        return text % told
    if fit.lowest is None or fit.highest is None:
        return _cannot_tell(fit, on)
    fitter = bool(told["up"])
    ends = (fit.lowest, fit.highest) if fitter else (1 - fit.highest, 1 - fit.lowest)
    told |= {"low": in_so_many(ends[0]), "high": in_so_many(ends[1])}
    if fit.together == "one alone" and fitter:
        text = _("fitter than %(ago)s, %(low)s by %(up)s alone%(others)s")
    elif fit.together == "one alone":
        text = _("less fit than %(ago)s, %(low)s by %(down)s alone%(others)s")
    elif told["low"] == told["high"]:
        text = (
            _("fitter than %(ago)s, %(low)s by %(up)s%(others)s")
            if fitter
            else _("less fit than %(ago)s, %(low)s by %(down)s%(others)s")
        )
    else:
        text = (
            _("fitter than %(ago)s, between %(low)s and %(high)s by %(up)s%(others)s")
            if fitter
            else _("less fit than %(ago)s, between %(low)s and %(high)s by %(down)s%(others)s")
        )
    return text % told


def _others(fit: Fit) -> str:
    """Return in brackets how many pieces point nowhere, beside those that do; empty for none."""
    count = len(fit.pointing("cannot tell"))
    if not count:
        return ""
    text = ngettext(" (%(count)s other cannot tell)", " (%(count)s others cannot tell)", count)
    return text % {"count": apnumber(count)}


def _cannot_tell(fit: Fit, on: date) -> str:
    """Return that no piece points anywhere, with the chances between which those that there are lie."""
    told = {"ago": ago([(on - one.since).days for one in fit.pieces])}
    if not fit.pieces and any(one.why == "not worked out" for one in fit.missing):
        return _("whether it is fitter than %(ago)s was not worked out for this day") % told
    if not fit.pieces:
        return _("whether it is fitter than %(ago)s cannot be told") % told
    chances = [one.fitter for one in fit.pieces]
    told |= {"low": in_so_many(min(chances)), "high": in_so_many(max(chances))}
    if told["low"] == told["high"]:
        return _("whether it is fitter than %(ago)s cannot be told (fitter: %(low)s)") % told
    return _("whether it is fitter than %(ago)s cannot be told (fitter: between %(low)s and %(high)s)") % told


def about_fresh(condition: Condition) -> str:
    """Return which signs are not as usual for it, today or over the weeks, and which are; without a full stop."""
    odd, usual = odd_and_usual(condition.fresh, condition.stands_out)
    told = {
        "odd": listed([_with_word(condition.fresh, name) for name in odd]),
        "usual": listed([SIGNS[name] for name in usual]),
    }
    if odd and usual:
        return _("not as usual for it: %(odd)s; as usual: %(usual)s") % told
    if odd:
        return _("not as usual for it: %(odd)s") % told
    if usual:
        return _("as usual for it: %(usual)s") % told
    return _("no sign of freshness was measured lately")


def _with_word(fresh: Fresh, name: str) -> str:
    """Return the name of a sign, with what was said where it is somebody's word."""
    word = next((one for one in (fresh.rider, fresh.mind) if isinstance(one, Word) and one.what == name), None)
    told = {"name": SIGNS[name], "word": "" if word is None else word_of(name, word.word)}
    return str(told["name"]) if word is None else _("%(name)s (%(word)s)") % told


def strides_of(condition: Condition) -> list[str]:
    """Return what its strides have become, by its own last trot and by the watch over all readings."""
    watched = {kind for kind, _words in condition.strides_out}
    found = [_("its strides at trot are less even than they were")] if condition.vet.uneven or UNEVEN in watched else []
    return [*found, *([_("its stride is shorter than it was")] if SHORTER in watched else [])]


def about_vet(vet: ForTheVet, strides: Sequence[str] = ()) -> str:
    """Return whether there is anything to ask the vet, or the farrier; without a full stop."""
    entered, shoes = _entered(vet), shoes_words(vet)
    if entered and strides:
        entered = _("%(entered)s; %(strides)s") % {"entered": entered, "strides": listed(strides)}
    elif strides:
        entered = _("%(strides)s: ask the vet") % {"strides": listed(strides)}
    if entered and shoes:
        return _("%(entered)s; %(shoes)s") % {"entered": entered, "shoes": shoes}
    return entered or shoes or _("nothing stands open for the vet")


def shoes_words(vet: ForTheVet) -> str:
    """Return that something is wrong with its shoes, which is for the farrier first; empty where nothing is."""
    if not vet.shoes:
        return ""
    return ngettext(
        "something is wrong with its shoes (%(count)s entry): ask the farrier before it works",
        "something is wrong with its shoes (%(count)s entries): ask the farrier before it works",
        len(vet.shoes),
    ) % {"count": len(vet.shoes)}


def _entered(vet: ForTheVet) -> str:
    """Return how many entries and which blood results there are to ask the vet about, empty for none."""
    count = len(vet.open) - len(vet.shoes)
    told = {"count": count, "names": listed([one.analyte.name for one in vet.bloods])}
    if count and vet.bloods:
        text = ngettext(
            "%(count)s entry to ask the vet about, and in its blood %(names)s",
            "%(count)s entries to ask the vet about, and in its blood %(names)s",
            count,
        )
        return text % told
    if count:
        text = ngettext("%(count)s entry to ask the vet about", "%(count)s entries to ask the vet about", count)
        return text % told
    if vet.bloods:
        return _("in its blood %(names)s to ask the vet about") % told
    return ""


def about_done(done: Done) -> str:
    """Return what it has done this week against last, in metres."""
    week = done.week
    told = {"far": m.far(week.metres), "fast": m.far(week.fast_m), "more": m.far(abs(week.more_m)),
            "fast_more": m.far(abs(week.fast_more_m))}  # fmt: skip
    if not week.metres and not week.before_m:
        return _("Nothing is known of what it did in the last two weeks.")
    if done.until < done.on:
        told["day"] = date_format(done.until, "l")
        if week.more_m >= 0:
            return _(
                "In the seven days up to %(day)s it went %(far)s, of it %(fast)s fast: %(more)s more than in the seven "
                "before."
            ) % told  # fmt: skip
        return _(
            "In the seven days up to %(day)s it went %(far)s, of it %(fast)s fast: %(more)s less than in the seven "
            "before."
        ) % told  # fmt: skip
    if week.more_m >= 0:
        return (
            _("In the last seven days it went %(far)s, of it %(fast)s fast: %(more)s more than in the seven before.")
            % told
        )
    return (
        _("In the last seven days it went %(far)s, of it %(fast)s fast: %(more)s less than in the seven before.") % told
    )


def until_words(done: Done) -> str:
    """Return up to when sums count while the work of the day itself is not known; empty where the day counts."""
    if done.until == done.on:
        return ""
    told = {"day": date_format(done.until, "l")}
    return _("What it did this day is not known yet; the sums count up to %(day)s.") % told


def since_words(done: Done) -> list[str]:
    """Return days since fast work, the last run and a lay-up, and swims."""
    found = []
    if done.since_fast is not None:
        found.append(_("Last fast work: %(when)s.") % {"when": days_ago(done.since_fast)})
    if done.since_run is not None:
        found.append(_("Last run: %(when)s.") % {"when": days_ago(done.since_run)})
    found.append(
        ngettext("Fast works in 14 days: %(count)s.", "Fast works in 14 days: %(count)s.", done.fast_works)
        % {"count": done.fast_works}
    )
    if done.laid_up is not None:
        found.append(_("Without fast work for %(days)s days: a lay-up of 60 days or more.") % {"days": done.laid_up})
    if done.since_lay_up is not None:
        told = {"lasted": done.lay_up_lasted, "days": done.since_lay_up}
        found.append(_("Its last lay-up lasted %(lasted)s days and ended %(days)s days ago.") % told)
    if done.swims:
        told = {"count": done.swims}
        found.append(ngettext("It swam on %(count)s day of 30.", "It swam on %(count)s days of 30.", done.swims) % told)
    return found


def legs_words(felt: date | None) -> str:
    """Return when the legs were last felt and as usual."""
    if felt is None:
        return _("Nobody wrote in four weeks that its legs were felt and as usual.")
    return _("Legs last felt and as usual on %(day)s.") % {"day": short_day(felt)}
