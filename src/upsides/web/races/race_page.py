"""A race's page, ready for its template."""

from typing import Any

from django.utils.text import get_text_list
from django.utils.translation import gettext as _

from upsides.books.queries.races import Race
from upsides.results.by_hand import SOURCE, is_by_hand
from upsides.web.races.clash_words import clash_words
from upsides.web.races.sections import late_short, section_names, sections
from upsides.web.races.sentences import about_race
from upsides.web.shell.templatetags.words import clock, day, metres, surface


def race_page(race: Race) -> dict[str, Any]:
    """Return what the template needs."""
    runs = [run | {"section_m": race.race["section_m"]} for run in race.runs]
    told = [run | {"sections": sections(run), "late": late_short(run)} for run in runs]
    return {
        "race": race.race,
        "by_hand": is_by_hand(race.race["race_key"]),
        "lacked": "" if is_by_hand(race.race["race_key"]) else lacked(race),
        "clashes": list(dict.fromkeys(clash_words(one) for one in race.clashes)),
        "figures": race.figures,
        "no_fit": race.no_fit,
        "as_of": race.as_of,
        "title": race.race["title"] or _("Race"),
        "about": about_conditions(race.race),
        "sentence": about_race(race),
        "runs": told,
        "section_names": section_names(race.race["section_m"] or []),
        "timed": [run for run in told if run["sections"]],
        "late": any(run["late_speed"] is not None for run in told),
    }


def lacked(race: Race) -> str:
    """Return which runs of the race were written down by hand because its table lacks them; empty for none."""
    names = [str(run["horse_name"]) for run in race.runs if run["source"] == SOURCE]
    if not names:
        return ""
    told = {"names": get_text_list(names, _("and"))}
    return _("The published result that was imported lacks %(names)s: that run was written down by hand.") % told


def about_conditions(race: dict[str, Any]) -> str:
    """Return where and when a race was run, over what, on what, and in what time."""
    told = {
        "course": race["course"] or _("Course not known"),
        "day": day(race["date"]),
        "trip": metres(race["distance_m"]),
        "surface": surface(race["surface"]),
        "going": race["going"] or _("going not known"),
        "time": clock(race["winning_time_s"]),
    }
    if race["winning_time_s"] is None:
        return _("%(course)s, %(day)s: %(trip)s on %(surface)s, %(going)s") % told
    return _("%(course)s, %(day)s: %(trip)s on %(surface)s, %(going)s, in %(time)s") % told
