"""How wordings say what a record adds to a weight."""

from dataclasses import replace

from upsides.placing.amounts import Amount
from upsides.placing.conditions.context import LEAST_BASE, Context, Line
from upsides.placing.conditions.cursor import COUNT, Cursor, compiled, number
from upsides.placing.conditions.runs_meant import HERE, KIND, SINCE_WEIGHTS, Meant, at_the_race, runs_meant
from upsides.placing.conditions.weights import AddUp, MostPenalty, Penalty
from upsides.placing.conditions.who import Record
from upsides.placing.kinds import RunKind
from upsides.trade.age import AgeRange


def penalty(cursor: Cursor, context: Context) -> Line | None:
    """Read: a winner 5lb; of 2 races 8lb; of a Class 3 or of prize value 10,000: 7lb; course winners 3lb extra."""
    start, counted = cursor.at, RunKind(first=context.first, since_weights=context.since_weights)
    here = cursor.take(rf"(?:an? |any )?(?:previous |past )?(?P<here>{HERE}) (?=winners?\b)")
    counted = at_the_race(here["here"], counted) if here else counted
    each, times, said = _penalty_head(cursor)
    under = context.section == "penalties"
    if not (
        said or each or (under and cursor.sees(rf"(?:{COUNT}|a|any|since|after|class|group|grade|listed|{KIND})\b"))
    ):
        return None
    read = _ways(cursor, start, counted, times, context.such)
    if read is None:
        return None
    ways, said_more = read
    carries = cursor.take(
        r"(?:(?:an? )?penalty of|(?:to |shall |will |must )?(?:carry|incur)s?(?: an?)?|penalty|(?:are )?"
        r"penalised(?: by)?)\b"
    )
    lines = _penalty_weights(cursor)
    extra = cursor.take(r"(?:extra|penalty|more)\b") or (carries and compiled(r"penal").search(carries[0]))
    each = bool(cursor.take(r"for (?:each|every) (?:such )?race won\b")) or each
    plain = _plain_winner(cursor, start, context)
    if not lines or not (under or extra or each or plain) or not (said or each or said_more):
        return None
    found = tuple(Penalty(on, record, each, ages) for ages, on in lines for record in ways)
    return found, replace(context, ladder=None, such=ways[0].kind if len(ways) == 1 else None)


def _plain_winner(cursor: Cursor, start: int, context: Context) -> bool:
    """Return whether a line under no heading speaks of a winner: a winner of a race worth £6,000 4lb."""
    words = compiled(rf"[\s,;]*(?:an? |any )?(?:(?:previous |past )?{HERE} )?winners?\b").match(cursor.text, start)
    return words is not None and context.section != "allowances"


def _penalty_head(cursor: Cursor) -> tuple[bool, int | None, bool]:
    """Read who is meant; return whether every win counts, how many are needed, and whether anything was read."""
    before = cursor.at
    each = bool(cursor.take(r"for (?:each|every)\b|(?:each|every)\b(?= (?:such )?(?:race|win)\b)"))
    cursor.take(
        r"(?:for )?(?:a|any|for|(?:an? |any )?horses? (?:which|that|who) (?:have|has)"
        r"|(?:an? |any )?horses? having|(?:an? |any )?horses?)\b(?= w[io]n)"
    )
    cursor.take(r"(?:winners?|winning|won|wins?)\b")
    cursor.take(r"of\b(?= \S)")
    return each, _times(cursor), cursor.at > before


def _times(cursor: Cursor) -> int | None:
    """Read how many wins: of 2 races, of two such races, twice."""
    match = cursor.take(
        rf"(?P<count>\d|{COUNT}) (?:such )?(?=(?:[\w-]+ ){{0,2}}(?:races?|chases?|wins?)\b)"
        r"|(?P<twice>twice|once)\b(?: or more\b)?"
    )
    if match:
        cursor.take(r"wins?\b(?: or more\b)?")
    return number(match["count"] or match["twice"]) if match else None


def _ways(
    cursor: Cursor, head: int, start: RunKind, times: int | None, such: RunKind | None
) -> tuple[list[Record], bool] | None:
    """Read records joined by "or", each with its own count; return them, and whether anything was read.

    None where they are counted in such races as nothing before says.
    """
    before = cursor.at
    meant = _races(cursor, head, start, such)
    if meant is None:
        return None
    ways = [Record("won", times or meant.times or 1, kind=meant.kind)]
    while True:
        here = cursor.at
        if not cursor.take(r"or (?:a winner )?(?=\S)"):
            return ways, cursor.at > before
        cursor.take(r"of (?=\d|two|three|four|twice)")
        count = _times(cursor)
        meant = _races(cursor, here, start, ways[0].kind if len(ways) == 1 else None)
        if meant is None:
            return None
        if count is None and meant.kind == start:
            cursor.at = here
            return ways, cursor.at > before
        ways.append(Record("won", count or meant.times or 1, kind=meant.kind))


def _races(cursor: Cursor, head: int, start: RunKind, such: RunKind | None) -> Meant | None:
    """Read which races count; "such races" are those that were spoken of before, and nothing where none were."""
    spoken_of = compiled(r"\bsuch\b").search(cursor.text, head, cursor.at) or cursor.sees(r"(?:(?:of|in|an?) )*such\b")
    if not spoken_of:
        return runs_meant(cursor, start)
    return None if such is None else runs_meant(cursor, such)


def _penalty_weights(cursor: Cursor) -> list[tuple[AgeRange | None, Amount]]:
    """Read one weight, or one for each age: 4yo to 6yo 5lb; 7yo and up 4lb."""
    found: list[tuple[AgeRange | None, Amount]] = []
    while True:
        here = cursor.at
        cursor.take(r"[;.]")
        ages = cursor.ages()
        if found and ages is None:
            cursor.at = here
            return found
        on = cursor.weight()
        if on is None or on.value >= LEAST_BASE[on.unit]:
            cursor.at = here
            return found
        found.append((ages, on))
        if ages is None:
            return found


def penalty_limits(cursor: Cursor, context: Context) -> Line | None:
    """Read: no penalties; maximum penalty 10lb; penalties (not) cumulative; allowances cumulative."""
    if match := cursor.take(r"\(?(?P<what>penalties|allowances) \(?(?:are |to be )?cumulative\)?"):
        return (AddUp(match["what"].lower()),), replace(context, section=match["what"].lower(), first=None, ladder=None)
    if cursor.take(
        rf"no penalties\b(?: (?:are incurred )?{SINCE_WEIGHTS})?|penalties (?:are |to be )?not cumulative\b"
        r"|penalties not to accumulate\b"
    ):
        return (), context
    if cursor.take(r"\(?(?:only one of these allowances may be claimed|allowances (?:are )?not cumulative)\b\)?"):
        return (), context
    match = cursor.take(
        r"(?:(?:maximum|max\.?) (?:total )?penalty|(?:total )?penalties not to exceed|no penalty (?:to|shall"
        r"|may) exceed)"
        r"\s*(?:of )?"
    )
    most = cursor.weight() if match else None
    return None if most is None else ((MostPenalty(most),), context)
