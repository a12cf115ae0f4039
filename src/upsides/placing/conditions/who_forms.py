"""How wordings say which horses a race takes. Each form reads at a place, or answers None and leaves it alone.

A form claims only what it has understood to its end: words behind it that narrow it further are read as part of it, or
are shown as not read.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from upsides.placing.conditions.cursor import COUNT, SEX_LIST, YEARS, Cursor, builds_of, compiled, number
from upsides.placing.conditions.record_forms import (
    NEGATED,
    OPENING,
    WHICH,
    have_done,
    maiden_ages,
    maidens,
    non_winners,
    started_for,
    unraced,
)
from upsides.placing.conditions.who import (
    Ages,
    Benchmark,
    BredIn,
    Builds,
    Claimable,
    Condition,
    InBands,
    InScheme,
    ParentsStayed,
    Rated,
    RiddenBy,
    SiresPrice,
    SoldFor,
)
from upsides.placing.race import Build

ENDS: Final = (
    r"\s*(?:only\b)?\s*(?:[,.;:()\n]|$|which\b|that\b|who\b|have\b|foaled\b|bred\b|maidens?\b|rated\b|sired\b|by\b"
    rf"|non|of\b|{COUNT}{YEARS})"
)
BREDS: Final = {
    "irish": "Ireland",
    "british": "Britain",
    "french": "France",
    "australian": "Australia",
    "cal": "California",
}
STATES: Final = (
    r"(?:california|indiana|ohio|connecticut|ireland|great britain|britain|france|australia|japan|germany|italy)"
)
LADDER_PLACES: Final = {"great britain": "Britain"}


Form = Callable[[Cursor], object | None]


def ages(cursor: Cursor) -> Condition | None:
    """Read: for two-year-olds only; 3yo+; for three yrs old and upwards."""
    cursor.take(OPENING)
    found = cursor.ages()
    if found is None or cursor.sees(NEGATED):
        return None
    cursor.take(r"only\b")
    return Ages(found)


def builds(cursor: Cursor) -> Condition | None:
    """Read: fillies only; colts and geldings; fillies and mares; no geldings."""
    if match := cursor.take(rf"(?:no (?P<no>{SEX_LIST})|(?P<barred>{SEX_LIST}){NEGATED})"):
        return Builds(frozenset(Build) - builds_of(match["no"] or match["barred"]))
    cursor.take(OPENING)
    found = cursor.builds()
    if found is None or not compiled(ENDS).match(cursor.text, cursor.at) or cursor.sees(NEGATED):
        return None
    cursor.take(r"only\b")
    return Builds(found)


def rated(cursor: Cursor) -> Condition | None:
    """Read: rated 0-85; rated 66 to 80 (also open to such horses rated 81 and 82); rated 75 and below."""
    cursor.take(OPENING)
    if not cursor.take(r"\(?(?:horses? )?(?:with an? )?(?:rated|ratings?(?: band)?|bhm|band)\s*(?:of )?:?"):
        return None
    if match := cursor.take(r"(?P<low>\d{1,3})\s*(?:-|–|to)\s*(?P<high>\d{1,3})\b\)?"):
        low, high = float(match["low"]), float(match["high"])
        found = Rated(low or None, high) if low <= high else None
    elif match := cursor.take(
        r"(?:up to )?(?P<high>\d{1,3})\s*(?:and|or) (?:below|less|lower|under)\b|(?:up to"
        r"|not (?:above|exceeding|more than)) (?P<most>\d{1,3})\b"
    ):
        found = Rated(None, float(match["high"] or match["most"]))
    elif match := cursor.take(r"(?P<low>\d{1,3})\s*(?:\+|(?:and|or) (?:above|higher|over|more|upwards?))"):
        found = Rated(float(match["low"]))
    else:
        return None
    return None if found is None else _also_open(cursor, found)


def _also_open(cursor: Cursor, found: Rated) -> Rated:
    """Read what is added about horses just above and below the band."""
    above = cursor.take(r"\(?also open to (?:such )?horses rated (?P<one>\d{1,3})(?: (?:and|or) (?P<two>\d{1,3}))?")
    if above and found.high is not None:
        top = float(above["two"] or above["one"])
        found = replace(found, above=max(0.0, top - found.high))
    if cursor.take(r"[;.]?\s*(?:such )?horses rated \d{1,3} (?:and|or) (?:below|lower) are also eligible\b"):
        found = replace(found, below=True)
    if above:
        cursor.take(r"[-–]?\s*see standard conditions\b")
        cursor.take(r"\)")
    return found


def sold_for(cursor: Cursor) -> Condition | None:
    """Read: sold at public auction as yearlings for 50,000 or less; sold or bought in for not more than 20,000 gns."""
    if not cursor.take(
        WHICH + r"(?:(?:have been|were) )?sold\b(?: or bought in\b)?(?: under the hammer\b)?"
        r"(?: at (?:a )?public (?:auctions?|sales?)\b)?"
    ):
        return None
    as_a = _as_a(cursor)
    lead = cursor.take(r"(?:at|for) (?:a price )?(?P<most>not (?:more than|exceeding)|up to|no more than)?")
    most = cursor.money() if lead else None
    if most is None or lead is None or not (lead["most"] or cursor.take(r"or less\b")):
        return None
    return SoldFor(most, as_a | _as_a(cursor))


def _as_a(cursor: Cursor) -> frozenset[str]:
    """Read the ages at which a sale counts."""
    kind = r"(?:yearling|foal|two-year-old)s?"
    match = cursor.take(rf"as (?:an? )?(?P<list>{kind}\b(?:(?:\s*,\s*| (?:and|or) ){kind}\b)*)")
    return frozenset() if match is None else frozenset(word.lower().rstrip("s") for word in _split(match["list"]))


def benchmark(cursor: Cursor) -> Condition | None:
    """Read: Benchmark 64; BM78."""
    match = cursor.take(r"(?:benchmark|bm)\s?(?P<mark>\d{2,3})\b")
    return None if match is None else Benchmark(float(match["mark"]))


def sires_price(cursor: Cursor) -> Condition | None:
    """Read: by sires with a median price of 20,000 guineas or less; whose median price does not exceed £15,000."""
    if not cursor.take(
        rf"{WHICH}(?:(?:are )?by (?:sires|stallions) )?(?:whose|with a|the)?\s*(?:yearling "
        rf"|auction )?median (?:auction |yearling |sale )*price "
    ):
        return None
    lead = cursor.take(
        r"(?P<most>(?:of )?(?:not (?:exceeding|more than)|up to)|(?:does|do|did) not exceed)|(?:of|is|was)\b"
    )
    most = cursor.money() if lead else None
    if most is None or lead is None or not (lead["most"] or cursor.take(r"or less\b")):
        return None
    return SiresPrice(most)


def parents_stayed(cursor: Cursor) -> Condition | None:
    """Read: by sires which won over 1m 2f or further; whose sire or dam won over a distance in excess of 1m 1f 209y."""
    head = cursor.take(
        rf"{WHICH}(?:are )?(?:(?:by|out of) (?P<by>sires?(?: or (?:out of )?dams?)?) "
        rf"(?:which|that|who)|whose (?P<whose>sires?(?: or dams?)?))"
        r" (?:(?:has|have) )?won (?:a (?:flat )?race )?(?:over|at) "
        r"(?:a distance )?(?:of )?(?P<above>in excess of|exceeding|more than)?"
    )
    metres = cursor.metres() if head else None
    if metres is None or head is None:
        return None
    if not head["above"]:
        cursor.take(r"or (?:more|over|further|farther|longer)\b")
    dam = "dam" in (head["by"] or head["whose"] or "").lower()
    return ParentsStayed(metres + (1.0 if head["above"] else 0.0), dam)


def in_bands(cursor: Cursor) -> Condition | None:
    """Read: which are in Bands C and D."""
    match = cursor.take(
        rf"(?:for )?{WHICH}(?:are )?in bands? (?P<list>(?-i:[A-F])\b(?:(?:\s*,\s*| (?:and|or) )(?-i:[A-F])\b)*)"
    )
    return None if match is None else InBands(frozenset(part.upper() for part in _split(match["list"])))


def in_scheme(cursor: Cursor) -> Condition | None:
    """Read: which are E.B.F. eligible; GBB qualified."""
    match = cursor.take(
        rf"{WHICH}(?:are )?(?P<name>[a-z]\.?[a-z]\.?[a-z]\.?)[\s-](?:eligible|qualified|nominated|registered)\b"
    )
    if match is None or not match["name"].isupper():
        return None
    return InScheme(match["name"].replace(".", "").lower())


def bred_in(cursor: Cursor) -> Condition | None:
    """Read: foaled in Indiana; Irish-bred; bred in Great Britain or Ireland."""
    cursor.take(OPENING)
    if match := cursor.take(r"(?P<who>irish|british|french|australian|cal)[\s-]bred(?:s)?\b"):
        return BredIn(frozenset({BREDS[match["who"].lower()]}))
    match = cursor.take(
        rf"{WHICH}(?:(?:are|were) )?(?:registered )?(?:foaled|bred) in "
        rf"(?:the state of )?(?P<list>{STATES}\b(?:(?:\s*,\s*| (?:and|or) ){STATES}\b)*)"
    )
    if match is None:
        return None
    names = [" ".join(word.split()) for word in _split(match["list"])]
    return BredIn(frozenset(LADDER_PLACES.get(name.lower(), name.title()) for name in names))


def _split(text: str) -> list[str]:
    return [part.strip() for part in compiled(r"\s*,\s*| (?:and|or) ").split(text) if part.strip()]


def claimable(cursor: Cursor) -> Condition | None:
    """Read: claiming price $25,000; for each $1,000 to $20,000, 1 lb."""
    if not cursor.take(r"(?:claiming price|to be claimed for|(?:may|can) be claimed for)\s*(?:of )?:?"):
        return None
    price = cursor.money()
    if price is None:
        return None
    here = cursor.at
    if cursor.take(r"[;.(]?\s*(?:if )?for each "):
        each = cursor.money()
        lowest = cursor.money() if each and cursor.take(r"(?:less )?(?:down )?to ") else None
        cursor.take(r"allowed\b")
        off = cursor.weight() if lowest else None
        if each and lowest and off:
            cursor.take(r"\)")
            return Claimable(price, lowest, each, off)
    cursor.at = here
    return Claimable(price)


def ridden_by(cursor: Cursor) -> Condition | None:
    """Read: to be ridden by apprentice jockeys who have not ridden more than 50 winners; apprentice riders."""
    match = cursor.take(
        r"(?:(?:to be )?ridden by |for |riders?:? |confined to )?(?P<who>apprentice|amateur|conditional"
        r"|lady|professional)s?(?: (?:jockeys|riders))(?:['’])?(?: only\b)?"
    ) or cursor.take(r"(?:to be )?ridden by (?P<who>apprentice|amateur)s\b")
    if match is None or cursor.sees(r"(?:can|may|allowances?|claims?|cannot|allowed)\b"):
        return None
    most = None
    if limit := cursor.take(rf"who have not ridden more than (?P<most>\d{{1,3}}|{COUNT}) winners\b"):
        most = number(limit["most"])
    return RiddenBy(match["who"].lower(), most)


WHO_FORMS: Final[tuple[Form, ...]] = (
    ages,
    maiden_ages,
    builds,
    rated,
    benchmark,
    maidens,
    have_done,
    non_winners,
    unraced,
    started_for,
    sold_for,
    sires_price,
    parents_stayed,
    in_bands,
    in_scheme,
    bred_in,
    claimable,
    ridden_by,
)
