"""Reading which races a condition counts: their class, since when, worth what, over what distance, other than which."""

from calendar import monthrange
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

from upsides.placing.conditions.cursor import COUNT, MONEY, Cursor, number
from upsides.placing.conditions.who import Moment
from upsides.placing.kinds import ANY_RUN, BLACK_TYPE, RunKind

ROMAN: Final = {"i": "1", "ii": "2", "iii": "3"}
CLASS: Final = (
    r"(?:class\s*(?P<number>[1-7])|(?:group|grade|gr\.?|g)\s*(?P<group>[123]|i{1,3})\b"
    r"|(?P<listed>listed)|(?P<pattern>pattern|(?:group|graded)(?= (?:races?|stakes|or|and|pattern)\b)))"
)
OR_BETTER: Final = r"\s*(?:race )?(?:or|and) (?:above|higher|better|upwards?)\b(?: class\b)?"
CODES: Final = r"(?P<code>flat|hurdle|steeple\s?chase|steeplechase|chase|jump|national hunt flat)"
KIND_WORDS: Final = {
    "maiden": "maiden",
    "novice": "novice",
    "handicap": "handicap",
    "nursery": "nursery",
    "claim": "claiming",
    "sell": "selling",
    "starter": "starter",
    "restricted": "restricted",
    "state-bred": "restricted",
    "state bred": "restricted",
    "statebred": "restricted",
    "apprentice": "apprentice",
    "amateur": "amateur",
    "auction": "auction",
    "classified": "classified",
    "stakes": "stakes",
    "optional": "optional claiming",
    "allowance": "allowance",
    "weight": "weight for age",
}
KIND: Final = (
    r"(?:optional claim(?:ing|ers?)|maidens?|novices?|handicaps?|nurser(?:y"
    r"|ies)|claim(?:ing|ers?)|sell(?:ing|ers?)|starters?"
    r"|restricted|state[\s-]?bred|apprentices?|amateurs?|auctions?|classified"
    r"|stakes|allowances?|weight[\s-]for[\s-]age)"
)
KIND_LIST: Final = rf"{KIND}\b(?:(?:\s*,\s*(?:and |or )?| (?:and|or) |\s*&\s*){KIND}\b)*"
PLACES: Final = {
    "great britain": "Britain",
    "britain": "Britain",
    "gb": "Britain",
    "ireland": "Ireland",
    "france": "France",
    "australia": "Australia",
    "japan": "Japan",
}
PLACE: Final = r"(?:great britain|britain|gb|ireland|france|australia|japan)\b"
PLACE_LIST: Final = rf"{PLACE}(?:(?:\s*,\s*| (?:and|or) |\s*&\s*){PLACE})*"


SINCE_WEIGHTS: Final = (
    r"(?:since|after|following|from) (?:(?:the )?(?:time of )?(?:publication|issue) of (?:the |these )?weights?"
    r"|(?:the |these )?weights (?:were|was|are|have been|had been) (?:first )?(?:published|issued|announced|allotted"
    r"|framed|set|out))\b"
)
HERE: Final = r"(?:course(?: (?:and|&) (?:(?:the|this|same) )*distance)?|c\s*&\s*d|distance(?! of\b))"


@dataclass(frozen=True, slots=True)
class Meant:
    """Which runs are meant, and up to when they are counted.

    Attributes:
        kind: which.
        at: up to the closing of entries or the race; None where the wording does not say.
        times: how often, where it stands behind the rest ("won $9,800 once"); None where it does not.
    """

    kind: RunKind = ANY_RUN
    at: Moment | None = None
    times: int | None = None


def runs_meant(cursor: Cursor, start: RunKind = ANY_RUN) -> Meant:
    """Read all that narrows which runs are meant; the cursor stops before what does not."""
    meant = Meant(start)
    while True:
        for reader in READERS:
            before = cursor.at
            found = reader(cursor, meant)
            if found is not None and cursor.at > before:
                meant = found
                break
            cursor.at = before
        else:
            return meant


