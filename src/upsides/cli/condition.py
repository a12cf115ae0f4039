"""`upsides condition`: what a horse has done, whether it is fit and fresh, anything for the vet."""

from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.condition_lines import ago, done_lines, fresh_lines, fresh_words
from upsides.cli.options import Day, answer, json_option, library_option
from upsides.errors.wording import filled

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.condition import Condition
    from upsides.books.queries.condition_bloods import BloodSign
    from upsides.books.queries.condition_vet import ForTheVet
    from upsides.books.queries.diary import Written
    from upsides.books.queries.moments import Moment
    from upsides.condition.done.summary import Window
    from upsides.condition.exposure.held import Held
    from upsides.condition.fit import Fit

UNWATCHED = "What stands out in its readings was not worked out for this day."
TABLE_ALONE = (
    "What exercises come to in this yard was not worked out for this day: what was told without metres comes to what "
    "the table of exercises says."
)


@click.command()
@click.argument("horse")
@click.option("--as-of", type=Day(), help="As known at 6 in the morning of that day.")
@library_option
@json_option
def condition(horse: str, as_of: date | None, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- an option
    """Say how HORSE is, a name of the yard's: what it has done, fit, fresh, anything for the vet."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.jobs.condition import anew
    from upsides.books.models.answer import EXERCISES, GAPS, HEARTS, SPREADS, WATCH
    from upsides.books.queries import moments
    from upsides.books.queries.condition import condition_of
    from upsides.books.queries.office import office_person
    from upsides.books.queries.visitors import visitor
    from upsides.cli.work import named

    moment = moment_of(as_of)
    found = named(horse, moment, left=True)
    with moments.with_answers(anew(library, moment, [EXERCISES, SPREADS, HEARTS, GAPS, WATCH])):
        told = condition_of(library, visitor(office_person(), barn=False), moment, found)
    value = _as_value(found, moment, told)
    answer(as_json, value, _as_lines(value))


def moment_of(day: date | None) -> "Moment":
    """Return now, or the early morning of a day.

    Raises:
        click.UsageError: the day is still to come.
    """
    from upsides.books import clock
    from upsides.books.queries import moments
    from upsides.books.queries.condition_known import EARLY
    from upsides.books.queries.days import moment_on

    if day is not None and day > clock.today():
        raise click.UsageError(f"{day} is still to come; give today ({clock.today()}) or an earlier day")
    if day is None or day == clock.today():
        return moments.now()
    return moments.as_of(moment_on(day, EARLY))


def _as_value(horse: "Horse", moment: "Moment", told: "Condition") -> dict[str, Any]:
    done = told.done
    return {
        "horse": horse.name,
        "day": moment.day,
        "left": horse.left if horse.left is not None and horse.left <= moment.day else None,
        "place": told.place.to if told.place else "training",
        "as_of": moment.at.isoformat() if moment.at else None,
        "watched_to": told.worked_out.watched,
        "worked_out_later": told.worked_out.later.isoformat() if told.worked_out.later else None,
        "done": {
            "until": done.until,
            "exercises_worked_out": told.worked_out.exercises,
            "windows": [_window(one) for one in done.windows],
            "week": asdict(done.week) | {"more_m": done.week.more_m, "fast_more_m": done.week.fast_more_m},
            "since_work": done.since_work,
            "since_fast": done.since_fast,
            "since_run": done.since_run,
            "fast_works_14": done.fast_works,
            "laid_up": done.laid_up,
            "lay_up_lasted": done.lay_up_lasted,
            "since_lay_up": done.since_lay_up,
            "swims_30": done.swims,
        },
        "fit": _fit(told.fit),
        "fresh": _fresh(told),
        "stands_out": [words for _kind, words in told.readings_out],
        "vet": _vet(told.vet) | {"stands_out": [words for _kind, words in told.strides_out]},
        "figures": [_figure(one) for one in told.held],
    }


def _window(one: "Window") -> dict[str, Any]:
    return asdict(one) | {"by_source": dict(one.by_source)}


def _fit(fit: "Fit") -> dict[str, Any]:
    return {
        "together": fit.together,
        "lowest": fit.lowest,
        "highest": fit.highest,
        "pieces": [asdict(one) for one in fit.pieces],
        "missing": [asdict(one) for one in fit.missing],
    }


def _fresh(condition: "Condition") -> dict[str, Any]:
    from upsides.books.queries.condition_signs import odd_and_usual
    from upsides.condition.fresh.latest import Missing

    fresh = condition.fresh
    unusual, usual = odd_and_usual(fresh, condition.stands_out)

    def there(one: Any) -> dict[str, Any] | None:
        return None if one is None or isinstance(one, Missing) else asdict(one)

    return {
        "unusual": list(unusual),
        "usual": list(usual),
        "racing_mass": there(fresh.racing_mass),
        "signs": [asdict(one) for one in fresh.signs if not isinstance(one, Missing)],
        "appetite": there(fresh.appetite),
        "rider": there(fresh.rider),
        "mind": there(fresh.mind),
        "since_run": there(fresh.since_run),
        "travel": asdict(fresh.travel),
        "unheard": condition.fresh.unheard,
        "missing": [asdict(one) for one in fresh.missing],
    }


def _vet(vet: "ForTheVet") -> dict[str, Any]:
    return {
        "open": [_entry(one) for one in vet.open],
        "done": [_entry(one) for one in vet.done],
        "legs_felt": vet.since_felt,
        "bloods": [_blood(one) for one in vet.bloods],
        "even": None if vet.even is None else asdict(vet.even),
        "uneven": vet.uneven,
    }


def _blood(one: "BloodSign") -> dict[str, Any]:
    analyte = one.analyte
    told = {"name": analyte.name, "value": analyte.value, "unit": analyte.unit, "bound": analyte.bound or None}
    told |= {"low": analyte.low, "high": analyte.high, "side": analyte.side or None, "laboratory": one.laboratory}
    return told | {"day": one.day, "change": one.change, "allowed": one.allowed}


def _entry(one: "Written") -> dict[str, Any]:
    told = {"entry": one.entry.pk, "day": one.happened.date(), "by": one.author.name, "words": one.words}
    return told | {"kind": one.entry.kind}


def _figure(one: "Held") -> dict[str, Any]:
    figure = one.figure
    return {
        "key": figure.key,
        "standing": one.standing,
        "own": [part.own for part in one.parts],
        "published": [part.part.value for part in one.parts],
        "says": figure.says,
        "population": figure.population,
        "outcome": figure.outcome,
        "effect": figure.effect_words,
        "ratio": figure.effect.ratio if figure.effect else None,
        "low": figure.effect.low if figure.effect else None,
        "high": figure.effect.high if figure.effect else None,
        "source": figure.source,
        "disagrees": [other.key for other in one.against],
        "disagreement": figure.disagreement or None,
    }


def _as_lines(value: dict[str, Any]) -> list[str]:
    done, fit, fresh, vet = value["done"], value["fit"], value["fresh"], value["vet"]
    week = done["week"]
    more = f"{abs(week['more_m']) / 1000:.1f} km {'more' if week['more_m'] >= 0 else 'less'} than in the seven before"
    until = f" up to {done['until']}" if done["until"] < value["day"] else ""
    far = f"{week['metres'] / 1000:.1f} km in seven days{until}, of it {week['fast_m'] / 1000:.1f} km above 14 m/s"
    known = week["metres"] or week["before_m"]
    lines = [
        f"{value['horse']}, {value['day']}: {f'{far}; {more}' if known else 'nothing is known of two weeks'}.",
        *([f"          It left the yard on {value['left']}."] if value["left"] else []),
        *(f"          {one}" for one in (_out_of_work(value),) if one),
        *done_lines(done),
        *([] if done["exercises_worked_out"] else [f"          {TABLE_ALONE}"]),
        f"  Fit?    {_fit_words(fit)}",
        *(f"          {_piece(one)}" for one in fit["pieces"]),
        f"  Fresh?  {fresh_words(fresh)}.",
    ]
    lines += [f"          {one}" for one in value["stands_out"]] if value["watched_to"] else [f"          {UNWATCHED}"]
    lines += fresh_lines(fresh)
    missing = list(dict.fromkeys(_missing(one) for one in (*fit["missing"], *fresh["missing"])))
    lines += [f"          not known: {', '.join(missing)}."] if missing else []
    lines += _vet_lines(vet)
    notable = [one for one in value["figures"] if one["standing"] in {"reached", "near"}]
    if notable:
        lines.append("  Published figures reached or near, each by itself:")
        lines += [f"    {one['standing']:>7}  {one['says']} ({one['source']})" for one in notable]
    return lines


def _out_of_work(value: dict[str, Any]) -> str:
    """Return where it is, and since when no work of it is known; empty for a horse in training that works."""
    from upsides.condition.done.summary import IDLE_DAYS

    since, place = value["done"]["since_work"], value["place"]
    told = []
    if since is None or since > IDLE_DAYS:
        told.append("No work of it is known" if since is None else f"No work of it is known for {since} days")
    if not value["left"] and (told or place != "training"):
        told.append("it is in training" if place == "training" else f"it is not in training: {place.replace('_', ' ')}")
    return f"{'; '.join(told)}." if told else ""


def _vet_lines(vet: dict[str, Any]) -> list[str]:
    told = [filled("{day:%d %B}, {by}: {words}", one) for one in vet["open"]]
    told += [f"{_even_words(vet['even'])} Ask the vet."] if vet["uneven"] else []
    told += [*vet["stands_out"], *map(_blood_words, vet["bloods"])]
    shod = len(told) == sum(one["kind"] == "shoe" for one in vet["open"])
    asked = "Shoes: ask the farrier before it works, and the vet in doubt:" if shod else "Ask the vet:"
    said = asked if told else "nothing stands open for the vet. In doubt ask the vet."
    return [f"  Vet?    {said}", *(f"          {one}" for one in told)]


def _blood_words(one: dict[str, Any]) -> str:
    low, high = one["low"], one["high"]
    prints = {
        (False, False): f"{low} to {high}",
        (True, False): f"below {high}",
        (False, True): f"above {low}",
        (True, True): "no interval",
    }[low is None, high is None]
    said = f"{one['side']} what {one['laboratory']} prints" if one["side"] else f"{one['laboratory']} prints"
    words = f"{one['name']} {one['bound'] or ''}{one['value']:g} {one['unit']}, {one['day']}; {said}, {prints}"
    if one["change"] is None:
        return f"In its blood {words}."
    return (
        f"In its blood {words}; {one['change']:+.0f} % against the result before, where 19 in 20 differ by less than "
        f"{one['allowed']:.0f} %."
    )


def _even_words(even: dict[str, Any]) -> str:
    usual = f"usual {even['usual']:.2f}, nine in ten between {even['low']:.2f} and {even['high']:.2f}"
    return f"Strides at trot less even than they were, {even['days_ago']} days ago: {even['value']:.2f}; {usual}."


def _fit_words(fit: dict[str, Any]) -> str:
    if fit["lowest"] is None:
        chances = [one["fitter"] for one in fit["pieces"]]
        if not chances and any(one["why"] == "not worked out" for one in fit["missing"]):
            return "whether it is fitter than some weeks ago was not worked out for this day."
        said = "nothing measured tells whether it is fitter than some weeks ago"
        return f"{said} (fitter: {_chances(min(chances), max(chances))})." if chances else f"{said}."
    told = [one for one in fit["pieces"] if one["points"] != "cannot tell"]
    others = _others(len(fit["pieces"]) - len(told))
    if fit["together"] == "disagree":
        up, down = ([one for one in told if one["points"] == way] for way in ("fitter", "less fit"))
        ways = f"{_kinds(up)} to fitter {_than(up)}, {_kinds(down)} to less fit {_than(down)}"
        return f"the evidence disagrees, {ways}{others}:"
    fitter = told[0]["points"] == "fitter"
    low, high = (fit["lowest"], fit["highest"]) if fitter else (1 - fit["highest"], 1 - fit["lowest"])
    by = f"by {_kinds(told)}{' alone' if len(told) == 1 else ''}{others}"
    return f"{told[0]['points']} {_than(told)} with a chance of {_chances(low, high)} {by}:"


def _others(count: int) -> str:
    """Return how many were looked at besides and point nowhere; empty for none."""
    return f"; {count} {'other' if count == 1 else 'others'} cannot tell" if count else ""


def _kinds(pieces: list[dict[str, Any]]) -> str:
    """Return what was measured, as a list that ends with and."""
    *most, last = (str(one["kind"]) for one in pieces)
    return f"{', '.join(most)} and {last}" if most else last


def _than(pieces: list[dict[str, Any]]) -> str:
    """Return the days that pieces are held against."""
    since = sorted({str(one["since"]) for one in pieces})
    return f"than on {since[0]}" if len(since) == 1 else f"than between {since[0]} and {since[-1]}"


def _chances(low: float, high: float) -> str:
    """Return the ends of chances, one where they are told alike."""
    return " to ".join(dict.fromkeys((_chance(low), _chance(high))))


def _chance(value: float) -> str:
    """Return a chance, never as certainty."""
    return f"{min(max(value, 0.01), 0.99):.2f}"


def _piece(told: dict[str, Any]) -> str:
    unit, by = (" lb", 1) if told["kind"] == "figures in races" else (" %", 100)
    change, low, high = (by * told[name] for name in ("change", "low", "high"))
    return f"{told['kind']}: {change:+.1f}{unit} ({low:.1f} to {high:.1f}) since {told['since']}; {told['points']}"


def _missing(one: dict[str, Any]) -> str:
    if one["days"] is None:
        return str(one["what"])
    last = f"{one['what']} (last {ago(one['days'])}"
    match one["why"]:
        case "nothing before":
            return f"{last}, too little before it to hold it against)"
        case "not worked out":
            return f"{last}, not worked out for this day)"
    return f"{one['what']} ({one['days']} days)"
