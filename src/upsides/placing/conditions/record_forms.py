"""How wordings say what horses have won, or how often they have run. Each form reads at a place, or answers None."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

from upsides.placing.conditions.cursor import COUNT, Cursor, compiled, number
from upsides.placing.conditions.runs_meant import HERE, Meant, at_the_race, runs_meant
from upsides.placing.conditions.who import Condition, Deed, Earned, Every, Record
from upsides.placing.kinds import ANY_RUN, RunKind

Form = Callable[[Cursor], Condition | None]

OPENING: Final = (
    r"(?:an? )?(?:(?:flat|hurdle|extended) )*(?:race for )?"
    r"(?:(?:open|confined|restricted) to |for |horses? )*(?:aged )?"
)
NEGATED: Final = (
    r"[\s,]*(?:maidens? |horses? )?(?:are |is )?(?:excluded|not eligible|ineligible|not qualified|barred|not permitted"
    r"|(?:may|shall) not (?:run|be entered))\b"
)
WHICH: Final = r"(?:(?:horses? )?(?:which|that|who),? (?:at closing |at the time of entry )?)?"
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
    cursor.take(r"(?:for |(?:open|confined|restricted|limited) to )?" + WHICH)
    cursor.take(r"horses? (?=(?:not |never )?having\b)")
    if compiled(r"\b(?:jockeys?|riders?|apprentices?)(?:\s+(?:not|never))?[\s,]*$").search(
        cursor.text, max(0, cursor.at - 20), cursor.at
    ):
        return None
    before_head = runs_meant(cursor)
    head = cursor.take(
        r"(?:at closing )?(?:(?:(?:have|has|had) (?=not|never)|(?=(?:not|never) having)|having (?=not|never))"
        r"(?P<no>not|never)(?: yet)? (?:having )?|(?:have|has|having) )"
        r"(?P<deed>won|been placed|finished|run|started|raced|earned)\b|(?P<bare>finished|ran|won)\b(?= in the "
        r"first| in a| on the)"
    )
    if head is None:
        return None
    said = " ".join((head["deed"] or head["bare"]).lower().split())
    if said == "earned":
        return _earned(cursor, negated=bool(head["no"]))
    places = _among(cursor) if said in {"been placed", "finished"} else None
    if places is None and said == "finished":
        return None
    found = _counted(cursor, deed_of(said), negated=bool(head["no"]), start=before_head)
    if isinstance(found, Record) and places is not None:
        found = replace(found, places=places)
    if cursor.take(NEGATED):
        return _kept_out(found)
    return _nor(cursor, found) if head["no"] and isinstance(found, Record) else found


def _nor(cursor: Cursor, first: Record) -> Condition:
    """Read what a horse must not have done either: have not won a Class 2 race, or two races."""
    ways: list[Record] = [first]
    while True:
        here = cursor.at
        start = cursor.at if cursor.take(r"or (?:won )?(?=\S)") else None
        such = cursor.sees(rf"(?:(?:{COUNT}|an?) )?such\b")
        before = Meant(first.kind if such else ANY_RUN, first.at)
        also = None if start is None else _counted(cursor, first.deed, negated=True, start=before)
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


def _among(cursor: Cursor) -> int | None:
    """Read down to which place: in the first four; first or second; first, second or third."""
    if match := cursor.take(rf"(?:in|among) the first (?P<count>{COUNT})\b"):
        return number(match["count"])
    if cursor.take(r"first,? second,? (?:or|and) third\b"):
        return 3
    return 2 if cursor.take(r"(?:first or second|in the first two)\b") else None


def deed_of(word: str) -> Deed:
    """Return what a verb counts."""
    low = word.lower()
    return "won" if low.startswith("won") else "placed" if "placed" in low or "finished" in low else "ran"


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
        cursor.take(
            r"(?:in|on) (?=at least|more|no more|not more|fewer|less|only|\d+ (?!\w+ \d{4})|two|three|four|five)"
        )
    here, how = cursor.at, cursor.take(MORE)
    money = cursor.money() if cursor.sees(r"[£€$]") else None
    count = None if money else _count(cursor, deed)
    if how and count is None and money is None:
        if how["how"].lower() != "over":
            return None
        cursor.at, how = here, None
    limit = " ".join(how["how"].lower().split()) if how else ""
    behind = cursor.take(r"or (?P<more>more|fewer|less)\b(?: (?:races?|times?|occasions?)\b)?") if count else None
    cursor.take(TIMES)
    kind = start.kind if money is None else replace(start.kind, worth=money)
    meant = runs_meant(cursor, kind)
    if count and not (limit or behind or negated):
        cursor.take(r"or more\b")
    times = count if count is not None else meant.times
    least, most = _limits(limit, times, behind["more"].lower() if behind else "", negated=negated)
    return Record(deed, least, most, meant.kind, meant.at or start.at or "starting")


def _count(cursor: Cursor, deed: Deed) -> int | None:
    """Read a count that stands before races or times; "once" and "twice" stand alone."""
    here = cursor.at
    if match := cursor.take(r"(?P<word>once|twice|thrice)\b"):
        return number(match["word"])
    match = cursor.take(
        rf"(?P<count>{COUNT})(?! (?:furlongs?|miles?|metres|meters|yards?|f|m|y)\b)"
        r"(?= (?:[\w-]+ ){0,3}?(?:races?|times?|occasions?|starts?|wins?|or more"
        r"|or fewer|or less)\b)"
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


def had_runs(cursor: Cursor) -> Condition | None:
    """Read: which have had at least three runs; have not had more than two starts."""
    cursor.take(r"(?:for )?(?:horses (?=with))?" + WHICH)
    head = cursor.take(r"(?:have|has) (?P<no>not )?had |with (?=(?:at least|fewer|less|no more|not more|more) )")
    how = cursor.take(MORE) if head else None
    count = (
        cursor.take(rf"(?P<count>{COUNT})(?: (?P<more>or (?:more|fewer|less)))? (?:runs?|starts?|races?)\b")
        if head
        else None
    )
    if head is None or count is None:
        return None
    behind = (count["more"] or "").lower().removeprefix("or ").strip()
    limit = " ".join(how["how"].lower().split()) if how else ""
    meant = runs_meant(cursor)
    least, most = _limits(limit, number(count["count"]), behind, negated=bool(head["no"]))
    return Record("ran", least, most, meant.kind, meant.at or "starting")


def winners_of(cursor: Cursor) -> Condition | None:
    """Read: winners of one race only; winners of no more than two races; winners of a Listed race excluded."""
    out = cursor.take(r"(?:excluding|except|not open to|not for|closed to|no) (?=winners?\b)")
    if not out:
        cursor.take(r"(?:for |open to |confined to |restricted to )")
    if not cursor.take(r"(?:a |any )?winners? of "):
        return None
    how = cursor.take(MORE)
    count = cursor.take(rf"(?P<count>{COUNT}) (?=(?:[\w-]+ ){{0,2}}races?\b)")
    meant = runs_meant(cursor)
    only = bool(cursor.take(r"only\b"))
    limit = "only" if only else " ".join(how["how"].lower().split()) if how else ""
    least, most = _limits(limit, number(count["count"]) if count else None, "", negated=False)
    found = Record("won", least, most, meant.kind, meant.at or "starting")
    if out:
        cursor.take(r"may run\b|(?:is|are) eligible\b")
        return _kept_out(found) if meant != NOTHING or count else None
    if cursor.take(NEGATED):
        return _kept_out(found)
    return found if count and limit else None


def course_winners(cursor: Cursor) -> Condition | None:
    """Read: for previous course winners; confined to course and distance winners; course winners excluded."""
    match = cursor.take(
        rf"(?:for |open to |confined to |restricted to )?(?:horses which are )?(?:previous |past )?(?P<here>{HERE}) "
        r"winners\b(?: only\b)?"
    )
    if match is None:
        return None
    found = Record("won", least=1, kind=at_the_race(match["here"]))
    if cursor.take(NEGATED):
        return _kept_out(found)
    return None if cursor.sees(r"(?:are |to be )?(?:allowed|receives?|penalised|carry|extra)\b|\d") else found


def kept_away(cursor: Cursor) -> Condition | None:
    """Read: no horse may run that has run in the last three days; no horse that has won a Listed race may run."""
    head = cursor.take(
        r"(?:no horses? (?P<may>may run,? )?|(?P<closed>(?:not open|closed) to horses? ))(?:which|that) (?:has|have) "
        r"(?P<deed>won|run|raced|started)\b"
    )
    found = _counted(cursor, deed_of(head["deed"]), negated=False) if head else None
    if (
        head is None
        or found is None
        or not (head["may"] or head["closed"] or cursor.take(r"(?:may run|is eligible|are eligible)\b"))
    ):
        return None
    return _kept_out(found)


RECORD_FORMS: Final[tuple[Form, ...]] = (maidens, have_done, non_winners, unraced)
"""Forms whose horses may be given an allowance."""
