"""How wordings say by when something must be said, and what it costs."""

from datetime import date, time, timedelta
from typing import Final

from upsides.placing.amounts import Money
from upsides.placing.conditions.card import DaysAhead, Fee, SaidBy, Stake
from upsides.placing.conditions.context import Context, Line
from upsides.placing.conditions.cursor import COUNT, Cursor, number
from upsides.placing.race import Stage

CLOCK: Final = (
    r"(?:(?P<noon>(?:12(?:[.:]00)? )?(?:noon|midday))|(?P<midnight>midnight)"
    r"|(?P<hour>\d{1,2})(?:[.:](?P<minute>\d\d))?\s*(?P<half>a\.?m\b\.?|p\.?m\b\.?)?)"
)
WEEKDAY: Final = r"(?:on )?(?:the )?(?:(?:mon|tues|wednes|thurs|fri|satur|sun)day,? )?(?:the )?"
HOURS: Final = r"(?:24|48|72|96|twenty[\s-]?four|forty[\s-]?eight|seventy[\s-]?two)"
AT: Final = r"(?:(?: stage)?(?: to)?(?: be made| close[sd]?)?)?(?: at| by| on|:)?"
STAGES: Final = (
    (
        rf"(?:(?:(?:supplement(?:ary)?|late) entr(?:y|ies)|supplementary stage){AT}|supplement(?:ed)? by)",
        Stage.SUPPLEMENT,
    ),
    (
        rf"(?:enter(?:ed)? by|entr(?:y|ies){AT}|closing(?: date)?(?: at| by| on|:)?|closes(?: at| on|:)?|close "
        rf"of entries(?: at| on|:)?)",
        Stage.ENTER,
    ),
    (
        rf"(?:confirm(?:ed)?(?: entries)? by|confirmations?(?: of entry)?{AT}|forfeit(?: stage)?{AT}"
        r"|(?:if )?not forfeited by)",
        Stage.CONFIRM,
    ),
    (rf"(?:declare(?:d)?(?: to run)? by|(?:final |overnight )?declarations?{AT})", Stage.DECLARE),
    (r"(?:scratch(?:ed|ings)? by|withdraw(?:n|als)? by)", Stage.WITHDRAW),
)
STEPS: Final = (
    ("supplement", Stage.SUPPLEMENT),
    ("enter", Stage.ENTER),
    ("entry", Stage.ENTER),
    ("entrance", Stage.ENTER),
    ("confirm", Stage.CONFIRM),
    ("declar", Stage.DECLARE),
    ("not", Stage.CONFIRM),
)
STAYS: Final = r"not (?:forfeited|scratched|taken out|withdrawn)"
STEP: Final = r"(?:supplement\w*(?: entry)?|enter(?:ed)?|entry|entrance|confirm\w*|declar\w+)"


def said_by(cursor: Cursor, context: Context) -> Line | None:
    """Read: enter by noon, March 17th and pay £60; entries close 22 July at noon, fee £50; forfeit by noon 3 June."""
    cost = None
    if cursor.sees(r"[£€$]"):
        cost = cursor.money()
        said = rf"(?:extra |more |additional )?(?:to|if) (?P<step>{STEP}|{STAYS}) (?=by)"
        match = cursor.take(said) if cost else None
        stage = _stage(match["step"]) if match else None
    else:
        stage = next((stage for words, stage in STAGES if cursor.take(rf"{words} ")), None)
        cost = cursor.money() if stage and cursor.sees(r"[£€$]") else None
    if stage is None:
        return None
    cursor.take(r"by ")
    at = _clock(cursor)
    day = _day(cursor)
    if at is None and day is not None:
        cursor.take(r"at |by ")
        at = _clock(cursor)
    if day is None or at is None:
        return None
    return (SaidBy(stage, day, at, cost or _cost(cursor)),), context


