"""How wordings say what is carried. What stands before decides what a bare line means: a heading opens a section.

"Penalties, after June 1, a winner 5lb; of 2 races 8lb" is one heading and two lines; "Three Year Olds, 118 lbs.; Older,
124 lbs." needs none. A line that goes on from the one before ("of such a race since May 1, 4 lbs.") is read with it.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from upsides.placing.amounts import Amount, Money
from upsides.placing.conditions.context import LEAST_BASE, Context, Line, LineForm
from upsides.placing.conditions.cursor import COUNT, Cursor, number
from upsides.placing.conditions.origin_forms import foaling, sires_price
from upsides.placing.conditions.penalty_forms import penalty, penalty_limits
from upsides.placing.conditions.record_forms import RECORD_FORMS
from upsides.placing.conditions.runs_meant import SINCE_WEIGHTS, runs_meant
from upsides.placing.conditions.weights import (
    Allowed,
    Carries,
    ForAge,
    ForSex,
    LeastWeight,
    RidersClaims,
    TopWeight,
    WeightsMoved,
)
from upsides.placing.conditions.who import Record, SiresPrice
from upsides.placing.kinds import RunKind
from upsides.placing.race import Build
from upsides.trade.age import AgeRange

NOT_ON: Final = r"(?!\s*(?:for\b(?! winners (?:since|after|from|following)\b)|of the))"
"""A heading is not the beginning of "penalties for ..."."""
DOTS: Final = r"[\s.…:;,-]*"


_NOTHING_BEFORE: Final[dict[str, None]] = dict.fromkeys(("ages", "builds", "ladder", "such"))
"""What a heading parts its lines from."""


def no_more(cursor: Cursor, context: Context) -> Line | None:
    """Read what adds no rule: set weights plus penalties; no sex restriction; a handicap for."""
    words = (
        r"stakes?\s*:|with\b(?= (?:penalties|allowances))|set weights\b(?: (?:plus|and|\+"
        r"|&) penalties\b)?|no (?:sex|age|class|other) restrictions?\b"
        r"|(?:an? )?(?:flat|hurdle|steeplechase) race\b(?=\s*(?:[.,;]|for|$))"
    )
    return ((), context) if cursor.take(words) else None


def heading(cursor: Cursor, context: Context) -> Line | None:
    """Read: Weights: — Penalties, after June 1st, — Allowances:."""
    match = cursor.take(rf"(?:a |the )?(?P<what>weights?|penalt(?:y|ies)|allowances?)\b{NOT_ON}")
    if match is None:
        return None
    if match["what"].lower() == "allowance" and not cursor.text[: match.start("what")].strip():
        return None
    what = {"w": "weights", "p": "penalties", "a": "allowances"}[match["what"][0].lower()]
    if what != "penalties" and match[0].lower().lstrip(" ,").startswith(("a ", "the ")) and not cursor.sees(r":"):
        return None
    if what == "weights" and not cursor.sees(
        rf"{DOTS}(?:\d|{COUNT}|colts|fillies|for[\s-]age|highest|lowest|each|all)"
    ):
        return None
    since = _counted_from(cursor)
    if since is None:
        return None
    cursor.take(r"\s*[:,]")
    first, weights = since
    return (), replace(context, section=what, first=first, since_weights=weights, **_NOTHING_BEFORE)


def _counted_from(cursor: Cursor) -> tuple[date | None, bool] | None:
    """Read from when wins count: after June 1st; (from 10 a.m. on 3 July); since the weights were published.

    Returns:
        The day, and whether it is that on which weights were published; nothing and False where it is not said; None
        where it is said and was not read.
    """
    here = cursor.at
    cursor.take(r"[:,.]*\s*\(?(?:for winners\b)?(?:(?:are |to be )?(?:incurred|counted)\b|apply\b)?")
    if cursor.take(SINCE_WEIGHTS):
        cursor.take(r"\)")
        return None, True
    match = cursor.take(r"(?P<word>after|since|from) ")
    if match is None:
        cursor.at = here
        return None, False
    clock = cursor.take(r"(?:\d{1,2}(?:[.:]\d\d)?\s*(?:a\.?m\b\.?|p\.?m\b\.?)|noon\b|midday\b),?(?: on\b)?")
    first = cursor.day()
    cursor.take(r"\)")
    behind = match["word"].lower() == "after" and not clock
    return None if first is None else (first + timedelta(days=behind), False)


def carries(cursor: Cursor, context: Context) -> Line | None:
    """Read: 9st 2lb; 3-y-o colts and geldings 8st 12lb; fillies 8st 7lb; older, 124 lbs."""
    lead = cursor.take(
        r"(?:(?:each|every|all)(?: (?:horses?|runners?))?(?: (?:to|shall|will|must) carry| carr(?:y|ies))?|to "
        r"carry|(?:base )?weights?)\b[:,]?"
    )
    ages = cursor.ages()
    older = cursor.take(r"older(?: horses)?\b") if ages is None and context.ages is not None else None
    if older and context.ages is not None:
        ages = AgeRange((context.ages.oldest or context.ages.youngest) + 1)
    builds = cursor.builds()
    base = cursor.take(r"to carry\b|base weight\b:?")
    weight = cursor.weight()
    if weight is None or weight.value < LEAST_BASE[weight.unit]:
        return None
    each = cursor.take(r"each\b")
    if not (lead or base or each or ages or builds or context.section == "weights"):
        return None
    ages = ages or (context.ages if builds else None)
    return (Carries(weight, ages, builds),), replace(context, ages=ages, builds=builds)


def for_age(cursor: Cursor, context: Context) -> Line | None:
    """Read: weight for age; w.f.a.; scale weights."""
    if cursor.take(
        r"(?:(?:to carry )?weights?:? )?(?:(?:scale )?weight[\s-]for[\s-]age|w[.-]?f[.-]?a\b\.?|scale "
        r"weights?)(?: scale\b)?"
        r"(?: (?:applies|apply)\b)?(?!\s*race)"
    ):
        return (ForAge(),), context
    return None


def for_sex(cursor: Cursor, context: Context) -> Line | None:
    """Read: usual sex allowance; sex allowances apply."""
    if not cursor.take(r"(?:the )?(?:usual )?sex allowances?\b(?: (?:of|is)\b)?(?: appl(?:y|ies)\b)?:?"):
        return None
    off = cursor.weight()
    if off is not None:
        return (Allowed(off, builds=frozenset({Build.FEMALE})),), context
    return (ForSex(),), context


def limits(cursor: Cursor, context: Context) -> Line | None:
    """Read: lowest weight 8st 4lb; highest weight not less than 9st 9lb; minimum weight 54kg; weights lowered 2lb."""
    if raised := _raised_to(cursor):
        return (raised,), context
    if match := cursor.take(
        r"(?:all |the )?(?:the )?weights (?:to be |are |were |have been |will be )?(?P<way>raised|lowered"
        r"|increased|reduced) (?:by )?"
    ):
        by = cursor.weight()
        sign = -1.0 if match["way"].lower() in {"lowered", "reduced"} else 1.0
        return (
            None
            if by is None or cursor.sees(r"for (?:each|every)\b")
            else ((WeightsMoved(replace(by, value=sign * by.value)),), context)
        )
    if cursor.take(
        r"no allowances? to (?:take|reduce) (?:a|any) horse['’]?s weight below|no horses? (?:to|shall|may"
        r"|will) carry less than"
    ):
        least = cursor.weight()
        return None if least is None else ((LeastWeight(least),), context)
    match = cursor.take(
        r"(?:the |an? )?(?P<end>lowest|lightest|minimum|bottom|highest|top|maximum)(?: weights?)?\s*"
        r"(?:to be |shall be )?(?:carried |of |is |set at |at )*:?\s*(?P<least>(?:to be )?not less than )?"
    )
    weight = cursor.weight() if match else None
    if weight is None or match is None or weight.value < LEAST_BASE[weight.unit]:
        return None
    if match["end"].lower() in {"lowest", "lightest", "minimum", "bottom"}:
        return (LeastWeight(weight),), context
    return (TopWeight(weight, bool(match["least"])),), context


def _raised_to(cursor: Cursor) -> TopWeight | None:
    """Read: weights will be raised so that the top weight is 9st 12lb; if the highest is less than 9st 11lb, raised."""
    here = cursor.at
    found = _raising(cursor)
    if found is None:
        cursor.at = here
    return found


def _raising(cursor: Cursor) -> TopWeight | None:
    up = r"(?:the |all )?weights (?:will|shall|to|may) be (?:raised|increased)\b"
    if cursor.take(rf"{up} (?:so that|until) the (?:highest|top) weight (?:is|reaches|becomes|carried is) "):
        weight = cursor.weight()
        return TopWeight(weight, at_least=True) if weight else None
    late = r"(?: at (?:the )?(?:overnight |final )?(?:declarations?|confirmations?)(?: stage)?)?"
    if cursor.take(
        rf"{up}{late} (?:if|where|should) the (?:highest|top) weight (?:is |be )?(?:less than|below|under) "
    ):
        weight = cursor.weight()
        return TopWeight(weight, at_least=True) if weight else None
    when = r"(?: (?:at|after) (?:the )?(?:final |overnight )?(?:declarations?|confirmations?)(?: stage)?)?"
    if not cursor.take(
        rf"(?:if|where|should) the (?:highest|top) weight(?: declared| carried)?{when} (?:is |be )?(?:less than"
        rf"|below|under) "
    ):
        return None
    weight = cursor.weight()
    return TopWeight(weight, at_least=True) if weight and cursor.take(rf"{up}(?: accordingly\b)?") else None


def allowed(cursor: Cursor, context: Context) -> Line | None:
    """Read: fillies allowed 5lb; mares 3lb (under Allowances); two-year-olds foaled after 30 April allowed 2lb."""
    cursor.take(r"\(|horses |if |with (?:an? |the )?|an? (?=filly|mare|colt|gelding)|the (?=fill|mare|colt|gelding)")
    ages = cursor.ages()
    builds = cursor.builds()
    ages = ages or cursor.aged()
    born, price = foaling(cursor), None
    if ages is None and builds is None and born is None:
        price = _by_sire(cursor)
        if price is None:
            return None
    off = _off(cursor, context)
    if off is None:
        return None
    cursor.take(r"\)")
    return (Allowed(off, ages, builds, None, price, born),), context


def allowance_for(cursor: Cursor, context: Context) -> Line | None:
    """Read: allowance for maidens 4lb; an allowance of 3lb for fillies; 1 kg less for fillies."""
    off = cursor.weight()
    if not cursor.take(r"(?:less|off|allowance) (?=for)" if off else r"(?:an? |the )?allowances? (?=of|for)"):
        return None
    off = off or (cursor.weight() if cursor.take(r"of ") else None)
    if not cursor.take(r"for (?:horses (?=w|t))?"):
        return None
    ages = cursor.ages()
    builds = cursor.builds()
    record = None if ages or builds else _bare_maidens(cursor)
    off = off or cursor.weight()
    if off is None or off.value >= LEAST_BASE[off.unit] or not (ages or builds or record):
        return None
    return (Allowed(off, ages, builds, record),), context


def _by_sire(cursor: Cursor) -> Money | None:
    found = sires_price(cursor)
    return found.most if isinstance(found, SiresPrice) else None


def _off(cursor: Cursor, context: Context) -> Amount | None:
    said = cursor.take(
        r"(?:are |is |to be |shall be |shall |will )?(?:allowed|receives?)\b[:,]?|['’]?s? allowance\b(?: of| is)?:?"
    )
    off = cursor.weight()
    if off is None or off.value >= LEAST_BASE[off.unit]:
        return None
    less = cursor.take(r"(?:allowance|less|off)\b")
    return off if said or less or context.section in {"allowances", "weights"} else None


def record_allowed(cursor: Cursor, context: Context) -> Line | None:
    """Read: non-winners of two races since July 1 allowed 2 lbs.; of such a race since June 1, 4 lbs."""
    start = cursor.at
    for form in (_bare_maidens, *RECORD_FORMS):
        cursor.at = start
        ages, builds = _whom(cursor)
        record = form(cursor)
        off = _off(cursor, context) if isinstance(record, Record) else None
        if off is not None and isinstance(record, Record):
            ladder = None if ages or builds else record
            return (Allowed(off, ages, builds, record),), replace(context, ladder=ladder)
    cursor.at = start
    return _rung(cursor, context)


def _whom(cursor: Cursor) -> tuple[AgeRange | None, frozenset[Build] | None]:
    """Read ages and sexes that stand before a record: three-year-old fillies which have not won ... allowed."""
    here = cursor.at
    ages, builds = cursor.ages(), cursor.builds()
    ages = ages or cursor.aged()
    if cursor.sees(r"(?:which|that|who)\b"):
        return ages, builds
    cursor.at = here
    return None, None


def _bare_maidens(cursor: Cursor) -> Record | None:
    """Read maidens; one that was never placed among the first three has not won either."""
    if not cursor.take(r"maidens\b"):
        return None
    if cursor.take(r"(?:(?:which|that|who) have (?:not|never) been|not|never) placed\b"):
        return Record("placed", most=0)
    return Record("won", most=0)


def _rung(cursor: Cursor, context: Context) -> Line | None:
    """Read a further line of a ladder of allowances."""
    ladder = context.ladder
    if ladder is None or not cursor.sees(
        rf"(?:or )?(?:of )?(?:such\b|a race|{COUNT} (?:such )?races|since|in (?:19|20)\d\d|never)"
    ):
        return None
    cursor.take(r"(?:or )?(?:of )?")
    such = cursor.take(r"(?:such|a such)\b")
    match = cursor.take(rf"(?P<count>{COUNT}|an?\b)(?= (?:such )?races?)")
    such = such or cursor.take(r"such\b")
    meant = runs_meant(cursor, ladder.kind if such else RunKind(without=ladder.kind.without))
    times = number(match["count"]) if match else 1
    cursor.take(r"allowed\b")
    off = cursor.weight()
    if off is None or off.value >= LEAST_BASE[off.unit]:
        return None
    record = Record(ladder.deed, 0, times - 1, meant.kind, ladder.at)
    return (Allowed(off, record=record),), replace(context, ladder=record)


def riders_claims(cursor: Cursor, context: Context) -> Line | None:
    """Read: apprentices can claim; apprentice allowances may not be claimed; no riders' allowances."""
    who = (
        r"(?:(?:apprentices?|amateurs?|conditionals?)['’]? )?(?:apprentices?|amateurs?|conditionals?|riders?"
        r"|jockeys?)['’]?s?['’]?"
    )
    claim = r"(?:(?:can|may) (?P<not>not )?(?:be )?claim(?:ed)?|(?P<never>cannot (?:be )?claim(?:ed)?))\b"
    what = r"(?:riding )?(?:allowances?|claims?)\b"
    said = r"(?:can|may|do) (?P<nor>not )?(?:be claimed|apply)\b|not (?:allowed|permitted)\b|allowed\b|apply\b"
    if match := cursor.take(rf"{who} {claim}(?: (?:their |the )?(?:usual )?{what})?"):
        return (RidersClaims(not (match["not"] or match["never"])),), context
    if cursor.take(r"no claims?\b(?: (?:allowed|permitted)\b)?"):
        return (RidersClaims(may=False),), context
    if cursor.take(rf"{who} (?:to |may |can )?claim (?:their |the )?(?:usual )?{what}"):
        return (RidersClaims(may=True),), context
    match = cursor.take(
        rf"(?P<no>no )?{who} {what}(?: (?P<said>{said}|cannot be claimed\b|(?:not )?claimable\b|do not apply\b))?"
    )
    if match is None or not (match["no"] or match["said"]):
        return None
    refused = bool(match["no"]) or " not " in f" {match['said']} " or "cannot" in match["said"]
    return (RidersClaims(not refused),), context


WEIGHT_FORMS: Final[tuple[LineForm, ...]] = (
    no_more,
    heading,
    carries,
    for_age,
    for_sex,
    limits,
    allowed,
    allowance_for,
    record_allowed,
    penalty,
    penalty_limits,
    riders_claims,
)
