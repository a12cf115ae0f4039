"""How wordings say by when, for how much and for how many a race is; and what is no condition at all."""

from datetime import time
from typing import Final

from upsides.placing.conditions.card import IsHandicap, Over, Pays, Room, SaidBy, Stake
from upsides.placing.conditions.context import Context, Line, LineForm
from upsides.placing.conditions.cursor import DAY, SPELT, Cursor, number
from upsides.placing.race import Stage
from upsides.trade.units import FURLONG_M, YARD_M

CLOCK: Final = (
    r"(?:(?P<noon>(?:12 )?(?:noon|midday))|(?P<midnight>midnight)"
    r"|(?P<hour>\d{1,2})(?:[.:](?P<minute>\d\d))?\s*(?P<half>a\.?m\b\.?|p\.?m\b\.?)?)"
)
WEEKDAY: Final = r"(?:on )?(?:the )?(?:(?:mon|tues|wednes|thurs|fri|satur|sun)day,? )?"
STAGES: Final = (
    (r"(?:enter by|entries (?:to )?close(?: at| by)?|entries by)", Stage.ENTER),
    (r"(?:confirm(?:ed)? by|confirmations? by)", Stage.CONFIRM),
    (r"(?:supplement(?:ary entries|ed)? by)", Stage.SUPPLEMENT),
    (r"(?:declare(?:d)? by|declarations (?:to be made )?by)", Stage.DECLARE),
    (r"(?:scratch(?:ed|ings)? by|withdraw(?:n|als)? by)", Stage.WITHDRAW),
)
ORDINALS: Final = {
    word: place
    for place, words in enumerate(
        ("first 1st winner", "second 2nd", "third 3rd", "fourth 4th", "fifth 5th", "sixth 6th", "seventh 7th"), 1
    )
    for word in words.split()
}
ORDINAL: Final = rf"(?P<place>{'|'.join(ORDINALS)})"
MILE_M: Final = 1760 * YARD_M
PAPERWORK: Final = (
    r"\d+ entries at [£€$]\s?\d+|distributed in accordance with the stakes and prize money code"
    rf"|owners['’]? prize money(?:[\s.:;,]*(?:and )?(?:the )?(?:winner|{'|'.join(ORDINALS)})\s*[£€$]\s?\d[\d,]*)*"
    r"|\(?penalty value [£€$]\s?[\d,.]*\d\)?|\(?gbb race\)?"
)
"""What a card says of a race that is no condition of it."""


def said_by(cursor: Cursor, context: Context) -> Line | None:
    """Read: enter by noon, March 17th and pay £60 stake; declare by 10.00 a.m. March 21st."""
    stage = next((stage for words, stage in STAGES if cursor.take(rf"{words} ")), None)
    if stage is None:
        return None
    at = _clock(cursor)
    cursor.take(WEEKDAY)
    day = cursor.day()
    if day is None or at is None:
        return None
    here = cursor.at
    cost = cursor.money() if cursor.take(r"and pay\b") else None
    if cost is None:
        cursor.at = here
    else:
        cursor.take(r"(?:stake|fee)\b")
    return (SaidBy(stage, day, at, cost),), context


def _clock(cursor: Cursor) -> time | None:
    match = cursor.take(CLOCK)
    if match is None:
        return None
    if match["noon"] or match["midnight"]:
        return time(12 if match["noon"] else 0)
    hour, minute, half = int(match["hour"]), int(match["minute"] or 0), (match["half"] or "").lower()[:1]
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 and (half or match["minute"]) else None


def pays(cursor: Cursor, context: Context) -> Line | None:
    """Read: £4187 to the winning horse; the second to receive £1964; 1st £3952; total race value £8300."""
    if cursor.take(r"\(?(?:total (?:race value|prize money|value)|prize money)\s*:?\s*"):
        money = cursor.money()
        return None if money is None else ((Pays(0, money),), context)
    if cursor.sees(r"[£€$]"):
        money = cursor.money()
        if money is not None and cursor.take(r"to the winn(?:er|ing horse)\b"):
            return (Pays(1, money),), context
        return None
    match = cursor.take(rf"\(?(?:and )?(?:the )?{ORDINAL}\b(?:(?: horse)? to receive)?\s*[:-]?\s*(?=[£€$])")
    money = cursor.money() if match else None
    if match is None or money is None:
        return None
    cursor.take(r"\)")
    return (Pays(ORDINALS[match["place"].lower()], money),), context


def room(cursor: Cursor, context: Context) -> Line | None:
    """Read: field limit: 14 + 4 EM; maximum field 20; safety limit 16."""
    match = cursor.take(
        r"(?:field limit|maximum (?:field|number of runners)|safety (?:limit|factor))\s*(?:of )?:?"
        r"\s*(?P<most>\d{1,2})\b"
        r"(?:\s*(?:\+|plus|and)\s*(?P<more>\d{1,2})\s*(?:em\b|emergenc(?:y|ies)|reserves?))?"
    )
    if match is None or not int(match["most"]):
        return None
    return (Room(int(match["most"]), int(match["more"] or 0)),), context


def stake(cursor: Cursor, context: Context) -> Line | None:
    """Read: £40 stake."""
    money = cursor.money() if cursor.sees(r"[£€$]") else None
    return ((Stake(money),), context) if money and cursor.take(r"stake\b") else None


def over(cursor: Cursor, context: Context) -> Line | None:
    """Read: about six furlongs; one mile and two furlongs (1m 2f 3y)."""
    lead = cursor.take(r"(?:run )?(?:over )?(?:a distance of )?(?P<about>about )?")
    miles, furlongs = _units(cursor, "miles?"), _units(cursor, "furlongs?")
    if miles is None and furlongs is None:
        return None
    cursor.take(r"\((?:about )?\d[^()]{0,20}\)")
    metres = (miles or 0) * MILE_M + (furlongs or 0) * FURLONG_M
    return (Over(metres, bool(lead and lead["about"])),), context


def _units(cursor: Cursor, unit: str) -> int | None:
    match = cursor.take(rf"(?:and )?(?P<count>\d{{1,2}}|{SPELT}|a)[ -]{unit}\b(?! or )")
    return number(match["count"]) if match else None


def handicap(cursor: Cursor, context: Context) -> Line | None:
    """Read: an extended handicap for; Handicap."""
    if cursor.take(r"(?:an? )?(?:extended )?(?:handicap|nursery)\b(?: (?:race|stakes))?(?=\s*(?:[.,;]|$|for\b))"):
        return (IsHandicap(),), context
    return None


def paperwork(cursor: Cursor, context: Context) -> Line | None:
    """Read what a card says of a race that is no condition of it."""
    if cursor.take(PAPERWORK) or (cursor.take(rf"[-–]?\s*closed (?={DAY})") and cursor.day()):
        return (), context
    return None


CARD_FORMS: Final[tuple[LineForm, ...]] = (said_by, pays, stake, room, over, handicap, paperwork)
