"""Reading the wording of a race's conditions into rules, and showing what was not read.

The wording is cut into pieces that add up to it, character by character. A piece was read into values (a heading into
none), or it was not read. Nothing is guessed: where a form does not fit, its words stay unread, and a rule that stands
beside unread words in the same clause is doubtful, for they may narrow it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import pairwise
from typing import Final

from upsides.placing.conditions.card import Card, IsHandicap, OfClass, OfKind, Over, SaidBy, WeightsOut
from upsides.placing.conditions.card_forms import CARD_FORMS
from upsides.placing.conditions.context import Context
from upsides.placing.conditions.cursor import Cursor, compiled
from upsides.placing.conditions.origins import Novices
from upsides.placing.conditions.weight_forms import WEIGHT_FORMS
from upsides.placing.conditions.weights import Allowed, Penalty, Weighing
from upsides.placing.conditions.who import Ages, Builds, Claimable, Either, Every, Rated, Record, Who
from upsides.placing.conditions.who_forms import WHO_FORMS
from upsides.placing.race import Stage

BETWEEN: Final = r"(?:[\s,;:.()…–-]|\band\b(?=\s)|\bbut\b(?=\s+(?:which|that|who|have|has|not)\b))+"
PART: Final = r"\s+|[^\W_]+(?:['’][^\W_]+)*|[\W_]"
CLAUSE_END: Final = r"[;\n]|\.(?:\s|$)"
LOOSENS: Final = r"\b(?:or|unless|except\w*|excluded?|excluding|also|other|not|if|ineligible|eligible)\b"
"""Words that may let in, or keep out, horses of other ages, sexes and marks; other words only narrow them further."""
PRESENTS: Final = r"\b(?:best turned[\s-]out|(?:kindly|generously) sponsored|sponsored by|trophy|memento)\b"
SERIOUS: Final = (
    r"\d|allow|penalt|carry|weight|eligible|qualif|confined|restricted|exclude|except|unless|only\b|fill(?:y|ies)\b|mares?\b"
    r"|colts?\b|gelding|rated\b|rating|maiden|novice|\bwon\b|\byears?\b|\byrs?\b|\bnot\b|\bnever\b|\bhave\b|bred\b|\bor\b|mile|furlong"
)
"""Words that keep a sentence on presents among what was not read."""
FOR_SOME: Final = frozenset({"allowances", "penalties"})
"""Headings below which a record says whose weight it is, not who may run."""
GOES_ON: Final = r"(?:which|that|who|have|has|maidens?|aged|not|never)\b"
WEIGHS: Final = (
    r"(?:(?:are |to be |shall |will )?(?:allowed|receives?)|(?:to )?carry|\d{1,2}(?:\.\d)?\s*(?:lbs?|kgs?|st))\b"
)
FOR_WHOM: Final = (
    r"\b(?:less|more|extra|off|allow\w*|penalt\w*|lbs?|kgs?|bonus\w*|premium\w*|award\w*|prefer\w*|priority|fees?)\b"
)
"""Words after which "for fillies" says whose weight or bonus it is, and opens no condition."""
LONGEST: Final = 4_000
"""Most characters of a wording that is looked at; what stands behind is shown as not read."""

Value = Who | Weighing | Card


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the wording.

    Attributes:
        start, end: where it stands.
        values: what was read from it; empty for headings, and for what was not read.
        read: whether it was read.
        doubtful: whether unread words of the same clause stand beside it.
    """

    start: int
    end: int
    values: tuple[Value, ...] = ()
    read: bool = True
    doubtful: bool = False


@dataclass(frozen=True, slots=True)
class Conditions:
    """A wording, read.

    Attributes:
        text: the wording.
        pieces: its parts in order; they add up to it.
    """

    text: str
    pieces: tuple[Piece, ...]

    @property
    def values(self) -> tuple[Value, ...]:
        """Every rule that was read, in order."""
        return tuple(value for piece in self.pieces for value in piece.values)

    @property
    def unread(self) -> tuple[str, ...]:
        """The words that were not read, in order."""
        return tuple(self.text[piece.start : piece.end].strip() for piece in self.pieces if not piece.read)

    @property
    def settled(self) -> tuple[Value, ...]:
        """The rules beside which no unread words stand, in order."""
        return tuple(value for piece in self.pieces for value in piece.values if not piece.doubtful)

    def wording_of(self, value: Value) -> tuple[str, bool]:
        """Return the words that a rule was read from, and whether they are doubtful."""
        for piece in self.pieces:
            if any(value is one for one in piece.values):
                return self.text[piece.start : piece.end].strip(" ,;.\n"), piece.doubtful
        return "", False


