"""What each answer about condition rests on, a sentence each."""

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from upsides.books.queries.condition_bloods import BloodSign
from upsides.condition.fit import Piece
from upsides.condition.fresh.answer import SinceRun, Travel
from upsides.condition.fresh.gaps import GapEffect
from upsides.condition.fresh.latest import Latest, Missing
from upsides.condition.fresh.mass import AgainstRacing
from upsides.condition.fresh.words import Appetite, Word
from upsides.web.condition.words import PIECES, PLACES, SIGNS, UNITS, days_ago, in_so_many, left_words, signed, word_of
from upsides.web.recordings import measures as m
from upsides.web.shell.templatetags.words import short_day
from upsides.web.trip.words import trip_words


def piece_words(one: Piece) -> str:
    """Return what a piece of evidence says, with its range and its chance."""
    fitter = one.fitter >= 0.5
    in_races = one.kind == "figures in races"
    scale, places = (1, 0) if in_races else (100, 1)
    told = {name: m.decimal(scale * getattr(one, name), places) for name in ("change", "low", "high")} | {
        "what": capfirst(str(PIECES[one.kind])), "last": short_day(one.last), "since": short_day(one.since),
        "chance": in_so_many(one.fitter if fitter else 1 - one.fitter),
    }  # fmt: skip
    if one.points == "cannot tell":
        return _cannot_tell(in_races=in_races) % (told | {"chance": in_so_many(one.fitter)})
    if in_races and fitter:
        text = _(
            "%(what)s up to %(last)s against those up to %(since)s: %(change)s\u00a0lb, nine in ten between %(low)s "
            "and %(high)s; by this fitter, %(chance)s."
        )
    elif in_races:
        text = _(
            "%(what)s up to %(last)s against those up to %(since)s: %(change)s\u00a0lb, nine in ten between %(low)s "
            "and %(high)s; by this less fit, %(chance)s."
        )
    elif fitter:
        text = _(
            "%(what)s on %(last)s against %(since)s: %(change)s\u00a0%%, nine in ten between %(low)s and %(high)s; by "
            "this fitter, %(chance)s."
        )
    else:
        text = _(
            "%(what)s on %(last)s against %(since)s: %(change)s\u00a0%%, nine in ten between %(low)s and %(high)s; by "
            "this less fit, %(chance)s."
        )
    return text % told


def _cannot_tell(*, in_races: bool) -> str:
    if in_races:
        return _(
            "%(what)s up to %(last)s against those up to %(since)s: %(change)s\u00a0lb, nine in ten between %(low)s "
            "and %(high)s; this cannot tell (fitter: %(chance)s)."
        )
    return _(
        "%(what)s on %(last)s against %(since)s: %(change)s\u00a0%%, nine in ten between %(low)s and %(high)s; this "
        "cannot tell (fitter: %(chance)s)."
    )


def warmth_words(known: int, readings: int) -> str:
    """Return whether how warm it was is taken out of hearts and speeds; empty where none was read."""
    told = {"known": known, "readings": readings}
    if not readings:
        return ""
    if not known:
        return _(
            "How warm it was is not taken out of hearts and speeds, because nobody kept it: neither the diary nor any "
            "device says it."
        )
    if known == readings:
        return _("How warm it was is taken out of hearts and speeds.")
    return (
        _(
            "How warm it was is taken out of hearts and speeds as far as it is known: of %(known)s readings of the "
            "yard's %(readings)s."
        )
        % told
    )


def sign_words(one: Latest, *, drifting: bool = False) -> str:
    """Return a sign against the horse's own past.

    Args:
        one: the latest reading.
        drifting: the sign is told as not as usual, by the watch over all its readings or by this reading.
    """
    words = _sign_words(one)
    if not drifting or one.where in {"below", "above"}:
        return words
    if one.what == "recovery":
        alone = _("This is one reading by itself, as read: work, ground, warmth and rider are not taken out.")
    else:
        alone = _("This is one reading by itself.")
    return f"{words} {alone}"


