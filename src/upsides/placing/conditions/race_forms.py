"""How wordings say what race it is, and what asks nothing of a horse: divided, sold, reserves, balloting."""

from typing import Final

from upsides.placing.amounts import Amount
from upsides.placing.conditions.card import IsHandicap, Noted, NotPublished, OfClass, OfKind, OutFirst, Room, WeightsOut
from upsides.placing.conditions.context import Context, Line
from upsides.placing.conditions.cursor import COUNT, Cursor, compiled, number
from upsides.placing.conditions.runs_meant import kinds_of
from upsides.placing.conditions.who import Builds, Record, RiddenBy
from upsides.placing.race import Build

BEHIND: Final = (
    r"(?=\s*(?:[.,;:()\n]|$|for\b|rated\b|over\b|run\b|\d-?y|confined\b|open to\b|restricted\b|of [£€$]|purse\b))"
)
KINDS: Final = (
    r"(?:novice|selling|claiming|median auction|auction|apprentice|amateur(?: riders?['’]?)?|classified|restricted"
    r"|optional claiming|maiden|conditions|flat|extended|open|stakes|heritage"
    r"|fillies(?: and mares)?['’]|fillies['’] and mares['’]|mares['’])"
)
NAME: Final = r"(?P<name>(?-i:[A-Z][\w'’.&-]*\s+(?:of\s+(?:the\s+)?|and\s+|&\s+)?){1,8}?)"
NO_NAME: Final = (
    r"\b(?:class|novices?|maidens?|fill\w+|mares?|colts?|geldings?|years?|olds?|yos?|yrs?|two|three|four|five|rated|non|winners?"
    r"|apprentices?|amateurs?|conditional|lady|claim\w*|sell\w*|for|of races?|penalt\w+|weights?|allow\w*|which"
    r"|that|no|not|all"
    r"|juvenile|bred|open|group|listed|grade|handicap|nursery|auction|restricted)\b|\d"
)
"""Words by which a name says what the race is for; such a name is not passed over."""
DIVIDED: Final = (
    r"(?:(?:the|this) race|it) (?:may|will|shall) be (?:reopened|void) if (?:there are )?(?:fewer|less) than "
    r"(?:\d+|\w+)"
    r" (?:entries |horses |runners )?(?:are |be )?(?:received|entered|declared|run|runners)\b"
    r"|(?:(?:the|this) race|it) (?:may|will|shall|can)(?: not)? be (?:divided(?: or reopened)?|reopened)(?: "
    r"into \w+ (?:divisions|parts))?"
    r"(?: if (?:there are )?(?:more than|over) \d+ (?:horses |runners )?(?:are |be )?(?:declared|entered"
    r"|runners|declarations))?\b"
    r"|(?:if|should) (?:the )?(?:number of )?(?:declarations|runners|declared runners) exceed \d+,? "
    r"(?:the|this) race (?:may|will|shall) be divided(?: into \w+ (?:divisions|parts))?\b"
)
NOTES: Final = (
    ("divided", DIVIDED),
    ("winner sold", r"(?:the )?winner (?:is )?(?:to be|will be|shall be|must be|may be) (?:sold|offered for sale)"
     r"(?: by (?:public )?auction)?(?: immediately)?(?: after the race)?\b(?: for [£€$]\s?\d[\d,]*\b)?"),
    ("claimed", r"(?:each|any|every|all) (?:other )?(?:runners?|horses?) (?:may|can) be claimed\b(?! for)"),
    ("reserves", rf"(?:with )?(?:up to )?(?:\d|{COUNT}|no) reserves?\b(?: (?:allowed|will be taken|may be declared)\b)?"
     rf"|reserves?:? (?:\d|{COUNT}|none|allowed|apply)\b"),
    ("weights may rise", r"(?:the )?weights may be (?:raised|increased)\b(?: at (?:the )?(?:overnight"
                         r"|declaration|confirmation)"
     r"(?: stage)?\b)?"),
    ("weights out", r"(?:the )?weights (?:to be |will be |are |were )?published (?:at noon )?(?:on )?(?=\d|[a-z])"),
    ("course", r"(?:run )?on the (?:straight|round|inner|outer|old|new|inside|outside) (?:course|track|mile)\b"
     r"|(?:draw:? )?(?:the )?stalls?(?: are| stand)? (?:on )?(?:the )?(?:inside|outside|centre|far side"
     r"|stands? side|near side)\b"
     r"|flag start\b"),
    ("added money", r"(?:with )?[£€$]\s?\d[\d,]* added\b(?: to (?:the )?stakes?\b)?"),
    ("prizes", r"(?:prizes|prize money) to the first (?:\d|[a-z]+)\b(?! past)"),
    ("fees", r"(?:entry )?fees:"),
    ("surface", r"(?:run )?on (?:the )?(?:turf|grass|dirt|all[\s-]weather)(?: course| track)?\b"),
    ("all ages", r"no (?:maximum|upper) age(?: limit)?\b|(?:for |open to )?(?:horses of )?(?:all|any) ages?\b"),
)  # fmt: skip


