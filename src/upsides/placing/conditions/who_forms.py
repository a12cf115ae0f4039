"""How wordings say which horses a race takes. Each form reads at a place, or answers None and leaves it alone.

A form claims only what it has understood to its end: words behind it that narrow it further are read as part of it, or
are shown as not read.
"""

from collections.abc import Callable
from typing import Final

from upsides.placing.amounts import Money
from upsides.placing.conditions.band_forms import bare_band, benchmark, rated
from upsides.placing.conditions.cursor import COUNT, SEX_LIST, UP, YEARS, Cursor, builds_of, compiled, number
from upsides.placing.conditions.origin_forms import (
    bred_in,
    foaled,
    in_bands,
    in_scheme,
    novices,
    parents_stayed,
    sires_price,
    sold_for,
    trained_in,
)
from upsides.placing.conditions.record_forms import (
    NEGATED,
    OPENING,
    course_winners,
    had_runs,
    have_done,
    kept_away,
    maiden_ages,
    maidens,
    non_winners,
    started_for,
    unraced,
    winners_of,
)
from upsides.placing.conditions.who import Ages, Builds, Claimable, Condition, RiddenBy
from upsides.placing.race import Build
from upsides.trade.age import AgeRange

ENDS: Final = (
    r"\s*(?:only\b)?\s*(?:[,.;:()\n]|$|which\b|that\b|who\b|have\b|foaled\b|bred\b|maidens?\b|rated\b|sired\b|by\b"
    rf"|aged\b|novices?\b|trained\b|whose\b|non|of\b|{COUNT}{YEARS})"
)
OLDEST: Final = 15
YOUNGEST: Final = 2
"""No race is for horses younger than this."""

Form = Callable[[Cursor], object | None]


def ages(cursor: Cursor) -> Condition | None:
    """Read: for two-year-olds only; 3yo+; for three yrs old and upwards."""
    cursor.take(OPENING)
    of = cursor.take(r"of (?=[\w-]+ (?:years?|yrs?)\b)")
    found = cursor.ages() or (_of_years(cursor) if of else None)
    if found is None or cursor.sees(NEGATED):
        return None
    cursor.take(r"only\b")
    return Ages(found)


def _of_years(cursor: Cursor) -> AgeRange | None:
    """Read, behind "of": two years; four years and above."""
    match = cursor.take(
        rf"(?P<low>{COUNT}) (?:years|yrs)\b(?P<up>{UP})?(?=\s*(?:[.,;)]|$|not\b|never\b|having\b|which\b))"
    )
    low = number(match["low"]) if match else 0
    return None if match is None or not YOUNGEST <= low <= OLDEST else AgeRange(low, None if match["up"] else low)


def aged(cursor: Cursor) -> Condition | None:
    """Read: aged four or more; fillies aged three; no horse aged ten or over."""
    if cursor.take(r"no horses? (?=aged )"):
        barred = cursor.aged()
        cursor.take(r"may run\b|(?:is|are) eligible\b")
        if barred is None or barred.oldest is not None or barred.youngest <= YOUNGEST:
            return None
        return Ages(AgeRange(YOUNGEST, barred.youngest - 1))
    cursor.take(r"(?:for |open to )?(?:horses? )?(?=aged )")
    found = cursor.aged()
    if found is None or cursor.sees(NEGATED):
        return None
    cursor.take(r"only\b")
    return Ages(found)


def builds(cursor: Cursor) -> Condition | None:
    """Read: fillies only; colts and geldings; fillies and mares; no geldings."""
    if match := cursor.take(rf"(?:(?:no|not for|closed to) (?P<no>{SEX_LIST})|(?P<barred>{SEX_LIST}){NEGATED})"):
        return Builds(frozenset(Build) - builds_of(match["no"] or match["barred"]))
    cursor.take(OPENING)
    found = cursor.builds()
    if found is None or not compiled(ENDS).match(cursor.text, cursor.at) or cursor.sees(NEGATED):
        return None
    cursor.take(r"only\b")
    return Builds(found)


