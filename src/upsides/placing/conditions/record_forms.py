"""How wordings say what horses have won, or how often they have run. Each form reads at a place, or answers None."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from upsides.placing.conditions.cursor import COUNT, Cursor, number
from upsides.placing.conditions.runs_meant import Meant, runs_meant
from upsides.placing.conditions.who import Condition, Deed, Earned, Every, Record
from upsides.placing.kinds import ANY_RUN, RunKind

Form = Callable[[Cursor], Condition | None]

OPENING: Final = (
    r"(?:an? )?(?:(?:flat|hurdle|extended|handicap) )*(?:race for )?"
    r"(?:(?:open|confined|restricted) to |for |horses? )*(?:aged )?"
)
NEGATED: Final = (
    r"[\s,]*(?:maidens? |horses? )?(?:are )?(?:excluded|not eligible|ineligible|not qualified|barred|not permitted)\b"
)
WHICH: Final = r"(?:(?:horses? )?(?:which|that|who) (?:at closing |at the time of entry )?)?"
MORE: Final = r"(?P<how>at least|more than|over|no more than|not more than|fewer than|less than|only) "
TIMES: Final = r"(?:times?\b|occasions?\b|starts?\b|wins?\b)"
NOTHING: Final = Meant()


def maiden_ages(cursor: Cursor) -> Condition | None:
    """Read: for maiden two yrs old — the word that stands before the ages; they are read by themselves."""
    if cursor.take(r"(?:for )?maiden (?:plate|stakes|race)\b"):
        return _maidens(cursor)
    if not cursor.take(r"(?:for )?maiden\b(?! (?:special|claim))"):
        return None
    return _maidens(cursor) if cursor.sees(rf"{COUNT}|fillies|mares|colts|geldings|horses") else None


def maidens(cursor: Cursor) -> Condition | None:
    """Read: for maidens; maidens at closing; maidens at starting; horses which are maidens."""
    cursor.take(OPENING)
    cursor.take(WHICH + r"(?:are )?")
    if not cursor.take(r"maidens\b(?! (?:allow|claim|excluded))"):
        return None
    return _maidens(cursor)


def _maidens(cursor: Cursor) -> Condition:
    match = cursor.take(r"(?:only\b)?\s*(?:at (?:the )?(?:time of )?(?P<when>closing|starting|entry|start)\b)?")
    closing = match is not None and (match["when"] or "").lower() in {"closing", "entry"}
    return Record("won", most=0, at="closing" if closing else "starting")


def have_done(cursor: Cursor) -> Condition | None:
    """Read: which have not won a race; have run at least twice; have won no more than two races since 1 June."""
    cursor.take(r"(?:for )?" + WHICH)
    before_head = runs_meant(cursor)
    head = cursor.take(
        r"(?:at closing )?(?:(?:have|has|had) (?P<no>not|never)(?: yet)? |(?:have|has) )"
        r"(?P<deed>won|been placed|run|started|raced|earned)\b"
    )
    if head is None:
        return None
    if head["deed"].lower() == "earned":
        return _earned(cursor, negated=bool(head["no"]))
    if "placed" in head["deed"].lower():
        cursor.take(r"in the first (?:three|3)\b")
    found = _counted(cursor, deed_of(head["deed"]), negated=bool(head["no"]), start=before_head)
    if cursor.take(NEGATED):
        return _kept_out(found)
    return _nor(cursor, found) if head["no"] and isinstance(found, Record) else found


def _nor(cursor: Cursor, first: Record) -> Condition:
    """Read what a horse must not have done either: have not won a Class 2 race, or two races."""
    ways: list[Record] = [first]
    while True:
        here = cursor.at
        start = cursor.at if cursor.take(r"or (?:won )?(?=\S)") else None
        also = None if start is None else _counted(cursor, first.deed, negated=True, start=Meant(at=first.at))
        if not isinstance(also, Record) or (also.most == 0 and also.kind == ANY_RUN):
            cursor.at = here
            return Every(tuple(ways)) if len(ways) > 1 else first
        ways.append(also)


def _kept_out(found: Condition | None) -> Condition | None:
    """Return the condition that those kept out leave: horses that have won such a race are excluded."""
    if isinstance(found, Record) and found.most is None:
        return Record(found.deed, most=found.least - 1, kind=found.kind, at=found.at)
    if isinstance(found, Record) and found.least == 0 and found.most is not None:
        return Record(found.deed, least=found.most + 1, kind=found.kind, at=found.at)
    return None


def deed_of(word: str) -> Deed:
    """Return what a verb counts."""
    low = word.lower()
    return "won" if low.startswith("won") else "placed" if "placed" in low else "ran"


def _earned(cursor: Cursor, *, negated: bool) -> Condition | None:
    cursor.take(r"more than|over|in excess of|no more than")
    most = cursor.money()
    if most is None or (not negated and not cursor.sees(r"or less")):
        return None
    cursor.take(r"or less\b")
    cursor.take(r"in (?:total )?prize money\b")
    return Earned(most, runs_meant(cursor).kind)


def _counted(cursor: Cursor, deed: Deed, *, negated: bool, start: Meant = NOTHING) -> Condition | None:
    """Read how often, and in which races."""
    if deed == "ran":
        cursor.take(r"in (?=at|more|no|not|fewer|less|only|\d|two|three|four|five)")
    how = cursor.take(MORE)
    limit = " ".join(how["how"].lower().split()) if how else ""
    money = cursor.money() if cursor.sees(r"[£€$]") else None
    count = None if money else _count(cursor, deed)
    if how and count is None and money is None:
        return None
    behind = cursor.take(r"or (?P<more>more|fewer|less)\b(?: (?:races?|times?|occasions?)\b)?") if count else None
    cursor.take(TIMES)
    kind = start.kind if money is None else replace(start.kind, worth=money)
    meant = runs_meant(cursor, kind)
    times = count if count is not None else meant.times
    least, most = _limits(limit, times, behind["more"].lower() if behind else "", negated=negated)
    return Record(deed, least, most, meant.kind, meant.at or start.at or "starting")


def _count(cursor: Cursor, deed: Deed) -> int | None:
    """Read a count that stands before races or times; "once" and "twice" stand alone."""
    here = cursor.at
    if match := cursor.take(r"(?P<word>once|twice|thrice)\b"):
        return number(match["word"])
    match = cursor.take(
        rf"(?P<count>{COUNT})(?= (?:[\w-]+ ){{0,3}}?(?:races?|times?|occasions?|starts?|wins?|or more"
        rf"|or fewer|or less)\b)"
    )
    if match and (
        cursor.sees(r"(?:flat|hurdle|jump)?\s*(?:races?|times?|occasions?|starts?|wins?|or\b)|handicaps?|such")
        or deed == "won"
    ):
        return number(match["count"])
    cursor.at = here
    return None


def _limits(limit: str, count: int | None, behind: str, *, negated: bool) -> tuple[int, int | None]:
    """Return at least and at most how often: "have not won two races" is at most one."""
    times = 1 if count is None else count
    if negated:
        return 0, times if limit in {"more than", "over"} else times - 1
    said: dict[str, tuple[int, int | None]] = {
        "more than": (times + 1, None),
        "over": (times + 1, None),
        "no more than": (0, times),
        "not more than": (0, times),
        "fewer than": (0, times - 1),
        "less than": (0, times - 1),
        "only": (times, times),
        "fewer": (0, times),
        "less": (0, times),
    }
    return said.get(limit or behind, (times, None))


def non_winners(cursor: Cursor) -> Condition | None:
    """Read: non-winners of two races; non-winners since July 1; winners of one race."""
    head = cursor.take(r"(?:for )?(?:horses? )?(?P<non>non)[\s-]?winners\b(?: of)?")
    if head is None:
        return None
    money = cursor.money() if cursor.sees(r"[£€$]") else None
    count = None if money else _count(cursor, "won")
    kind = RunKind() if money is None else RunKind(worth=money)
    meant = runs_meant(cursor, kind)
    times = count if count is not None else meant.times or 1
    return Record("won", 0, times - 1, meant.kind, meant.at or "starting")


def unraced(cursor: Cursor) -> Condition | None:
    """Read: unraced; which have never run."""
    cursor.take(OPENING)
    return Record("ran", most=0) if cursor.take(r"(?:unraced|unstarted)\b(?: (?:horses|only)\b)*") else None


def started_for(cursor: Cursor) -> Condition | None:
    """Read: which have started for a claiming price of $5,000 or less since January 1."""
    cursor.take(r"(?:for )?" + WHICH)
    if not cursor.take(r"have (?:run|started) for (?:a claiming price of )?"):
        return None
    price = cursor.money()
    if price is None or not cursor.take(r"or less\b"):
        return None
    meant = runs_meant(cursor, RunKind(claimed_to=price))
    return Record("ran", least=1, kind=meant.kind, at=meant.at or "starting")


RECORD_FORMS: Final[tuple[Form, ...]] = (maidens, have_done, non_winners, unraced)
"""Forms whose horses may be given an allowance."""
