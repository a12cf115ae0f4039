"""The sentences that the string's pages open with: the answer first."""

from collections.abc import Sequence
from functools import lru_cache

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from upsides.books.models import Horse
from upsides.books.queries.horse import Shown
from upsides.books.queries.standings import Curve
from upsides.books.queries.string import Listed, Status, String
from upsides.web.shell.templatetags.words import day

_WORTH_SAYING_LB = 2.0


def about_string(string: String, status: Status) -> str:
    """Return what the string amounts to: how many, which is worth most, which has come on most."""
    sentences = [_count(len(string.listed), status, all_horses=string.all_horses)]
    if string.figures:
        sentences += _best(string.listed)
    if not string.known.no_results and status is Status.TRAINING:
        sentences += _waiting(sum(one.raced is None for one in string.listed))
    return " ".join(sentences)


def _count(count: int, status: Status, *, all_horses: bool) -> str:
    told = {"count": count}
    if not all_horses and status is Status.TRAINING:
        words = ngettext("%(count)s horse of yours is here.", "%(count)s horses of yours are here.", count)
        return words % told
    if status is Status.LEFT:
        return ngettext("%(count)s horse has left.", "%(count)s horses have left.", count) % told
    if status is Status.ALL:
        return ngettext("%(count)s horse in the books.", "%(count)s horses in the books.", count) % told
    return ngettext("%(count)s horse in the string.", "%(count)s horses in the string.", count) % told


def _best(listed: Sequence[Listed]) -> list[str]:
    rated = [(one, one.standing) for one in listed if one.standing is not None]
    if not rated:
        return [_("None has a figure yet.")]
    one, standing = max(rated, key=lambda pair: pair[1].level.lb)
    told = {"horse": one.horse.name, "level": round(standing.level.lb)}
    sentences = [_("%(horse)s is worth most on our figures, %(level)s\u00a0lb.") % told]
    gains = [(standing.curve.gained, one) for one, standing in rated if one.raced and standing.curve.gained is not None]
    gained, better = max(gains, key=lambda pair: pair[0], default=(0.0, None))
    if better is not None and gained >= _WORTH_SAYING_LB:
        told = {"horse": better.horse.name, "gained": round(gained)}
        sentences.append(_("%(horse)s has come on most in a year, by %(gained)s\u00a0lb.") % told)
    return sentences


def _waiting(unraced: int) -> list[str]:
    if not unraced:
        return []
    return [ngettext("%(count)s has yet to run.", "%(count)s have yet to run.", unraced) % {"count": unraced}]


def about_found(count: int, of: int) -> str:
    """Return how many horses answer to what is looked for."""
    if count == of:
        return ngettext("%(count)s horse.", "%(count)s horses.", of) % {"count": of}
    told = {"count": count, "of": of}
    return ngettext("%(count)s of %(of)s horses.", "%(count)s of %(of)s horses.", count) % told


def sex_words(sex: str) -> str:
    """Return a value of `Horse.Sex` as a word, or what a list of lots has instead: male, female."""
    return _words_of_sexes(get_language()).get(sex, sex)


@lru_cache(maxsize=16)
def _words_of_sexes(_language: str | None) -> dict[str, str]:
    known = {value: str(words) for value, words in Horse.Sex.choices}
    return {"male": _("male"), "female": _("female")} | known


def age_and_sex(age: int, sex: str) -> str:
    """Return what a horse is: 4-year-old filly."""
    return _age_and_sex(age, sex, get_language())


@lru_cache(maxsize=1024)
def _age_and_sex(age: int, sex: str, _language: str | None) -> str:
    return _("%(age)s-year-old %(sex)s") % {"age": age, "sex": sex_words(sex)}


def unnamed_words(age: int, sex: str) -> str:
    """Return what a horse without a name is: 2-year-old colt, not named yet."""
    return _("%(who)s, not named yet") % {"who": age_and_sex(age, sex)}


def who(age: int, horse: Horse) -> str:
    """Return what a horse is: 4-year-old filly by Sire out of Dam."""
    told = {"age": age, "sex": sex_words(horse.sex), "sire": horse.sire, "dam": horse.dam}
    if horse.sire and horse.dam:
        return _("%(age)s-year-old %(sex)s by %(sire)s out of %(dam)s") % told
    if horse.sire:
        return _("%(age)s-year-old %(sex)s by %(sire)s") % told
    if horse.dam:
        return _("%(age)s-year-old %(sex)s out of %(dam)s") % told
    return age_and_sex(age, horse.sex)


def about_horse(shown: Shown) -> str:
    """Return what a horse is worth, how sure that is, and what it rests on; its runs alone where that is not open."""
    if not shown.open or shown.known.no_fit:
        return _about_runs(shown)
    if shown.standing is None:
        return _("No figure yet: it has not run in any race that the last fit knows.")
    level = shown.standing.level
    told = {"level": round(level.lb), "low": round(level.low), "high": round(level.high), "count": len(shown.runs)}
    if not shown.runs:
        return (
            _(
                "Worth %(level)s\u00a0lb on our figures, four times in five between %(low)s and %(high)s; "
                "it has not run, so this is what such a horse is usually worth."
            )
            % told
        )
    return ngettext(
        "Worth %(level)s\u00a0lb on our figures, four times in five between %(low)s and %(high)s; "
        "%(count)s run, last on %(day)s.",
        "Worth %(level)s\u00a0lb on our figures, four times in five between %(low)s and %(high)s; "
        "%(count)s runs, last on %(day)s.",
        len(shown.runs),
    ) % (told | {"day": day(shown.runs[0]["date"])})


def _about_runs(shown: Shown) -> str:
    if not shown.runs:
        return _("It has not run in any race that the library holds.")
    told = {"count": len(shown.runs), "wins": sum(run["position"] == 1 for run in shown.runs)}
    told |= {"day": day(shown.runs[0]["date"])}
    if not told["wins"]:
        return ngettext("%(count)s run, on %(day)s.", "%(count)s runs, last on %(day)s.", told["count"]) % told
    return (
        ngettext(
            "%(count)s run, on %(day)s, and it won.",
            "%(count)s runs and %(wins)s won, last out on %(day)s.",
            told["count"],
        )
        % told
    )


def about_curve(shown: Shown) -> str:
    """Return what the horse's picture shows, for those who cannot see it."""
    if shown.standing is None:
        return ""
    first, last = shown.standing.career.row(0, named=True), shown.standing.career.row(-1, named=True)
    return ngettext(
        "Level in pounds from %(first)s on %(start)s to %(last)s on %(end)s, with %(count)s run as a point. "
        "The table of runs holds the numbers.",
        "Level in pounds from %(first)s on %(start)s to %(last)s on %(end)s, with %(count)s runs as points. "
        "The table of runs holds the numbers.",
        len(shown.runs),
    ) % {
        "first": round(first["level_lb"]),
        "start": day(first["date"]),
        "last": round(last["level_lb"]),
        "end": day(last["date"]),
        "count": len(shown.runs),
    }


def about_spark(curve: Curve) -> str:
    """Return what a small curve shows."""
    told = {"first": round(curve.level_lb[0]), "last": round(curve.level_lb[-1]), "day": day(curve.days[0])}
    return _("From %(first)s to %(last)s\u00a0lb since %(day)s") % told
