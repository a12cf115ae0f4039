"""Which columns hold the times, positions or margins of sections, and how long the sections are."""

import re
from itertools import pairwise

import polars as pl

from upsides.results.guessing import name_score, words
from upsides.results.profiles import Profile

PACKED_TIMES = r"^\d+(\.\d+)?([ ,/;]+\d+(\.\d+)?)+$"


def numbered_lists(columns: list[Profile], dropped: dict[str, str]) -> dict[str, list[str]]:
    """Return the numbered runs of columns that are sections, by field; note the others in `dropped`."""
    groups: dict[str, list[Profile]] = {}
    for column in columns:
        match = re.fullmatch(r"(.*?)(\d+)", column.name)
        if match and int(match[2]) <= 12:
            groups.setdefault(match[1], []).append(column)
    found: dict[str, tuple[float, list[str]]] = {}
    for members in groups.values():
        if len(members) < 3:
            continue
        filled = [member for member in members if len(member.texts)]
        if len(filled) > 1 and _rises(filled):
            reason = "running times from the start; only times of single sections are taken"
            dropped |= dict.fromkeys((member.name for member in members), reason)
            continue
        for name in ("section_s", "section_position", "section_behind"):
            score = max((name_score(member, words()["lists"][name]) for member in members), default=0.0)
            score += 0.5 * float(_fits_list(name, filled))
            if score >= 1.5 and _fits_list(name, filled) and score > found.get(name, (0.0, []))[0]:
                found[name] = (score, [member.name for member in members])
    taken: dict[str, list[str]] = {}
    for name, (_, names) in sorted(found.items(), key=lambda item: -item[1][0]):
        if names not in taken.values():
            taken[name] = names
    return taken


def _rises(members: list[Profile]) -> bool:
    """Say whether numbered columns hold times that add up from column to column."""
    means = [float(str(member.numbers.mean() or 0.0)) for member in members]
    steps = [after - before for before, after in pairwise(means)]
    return all(8 < step < 70 for step in steps) and not all(member.whole for member in members)


def packed_sections(columns: list[Profile]) -> str:
    """Return the column that holds all section times in one cell, "" for none."""
    for column in columns:
        if name_score(column, words()["lists"]["section_s"]) and column.share_matching(PACKED_TIMES) > 0.8:
            return column.name
    return ""


def section_length(races: pl.DataFrame) -> float | None:
    """Return the length of whole sections that fits every distance and number of sections, None for none."""
    used = races.filter(pl.col("distance_m").is_not_null() & pl.col("section_s").is_not_null())
    count = used["section_s"].list.eval(pl.element().drop_nulls()).list.len()
    for length in (400.0, 200.0, 402.336, 201.168, 100.0):
        first = used["distance_m"] - length * (count - 1)
        if used.height and ((first > 0.2 * length) & (first < 1.5 * length)).all():
            return length
    return None


def _fits_list(name: str, members: list[Profile]) -> bool:
    if not members:
        return False
    if name == "section_position":
        return all(member.within(1, 40) > 0.98 and member.whole for member in members)
    if name == "section_behind":
        return all(member.within(0, 120) > 0.95 and not member.whole for member in members)
    return all(member.within(8, 60) > 0.95 for member in members[1:]) and not all(m.whole for m in members)
