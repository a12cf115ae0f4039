"""The fields of an entry: how each value is typed, what cannot be right, how it is kept and said.

Everything comes as text, from forms and from phones alike; a field reads it once and says so where it cannot be. An
empty field that is not `needed` keeps None, or nothing of a list: nothing stands for "not said".
"""

import re
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, ClassVar, Final

from django.utils.formats import date_format, number_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from upsides.errors import EntryRefusedError, UnreadableError
from upsides.errors.wording import gettext
from upsides.trade.reading import NUMBER, number, tidy

Words = str | Promise
Choices = Mapping[str, Words]
_TYPED: Final = re.compile(rf"([-\u2212]?) ?({NUMBER}) ?(?:°|degrees? )? ?([a-z%/]*)\.?")
_NO_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")
LINE, TEXT = 100, 2000
"""Most characters of a line and of a text."""


@dataclass(frozen=True, slots=True)
class Names:
    """What rows that entries point at are called, by (person, gallop or horse, number)."""

    known: Mapping[tuple[str, int], str] = field(default_factory=dict)

    def of(self, what: str, number: int) -> str:
        """Return a name; one that is not known is said by its number."""
        return self.known.get((what, number)) or _("number %(number)s") % {"number": number}


NAMELESS: Final = Names()


@dataclass(frozen=True, slots=True)
class Span:
    """The numbers that can be meant in one unit, both ends included.

    Args:
        low: lowest.
        high: highest.
        unit: as it is written behind the number.
        aliases: other ways of typing the unit, in lower case.
        factor: what one of it is in the unit that is kept, which is that of the first span.
        zero: what stands in it where the unit that is kept has 0.
    """

    low: float
    high: float
    unit: str
    aliases: tuple[str, ...] = ()
    factor: float = 1.0
    zero: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Field(ABC):
    """One value of an entry.

    Args:
        name: its name among the entry's values.
        label: what it is called on a page.
        hint: how it may be typed; empty where nothing need be said.
        needed: whether an entry without it is refused.
        bare: whether its words stand without its label.
    """

    name: str
    label: Words
    hint: Words = ""
    needed: bool = True
    bare: bool = False

    control: ClassVar[str]
    """How a page asks for it: number, choice, several, tick, line, text, day, or the rows of a table."""
    numbers: ClassVar[bool] = False
    """Whether a number does as well as its digits."""

    def read(self, typed: object) -> Any:
        """Return the value that was typed, None where nothing was.

        Raises:
            EntryRefusedError: it cannot be right.
        """
        text = self._text(typed)
        if text:
            return self.parse(text)
        if self.needed:
            raise self.refused("", gettext("it is empty"), gettext("fill it in"))
        return self.nothing()

    def nothing(self) -> Any:
        """Return what is kept where nothing was typed."""
        return None

    @abstractmethod
    def parse(self, text: str) -> Any:
        """Return the value of a text that is not empty."""

    def typed(self, value: Any) -> str:
        """Return a value as somebody would type it."""
        return "" if value is None else str(value)

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- of those that name rows
        """Return a value in words."""
        return self.typed(value)

    def phrase(self, value: Any, names: Names = NAMELESS) -> str:
        """Return a value in words, with what it is of."""
        said = self.said(value, names)
        return said if self.bare else _("%(label)s %(value)s") % {"label": str(self.label).lower(), "value": said}

    def refused(self, typed: str, reason: str, remedy: str) -> EntryRefusedError:
        """Return the refusal of what was typed."""
        shown = f"{typed[:40]}…" if len(typed) > 40 else typed
        return EntryRefusedError(str(self.label).lower(), shown, reason, remedy)

    def _text(self, typed: object) -> str:
        if typed is None:
            return ""
        if isinstance(typed, bool) or not isinstance(typed, str | int | float if self.numbers else str):
            raise self.refused(str(typed), gettext("it is no text"), gettext("type it again"))
        text = str(typed).replace("\r\n", "\n").strip()
        if _NO_TEXT.search(text):
            raise self.refused(
                text.encode(errors="replace").decode(),
                gettext("it holds signs that are no text"),
                gettext("type it again"),
            )
        return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Number(Field):
    """A number in one of several units; without a unit it is of the first span that it can be.

    Args:
        spans: what it can be; what is kept is in the unit of the first.
        places: decimals that are said.
        kept_places: decimals that are kept.
        why: why nothing else can be right.
    """

    spans: tuple[Span, ...]
    places: int = 0
    kept_places: int = 2
    why: str = ""

    control = "number"
    numbers = True

    def parse(self, text: str) -> float:
        """Return the number in the unit of the first span."""
        value, unit = self._read(text)
        for span in self.spans:
            if span.low <= value <= span.high and (not unit or unit in {span.unit.lower().lstrip("°"), *span.aliases}):
                kept = round((value - span.zero) * span.factor, self.kept_places)
                return kept if self.kept_places else int(kept)
        could = " or ".join(f"{span.low:g} to {span.high:g} {span.unit}".strip() for span in self.spans)
        raise self.refused(text, self.why or gettext("it can be {could}", could=could), gettext("measure again"))

    def _read(self, text: str) -> tuple[float, str]:
        try:
            found = _TYPED.fullmatch(tidy(text))
            value = number(found[2]) if found else None
        except UnreadableError:
            found, value = None, None
        if found is None or value is None:
            raise self.refused(
                text, gettext("it cannot be read"), gettext("write it like {hint}", hint=self.hint or self.spans[0].low)
            )
        return float(-value if found[1] else value), found[3]

    def typed(self, value: Any) -> str:
        """Return the number in the unit that is kept, as it is written here."""
        if value is None:
            return ""
        exact = f"{value:.{self.kept_places}f}"
        exact = exact.rstrip("0").rstrip(".") if "." in exact else exact
        return number_format(exact, decimal_pos=max(self.places, len(exact.partition(".")[2])))

    def said(self, value: Any, names: Names = NAMELESS) -> str:
        """Return the number with its unit."""
        return f"{super(Number, self).said(value, names)} {self.spans[0].unit}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice(Field):
    """One of a few words; `options` says in which words, by what is kept."""

    options: Choices

    control = "choice"

    def parse(self, text: str) -> str:
        """Return the word that was chosen."""
        if text not in self.options:
            raise self.refused(
                text, gettext("it is none of {options}", options=", ".join(self.options)), gettext("choose one of them")
            )
        return text

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- as the others
        """Return the chosen word."""
        return str(self.options.get(value, value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Several(Field):
    """Any of a few words, typed with commas between them."""

    options: Choices

    control = "several"

    def nothing(self) -> Any:
        """Return none of them."""
        return []

    def parse(self, text: str) -> list[str]:
        """Return the words that were chosen, in their own order."""
        chosen = {part.strip() for part in text.split(",")} - {""}
        if wrong := sorted(chosen - self.options.keys()):
            raise self.refused(
                wrong[0], gettext("it is none of {options}", options=", ".join(self.options)), gettext("choose of them")
            )
        return [word for word in self.options if word in chosen]

    def typed(self, value: Any) -> str:
        """Return the words with commas between them."""
        return ",".join(value or ())

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- as the others
        """Return the chosen words."""
        return ", ".join(str(self.options.get(word, word)) for word in value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick(Field):
    """Something that is so or of which nothing is said; its label is its words."""

    needed: bool = False
    bare: bool = True

    control = "tick"

    def nothing(self) -> Any:
        """Return that nothing was said."""
        return False

    def parse(self, text: str) -> bool:
        """Return whether it was ticked."""
        if text.lower() not in {"1", "on", "yes", "true", "0", "no", "false"}:
            raise self.refused(text, gettext("it is neither yes nor no"), gettext("tick it or leave it"))
        return text.lower() in {"1", "on", "yes", "true"}

    def typed(self, value: Any) -> str:
        """Return a tick."""
        return "1" if value else ""

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- as the others
        """Return what is so."""
        return str(self.label).lower() if value else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line(Field):
    """A few words on one line; `suggest` is the kind of thing whose names are offered."""

    longest: int = LINE
    suggest: str = ""

    control = "line"

    def parse(self, text: str) -> str:
        """Return the words, spaces made single."""
        line = " ".join(text.split())
        if len(line) > self.longest:
            raise self.refused(
                line,
                gettext("it has more than {longest} characters", longest=self.longest),
                gettext("write it shorter"),
            )
        return line


@dataclass(frozen=True, slots=True, kw_only=True)
class Hash(Line):
    """The SHA-256 of a file, which pages carry along and nobody types."""

    longest: int = 64

    control = "kept"

    def parse(self, text: str) -> str:
        """Return the hash."""
        if not re.fullmatch("[0-9a-f]{64}", text):
            raise self.refused(text, gettext("it names no file"), gettext("send the file anew"))
        return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Text(Field):
    """Something in words, on any number of lines."""

    longest: int = TEXT
    bare: bool = True

    control = "text"

    def parse(self, text: str) -> str:
        """Return the text."""
        if len(text) > self.longest:
            reason = gettext(
                "it has {count} characters, and {longest} is the most", count=len(text), longest=self.longest
            )
            raise self.refused(text, reason, gettext("write it as two entries"))
        return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Day(Field):
    """A day, typed as 2026-06-21 or 21.6.2026 or 21/6/2026; kept as ISO 8601."""

    control = "day"

    def parse(self, text: str) -> str:
        """Return the day."""
        try:
            if found := re.fullmatch(r"(\d{1,2})[./](\d{1,2})[./](\d{4})", text):
                return date(int(found[3]), int(found[2]), int(found[1])).isoformat()
            return date.fromisoformat(text).isoformat()
        except ValueError:
            raise self.refused(
                text, gettext("it is no day"), gettext("write it like 2026-06-21 or 21/6/2026")
            ) from None

    def said(self, value: Any, names: Names = NAMELESS) -> str:  # noqa: ARG002 -- as the others
        """Return the day as the yard writes it."""
        return date_format(date.fromisoformat(value), "j F Y")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row(Field):
    """A row of a table by its number, or several: a person, a gallop or a horse.

    Args:
        of: person, gallop or horse.
        roles: of people, those who have one of these; everybody where none is named.
        many: whether there can be several.
    """

    of: str
    roles: tuple[str, ...] = ()
    many: bool = False

    control = "row"
    numbers = True

    def nothing(self) -> Any:
        """Return no row."""
        return [] if self.many else None

    def parse(self, text: str) -> int | list[int]:
        """Return the number, or the numbers; whether there are such rows is for the books to say."""
        parts = [part.strip() for part in text.split(",")] if self.many else [text]
        if not all(re.fullmatch("[0-9]{1,9}", part) for part in parts):
            raise self.refused(text, gettext("it is no number of a row"), gettext("choose from the list"))
        numbers = list(dict.fromkeys(map(int, parts)))
        return numbers if self.many else numbers[0]

    def typed(self, value: Any) -> str:
        """Return the number, or the numbers with commas between them."""
        return ",".join(map(str, self.rows(value)))

    def rows(self, value: Any) -> Sequence[int]:
        """Return the numbers of the rows that a value names."""
        return value or [] if self.many else [] if value is None else [value]

    def said(self, value: Any, names: Names = NAMELESS) -> str:
        """Return what the rows are called."""
        return ", ".join(names.of(self.of, number) for number in self.rows(value))