def classes_from(cursor: Cursor) -> frozenset[str] | None:
    """Read classes: Class 3 or above, Class 1 or Class 2, Group 1 or 2, a Pattern or Listed race."""
    found: set[str] = set()
    articles = r"(?:(?:of|in|at|a|an|any) ){0,3}"
    while match := cursor.take(
        rf"(?P<joined>\b(?:or|and|&) )?{articles}{CLASS}\b" if found else rf"{articles}{CLASS}\b"
    ):
        if match["pattern"] and found and not match["joined"]:
            continue
        found |= _classes(match["number"], match["group"], match["listed"])
        if match["number"] and (to := cursor.take(r"to (?:class )?(?P<worse>[1-7])\b")):
            found |= set("1234567"[int(match["number"]) - 1 : int(to["worse"])])
        while match["number"] and (more := cursor.take(r"(?:or|and|&|,)\s*(?P<more>[1-7])\b(?!\s*(?:races?|lb|st))")):
            found.add(more["more"])
        while match["group"] and (more := cursor.take(r"(?:or|and|&|,)\s*(?P<more>[123])\b(?!\s*(?:races|lb|st))")):
            found.add(f"group {more['more']}")
    if not found:
        return None
    return better(found) if cursor.take(OR_BETTER) else frozenset(found)


def better(classes: set[str]) -> frozenset[str]:
    """Return classes with all that are better, black type above Class 1 among them."""
    ladder = (*BLACK_TYPE, *"1234567")
    return frozenset(ladder[: 1 + max(ladder.index(name) for name in classes)])


def _classes(number: str | None, group: str | None, listed: str | None) -> set[str]:
    if number:
        return {number} | (set(BLACK_TYPE) if number == "1" else set())
    if group:
        return {f"group {ROMAN.get(group.lower(), group)}"}
    return {"listed"} if listed else {"group 1", "group 2", "group 3"}


def _class(cursor: Cursor, meant: Meant) -> Meant | None:
    found = classes_from(cursor)
    return None if found is None else _with(meant, classes=meant.kind.classes | found)


