"""What a rule on entering says, in few words: bands, runs for a mark, stages, who is left out of too large a field."""

from collections.abc import Callable, Mapping
from datetime import time
from typing import Final

from upsides.rules.book_words import listed
from upsides.rules.rule import Entry

STAGES: Final = ("enter", "confirm", "supplement", "declare", "withdraw")
ORDERS: Final = ("weight", "mark", "ballot")


def _band_entry(entry: Entry) -> str:
    below = "and those below at the bottom weight" if entry.body["below"] else "none below"
    return f"up to {entry.body['above']:g} points above the band, {below}"


def _runs_for_mark(entry: Entry) -> str:
    body = entry.body
    words = f"{body['runs']:d} runs"
    if "won_first" in body:
        words += f", {body['won_first']:d} for a winner first time out, {body['won_second']:d} for one second time out"
    if "won_second_most" in body:
        classes = " and ".join(body["won_second_classes"])
        words += f" (who runs in class {classes} rated {float(body['won_second_most']):g} at most)"
    if "two_year_old_home_runs" in body:
        words += f"; two-year-olds {body['two_year_old_home_runs']:d} of them in {' or '.join(body['home'])}"
    return words


def _elimination(entry: Entry) -> str:
    by, ties = entry.body["by"], entry.body["ties"]
    if by not in ORDERS or ties not in ORDERS:
        raise ValueError(f"{by!r} or {ties!r} is none of {', '.join(ORDERS)}")
    races = ", ".join(listed(entry.body["races"]))
    return f"{races}: by ballot" if by == "ballot" else f"{races}: lowest {by} first, ties by {ties}"


def _stage(entry: Entry) -> str:
    body = entry.body
    if body["stage"] not in STAGES:
        raise ValueError(f"stage {body['stage']!r} is none of {', '.join(STAGES)}")
    later = f", to {time.fromisoformat(body['extended_to']):%H:%M} where few are in" if "extended_to" in body else ""
    at = f"{time.fromisoformat(body['at']):%H:%M}"
    return f"{body['stage']}: {at}, {body['days_before']:d} days before{later} ({body['code']})"


ENTERING: Final[Mapping[str, Callable[[Entry], str]]] = {
    "band entry": _band_entry,
    "runs for a mark": _runs_for_mark,
    "elimination": _elimination,
    "race stage": _stage,
}
