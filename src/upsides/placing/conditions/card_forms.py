"""How wordings say by when, for how much and for how many a race is; and what is no condition at all."""

from typing import Final

from upsides.placing.conditions.card import Over, Pays
from upsides.placing.conditions.context import Context, Line, LineForm
from upsides.placing.conditions.cursor import DAY, DISTANCE, SPELT, Cursor, compiled, number
from upsides.placing.conditions.race_forms import not_published, noted, of_class, of_kind, of_purse, out_first, room
from upsides.placing.conditions.stage_forms import days_ahead, fee, said_by
from upsides.trade.units import FURLONG_M, YARD_M

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


def pays(cursor: Cursor, context: Context) -> Line | None:
    """Read: £4187 to the winning horse; the second to receive £1964; 1st £3952; total race value £8300."""
    if cursor.take(
        r"\(?(?:guaranteed )?(?:purse|total (?:race value|prize money|prize fund|value)|prize (?:money|fund)"
        r"|value(?= [£€$]))\s*:?\s*"
    ):
        money = cursor.money()
        cursor.take(r"guaranteed\b")
        return None if money is None else ((Pays(0, money),), context)
    behind = compiled(r"(?:handicap|stakes|plate|race)\s*$").search(cursor.text, 0, cursor.at)
    if behind and cursor.take(r"of (?=[£€$])"):
        money = cursor.money()
        return None if money is None or cursor.sees(r"to the winn") else ((Pays(0, money),), context)
    if cursor.take(r"worth (?=[£€$])") or cursor.sees(r"[£€$]"):
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


def over(cursor: Cursor, context: Context) -> Line | None:
    """Read: about six furlongs; one mile and two furlongs (1m 2f 3y)."""
    lead = cursor.take(r"(?P<said>(?:run )?over |run |distance:? )?(?:a distance of )?(?P<about>about )?")
    miles, furlongs = _units(cursor, "miles?"), _units(cursor, "furlongs?")
    if miles is None and furlongs is None:
        return _measured(cursor, context, said=bool(lead and lead["said"]))
    cursor.take(r"\((?:about )?\d[^()]{0,20}\)")
    halves = 0.5 if furlongs is None and cursor.take(r"and a half\b") else 0.0
    metres = ((miles or 0) + halves) * MILE_M + (furlongs or 0) * FURLONG_M
    return (Over(metres, bool(lead and lead["about"])),), context


def _measured(cursor: Cursor, context: Context, *, said: bool) -> Line | None:
    """Read a distance in figures behind a word for it: distance 1m 2f; run over 1400 metres."""
    said = said or _between_commas(cursor)
    metres = cursor.metres() if said else None
    if metres is None or cursor.sees(r"or (?:over|more|further|less)\b"):
        return None
    return (Over(metres),), context


def _between_commas(cursor: Cursor) -> bool:
    """Return whether a distance stands by itself: Class 3, 1200m; three-year-olds, 1m 2f."""
    before = cursor.text[: cursor.at].rstrip()
    alone = compiled(rf"\s*{DISTANCE}\s*(?:[,;.)]|$)").match(cursor.text, cursor.at)
    return alone is not None and (not before or before[-1] in ",;.(")


def _units(cursor: Cursor, unit: str) -> int | None:
    match = cursor.take(rf"(?:and )?(?P<count>\d{{1,2}}|{SPELT}|a)[ -]{unit}\b(?! or )")
    return number(match["count"]) if match else None


def paperwork(cursor: Cursor, context: Context) -> Line | None:
    """Read what a card says of a race that is no condition of it."""
    if cursor.take(PAPERWORK) or (cursor.take(rf"[-–]?\s*closed (?={DAY})") and cursor.day()):
        return (), context
    return None


CARD_FORMS: Final[tuple[LineForm, ...]] = (
    said_by,
    days_ahead,
    fee,
    pays,
    of_class,
    of_kind,
    of_purse,
    room,
    out_first,
    not_published,
    noted,
    over,
    paperwork,
)