def read_conditions(text: str, *, on: date, currency: str = "") -> Conditions:
    """Read a wording.

    Args:
        text: the conditions as published.
        on: day of the race; days without a year are the last such days up to it.
        currency: that of the race's prizes, for sums without one.
    """
    joined = _narrowing(text, [_idle(text, piece) for piece in _joined(text, list(_pieces(text, on, currency)))])
    pieces = _either(text, list(_marked(text, joined)))
    return Conditions(text, tuple(_one_stage_once(_weights_out(pieces))))


def _weights_out(pieces: list[Piece]) -> list[Piece]:
    """Return the pieces; what counts since the weights were published counts from that day, where it is said."""
    days = [value.day for piece in pieces for value in piece.values if isinstance(value, WeightsOut)]
    if len(set(days)) != 1:
        return pieces
    return [replace(piece, values=tuple(_dated(value, days[0]) for value in piece.values)) for piece in pieces]


def _dated(value: Value, day: date) -> Value:
    """Return a rule with its wins counted from a day, where they count since the weights were published."""
    if isinstance(value, Either | Every):
        return replace(value, ways=tuple(_dated(way, day) for way in value.ways))  # type: ignore[misc]  # ways stay conditions on horses
    if isinstance(value, Penalty | Allowed) and value.record is not None:
        return replace(value, record=_dated(value.record, day))  # type: ignore[arg-type]  # a record stays one
    if not isinstance(value, Record) or not value.kind.since_weights:
        return value
    first = max(day, value.kind.first or day)
    return replace(value, kind=replace(value.kind, first=first, since_weights=False))


def _one_stage_once(pieces: list[Piece]) -> list[Piece]:
    """Return the pieces; where several forfeits are named none is read, for only one stage of them is kept here."""
    several = [piece for piece in pieces if any(_confirms(value) for value in piece.values)]
    if len(several) < 2:
        return pieces
    return [replace(piece, values=(), read=False) if piece in several else piece for piece in pieces]


def _confirms(value: Value) -> bool:
    return isinstance(value, SaidBy) and value.stage is Stage.CONFIRM


def _pieces(text: str, on: date, currency: str) -> Iterator[Piece]:
    """Yield what is read, and single tokens that are not; what only parts them is left out."""
    at, context, shown = 0, Context(), min(len(text), LONGEST)
    spoken_of = ""
    while at < shown:
        if match := compiled(BETWEEN).match(text, at):
            parted = compiled(r"[,;:.()\n]").search(match[0]) and not compiled(r"(?<=\d)[,.](?=\d)").match(text, at)
            at, spoken_of = match.end(), "" if parted else spoken_of
            continue
        found = _longest(text, at, on, currency, context)
        if found is None or (spoken_of and _only_spoken_of(text, found[0], spoken_of)):
            match = compiled(PART).match(text, at)
            end = match.end() if match else at + 1
            yield Piece(at, end, read=False)
            at, spoken_of = end, f"{spoken_of} {text[at:end]}"
        else:
            piece, context = found
            yield piece
            at, spoken_of = piece.end, ""
    if shown < len(text):
        yield Piece(shown, len(text), read=False)


def _longest(text: str, at: int, on: date, currency: str, context: Context) -> tuple[Piece, Context] | None:
    """Return what the form that reads farthest makes of the words here; weights go before horses where both do."""
    best: tuple[Piece, Context] | None = None
    for form in (*WEIGHT_FORMS, *CARD_FORMS):
        cursor = Cursor(text, at, on, currency)
        line = form(cursor, context)
        if line is not None and cursor.at > (best[0].end if best else at):
            best = Piece(at, cursor.at, line[0]), line[1]  # type: ignore[arg-type]  # the forms' own values
    for who in WHO_FORMS:
        cursor = Cursor(text, at, on, currency)
        value = who(cursor)
        if context.section in FOR_SOME and isinstance(value, Record | Every | Novices) and not _opens(text, at):
            continue
        if value is not None and cursor.at > (best[0].end if best else at):
            best = Piece(at, cursor.at, (value,)), replace(context, ladder=None)  # type: ignore[arg-type]
    return best if best and _whole_word(text, best[0].end) else None


def _only_spoken_of(text: str, piece: Piece, before: str) -> bool:
    """Return whether an age, sex, kind, distance or time stands among words not read, without opening a condition."""
    if any(isinstance(value, SaidBy | OfClass | OfKind | IsHandicap) for value in piece.values):
        return True
    opens = _opens(text, piece.start) and not compiled(FOR_WHOM).search(before)
    return not opens and any(isinstance(value, Ages | Builds | Novices | Over) for value in piece.values)


def _opens(text: str, at: int) -> bool:
    return compiled(r"(?:for|open|confined|restricted|horses?)\b").match(text, at) is not None


def _whole_word(text: str, end: int) -> bool:
    return end >= len(text) or not (text[end - 1].isalnum() and text[end].isalnum())