def of_class(cursor: Cursor, context: Context) -> Line | None:
    """Read: (Class 4); Class 5 Handicap; (Group 3); (Listed race)."""
    match = cursor.take(
        r"(?:an? )?(?:class\s*(?P<number>[1-7])|(?P<group>(?:group|grade)\s*(?P<level>[123]))"
        r"|(?P<listed>listed)(?: race)?)\b"
        rf"(?=\s*(?:[.;:()\n]|,|$|for\b|\d|{KINDS}\b|handicap\b|nursery\b))"
    )
    if match is None:
        return None
    name = match["number"] or (f"group {match['level']}" if match["group"] else "listed")
    return (OfClass(name),), context


def of_kind(cursor: Cursor, context: Context) -> Line | None:
    """Read: an extended handicap for; a Novice Stakes; a selling race; and, first of all, the race's own name."""
    kinds = (
        rf"(?P<kinds>(?:{KINDS} )*)(?P<last>handicap|nursery|stakes|race|plate|cup|trophy|{KINDS})(?!\w)"
        rf"(?: (?:race|stakes|plate)\b)?{BEHIND}"
    )
    match, name = cursor.take(rf"(?:an? |the )?{kinds}"), ""
    if match is None and cursor.at == 0 and (match := cursor.take(rf"(?:the )?{NAME}{kinds}")):
        name = match["name"]
    if match is None or compiled(NO_NAME).search(name):
        return None
    words = f"{match['kinds']} {match['last']}".lower()
    handicap = "handicap" in words or "nursery" in words
    named = kinds_of(words) - {"handicap", "nursery", "stakes"}
    if not handicap and not match["kinds"].strip() and not name:
        return None
    found: list[object] = [IsHandicap()] if handicap else []
    found += [Record("won", most=0)] if "maiden" in named else []
    found += [OfKind(named - {"maiden"})] if named - {"maiden"} else []
    found += [Builds(frozenset({Build.FEMALE}))] if "fillies" in words or "mares" in words else []
    found += [RiddenBy(rider) for rider in ("amateur", "apprentice") if rider in named]
    return (tuple(found) or (Noted("kind"),)), context


def of_purse(cursor: Cursor, context: Context) -> Line | None:
    """Read American kinds at the head of a wording: Maiden special weight; Allowance; Starter allowance."""
    if cursor.text[: cursor.at].strip():
        return None
    match = cursor.take(
        rf"(?P<what>maiden special weights?|starter allowance|allowance(?: optional claiming)?){BEHIND}"
    )
    if match is None:
        return None
    what = " ".join(match["what"].lower().split())
    if what.startswith("maiden"):
        return (Record("won", most=0),), context
    return (OfKind(frozenset({"starter" if "starter" in what else "allowance"})),), context


def noted(cursor: Cursor, context: Context) -> Line | None:
    """Read what asks nothing of a horse: the race may be divided; the winner will be sold; two reserves."""
    for what, pattern in NOTES:
        if cursor.take(pattern):
            if what != "weights out":
                return (Noted(what),), context
            day = cursor.day()
            return None if day is None else ((WeightsOut(day),), context)
    return None


