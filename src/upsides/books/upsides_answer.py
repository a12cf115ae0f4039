"""Who went upsides on a day, as the answer "together" keeps it; read by pages, so it loads nothing heavy."""

from collections.abc import Iterable, Mapping
from typing import Any

from upsides.recordings.company import Outcome, Upsides


def kept_upsides(found: Iterable[Upsides]) -> dict[str, list[Any]]:
    """Return who went upsides on a day."""
    return {
        "upsides": [
            [
                one.first, one.second, round(one.start_s, 2), round(one.second_start_s, 2),
                [[round(place, 1), *_stood(outcome)] for place, outcome in one.marks], _stood(one.finish),
                one.breaks_off,
            ]
            for one in found
        ]
    }  # fmt: skip


def _stood(one: Outcome) -> list[float]:
    return [round(one.ahead_m, 2), round(one.sd_m, 2)]


def read_upsides(values: Mapping[str, Any]) -> list[Upsides]:
    """Return who went upsides on a day; an earlier version did not keep whether a recording breaks off."""
    return [
        Upsides(
            first, second, start, second_start,
            tuple((at, Outcome(by, error, "tracker")) for at, by, error in marks), Outcome(ahead, sd, "tracker"),
            *breaks_off,
        )
        for first, second, start, second_start, marks, (ahead, sd), *breaks_off in values["upsides"]
    ]  # fmt: skip