def _sign_words(one: Latest) -> str:
    unit, places = str(UNITS[one.what]), PLACES[one.what]
    told = {
        "what": capfirst(str(SIGNS[one.what])), "value": unit % {"value": m.decimal(one.value, places)},
        "when": days_ago(one.days_ago),
    }  # fmt: skip
    if one.usual is None or one.low is None or one.high is None:
        return _("%(what)s: %(value)s, %(when)s; nothing before to hold it against.") % told
    told |= {
        "usual": m.decimal(one.usual, places), "low": m.decimal(one.low, places), "high": m.decimal(one.high, places),
    }  # fmt: skip
    match one.where:
        case "below":
            text = _(
                "%(what)s: %(value)s, %(when)s; usually %(usual)s, and below the %(low)s to %(high)s of nine in ten."
            )
        case "above":
            text = _(
                "%(what)s: %(value)s, %(when)s; usually %(usual)s, and above the %(low)s to %(high)s of nine in ten."
            )
        case "within":
            text = _("%(what)s: %(value)s, %(when)s; usually %(usual)s, nine in ten between %(low)s and %(high)s.")
        case _:
            text = _("%(what)s: %(value)s, %(when)s; usually %(usual)s, from too few to say more.")
    return text % told


def racing_mass_words(one: AgainstRacing) -> list[str]:
    """Return the mass against racing mass, with what was published of a difference."""
    told = {
        "kg": m.decimal(one.kg),
        "racing": m.decimal(one.racing.kg),
        "off": signed(one.off_kg),
        "share": signed(100 * one.off_share),
        "runs": one.racing.runs,
    }
    text = (
        _(
            "%(kg)s\u00a0kg against a racing mass of %(racing)s\u00a0kg: %(off)s\u00a0kg, %(share)s\u00a0%%. Racing "
            "mass is what it weighed before its best %(runs)s runs."
        )
        if one.racing.how == "best runs"
        else _(
            "%(kg)s\u00a0kg against a racing mass of %(racing)s\u00a0kg: %(off)s\u00a0kg, %(share)s\u00a0%%. Racing "
            "mass is what it weighed before the runs that have a mass: %(runs)s."
        )
    )
    found = [text % told]
    if one.after_race is not None:
        lost, error = one.after_race
        found.append(
            _("So soon after a race a published group was missing %(lost)s\u00a0kg (standard error %(error)s).")
            % {"lost": m.decimal(lost), "error": m.decimal(error)}
        )
    return found


def appetite_words(one: Appetite) -> str:
    """Return what it left the last time, of late, and before."""
    told = {
        "left": left_words(one.left), "when": days_ago(one.days_ago), "share": m.share_words(one.lately),
        "days": one.days_told,
    }  # fmt: skip
    if one.before is None:
        return _("Appetite: %(left)s, %(when)s; %(share)s of its feed left on the %(days)s days that are told.") % told
    told |= {"before": m.share_words(one.before), "past": one.past_told}
    return (
        _(
            "Appetite: %(left)s, %(when)s; %(share)s of its feed left on the %(days)s days of the last week that are "
            "told, %(before)s on %(past)s days in the two months before."
        )
        % told
    )


def last_word_words(one: Word) -> str:
    """Return the last word, and how often it was the same before."""
    told = {
        "what": capfirst(str(SIGNS[one.what])), "word": word_of(one.what, one.word), "when": days_ago(one.days_ago),
        "often": one.often, "of": one.of,
    }  # fmt: skip
    return _("%(what)s: %(word)s, %(when)s; the same %(often)s times in %(of)s before.") % told


def since_run_words(one: SinceRun) -> list[str]:
    """Return days since the last run beside what is usual after such a trip, and what results say of the gap."""
    told: dict[str, object] = {"days": one.days, "trip": trip_words(one.furlongs)}
    if one.usual is None or not one.usual.runs:
        return [_("%(days)s days since its last run, over %(trip)s.") % told]
    told |= {"low": round(one.usual.low), "high": round(one.usual.high), "runs": one.usual.runs}
    found = [
        _(
            "%(days)s days since its last run, over %(trip)s; half of all gaps after such a trip are %(low)s to "
            "%(high)s days."
        )
        % told
    ]
    effect = one.effect
    if effect is not None and effect.says == "told" and effect.mean is not None:
        found.append(_gap_words(effect, effect.mean))
    elif effect is not None and effect.says == "nothing stands out":
        found.append(_("In these results such a gap stands out neither way."))
    return found