def _joined(text: str, pieces: list[Piece]) -> list[Piece]:
    """Return pieces that add up to the text: what parts two belongs to the first, unread neighbours are one."""
    joined: list[Piece] = []
    for piece in pieces:
        if joined and not joined[-1].read and not piece.read:
            joined[-1] = replace(joined[-1], end=piece.end)
        else:
            joined.append(piece)
    if not joined:
        return [Piece(0, len(text), read=not text.strip())] if text else []
    ends = [*(piece.start for piece in joined[1:]), len(text)]
    joined = [replace(piece, end=end) for piece, end in zip(joined, ends, strict=True)]
    joined[0] = replace(joined[0], start=0)
    return joined


def _idle(text: str, piece: Piece) -> Piece:
    """Return unread words on presents and sponsors as read, into nothing; they say nothing of horses or weights."""
    words = text[piece.start : piece.end]
    idle = compiled(PRESENTS).search(words) and not compiled(SERIOUS).search(words)
    return replace(piece, read=True) if not piece.read and idle else piece


def _narrowing(text: str, pieces: list[Piece]) -> list[Piece]:
    """Return the pieces, those that only say for whom an allowance or penalty is as not read.

    "Maidens which have run once allowed 3lb" takes no horse out of the race; half read it would be one for maidens.
    """
    found = list(pieces)
    for i in range(len(found) - 2, -1, -1):
        one, after = found[i], found[i + 1]
        inside, tail = text[one.start : one.end], text[after.start : after.end]
        parted = not inside[-1:].isspace() or not inside.rstrip()[-1:].isalnum()
        whom = bool(one.values) and all(isinstance(value, Ages | Builds | Record | Novices) for value in one.values)
        if whom and not parted and (_weighs(after, tail) or (after is not pieces[i + 1] and not after.read)):
            found[i] = replace(one, values=(), read=False)
    return found


def _weighs(piece: Piece, words: str) -> bool:
    """Return whether words go on from those before with a weight for them."""
    if not piece.read:
        return compiled(WEIGHS).match(words) is not None
    lighter = any(isinstance(value, Allowed | Penalty) for value in piece.values)
    return lighter and compiled(GOES_ON).match(words) is not None


def _marked(text: str, pieces: list[Piece]) -> Iterator[Piece]:
    """Yield the pieces, those beside unread words of their clause marked as doubtful."""
    for i, piece in enumerate(pieces):
        beside = _before(text, pieces, i)
        beside += [pieces[i + 1]] if i + 1 < len(pieces) and not _ends_clause(text, piece) else []
        words = " ".join(text[one.start : one.end] for one in beside if not one.read)
        broad = all(isinstance(value, Ages | Builds | Rated) for value in piece.values)
        doubtful = bool(compiled(LOOSENS).search(words)) if broad else bool(words)
        yield replace(piece, doubtful=True) if piece.read and doubtful else piece


def _before(text: str, pieces: list[Piece], i: int) -> list[Piece]:
    """Return the piece before one in its clause; a heading between them, "a penalty", parts them not."""
    while i > 0 and not _ends_clause(text, pieces[i - 1]):
        i -= 1
        if pieces[i].values or not pieces[i].read:
            return [pieces[i]]
    return []


def _ends_clause(text: str, piece: Piece) -> bool:
    """Return whether a clause ends with a piece: what parts it from the next belongs to it."""
    inside = text[piece.start : piece.end]
    tail = compiled(r"[\s,;:.()…–-]*$").search(inside)
    return tail is not None and compiled(CLAUSE_END).search(tail[0]) is not None


def _either(text: str, pieces: list[Piece]) -> list[Piece]:
    """Return the pieces with records that stand on both sides of a bare "or" put together."""
    found: list[Piece] = []
    for piece in pieces:
        if (
            len(found) > 1
            and _bare_or(text, found[-1])
            and _record(found[-2])
            and (_record(piece) or _claimable(piece))
        ):
            ways = (*_ways(found[-2]), *_ways(piece))
            doubtful = found[-2].doubtful and found[-2].start in _others(found, text)
            found[-2:] = [Piece(found[-2].start, piece.end, (Either(ways),), doubtful=doubtful)]
        else:
            found.append(piece)
    return found


def _others(found: list[Piece], text: str) -> set[int]:
    """Return where pieces start that have other unread words before them."""
    return {piece.start for before, piece in pairwise(found) if not before.read and not _ends_clause(text, before)}


def _bare_or(text: str, piece: Piece) -> bool:
    return not piece.read and text[piece.start : piece.end].strip(" ,\n").lower() == "or"


def _record(piece: Piece) -> bool:
    return len(piece.values) == 1 and isinstance(piece.values[0], Record | Either)


def _claimable(piece: Piece) -> bool:
    """Return whether a piece offers a claiming price: whoever takes it may run besides."""
    return len(piece.values) == 1 and isinstance(piece.values[0], Claimable)


def _ways(piece: Piece) -> tuple[Who, ...]:
    value = piece.values[0]
    return value.ways if isinstance(value, Either) else (value,)  # type: ignore[return-value]  # a record, by `_record`
