"""Recordings that cannot be used, and shapes of their tables."""

from collections.abc import Sequence

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class RecordingRefusedError(UpsidesError):
    """A file that holds no recording that could be used, so that nothing of it was taken.

    Args:
        file: the file, for one out of an archive "archive/member".
        reason: what is wrong with it.
        remedy: what to do about it.
    """

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(_("{file}: {reason}; {remedy}", file=file, reason=reason, remedy=remedy))
        self.file, self.reason, self.remedy = str(file), reason, remedy


class RecordingEmptyError(RecordingRefusedError):
    """A file of no bytes."""

    def __init__(self, file: object) -> None:
        super().__init__(file, _("it is empty"), _("copy it from the device again"))


class RecordingUnknownError(RecordingRefusedError):
    """A file of a kind that is not read here; `found` says what it looks like."""

    def __init__(self, file: object, found: str) -> None:
        super().__init__(file, found, _("export the recording as FIT, GPX, TCX, NMEA or CSV"))


class RecordingTooLargeError(RecordingRefusedError):
    """A file, or what is packed in it, is far larger than a recording is."""

    def __init__(self, file: object, reason: str) -> None:
        super().__init__(file, reason, _("split it, or give the recordings one by one, if it is what it says it is"))


class EntitiesRefusedError(RecordingRefusedError):
    """An XML document declares entities of its own, by which a small file can be made to fill the memory."""

    def __init__(self, file: object) -> None:
        reason = _("it declares entities (<!ENTITY ...>), which no recording needs and which can fill the memory")
        super().__init__(file, reason, _("export it again, and do not use it if you do not know who made it"))


class PackedError(RecordingRefusedError):
    """An archive out of which nothing could be read; `reason` says why."""

    def __init__(self, file: object, reason: str, remedy: str = _("unpack it, and give the files in it")) -> None:
        super().__init__(file, reason, remedy)


class NoShapeFitsError(RecordingRefusedError):
    """A table whose columns none of the known shapes describes."""

    def __init__(self, file: object, columns: Sequence[str]) -> None:
        shown = ", ".join(columns[:30]) + (", ..." if len(columns) > 30 else "")
        reason = (
            _("no shape of a table fits its columns: {shown}", shown=shown)
            if columns
            else _("it has no line of column names")
        )
        remedy = _(
            "write a shape that says which column holds what, beginning with upsides read --propose {file}, "
            "and name it",
            file=file,
        )
        super().__init__(file, reason, remedy)
        self.columns = tuple(columns)


class GallopLineError(UpsidesError):
    """A line that is no gallop.

    Args:
        name: what the gallop was to be called.
        reason: what is wrong with its line.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(
            _(
                "the gallop {name!r}: {reason}; draw it again from start to finish, or take another track",
                name=name,
                reason=reason,
            )
        )


class TooLittleLeftError(RecordingRefusedError):
    """A recording that was read, but whose clock says nothing, so that no track can be made of it."""


class TwoDevicesError(RecordingRefusedError):
    """A recording in which the positions of two devices stand mixed."""

    def __init__(self, file: object) -> None:
        reason = _("the positions of two devices stand mixed in it")
        super().__init__(file, reason, _("take its two tracks apart, and say which horse carried which"))


class TileRefusedError(UpsidesError):
    """A file of heights that cannot be used.

    Args:
        name: the file's name.
        reason: what is wrong with it.
    """

    def __init__(self, name: object, reason: str) -> None:
        remedy = _("give an SRTM tile as it is published, e.g. N57E011.hgt or N57E011.hgt.gz")
        super().__init__(_("{name}: {reason}; {remedy}", name=name, reason=reason, remedy=remedy))
        self.name, self.reason = str(name), reason


class TrackFileError(UpsidesError):
    """A file of a track that is not as it was written; it is made again from the recording.

    Args:
        file: its name.
        reason: what is wrong with it.
    """

    def __init__(self, file: object, reason: str) -> None:
        super().__init__(
            _(
                "the track {file}: {reason}; delete the file, and it is made again from the recording",
                file=file,
                reason=reason,
            )
        )


class WorkWordError(UpsidesError):
    """A word that says nothing of how a horse was ridden in a work.

    Args:
        what: "left" or "ordered".
        word: the word.
        known: those that are known.
    """

    def __init__(self, what: str, word: str, known: Sequence[str]) -> None:
        super().__init__(
            _(
                "the work: {word!r} does not say what was {what}; say one of {known}, or nothing",
                word=word,
                what=what,
                known=", ".join(known),
            )
        )
        self.what, self.word, self.known = what, word, tuple(known)
