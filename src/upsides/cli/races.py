"""`upsides races`: in which races to come one horse may run, off what weight, by when to say so."""

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import Day, answer, json_option, library_option
from upsides.cli.race_values import (
    MOST_SHOWN,
    case_value,
    chance_text,
    chance_value,
    deadline_value,
    entry_text,
    horse_named,
    race_line,
    race_value,
    run_text,
    run_value,
    weight_text,
    worked_line,
)

if TYPE_CHECKING:
    from upsides.books.models import Horse
    from upsides.books.queries.chance_answers import Worked
    from upsides.books.queries.moments import Moment
    from upsides.books.queries.placing import Case
    from upsides.placing import Stage, Terms

DAYS = 90


@click.command()
@click.argument("horse")
@click.option("--days", type=click.IntRange(1, 400), default=DAYS, show_default=True, help="How many days ahead.")
@click.option("--date", "day", type=Day(), help="As known early on an earlier morning.")
@click.option("--all", "every", is_flag=True, help="Tell the races too that do not take it, and why.")
@library_option
@json_option
def races(horse: str, days: int, day: date | None, every: bool, library: Path, as_json: bool) -> None:  # noqa: FBT001 -- options
    """Say in which races to come HORSE may run: its weight, its reasons, by when to enter, what that costs."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries.chances_standing import chances_standing
    from upsides.books.queries.engaged import engaged
    from upsides.books.queries.entrants import entrants, terms_of
    from upsides.books.queries.placing import ahead_of, case_of
    from upsides.books.queries.programme import programme
    from upsides.cli.condition import moment_of

    moment = moment_of(day)
    one, terms = horse_named(moment, horse), terms_of(library)
    entrant = entrants(library, moment, [one])[one.pk]
    ahead = ahead_of(programme(library, moment), moment, timedelta(days=days))
    found = [case_of(code, race, one, entrant, terms) for code, race in ahead.items()]
    shown = found if every else [case for case in found if case.open]
    chances = chances_standing(library, moment, [case.code for case in shown])
    said = {each.engagement.race_code: each.reached for each in engaged(library, moment, horses=[one.pk])}
    value = _as_value(library, one, moment, days, shown, len(found), terms, chances, said)
    runs = {told["code"]: told["run"] for told in value["races"]}
    answer(as_json, value, _as_lines(one, days, shown, len(found), terms, chances, runs))


def _as_value(
    library: Path, horse: "Horse", moment: "Moment", days: int, shown: list["Case"], looked_at: int, terms: "Terms",
    chances: dict[str, "Worked"], said: dict[str, "Stage | None"],
) -> dict[str, Any]:  # fmt: skip

    def told(case: "Case") -> dict[str, Any]:
        run = run_value(library, moment, case, terms, said.get(case.code))
        return _race(case, terms, chances.get(case.code)) | {"run": run}

    return {
        "horse": horse.name,
        "day": moment.day,
        "days": days,
        "looked_at": looked_at,
        "races": [told(case) for case in shown],
    }


def _race(case: "Case", terms: "Terms", worked: "Worked | None") -> dict[str, Any]:
    from upsides.books import clock
    from upsides.books.queries.placing import dues_of, ways_in

    dues, no_dues = dues_of(case.race, terms)
    can = bool(ways_in(case.race, clock.now(), terms))
    told = {"can_be_entered": can, "deadlines": [deadline_value(one) for one in dues], "no_deadlines": no_dues or None}
    chance = {"chance": chance_value(worked, case.horse.pk)}
    return race_value(case.code, case.race) | case_value(case) | told | chance


def _as_lines(
    horse: "Horse", days: int, shown: list["Case"], looked_at: int, terms: "Terms", chances: dict[str, "Worked"],
    runs: dict[str, dict[str, Any] | None],
) -> list[str]:  # fmt: skip
    from upsides.books import clock
    from upsides.books.queries.placing import ways_in

    now = clock.now()
    may = [case for case in shown if case.says.name == "YES"]
    can = sum(1 for case in may if ways_in(case.race, now, terms))
    head = (
        f"{horse.name} may run in {len(may)} of the {looked_at} races that the programmes name for {days} days; "
        f"{can} can still be entered."
    )
    lines = [head]
    for case in shown[:MOST_SHOWN]:
        told = {"YES": weight_text(case.carried), "NO": "may not run", "UNKNOWN": "not known"}[case.says.name]
        lines.append(f"  {case.code}  {race_line(case.race)}: {told}")
        reasons = case.eligible.against if case.says.name == "NO" else case.eligible.open
        lines += [f"      {one}" for one in reasons]
        if case.open:
            lines.append(f"      {entry_text(case.race, now, terms)}{run_text(runs.get(case.code))}")
        if text := chance_text(chances.get(case.code), case.horse.pk):
            lines.append(f"      {text}")
        lines += [f'      not read: "{words}"' for words in case.eligible.unread if case.says.name == "UNKNOWN"]
    if len(shown) > MOST_SHOWN:
        lines.append(f"  and {len(shown) - MOST_SHOWN} more: --json gives all")
    return lines + worked_line(one for one in chances.values() if horse.pk in one.horses)
