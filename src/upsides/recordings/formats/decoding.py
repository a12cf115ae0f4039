"""Bytes into text: byte-order marks, UTF-16, what an XML document declares, and what is left."""

import codecs
import re

from upsides.recordings.recording import Message

MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
DECLARED = re.compile(rb"""<\?xml[^>]{0,100}?encoding\s*=\s*["']([\w.:-]{1,40})["']""")
# Only encodings of text that people write: some codecs of Python's take a time that grows with the square of the size.
TEXT = re.compile(
    r"(us-)?ascii|utf-?8|iso-?8859-\d+|latin-?\d|(windows|cp)-?125\d|shift_?jis|euc-..|gb\w+|big5|koi8-\w"
)


def decoded(data: bytes, encoding: str = "") -> tuple[str, tuple[Message, ...]]:
    """Return the text of a file, without a byte-order mark, and a message where its encoding had to be guessed.

    Args:
        data: the bytes.
        encoding: the encoding, where it is known; "" finds it: a mark, then zero bytes that show UTF-16, then what an
            XML document declares, then UTF-8, then Windows-1252, in which every byte of ISO 8859-1 text means the same.
    """
    for mark, name in MARKS:
        if data.startswith(mark):
            return data[len(mark) :].decode(name, errors="replace"), ()
    wanted = encoding or _without_mark(data) or _declared(data) or "utf-8"
    try:
        return data.decode(wanted), ()
    except UnicodeDecodeError:
        if wanted.startswith(("utf-16", "utf-32")):
            return data.decode(wanted, errors="replace"), ()
        return data.decode("cp1252", errors="replace"), (Message("encoding", {"encoding": wanted}),)


def _without_mark(data: bytes) -> str:
    """Name UTF-16 where every other of the first bytes is zero, as in plain Western text; else ""."""
    start = data[:200]
    if len(start) < 4 or not start.count(0):
        return ""
    if start[1::2].count(0) > 0.8 * len(start[1::2]):
        return "utf-16-le"
    return "utf-16-be" if start[0::2].count(0) > 0.8 * len(start[0::2]) else ""


def _declared(data: bytes) -> str:
    """Return the encoding that an XML document declares, if it is one of text; else ""."""
    found = DECLARED.search(data[:400])
    name = found[1].decode("ascii").lower() if found else ""
    return name if TEXT.fullmatch(name) and _known(name) else ""


def _known(name: str) -> bool:
    try:
        codecs.lookup(name)
    except LookupError:
        return False
    return True
