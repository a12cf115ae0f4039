"""Tables, shapes, libraries and horses' identities that cannot be used."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class LibraryMissingError(UpsidesError):
    """There is no library of results in the folder that was named."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            _(
                "no library of results in {folder}; name the right folder, or fill one with `upsides results add`",
                folder=folder,
            )
        )


class LibraryNewerError(UpsidesError):
    """The library was written by a newer version of this program."""

    def __init__(self, folder: object, found: object, known: int) -> None:
        super().__init__(
            _(
                "the library in {folder} has format {found!r}, this program knows up to {known}; upgrade upsides, "
                "or name another library",
                folder=folder,
                found=found,
                known=known,
            )
        )


class LibraryBusyError(UpsidesError):
    """Another process is writing to the library."""

    def __init__(self, folder: object, holder: str) -> None:
        super().__init__(
            _(
                "the library in {folder} is being written by {holder}; wait until that import ends, then try again",
                folder=folder,
                holder=holder,
            )
        )


class ShapeError(UpsidesError):
    """A shape file says something that cannot be used.

    Args:
        file: the shape file.
        key: the key at fault, with dots, or "" for the whole file.
        reason: what is wrong with it.
        remedy: what to write instead.
    """

    def __init__(self, file: object, key: str, reason: str, remedy: str) -> None:
        where = _("shape {file}, key {key}", file=file, key=key) if key else _("shape {file}", file=file)
        super().__init__(_("{where}: {reason}; {remedy}", where=where, reason=reason, remedy=remedy))
        self.file, self.key, self.reason, self.remedy = str(file), key, reason, remedy


class FileUnreadableError(UpsidesError):
    """A file of results that cannot be used at all, so that nothing of it was taken.

    Args:
        file: the file.
        reason: what is wrong with it.
        remedy: what to do about it.
    """

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(_("{file}: {reason}; {remedy}", file=file, reason=reason, remedy=remedy))
        self.file, self.reason, self.remedy = str(file), reason, remedy


class HorseUnknownError(UpsidesError):
    """No horse in the library answers to what was typed."""

    def __init__(self, text: str, near: list[str]) -> None:
        hint = (
            _("near to it: {near}", near=", ".join(near))
            if near
            else _("try part of its name, or its number in the source")
        )
        super().__init__(_("no horse {text!r} in the library; {hint}", text=text, hint=hint))
        self.text, self.near = text, near


class HorseAmbiguousError(UpsidesError):
    """Several horses answer to what was typed; the candidates are listed."""

    def __init__(self, text: str, candidates: list[str]) -> None:
        super().__init__(
            _(
                "{count} horses answer to {text!r}: {candidates}. Give the number, or the name with its country suffix",
                count=len(candidates),
                text=text,
                candidates="; ".join(candidates),
            )
        )
        self.text, self.candidates = text, candidates


class IdentityError(UpsidesError):
    """Two horses that cannot be linked, or a link that cannot be undone."""

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(_("{reason}; {remedy}", reason=reason, remedy=remedy))
        self.reason, self.remedy = reason, remedy