def claimable(cursor: Cursor) -> Condition | None:
    """Read: claiming price $25,000; for each $1,000 to $20,000, 1 lb; any runner may be claimed for £12,000."""
    if not cursor.take(
        r"(?:claiming price|(?:(?:each|any|every|all) horses? (?:entered )?|(?:for )?(?:horses )?)to be claimed for"
        r"|(?:(?:each|any|every|all) (?:other )?(?:runners?|horses?) )?(?:may|can) be claimed for)"
        r"\s*(?:of )?:?"
    ):
        return None
    price = cursor.money()
    if price is None:
        return None
    if cursor.take(r"(?:down )?to (?=[£€$\d])") and (least := cursor.money()):
        return Claimable(price, least)
    here = cursor.at
    for form in (_each_to, _each_less):
        cursor.at = here
        if found := form(cursor, price):
            return found
    cursor.at = here
    return Claimable(price)


def _each_to(cursor: Cursor, price: Money) -> Claimable | None:
    """Read: for each $1,000 to $20,000, 1 lb."""
    each = cursor.money() if cursor.take(r"[;.(]?\s*(?:if )?for each ") else None
    lowest = cursor.money() if each and cursor.take(r"(?:less )?(?:down )?to ") else None
    cursor.take(r"allowed\b")
    off = cursor.weight() if lowest else None
    if not (each and lowest and off):
        return None
    cursor.take(r"\)")
    return Claimable(price, lowest, each, off)


def _each_less(cursor: Cursor, price: Money) -> Claimable | None:
    """Read: for each £1,000 less, allowed 1lb; lowest claiming price £4,000."""
    each = cursor.money() if cursor.take(r"[;.(]?\s*(?:and )?for (?:each|every) ") else None
    if each is None or not cursor.take(r"(?:less|below(?: that)?|reduction)\b"):
        return None
    cursor.take(r"(?:are |is )?allowed\b")
    off = cursor.weight()
    cursor.take(r"(?:allowed|less|off)\b")
    if not cursor.take(r"[;.]?\s*(?:down to|(?:the )?(?:lowest|minimum) (?:claiming )?price(?: of| is)?:?) "):
        return None
    lowest = cursor.money() if off else None
    return Claimable(price, lowest, each, off) if lowest and off else None


def ridden_by(cursor: Cursor) -> Condition | None:
    """Read: to be ridden by apprentice jockeys who have not ridden more than 50 winners; for lady amateur riders."""
    match = cursor.take(
        r"(?:(?:to be )?ridden by |for |riders?:? |confined to |restricted to )?"
        r"(?P<who>(?:lady|gentleman) amateur|apprentice|amateur|conditional|lady|professional)s?"
        r"(?: (?:jockeys|riders))(?:['’])?(?: only\b)?"
    ) or cursor.take(r"(?:to be )?ridden by (?P<who>(?:lady |gentleman )?(?:apprentice|amateur))s\b(?: only\b)?")
    if match is None or cursor.sees(r"(?:can|may|allowances?|claims?|cannot|allowed)\b|\d"):
        return None
    most = None
    if limit := cursor.take(
        rf"(?:who|that|which) have (?P<not>not )?(?:ridden|had|won) (?P<how>(?:no |not )?more than |fewer than )?"
        rf"(?P<most>\d{{1,3}}|{COUNT}) (?:winners|wins)\b"
    ):
        how = " ".join((limit["how"] or "").lower().split())
        if how not in ({"", "more than"} if limit["not"] else {"no more than", "not more than", "fewer than"}):
            return None
        most = number(limit["most"]) - (how in {"", "fewer than"})
    return RiddenBy(" ".join(match["who"].lower().split()), most)


WHO_FORMS: Final[tuple[Form, ...]] = (
    ages,
    aged,
    maiden_ages,
    builds,
    rated,
    bare_band,
    benchmark,
    novices,
    maidens,
    have_done,
    had_runs,
    winners_of,
    course_winners,
    kept_away,
    non_winners,
    unraced,
    started_for,
    trained_in,
    sold_for,
    sires_price,
    parents_stayed,
    in_bands,
    in_scheme,
    bred_in,
    foaled,
    claimable,
    ridden_by,
)