def _since(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(r"(?P<word>since|after|from|on or after|in|during) (?=\S)")
    if match is None:
        return None
    word = "in" if match["word"].lower() == "during" else match["word"].lower()
    if word == "in" and (
        years := cursor.take(r"(?P<one>(?:19|20)\d\d)\s*(?:[-–/]|to|and|or)\s*(?P<two>(?:19|20)\d\d)\b")
    ):
        return _with(meant, first=date(int(years["one"]), 1, 1), last=date(int(years["two"]), 12, 31))
    if year := cursor.take(r"(?P<year>(?:19|20)\d\d)\b(?!-)"):
        only = int(year["year"])
        last = date(only, 12, 31) if word == "in" else meant.kind.last
        return _with(meant, first=date(only + (word == "after"), 1, 1), last=last)
    day = cursor.day() if word != "in" else None
    return None if day is None else _with(meant, first=day + timedelta(days=word == "after"))


def _since_weights(cursor: Cursor, meant: Meant) -> Meant | None:
    """Read: since the weights were published; after publication of the weights; once the weights are out."""
    return _with(meant, since_weights=True) if cursor.take(SINCE_WEIGHTS) else None


def _here(cursor: Cursor, meant: Meant) -> Meant | None:
    """Read: over course and distance; over this course; at the course; over the same distance."""
    match = cursor.take(rf"(?:over|at|on|round) (?:(?:the|this|same) )*(?P<here>{HERE})\b")
    return None if match is None else replace(meant, kind=at_the_race(match["here"], meant.kind))


def _meeting(cursor: Cursor, meant: Meant) -> Meant | None:
    """Read: at this meeting; during the meeting."""
    here = cursor.take(r"(?:at|during) (?:this|the)(?: same| present| current)? meeting\b")
    return None if here is None else _with(meant, here=True, this_meeting=True)


def at_the_race(words: str, kind: RunKind = ANY_RUN) -> RunKind:
    """Return the runs that are meant, at the race's "course", over its "distance", or both."""
    low = words.lower()
    here, trip = "course" in low or low.startswith("c"), "distance" in low or low.endswith("d")
    return replace(kind, here=kind.here or here, this_trip=kind.this_trip or trip)


def _until(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(r"(?P<word>before|prior to|up to(?: and including)?|by) (?=\S)")
    day = cursor.day() if match else None
    if day is None or match is None:
        return None
    before = match["word"].lower()[:2] in {"be", "pr"}
    return _with(meant, last=day - timedelta(days=before))


def _this_year(cursor: Cursor, meant: Meant) -> Meant | None:
    year = cursor.take(r"(?:(?:in|during) )?(?:this|the current) (?:calendar )?year\b")
    return _with(meant, first=date(cursor.on.year, 1, 1)) if year else None


def _lately(cursor: Cursor, meant: Meant) -> Meant | None:
    """Read: in the last twelve months; in the 60 days before the race; they are counted back from the race."""
    match = cursor.take(
        rf"(?:in|within|during) (?:the )?(?P<count>\d{{1,3}}|{COUNT}) (?P<unit>days?|weeks?|months?) (?:before|prior to"
        r"|preceding) (?:the )?(?:day of )?(?:the )?race\b"
    ) or cursor.take(
        rf"(?:in|within|during) (?:the )?(?:last|past|previous|preceding) (?:(?P<count>\d{{1,3}}|{COUNT}) )?"
        r"(?P<unit>days?|weeks?|months?|years?)\b(?: (?:before|prior to|preceding) (?:the )?(?:day of )?(?:the "
        r")?race\b)?"
    )
    if match is None:
        return None
    count, unit = number(match["count"] or "one"), match["unit"].lower()[0]
    if unit in "dw":
        return _with(meant, first=cursor.on - timedelta(days=count * (7 if unit == "w" else 1)))
    months = 12 * cursor.on.year + cursor.on.month - 1 - count * (12 if unit == "y" else 1)
    year, month = divmod(months, 12)
    return _with(meant, first=date(year, month + 1, min(cursor.on.day, monthrange(year, month + 1)[1])))


def _worth(cursor: Cursor, meant: Meant) -> Meant | None:
    lead = cursor.take(
        rf"of (?={MONEY} to the winn)|(?:(?:of|with|having|in a race) )?(?:a )?"
        r"(?:prize value|prize money|value to the winner|(?:total )?value|worth(?: to the winner)?|(?:first"
        r"|winner['’]s) prize)"
        r"\s*(?:of )?(?:at least |not less than |more than )?|(?:exceeding|of more than) "
    )
    money = cursor.money() if lead else None
    if money is None or lead is None:
        return None
    cursor.take(r"to the winner\b")
    if cursor.take(r"or (?:less|under)\b"):
        return _with(meant, under=replace(money, amount=money.amount + 0.01))
    cursor.take(r"(?:or|and) (?:more|over|above|upwards)\b|\+")
    cursor.take(r"to the winner\b")
    above = "exceeding" in lead[0].lower() or "more than" in lead[0].lower()
    return _with(meant, worth=replace(money, amount=money.amount + (0.01 if above else 0.0)))


def _distance(cursor: Cursor, meant: Meant) -> Meant | None:
    lead = cursor.take(
        r"(?:run )?(?:at|over|beyond|of) (?:a distance )?(?:of )?(?P<above>in excess of|exceeding|more than"
        r"|(?:further|farther|longer) than)?"
    )
    metres = cursor.metres() if lead else None
    if metres is None or lead is None:
        return None
    if lead["above"] or lead[0].strip().lower().startswith("beyond"):
        return _with(meant, metres=metres + 1.0)
    if cursor.take(r"(?:or|and) (?:over|more|further|farther|upwards?|longer|beyond)\b|\+"):
        return _with(meant, metres=metres)
    if cursor.take(r"or (?:less|under|shorter)\b"):
        return _with(meant, metres_to=metres)
    return _with(meant, metres=metres, metres_to=metres)


def _surface(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(
        r"on (?:the |an? )?(?P<on>turf|grass|dirt|main track|all[\s-]weather|synthetic)(?: surfaces?| track)?\b"
    )
    if match is None:
        return None
    word = match["on"].lower()[:4]
    return _with(
        meant,
        surfaces=frozenset({{"turf": "turf", "gras": "turf", "dirt": "dirt", "main": "dirt"}.get(word, "synthetic")}),
    )


def _code(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(
        rf"(?:(?:of|in) )?(?:(?:a|any|another) )?{CODES}(?: races?\b|(?<=chase)s?\b)|on the (?P<flat>flat)\b"
    )
    if match is None:
        return None
    word = (match["flat"] or match["code"]).lower()
    code = {"f": "flat", "h": "hurdle", "n": "bumper"}.get(word[0], "chase")
    return _with(meant, codes=frozenset({code}) if word != "jump" else frozenset({"hurdle", "chase"}))


def _without(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(
        rf"(?P<open>\()?(?:other than|except(?:ing| for)?|excluding|not including) (?:(?:in |of )?(?:a"
        rf"|an|any) )?(?P<list>{KIND_LIST})(?: races?\b)?(?(open)\))"
    )
    return None if match is None else _with(meant, without=meant.kind.without | kinds_of(match["list"]))


def _only(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(
        rf"(?:(?:of|in) )?(?:(?:a|an|any|another) )?(?P<list>{KIND_LIST}) (?:race|stake)s?\b|in (?P<some>{KIND_LIST})"
        rf"|(?:(?:of|in) )?(?:a|an|any|another) (?P<noun>{KIND})\b"
    )
    if match is None:
        return None
    return _with(meant, only=meant.kind.only | kinds_of(match["list"] or match["some"] or match["noun"]))


def _places(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(rf"in (?P<list>{PLACE_LIST})")
    if match is None:
        return None
    low = " ".join(match["list"].lower().split())
    return _with(meant, countries=frozenset(name for word, name in PLACES.items() if word in low))


def _moment(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(r"(?:at (?:the )?(?:time of )?)(?P<when>closing|entry|starting|start)\b")
    if match is None:
        return None
    return replace(meant, at="closing" if match["when"].lower() in {"closing", "entry"} else "starting")


def _times(cursor: Cursor, meant: Meant) -> Meant | None:
    match = cursor.take(r"(?P<times>once|twice|three times|four times)\b")
    if match is None or meant.times is not None:
        return None
    return replace(
        meant, times={"o": 1, "tw": 2, "th": 3, "f": 4}[match["times"].lower()[: 2 if match["times"][0] in "tT" else 1]]
    )


def _plain(cursor: Cursor, meant: Meant) -> Meant | None:
    words = (
        r"(?:of |in )?(?:(?:a|any|such|such a) )?races?\b|stakes\b|in (?:their|its) (?:lives|life|lifetime|career)s?\b"
        r"|(?:a )?lifetime\b|ever\b|at any time\b|before\b(?=\s*(?:[.,;)]|$))|under "
        r"(?:any )?(?:the )?rules of racing\b|won\b|of any (?:kind|value)\b"
    )
    return meant if cursor.take(words) else None


READERS: Final[tuple[Callable[[Cursor, Meant], Meant | None], ...]] = (
    _without,
    _class,
    _code,
    _only,
    _since_weights,
    _here,
    _meeting,
    _since,
    _until,
    _this_year,
    _lately,
    _worth,
    _distance,
    _surface,
    _places,
    _moment,
    _times,
    _plain,
)


def kinds_of(text: str) -> frozenset[str]:
    """Return the kinds of race that a list of words names."""
    low = " ".join(text.lower().split())
    if "optional" in low:
        low = low.replace("optional claim", "optional ")
    return frozenset(meaning for word, meaning in KIND_WORDS.items() if word in low)


def _with(meant: Meant, **changes: object) -> Meant:
    return replace(meant, kind=replace(meant.kind, **changes))  # type: ignore[arg-type]  # the names are RunKind's own
