"""`upsides win-costs`: what a win in a race would close, open, and put on a horse's back."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from upsides.cli.options import answer, json_option, library_option
from upsides.cli.race_values import (
    carried_value,
    finding_value,
    horse_named,
    race_line,
    race_named,
    race_value,
    weight_text,
)

if TYPE_CHECKING:
    from upsides.placing import After, Changed, Line, Scenario, WinCosts

OUTCOMES = {"win": "If it wins", "placed": "If it is placed", "beaten": "If it is beaten"}
NO_CREDIT = "A race that stays open to a beaten horse counts for nothing in any comparison made here."


@click.command("win-costs")
@click.argument("horse")
@click.argument("race")
@click.option(
    "--mark",
    "marks",
    multiple=True,
    metavar="NAME=MARK",
    help="A mark supposed after a win, told apart; again for more.",
)
@library_option
@json_option
def win_costs(
    horse: str, race: str, marks: tuple[str, ...], library: Path, as_json: bool,  # noqa: FBT001 -- an option
) -> None:  # fmt: skip
    """Say what a win of HORSE in RACE (its code or its title) would change in the 90 days after it."""
    from upsides.books.services.opening import open_books

    open_books(library)
    from upsides.books.queries import moments
    from upsides.books.queries.entrants import entrants, terms_of
    from upsides.books.queries.programme import programme
    from upsides.placing import Outcome
    from upsides.placing import win_costs as worked_out

    supposed = {Outcome.WIN: [_scenario(one) for one in marks]}
    moment = moments.now()
    one, plan = horse_named(moment, horse), programme(library, moment)
    code, meant = race_named(plan, moment, race)
    entrant = entrants(library, moment, [one])[one.pk]
    found = worked_out(entrant, meant, list(plan.races.values()), scenarios=supposed, terms=terms_of(library))
    value = {
        "horse": one.name,
        "race": race_value(code, meant),
        "currency": found.currency,
        "after": [_after(each) for each in found.after],
        "note": NO_CREDIT,
    }
    answer(as_json, value, _as_lines(one.name, found))


def _scenario(text: str) -> "Scenario":
    from upsides.errors import UnreadableError
    from upsides.errors.wording import gettext as _
    from upsides.placing import supposed

    name, _equals, mark = text.rpartition("=")
    if not name.strip():
        raise UnreadableError(_("mark supposed"), text, _("a name and a mark: raised seven=82"))
    return supposed(name.strip(), mark)


def _after(one: "After") -> dict[str, Any]:
    return {
        "outcome": str(one.outcome),
        "supposed": {"name": one.scenario.named, "mark": one.scenario.mark} if one.scenario else None,
        "prize": one.prize,
        "same": one.same,
        "changed": [_changed(each) for each in one.changed],
    }


def _changed(one: "Changed") -> dict[str, Any]:
    from upsides.books.queries.programme import code_of

    return {
        "code": code_of(one.now.race),
        "race": one.now.race.title,
        "course": one.now.race.course,
        "day": one.now.race.day,
        "closes": one.closes,
        "opens": one.opens,
        "weight_now": carried_value(one.now.carried),
        "weight_then": carried_value(one.then.carried),
        "because": [finding_value(each) for each in one.because],
        "lines": [{"what": line.key, "value": line.value, "wording": line.wording} for line in one.lines],
    }


def _as_lines(name: str, found: "WinCosts") -> list[str]:
    lines = [f"{name} in {found.race}, by programme and rules, in the 90 days after it:"]
    for one in found.after:
        prize = f", {one.prize:,.0f} {found.currency}" if one.prize else ""
        told = f"{OUTCOMES[str(one.outcome)]}{_supposed(one)}{prize}"
        lines.append(f"{told}: {len(one.changed)} races change, {one.same} stay as they are.")
        lines += [f"  {_told(each)}" for each in one.changed]
    return [*lines, NO_CREDIT]


def _supposed(one: "After") -> str:
    return f", supposing a mark of {one.scenario.mark:g} ({one.scenario.named})" if one.scenario else ""


def _told(one: "Changed") -> str:
    what = (
        "closes"
        if one.closes
        else "opens"
        if one.opens
        else f"{weight_text(one.now.carried)} to {weight_text(one.then.carried)}"
    )
    reasons = [str(each) for each in one.because] if one.closes or one.opens else [_line(each) for each in one.lines]
    why = f" ({'; '.join(reasons)})" if reasons else ""
    return f"{race_line(one.now.race)}: {what}{why}"


def _line(one: "Line") -> str:
    return f"{one.key} {one.value:+g}: {one.wording}" if one.wording else f"{one.key} {one.value:+g}"
