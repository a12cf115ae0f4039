"""How wordings say what a horse was sold for, what its parents are, where it was bred and is trained."""

from datetime import date, timedelta
from typing import Final

from upsides.placing.conditions.cursor import COUNT, Cursor, compiled
from upsides.placing.conditions.origins import Foaled, Novices, SiresFee, TrainedIn
from upsides.placing.conditions.record_forms import NEGATED, OPENING, WHICH
from upsides.placing.conditions.who import (
    BredIn,
    Condition,
    InBands,
    InScheme,
    ParentsStayed,
    SiresPrice,
    SoldFor,
)

BREDS: Final = {
    "gb": "Britain",
    "irish": "Ireland",
    "british": "Britain",
    "french": "France",
    "australian": "Australia",
    "cal": "California",
}
BRED: Final = rf"(?:{'|'.join(BREDS)})"
STATES: Final = (
    r"(?:california|indiana|ohio|connecticut|ireland|great britain|britain|france|australia|japan|germany|italy"
    r"|hong kong)"
)
STATE_LIST: Final = rf"{STATES}\b(?:(?:\s*,\s*| (?:and|or) ){STATES}\b)*"
LADDER_PLACES: Final = {"great britain": "Britain"}
MOST: Final = (
    r"(?:(?:of |for |was |were )*(?P<most>not (?:more than|exceeding)|no more than|up to)"
    r"|(?P<exceed>(?:does|do|did|has|have)(?: not|n['’]t) exceed(?:ed)?)|(?:of|is|was|for|at)\b)\s*"
)
NOT_NOVICES: Final = (
    r"(?! (?:stakes|races?|plate|hurdle|chase|handicap|auction|median|event|flat|riders?|jockeys?|allow))"
)


def novices(cursor: Cursor) -> Condition | None:
    """Read: for novice two-year-old fillies only; 2yo novices — the word before or behind ages and sexes."""
    if not cursor.take(rf"(?:for )?novices?\b{NOT_NOVICES}"):
        return None
    if not cursor.sees(rf"{COUNT}|fillies|mares|colts|geldings|horses|only\b|and\b|[,.;:()]|$"):
        return None
    cursor.take(r"only\b")
    return Novices()


def trained_in(cursor: Cursor) -> Condition | None:
    """Read: horses trained in Ireland; no horse trained in Ireland may run; horses not trained in France are barred."""
    may = r"(?:may (?:run|be entered)|shall run|(?:is|are) (?:eligible|qualified|permitted))\b"
    if match := cursor.take(
        rf"no (?:horses?|runners?) (?:(?:which|that) (?:is|are) )?(?P<not>not )?trained in (?P<list>{STATE_LIST})"
    ):
        return TrainedIn(_places(match["list"]), out=not match["not"]) if cursor.take(may) else None
    if match := cursor.take(rf"(?:horses? )?(?P<not>not )?trained in (?P<list>{STATE_LIST}){NEGATED}"):
        return TrainedIn(_places(match["list"]), out=not match["not"])
    if match := cursor.take(rf"only (?:horses|runners) (?:(?:which|that) are )?trained in (?P<list>{STATE_LIST})"):
        cursor.take(may)
        return TrainedIn(_places(match["list"]))
    cursor.take(OPENING)
    match = cursor.take(rf"{WHICH}(?:(?:are|is) )?trained in (?P<list>{STATE_LIST})")
    if match is None:
        return None
    cursor.take(r"only\b")
    return TrainedIn(_places(match["list"]))


def _places(text: str) -> frozenset[str]:
    names = [" ".join(word.split()) for word in _split(text)]
    return frozenset(LADDER_PLACES.get(name.lower(), name.title()) for name in names)


def sold_for(cursor: Cursor) -> Condition | None:
    """Read: sold at public auction as yearlings for 50,000 or less; which cost no more than 20,000 gns."""
    auction = r"(?: at (?:a )?public (?:auctions?|sales?)\b)?"
    head = cursor.take(
        WHICH
        + rf"(?P<offered>offered for sale{auction}(?: as (?:an? )?(?P<first>yearling|foal|two-year-old)s?)? and )?"
        r"(?:(?:have been|has been|were|was) )?(?P<verb>(?:sold|bought|purchased)\b(?: or bought in\b)?|cost\b"
        r"|realised\b)"
        rf"(?: under the hammer\b)?{auction}"
    )
    if head is None:
        return _priced(cursor)
    as_a = _as_a(cursor) | (frozenset({head["first"].lower()}) if head["first"] else frozenset())
    cost = head["verb"].lower() in {"cost", "realised"}
    lead = cursor.take(
        rf"(?:(?:at|for) {'?' if cost else ''})?(?:a (?:price|sum) )?(?:of )?(?P<most>not (?:more than"
        rf"|exceeding)|up to|no more than)?"
    )
    most = cursor.money() if lead and (cost or lead[0].strip()) else None
    if most is None or lead is None or not (lead["most"] or cursor.take(r"or (?:less|under)\b")):
        return None
    cursor.take(r"at (?:a )?public (?:auctions?|sales?)\b")
    return SoldFor(most, as_a | _as_a(cursor))