def out_first(cursor: Cursor, context: Context) -> Line | None:
    """Read: horses will be eliminated in order of rating, lowest first; ballot order: lowest rated first."""
    head = cursor.take(
        r"(?:(?:in the event of|if|where|should) (?:the )?(?:race (?:being|is|be) )?(?:over-?subscribed"
        r"|balloting|a ballot|elimination)"
        r"(?: is necessary| being necessary)?,? )?"
        r"(?:horses |runners |entries )?(?:(?:will|shall|to) be )?(?:eliminated|elimination|balloted out"
        r"|ballot order|ballot)\b"
        r"(?: will be| is)?:? ?(?:in (?:the )?order of |by |according to )?"
    )
    if head is None:
        return _lowest_out(cursor, context)
    first = cursor.take(r"(?:the )?(?P<end>lowest|highest)[\s-](?P<what>rated|ratings?|marks?|weights?|weighted)\b")
    what = first or cursor.take(r"(?:the )?(?P<what>ratings?|marks?|weights?|handicap ratings?|official ratings?)\b")
    if what is None:
        if cursor.take(r"(?:at )?random\b|lot\b|(?:by )?ballot\b"):
            return (OutFirst("ballot"),), context
        return None
    then = (
        cursor.take(r"(?:first|out first)\b")
        if first
        else cursor.take(r",? ?(?:the )?(?P<end>lowest|highest)(?: first)?\b")
    )
    end = first["end"] if first else then["end"] if then else ""
    if end.lower() != "lowest":
        return None
    return (OutFirst("weight" if "weight" in what["what"].lower() else "mark"),), context


def _lowest_out(cursor: Cursor, context: Context) -> Line | None:
    """Read: lowest weights eliminated first; if more than 16 are declared, the lowest rated will be eliminated."""
    cursor.take(
        r"(?:ballot(?:ing)?|elimination):? |(?:if|where|should) (?:there are )?(?:more than|over) \d+ "
        r"(?:horses |runners )?(?:are |be )?(?:declared|entered|runners),? "
    )
    match = cursor.take(
        r"(?:the )?(?:horses with the )?lowest[\s-](?P<what>weights?|weighted|rated|ratings?)(?: horses| runners)? "
        r"(?:(?:will|shall|to) be |are )?(?:eliminated|balloted out|go out|going out|out)(?: first)?\b"
    )
    if match is None:
        return None
    return (OutFirst("weight" if match["what"].lower().startswith("weight") else "mark"),), context


def not_published(cursor: Cursor, context: Context) -> Line | None:
    """Read: a safety allowance of 4lb is not included in the weights; weights do not include the allowance of 4lb."""
    safety = (
        r"(?:an? |the )?(?:additional )?(?:unpublished )?(?:safety|equipment|vest|body protector)(?: "
        r"equipment)? allowance"
    )
    weights = r"(?:the )?(?:published |declared )?weights(?: shown| published)?"
    if cursor.take(rf"{safety} of "):
        found = cursor.weight()
        said = cursor.take(
            rf"(?:is |has been )?(?P<how>not included|not shown|included|added|to be added)(?: (?:in|to) {weights})?\b"
        )
        how = said["how"].lower() if said else ""
        out = how != "included"
    else:
        said = cursor.take(rf"{weights} (?P<how>do not include|exclude|include) {safety} of ")
        found = cursor.weight() if said else None
        out = said is not None and said["how"].lower() != "include"
    if found is None or said is None:
        return None
    return (NotPublished(found if out else Amount(0.0, found.unit)),), context


def room(cursor: Cursor, context: Context) -> Line | None:
    """Read: field limit: 14 + 4 EM; maximum field 20; safety limit 16; limited to 12 runners."""
    match = cursor.take(
        r"(?:an? )?(?:(?:field limit|maximum (?:field|(?:number of )?runners)|safety (?:limit|factor))\s*(?:of |is )?:?"
        r"\s*(?P<most>\d{1,2})\b(?: (?:runners|starters|horses)\b)?"
        r"|(?:(?:the )?field (?:is |to be )?)?(?:limited to|maximum(?: of)?|(?:no|not) more than) (?P<other>\d{1,2}) "
        r"(?:runners|starters|to run)\b)"
        r"(?:\s*(?:\+|plus|and|with)\s*(?P<more>\d{1,2}|{COUNT})\s*(?:em\b|emergenc(?:y|ies)|reserves?))?".replace(
            "{COUNT}", COUNT
        )
    )
    most = int(match["most"] or match["other"]) if match else 0
    if match is None or not most:
        return None
    return (Room(most, number(match["more"]) if match["more"] else 0),), context