def _gap_words(effect: GapEffect, mean: float) -> str:
    """Return by how much runs after a gap were better or worse than after the usual one, and what that does not say."""
    told = {
        "mean": m.decimal(abs(mean)), "low": signed(effect.low), "high": signed(effect.high), "count": effect.runs,
    }  # fmt: skip
    text = (
        _(
            "Runs after such a gap were better by %(mean)s\u00a0lb than after the usual gap (nine in ten between "
            "%(low)s and %(high)s, %(count)s runs)."
        )
        if mean > 0
        else _(
            "Runs after such a gap were worse by %(mean)s\u00a0lb than after the usual gap (nine in ten between "
            "%(low)s and %(high)s, %(count)s runs)."
        )
    )
    warning = _(
        "Who ran back soon was well, who stayed away was often hurt: it does not say what another gap would have done."
    )
    return f"{text % told} {warning}"


def travel_words(one: Travel) -> str:
    """Return when it travelled last, for how long, and how often lately."""
    if one.days_ago is None:
        return _("No journey in the last months.")
    told = {"when": days_ago(one.days_ago), "count": one.journeys}
    if one.hours is None:
        text = ngettext(
            "Last journey %(when)s; %(count)s in 14 days.", "Last journey %(when)s; %(count)s in 14 days.", one.journeys
        )
        return text % told
    told["hours"] = m.decimal(one.hours)
    if one.long:
        return (
            _(
                "Last journey %(when)s, of %(hours)s hours, as long as those with published effects (from about eight "
                "hours); %(count)s in 14 days."
            )
            % told
        )
    return _("Last journey %(when)s, of %(hours)s hours; %(count)s in 14 days.") % told


def even_words(one: Latest | Missing | None) -> str:
    """Return how even its strides at trot were last, against its own past; empty where nothing tells it."""
    if not isinstance(one, Latest):
        return ""
    told = {"value": f"{one.value:.2f}", "when": days_ago(one.days_ago), "count": one.count}
    if one.usual is None or one.low is None or one.high is None or one.where == "cannot be told":
        text = ngettext(
            "Evenness of its strides at trot %(when)s: %(value)s; %(count)s earlier one is too few to tell.",
            "Evenness of its strides at trot %(when)s: %(value)s; %(count)s earlier ones are too few to tell.",
            one.count,
        )
        return text % told
    told |= {"usual": f"{one.usual:.2f}", "low": f"{one.low:.2f}", "high": f"{one.high:.2f}"}
    if one.where == "below":
        return (
            _(
                "Evenness of its strides at trot %(when)s: %(value)s, less than it was (usual %(usual)s, nine in ten "
                "between %(low)s and %(high)s). It does not say in which leg or why: ask the vet."
            )
            % told
        )
    return (
        _(
            "Evenness of its strides at trot %(when)s: %(value)s (usual %(usual)s, nine in ten between %(low)s and "
            "%(high)s)."
        )
        % told
    )


def blood_words(one: BloodSign) -> str:
    """Return a blood result that stands out: against the interval printed beside it, and against the one before."""
    told = {
        "result": one.analyte.words(), "interval": one.analyte.interval(), "laboratory": one.laboratory,
        "day": short_day(one.day),
        "change": "" if one.change is None else f"{one.change:+.0f}".replace("-", "−"),
        "allowed": "" if one.allowed is None else f"{one.allowed:.0f}",
    }  # fmt: skip
    if one.change is None:
        return _("%(result)s on %(day)s; %(laboratory)s prints %(interval)s.") % told
    if one.analyte.outside:
        return (
            _(
                "%(result)s on %(day)s; %(laboratory)s prints %(interval)s; %(change)s\u00a0%% against the result "
                "before, where 19 in 20 differ by less than %(allowed)s\u00a0%%."
            )
            % told
        )
    return (
        _(
            "%(result)s on %(day)s, within what %(laboratory)s prints; %(change)s\u00a0%% against the result before, "
            "where 19 in 20 differ by less than %(allowed)s\u00a0%%."
        )
        % told
    )
