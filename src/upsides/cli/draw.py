"""`upsides draw`: what a stall is worth at a course over a distance."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option

if TYPE_CHECKING:
    from upsides.ratings.draw.worth import DrawAnswer, Slope

KNOWN_BY = {
    "start": "races from this start",
    "course": "races at this course, for none was run from this start",
    "library": "races of the whole library, for none was run at this course",
}
BEND_WORDS = {"straight": "straight", "left": "left-handed", "right": "right-handed"}


@click.command()
@click.argument("course")
@click.argument("distance")
@click.option("--runners", type=click.IntRange(2, 60), default=12, show_default=True, help="Size of the field.")
@click.option("--surface", default="", help="Turf, dirt or synthetic, where races over the trip are run on two there.")
@click.option("--going", default="", help="As it is written.")
@click.option("--rail", default="", help="As the library writes it.")
@click.option("--bend", type=click.Choice(tuple(BEND_WORDS)), help="Where the library's races do not say it.")
@click.option("--as-of", type=Day(), help="As known that morning: results before that day.")
@library_option
@json_option
def draw(
    course: str, distance: str, runners: int, surface: str, going: str, rail: str, bend: str | None,
    as_of: date | None, library: Path, as_json: bool,  # noqa: FBT001 -- an option
) -> None:  # fmt: skip
    """Say what each stall is worth at COURSE over DISTANCE (6f, 1m2f or 1200m), in pounds and lengths, with range.

    Beside it what the break was worth: first away against last away, here, at bends and on straights.
    """
    from upsides.cli.rate import fitted
    from upsides.ratings.draw.kept import read_draw
    from upsides.ratings.draw.starts import Asked, places_of, settled
    from upsides.ratings.draw.worth import Start, draw_at
    from upsides.results.library import Library
    from upsides.rules import own_rules
    from upsides.trade.distance import Distance

    metres = float(Distance.parse(distance).metres)
    opened = Library.open(library)
    as_of_fit = fitted(opened, as_of).as_of
    asked = Asked(course, metres, surface, runners, going, bend or "", rail)
    meant = settled(asked, places_of(opened.races(as_of_fit)))
    fit, at = read_draw(opened.folder, as_of_fit), meant.asked
    start = Start(at.course, at.distance_m, at.surface, at.going, at.rail, at.runners, at.bend)
    found = draw_at(fit, start, own_rules(opened.folder))
    told = _as_value(found, fit.as_of) | {"unknown": list(meant.unknown)}
    answer(as_json, told, [*meant.unknown, *_as_lines(found)])


def _as_value(found: "DrawAnswer", as_of: date) -> dict[str, Any]:
    return {
        "course": found.start.course,
        "distance_m": found.start.distance_m,
        "surface": found.start.surface,
        "bend": found.start.bend,
        "rail": found.start.rail,
        "runners": found.start.runners,
        "as_of": as_of,
        "known_by": found.slope.known_by,
        "races": found.slope.races,
        "across_lb": list(found.across),
        "one_day_lb": list(found.day),
        "before_the_draw_lb": found.spread_lb,
        "meetings_differ_lb": found.slope.meeting_sd,
        "races_differ_lb": found.slope.race_sd,
        "stalls": [
            {
                "stall": one.stall,
                "lb": [one.lb, one.low_lb, one.high_lb],
                "lengths": [one.lengths, one.low_lengths, one.high_lengths],
            }
            for one in found.stalls
        ],
        "first_away_lb": _slope(found.away),
        "first_away_at_bends_lb": _slope(found.away_bend),
        "first_away_on_straights_lb": _slope(found.away_straight),
    }


def _slope(one: "Slope | None") -> dict[str, float] | None:
    return None if one is None else {"mean": one.mean, "sd": one.sd}


def _as_lines(found: "DrawAnswer") -> list[str]:
    low, high = found.across[1:]
    day_low, day_high = found.day[1:]
    at = found.start
    more = (at.surface, BEND_WORDS.get(at.bend, ""), at.rail and f"rail {at.rail}")
    kind = "".join(f", {said}" for said in more if said)
    lines = [
        f"{at.course}, {at.distance_m:.0f} m{kind}, {at.runners} runners: the highest stall is "
        f"worth {found.across[0]:+.1f} lb against the lowest on the average day (four times in five {low:+.1f} to "
        f"{high:+.1f}).",
        f"On one day to come {day_low:+.1f} to {day_high:+.1f}: meetings and races differ. Before the draw the stall "
        f"may be worth {found.spread_lb:.1f} lb either way.",
        f"From {found.slope.races:,} {KNOWN_BY[found.slope.known_by]}.",
        "stall      lb   range           lengths",
    ]
    lines += [
        f"{one.stall:>5} {one.lb:>+7.1f}   {one.low_lb:+.1f} to {one.high_lb:+.1f}   {one.lengths:+.2f}"
        for one in found.stalls
    ]
    return [*lines, *_about_break(found)]


def _about_break(found: "DrawAnswer") -> list[str]:
    if found.away is None:
        return ["What the break is worth is not known: too few races say who was in front early."]
    rows = (("here", found.away), ("at bends", found.away_bend), ("on straights", found.away_straight))
    lines = [
        f"First away against last away {where}: {one.mean:+.1f} lb, standard error {one.sd:.1f}."
        for where, one in rows
        if one is not None
    ]
    if found.away_bend is None:
        lines.append("At a bend against a straight it is not known: the library's races do not say which they are.")
    return lines
