"""Backups, restoring and what a bad day does to the books."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class BooksMissingError(UpsidesError):
    """There are no books in the folder that was named."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            _(
                "there are no books in {folder}; name the right folder, or bring them back: upsides restore FILE "
                "--library NEW",
                folder=folder,
            )
        )


class BackupPlaceError(UpsidesError):
    """A backup cannot be written where it was asked for."""

    def __init__(self, place: object, reason: str, remedy: str) -> None:
        super().__init__(
            _("no backup was written to {place}: {reason}; {remedy}", place=place, reason=reason, remedy=remedy)
        )


class BackupChangedError(UpsidesError):
    """Something that was being backed up was taken away meanwhile."""

    def __init__(self, file: object) -> None:
        super().__init__(
            _("{file} went away while it was being copied, so no backup was written; start it again", file=file)
        )


class BackupDamagedError(UpsidesError):
    """A file that is no backup of ours, or one that is not as it was written.

    Args:
        file: the file.
        member: the part of it at fault, empty for the whole.
        reason: what is wrong.
    """

    def __init__(self, file: object, member: str, reason: str) -> None:
        where = _(", in its part {member}", member=member) if member else ""
        super().__init__(
            _(
                "{file} cannot be restored{where}: {reason}; nothing was written. Copy it again from where it is "
                "kept, or use another backup",
                file=file,
                where=where,
                reason=reason,
            )
        )
        self.file, self.member, self.reason = str(file), member, reason


class BackupNewerError(UpsidesError):
    """A backup that a newer program wrote."""

    def __init__(self, file: object, reason: str) -> None:
        super().__init__(
            _(
                "a newer Upsides wrote the backup {file}: {reason}; nothing was written. Restore it with that "
                "program, or newer",
                file=file,
                reason=reason,
            )
        )


class RestorePlaceError(UpsidesError):
    """A backup cannot be restored where it was asked for, because something is there."""

    def __init__(self, place: object, reason: str, remedy: str) -> None:
        super().__init__(
            _("nothing was restored into {place}: {reason}; {remedy}", place=place, reason=reason, remedy=remedy)
        )


class RestoreDiffersError(UpsidesError):
    """What was restored is not what the backup holds, and was taken away again."""

    def __init__(self, table: str, reason: str) -> None:
        super().__init__(
            _(
                "the table {table} could not be restored as it was: {reason}; nothing was kept. Keep the backup, "
                "and restore it with the program that wrote it",
                table=table,
                reason=reason,
            )
        )


class NothingToAcceptError(UpsidesError):
    """The clock was to be accepted, but there is no yard yet."""

    def __init__(self, folder: object) -> None:
        super().__init__(
            _(
                "the books in {folder} have no yard yet, so there is no clock to accept; begin: upsides new",
                folder=folder,
            )
        )


class TroubleError(UpsidesError):
    """The machine is in the way: nothing is wrong with what was asked for, and nothing of it was written."""


class BooksBusyError(TroubleError):
    """Somebody else is writing, for longer than we wait."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "the books are being written by something else, and it has not ended in time; nothing was written. "
                "Try again in a moment; if it stays so, see which program is at work on them"
            )
        )


class NoRoomError(TroubleError):
    """The disk is full."""

    def __init__(self) -> None:
        super().__init__(_("the disk is full, so nothing was written. Make room on it, then try again"))


class ReadOnlyError(TroubleError):
    """The books, or their folder, may not be written to."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "the books cannot be written to, so nothing was. See that their folder may be written to by whoever "
                "runs this program, and that the disk is not set to reading only, then try again"
            )
        )


class DiskFaultError(TroubleError):
    """The disk does not take or give what it should."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "the disk reports a fault, so nothing was written. See whether it is full or failing, then run: "
                "upsides check"
            )
        )


class BooksDamagedError(TroubleError):
    """The file of the books is not what it should be."""

    def __init__(self, reason: object) -> None:
        super().__init__(
            _(
                "the books cannot be read ({reason}). Stop the program, keep the file as it is for whoever may mend "
                "it, and bring the last backup back: upsides restore FILE --library NEW",
                reason=reason,
            )
        )


class BooksUnreachableError(TroubleError):
    """The database does not answer."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "the database does not answer, so nothing was written. See that it runs and that UPSIDES_DATABASE "
                "names it, then try again"
            )
        )