def _priced(cursor: Cursor) -> Condition | None:
    """Read: whose price at a yearling sale did not exceed 35,000 euros."""
    head = cursor.take(
        rf"{OPENING}whose (?:purchase |sale )?price (?:at (?:an?|any|the) (?:public )?(?:(?P<what>yearling"
        rf"|foal) )?(?:sale|auction)s? )"
        r"(?:did|does|has) not exceed(?:ed)? "
    )
    most = cursor.money() if head else None
    if head is None or most is None:
        return None
    return SoldFor(most, frozenset({head["what"].lower()}) if head["what"] else frozenset())


def _as_a(cursor: Cursor) -> frozenset[str]:
    """Read the ages at which a sale counts."""
    kind = r"(?:yearling|foal|two-year-old)s?"
    match = cursor.take(rf"as (?:an? )?(?P<list>{kind}\b(?:(?:\s*,\s*| (?:and|or) ){kind}\b)*)")
    return frozenset() if match is None else frozenset(word.lower().rstrip("s") for word in _split(match["list"]))


def sires_price(cursor: Cursor) -> Condition | None:
    """Read: by sires with a median price of 20,000 guineas or less; whose sire's fee did not exceed £15,000."""
    by = cursor.take(rf"{WHICH}(?:are )?(?:by|(?:the )?(?:progeny|produce) of) (?:sires?|stallions?)\b")
    link = cursor.take(
        r"(?:whose sires?(?:['’]s?)?(?: (?:had|has|have) an?)?|whose|with an?|the|standing at an?"
        r"|(?:which|that|who) (?:had|have|has|stood at|stands? at) an?)(?=\s)"
    )
    match = cursor.take(
        r"(?P<what>(?:yearling |auction |sale )*median (?:auction |yearling |sale |price |stallion |stud "
        r")*(?:price|fee)"
        r"|(?:advertised |published |stud |stallion |covering |nomination )*fee)\b"
    )
    if match is not None and match["what"].lower().endswith("fee") and not (by or link):
        return None
    lead = cursor.take(MOST) if match else None
    most = cursor.money() if lead else None
    if match is None or lead is None or most is None:
        return None
    if not (lead["most"] or lead["exceed"] or cursor.take(r"or (?:less|under)\b")):
        return None
    fee = match["what"].lower().endswith("fee")
    cursor.take(r"in (?:the|their) year (?:of conception|of covering|in which (?:they|it) (?:was|were) conceived)\b")
    cursor.take(r"at (?:the |all )?(?:public )?(?:yearling )?(?:auctions?|sales)\b")
    return SiresFee(most) if fee else SiresPrice(most)


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
        r"(?: horses\b)?(?: only\b)?"
    )
    if match is None or not match["name"].isupper():
        return None
    return InScheme(match["name"].replace(".", "").lower())


def bred_in(cursor: Cursor) -> Condition | None:
    """Read: foaled in Indiana; Irish-bred; bred in Great Britain or Ireland."""
    cursor.take(OPENING)
    if match := cursor.take(
        rf"(?P<who>{BRED}(?:(?:[\s-]bred)?[\s-]*(?:,|and|or)\s+{BRED})*)[\s-]bred(?:s)?(?: horses\b)?(?: only\b)?"
    ):
        return BredIn(frozenset(BREDS[word] for word in compiled(BRED).findall(match["who"].lower())))
    match = cursor.take(
        rf"{WHICH}(?:(?:are|were) )?(?:registered )?(?:foaled|bred) in (?:the state of )?(?P<list>{STATE_LIST})"
    )
    return None if match is None else BredIn(_places(match["list"]))


def _split(text: str) -> list[str]:
    return [part.strip() for part in compiled(r"\s*,\s*| (?:and|or) ").split(text) if part.strip()]


def foaling(cursor: Cursor) -> Foaled | None:
    """Read: foaled on or after 1 April 2023; foaled before May 1st; foaled between 1 March and 30 April."""
    here = cursor.at
    found = _foaled(cursor)
    if found is None:
        cursor.at = here
    return found


def foaled(cursor: Cursor) -> Condition | None:
    """Read a day of foaling as a condition; not where those foaled then are kept out."""
    cursor.take(r"(?:for |open to )?(?:horses )?(?=(?:(?:which|that) (?:were|was) )?foaled\b)")
    found = foaling(cursor)
    kept_out = r"(?:are |is )?(?:excluded|not eligible|ineligible|barred)\b|(?:are |is )?(?:allowed|receives?)\b|\d"
    return None if found is None or cursor.sees(kept_out) else found


def _foaled(cursor: Cursor) -> Foaled | None:
    head = cursor.take(
        r"(?:(?:which|that) (?:were|was) )?foaled (?P<how>on or after|on or before|after|since|from|before|prior to"
        r"|up to(?: and including)?|between) "
    )
    one = _day_of(cursor) if head else None
    if head is None or one is None:
        return None
    how = " ".join(head["how"].lower().split())
    day, yearly = one
    if how == "between":
        other = _day_of(cursor) if cursor.take(r"and ") else None
        return None if other is None or other[1] is not yearly else Foaled(day, other[0], yearly)
    if how in {"on or after", "after", "since", "from"}:
        return Foaled(day + timedelta(days=how == "after"), None, yearly)
    return Foaled(None, day - timedelta(days=how in {"before", "prior to"}), yearly)


def _day_of(cursor: Cursor) -> tuple[date, bool] | None:
    """Read a day, and whether it names no year."""
    here = cursor.at
    day = cursor.day()
    return None if day is None else (day, str(day.year) not in cursor.text[here : cursor.at])
