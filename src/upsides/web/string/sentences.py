"""The sentences that the string's pages open with: the answer first."""

from upsides.books.queries.string import Level, Listed, Shown
from upsides.web.shell.templatetags.words import day

_WORTH_SAYING_LB = 2.0


def about_string(listed: list[Listed]) -> str:
    """Return what the string amounts to: how many, which is worth most, which has come on most."""
    rated = [one for one in listed if one.level is not None]
    unraced = sum(one.last_run is None for one in listed)
    count = f"{len(listed)} horse{'' if len(listed) == 1 else 's'} in the string"
    if not rated:
        return f"{count}, none with a figure yet."
    parts = [f"{count}. {rated[0].horse.name} is worth most on our figures, {_lb(rated[0])}\u00a0lb"]
    parts.append(_come_on(rated))
    waiting = f"; {unraced} {'has' if unraced == 1 else 'have'} yet to run" if unraced else ""
    return f"{''.join(parts)}{waiting}."


def _come_on(rated: list[Listed]) -> str:
    raced = [one for one in rated if one.last_run is not None and one.gained is not None]
    best = max(raced, key=lambda one: one.gained or 0.0, default=None)
    if best is None or best.gained is None or best.gained < _WORTH_SAYING_LB:
        return ""
    return f"; {best.horse.name} has come on most in a year, by {round(best.gained)}\u00a0lb"


def _lb(one: Listed) -> str:
    return f"{round(one.level.lb)}" if one.level else "–"


def about_horse(shown: Shown) -> str:
    """Return what a horse is worth, how sure that is, and what it rests on."""
    if shown.level is None:
        return "No figure yet: it has not run in any race that the last fit knows."
    worth = f"Worth {round(shown.level.lb)}\u00a0lb on our figures, {between(shown.level)}"
    if shown.runs.is_empty():
        return f"{worth}; it has not run, so this is what such a horse is usually worth."
    count = shown.runs.height
    return f"{worth}; {count} run{'' if count == 1 else 's'}, last on {day(shown.runs['date'][0])}."


def between(level: Level) -> str:
    """Return the range in words: four times in five between 79 and 89."""
    return f"four times in five between {round(level.low)} and {round(level.high)}"


def about_curve(shown: Shown) -> str:
    """Return what the horse's picture shows, for those who cannot see it."""
    first, last = shown.curve.row(0, named=True), shown.curve.row(-1, named=True)
    return (
        f"Level in pounds from {round(first['level_lb'])} on {day(first['date'])} to "
        f"{round(last['level_lb'])} on {day(last['date'])}, with {shown.runs.height} runs as points. "
        "The table of runs holds the numbers."
    )


def about_spark(one: Listed) -> str:
    """Return what a small curve shows."""
    first, last = one.curve["level_lb"][0], one.curve["level_lb"][-1]
    return f"From {round(first)} to {round(last)}\u00a0lb since {day(one.curve['date'][0])}"