def _day(cursor: Cursor) -> date | None:
    """Read a day: 22 July; Tuesday 22nd July; six days before the race."""
    cursor.take(WEEKDAY)
    if match := cursor.take(
        rf"(?P<count>\d{{1,2}}|{COUNT}) days? (?:before|prior to|preceding)\b(?: (?:the )?(?:day of )?(?:the )?"
        rf"(?:race|racing)\b)?"
    ):
        return cursor.on - timedelta(days=number(match["count"]))
    if match := cursor.take(
        rf"(?P<hours>{HOURS}) hours (?:before|prior to|preceding)\b(?: (?:the )?(?:race|racing)\b)?"
    ):
        return cursor.on - timedelta(days=_days(match["hours"]))
    if cursor.take(r"day before(?: (?:the )?(?:race|racing))?\b"):
        return cursor.on - timedelta(days=1)
    return cursor.day()


def days_ahead(cursor: Cursor, context: Context) -> Line | None:
    """Read: 48-hour declarations; declarations to run: 48 hours. The hour of the day is the authority's."""
    match = cursor.take(
        rf"(?:(?P<hours>{HOURS})[\s-]hours? declarations?\b(?: stage\b)?(?: appl(?:y|ies)\b)?"
        rf"|declarations?(?: to run)?:? (?P<behind>{HOURS}) hours\b(?! (?:before|prior|preceding)))"
    )
    return None if match is None else ((DaysAhead(Stage.DECLARE, _days(match["hours"] or match["behind"])),), context)


def _days(hours: str) -> int:
    """Return how many days before the race a number of hours means: 48 are two days, forty-eight too."""
    low = hours.lower()
    return int(low) // 24 if low.isdigit() else {"tw": 1, "fo": 2, "se": 3}[low[:2]]


def _cost(cursor: Cursor) -> Money | None:
    """Read what it costs behind the time: and pay £60 stake; at a fee of £60; fee £50; £100 extra."""
    here = cursor.at
    lead = cursor.take(
        r"(?:and (?:pay )?|at |for |[;(]\s*|:\s*)?(?:an? )?(?:additional |extra |further )?(?P<fee>fee|stake"
        r"|cost)?\s*(?:of )?:?\s*"
    )
    cost = cursor.money() if lead and lead[0].strip(" ,") else None
    if lead is None or cost is None or (cursor.sees(r"(?:to|if)\b") and not lead["fee"]):
        cursor.at = here
        return None
    cursor.take(r"(?:stake|fee|extra|each|more)\b")
    return cost


def _clock(cursor: Cursor) -> time | None:
    here = cursor.at
    cursor.take(r"at |by ")
    match = cursor.take(CLOCK)
    if match is not None and (match["noon"] or match["midnight"]):
        return time(12 if match["noon"] else 0)
    if match is not None and (match["half"] or match["minute"]):
        hour, minute, half = int(match["hour"]), int(match["minute"] or 0), (match["half"] or "").lower()[:1]
        if half:
            hour = hour % 12 + (12 if half == "p" else 0)
        if hour < 24 and minute < 60:
            return time(hour, minute)
    cursor.at = here
    return None


def fee(cursor: Cursor, context: Context) -> Line | None:
    """Read: entry fee £75; £75 to enter, £150 to confirm; £120 extra if declared; £40 stake."""
    if match := cursor.take(rf"(?:an? )?(?P<step>{STEP}) (?:fee|stake)s?\s*(?:of |is )?:?\s*"):
        money = cursor.money()
        return None if money is None else ((Fee(_stage(match["step"]), money),), context)
    money = cursor.money() if cursor.sees(r"[£€$]|\d[\d,]* ?(?:euros|guineas|gns)") else None
    if money is None:
        return None
    if cursor.take(r"stake\b"):
        return (Stake(money),), context
    match = cursor.take(
        rf"(?:extra |more |additional )?(?:fee )?(?:to|if) (?P<step>{STEP})\b(?! by)|(?P<first>{STEP}) fee\b"
    )
    return None if match is None else ((Fee(_stage(match["step"] or match["first"]), money),), context)


def _stage(word: str) -> Stage:
    low = word.lower()
    return next(stage for start, stage in STEPS if low.startswith(start))
