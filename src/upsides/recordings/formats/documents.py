"""XML documents whose fixes are read one after the other, without a tree; a broken one is mended first, and says so."""

import re
from collections.abc import Collection, Mapping
from typing import Protocol
from xml.parsers import expat

from upsides.errors import EntitiesRefusedError
from upsides.recordings.formats.decoding import decoded
from upsides.recordings.recording import Message
from upsides.recordings.sentences import Value

NEVER = bytes(code for code in range(1, 32) if code not in b"\t\n\r")  # what no XML 1.0 document may hold
BLANKS = re.compile(rb"\x00+")
TORN = b"<&"  # well-formed nowhere outside a comment: marks the place where something is missing
DECLARATION = re.compile(rb"\s*<\?xml[^>]{0,200}\?>")
UNFINISHED = expat.errors.codes[expat.errors.XML_ERROR_NO_ELEMENTS]
Row = list[str | None]
Attributes = Mapping[str, str]


class Told(Protocol):
    """Who is told what stands in a document, in its order; names are in small letters, without prefix."""

    def begins(self, name: str, attributes: Attributes) -> None:
        """Take the beginning of something that fixes hang on."""

    def says(self, name: str, text: str, within: str) -> None:
        """Take the text of an element outside fixes, and in which of those it stands."""

    def fix(self, name: str, attributes: Attributes, row: Row) -> None:
        """Take a fix: its attributes, and a text, or None, for each of the columns asked for."""


class Document:
    """One XML document.

    Args:
        data: its bytes.
        file: its name, for messages.
        root: the local name of its outermost element.
        points: the local names of the elements that hold a fix, whole or not at all: of a number that was cut in two
            the first half is a wrong number.
        others: the local names of the other elements that are asked for.

    Attributes:
        messages: what was mended or lost; complete when `read` is done.

    Raises:
        EntitiesRefusedError: it declares entities.
    """

    def __init__(self, data: bytes, file: str, root: str, points: Collection[str], others: Collection[str]) -> None:
        text, told = decoded(data)
        if "<!ENTITY" in text:
            raise EntitiesRefusedError(file)
        self.messages = list(told)
        self._points, self._others = points, others
        whole = self._whole(self._begun(self._without_blanks(text.encode())), root)
        self._text = self._mended(whole)

    def read(self, columns: Mapping[str, int], to: Told) -> None:
        """Tell what stands in the document.

        Args:
            columns: the column of each element of a fix, by its local name in small letters.
            to: who is told.
        """
        walk = _Walk(columns, self._points, self._others, to)
        walk.read(self._text)
        declared = {found.decode() for found in re.findall(rb"xmlns:([\w.-]+)\s*=", self._text)}
        if unknown := sorted({name.partition(":")[0] for name in walk.names if ":" in name} - declared):
            self._tell("undeclared_prefix", count=len(unknown), prefixes=", ".join(unknown))

    def _tell(self, code: str, **values: Value) -> None:
        self.messages.append(Message(code, values))

    def _without_blanks(self, text: bytes) -> bytes:
        lost = text.count(b"\x00")
        if lost:
            self._tell("blank_bytes", count=lost)
            text = BLANKS.sub(TORN, text)
        return text.translate(None, NEVER)

    def _begun(self, text: bytes) -> bytes:
        start = max(text.find(b"<"), 0)
        if lost := len(text[:start].strip()):
            self._tell("begins_late", count=lost)
        return DECLARATION.sub(b"", text[start:], count=1)

    def _whole(self, text: bytes, root: str) -> bytes:
        """Return the text up to its last whole fix, where it does not come to its end."""
        if re.search(rf"</(?:[\w.-]+:)?{root}\s*>|<{root}[^<>]*/>".encode(), text[-2000:]):
            return text
        begun = [found.start() for found in _beginnings(text, self._points)]
        last = begun[-1] if begun else len(text)
        end = last + (_length(text[last:], self._points) if begun else 0)
        self._tell("cut_off", count=len(text[end:].strip()))
        return text[:end]

    def _mended(self, text: bytes) -> bytes:
        """Return the text itself if it is well-formed, else its whole fixes and what they hang on, in their order."""
        fault = _fault(text)
        cut = any(message.code == "cut_off" for message in self.messages)
        if fault is None or (cut and fault.code == UNFINISHED):
            return text
        self._tell("not_well_formed", line=fault.lineno, fault=expat.ErrorString(fault.code))
        kept, lost = _pieces(text, self._points, self._others)
        if lost:
            self._tell("fixes_lost", count=lost)
        return b"<mended>" + b"\n".join(kept) + b"</mended>"


