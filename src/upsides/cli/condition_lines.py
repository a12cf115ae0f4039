"""Lines of `upsides condition`: what a horse has done, by windows, and sign by sign whether it is fresh."""

from typing import Any

INDENT = 10 * " "
AS_READ = " (this one reading by itself, as read: work, ground, warmth and rider are not taken out)"
BY_ITSELF = " (this one reading by itself)"
"""Beside a reading that is nothing unusual, of a sign that the watch over all readings finds off."""


def done_lines(done: dict[str, Any]) -> list[str]:
    """Return a line for each window, then days since fast work, the last run and a lay-up."""
    empty = [one["days"] for one in done["windows"] if not one["metres"] and one["unknown"] == one["days"]]
    lines = [f"{INDENT}{_window(one)}" for one in done["windows"] if one["days"] not in empty]
    lines += [f"{INDENT}nothing known of the last {max(empty)} days"] if empty else []
    since = [
        f"last {what} {ago(done[key])}"
        for what, key in (("fast work", "since_fast"), ("run", "since_run"))
        if done[key] is not None
    ]
    since.append(f"fast works in 14 days: {done['fast_works_14']}")
    if done["laid_up"] is not None:
        since.append(f"without fast work for {_days(done['laid_up'])}")
    if done["since_lay_up"] is not None:
        since.append(f"a lay-up of {done['lay_up_lasted']} days ended {ago(done['since_lay_up'])}")
    if done["swims_30"]:
        since.append(f"days of swimming in 30: {done['swims_30']}")
    return [*lines, f"{INDENT}{'; '.join(since)}."]


def _window(one: dict[str, Any]) -> str:
    days = "since it entered training" if one["days"] is None else f"{one['days']} days"
    far, canter, fast = (f"{one[name] / 1000:.1f} km" for name in ("metres", "canter_m", "fast_m"))
    share = "" if one["measured"] is None else f", {100 * one['measured']:.0f} % measured"
    unknown = f", nothing known of {_days(one['unknown'])}" if one["unknown"] else ""
    return f"{days}: {far}, canter {canter}, fast {fast}{share}{unknown}"


def fresh_words(fresh: dict[str, Any]) -> str:
    """Return which signs are not as usual and which are; without a full stop."""
    said = {one["what"]: f"{one['what']} ({one['word']})" for name in ("rider", "mind") if (one := fresh[name])}
    odd, usual = (", ".join(said.get(one, one) for one in fresh[name]) for name in ("unusual", "usual"))
    told = [f"not as usual: {odd}" if odd else "", f"as usual: {usual}" if usual else ""]
    return "; ".join(one for one in told if one) or "no sign of freshness was measured lately"


def fresh_lines(fresh: dict[str, Any]) -> list[str]:
    """Return a line for each sign of freshness that is there."""
    lines = [sign_line(one, drifting=one["what"] in fresh["unusual"]) for one in fresh["signs"]]
    if fresh["racing_mass"]:
        lines.append(_racing_mass(fresh["racing_mass"]))
    if fresh["appetite"]:
        lines.append(_appetite(fresh["appetite"]))
    lines += [_word(fresh[name]) for name in ("rider", "mind") if fresh[name]]
    if fresh["unheard"]:
        lines.append("mind: somebody else said how it is; it is shown once you have said it yourself")
    if fresh["since_run"]:
        lines.append(_since_run(fresh["since_run"]))
    lines.append(_travel(fresh["travel"]))
    return [f"{INDENT}{one}" for one in lines]


def sign_line(one: dict[str, Any], *, drifting: bool) -> str:
    """Return the latest reading of a sign against the horse's own past.

    Args:
        one: the sign.
        drifting: it is told as not as usual, by the watch over all its readings or by this reading.
    """
    usual = f", usually {one['usual']:.1f} ({one['low']:.1f} to {one['high']:.1f})" if one["usual"] is not None else ""
    itself = AS_READ if one["what"] == "recovery" else BY_ITSELF
    alone = itself if drifting and one["where"] in {"within", "cannot be told"} else ""
    return f"{one['what']}: {one['value']:g}{usual}, {ago(one['days_ago'])}; {one['where']}{alone}"


def _racing_mass(one: dict[str, Any]) -> str:
    racing = one["racing"]
    off = f"{round(one['off_kg'], 1) + 0:+.1f} kg, {round(100 * one['off_share'], 1) + 0:+.1f} %"
    return f"racing mass: {one['kg']:g} against {racing['kg']:.1f} ({racing['how']}, {racing['runs']}): {off}"


def _appetite(one: dict[str, Any]) -> str:
    before = "" if one["before"] is None else f", {100 * one['before']:.0f} % on {one['past_told']} days before"
    left = f"{100 * one['left']:.0f} % left {ago(one['days_ago'])}"
    return f"appetite: {left}; {100 * one['lately']:.0f} % on {one['days_told']} days of the last week{before}"


def _word(one: dict[str, Any]) -> str:
    return f"{one['what']}: {one['word']}, {ago(one['days_ago'])}; the same {one['often']} times in {one['of']} before"


def _since_run(one: dict[str, Any]) -> str:
    usual, effect = one["usual"], one["effect"]
    words = f"last run: {ago(one['days'])}, over {one['furlongs']:.1f} f"
    if usual and usual["runs"]:
        words += f"; half of all gaps after such a trip are {usual['low']:.0f} to {usual['high']:.0f} days"
    if effect and effect["says"] == "told" and effect["mean"] is not None:
        better = "better" if effect["mean"] > 0 else "worse"
        ends = f"{effect['low']:+.1f} to {effect['high']:+.1f}"
        words += (
            f"; runs after such a gap were {better} by {abs(effect['mean']):.1f} lb ({ends}), which promises nothing"
        )
    return words


def _travel(one: dict[str, Any]) -> str:
    if one["days_ago"] is None:
        return "no journey in the last months"
    hours = "" if one["hours"] is None else f", hours on the road: {one['hours']:g}"
    return f"last journey {ago(one['days_ago'])}{hours}; {one['journeys']} in 14 days"


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def ago(days: int) -> str:
    """Return how long ago something was."""
    return {0: "today", 1: "yesterday"}.get(days, f"{days} days ago")