class _Walk:
    """The parser's way through a document, and what of it is told."""

    NOTHING, VALUE, POINT, OTHER = -1, -2, -3, -4

    def __init__(self, columns: Mapping[str, int], points: Collection[str], others: Collection[str], to: Told) -> None:
        self.names: dict[str, int] = {}
        self._kinds = (
            dict.fromkeys((name.lower() for name in others), self.OTHER)
            | {"value": self.VALUE, **columns}
            | dict.fromkeys((name.lower() for name in points), self.POINT)
        )
        self._to = to
        self._blank: Row = [None] * (max(columns.values()) + 1)
        self._row: Row | None = None
        self._attributes: Attributes = {}
        self._place = self.NOTHING
        self._path: list[str] = []
        self._said = ""

    def read(self, text: bytes) -> None:
        parser = expat.ParserCreate("utf-8")
        parser.buffer_text = True
        parser.StartElementHandler, parser.EndElementHandler = self._start, self._end
        parser.CharacterDataHandler = self._text
        try:
            parser.Parse(text, True)
        except expat.ExpatError as error:
            if error.code != UNFINISHED:  # an end that was cut off, which has been told
                raise

    def _kind(self, name: str) -> int:
        kind = self.names[name] = self._kinds.get(_local(name), self.NOTHING)
        return kind

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        kind = self.names.get(name)
        if kind is None:
            kind = self._kind(name)
        if kind == self.POINT:
            self._row, self._attributes, self._place = self._blank.copy(), attributes, self.NOTHING
        elif self._row is not None:
            if kind != self.VALUE:
                self._place = kind
        elif kind == self.OTHER:
            self._said = ""
            self._path.append(_local(name))
            self._to.begins(self._path[-1], attributes)

    def _text(self, text: str) -> None:
        if self._row is None:
            self._said += text if self._path else ""
        elif self._place >= 0 and self._row[self._place] is None:
            self._row[self._place] = text.strip() or None

    def _end(self, name: str) -> None:
        kind = self.names[name]
        if self._row is not None:
            self._place = self.NOTHING
            if kind == self.POINT:
                self._to.fix(_local(name), self._attributes, self._row)
                self._row = None
        elif kind == self.OTHER:
            ended = self._path.pop()
            self._to.says(ended, self._said.strip(), self._path[-1] if self._path else "")
            self._said = ""


def _local(name: str) -> str:
    return name.rpartition(":")[2].lower()


def _fault(text: bytes) -> expat.ExpatError | None:
    """Return what is first wrong with a text, or None."""
    try:
        expat.ParserCreate("utf-8").Parse(text, True)
    except expat.ExpatError as error:
        return error
    return None


def _beginnings(text: bytes, names: Collection[str]) -> list[re.Match[bytes]]:
    """Return where elements of these local names begin."""
    return list(re.finditer(rf"<(?:[\w.-]+:)?({'|'.join(names)})(?=[\s/>])".encode(), text))


def _length(piece: bytes, points: Collection[str]) -> int:
    """Return where an element that begins a text ends; 0 if it does not."""
    short = re.match(rb"<[^<>]*/>", piece)
    long = re.search(rf"</(?:[\w.-]+:)?(?:{'|'.join(points)})\s*>".encode(), piece)
    return short.end() if short else long.end() if long else 0


def _pieces(text: bytes, points: Collection[str], others: Collection[str]) -> tuple[list[bytes], int]:
    """Return the elements of a broken text that are sound, side by side, and how many fixes are not.

    Of what fixes hang on (tracks, laps) only the tag that begins it is kept, as an element of nothing else.
    """
    kept: list[bytes] = []
    lost = 0
    begun = _beginnings(text, (*points, *others))
    ends = [*(found.start() for found in begun), len(text)][1:]
    for found, end in zip(begun, ends, strict=True):
        piece = text[found.start() : end]
        is_point = found[1].decode() in points
        if is_point:
            piece = piece[: _length(piece, points)]
        else:
            tag = re.match(rb"<[^<>]*?(?=/?>)", piece)
            piece = tag[0] + b"/>" if tag else b""
        if _fault(piece) is None:
            kept.append(piece)
        elif is_point:
            lost += 1
        else:
            kept.append(b"<" + found[1] + b"/>")
    return kept, lost


def columns_of(wanted: Mapping[str, str]) -> tuple[tuple[str, ...], dict[str, int]]:
    """Return the columns that elements are wanted for, and the number of the column of each element.

    Args:
        wanted: the column of each local name, in small letters; of two elements for one the first met counts.
    """
    columns = tuple(dict.fromkeys(wanted.values()))
    return columns, {name: columns.index(column) for name, column in wanted.items()}


def texts(columns: tuple[str, ...], rows: list[Row]) -> dict[str, tuple[str | None, ...]]:
    """Return the texts of fixes by their columns."""
    if not rows:
        return dict.fromkeys(columns, ())
    return dict(zip(columns, zip(*rows, strict=True), strict=True))
