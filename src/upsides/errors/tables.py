"""The yard's own tables: what cannot be taken in, taken back or given out."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class TableUnreadableError(UpsidesError):
    """A file of which nothing can be taken.

    Args:
        file: its name.
        reason: what is wrong with it.
        remedy: what to do about it.
    """

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(
            _("{file}: {reason}; nothing of it was taken; {remedy}", file=file, reason=reason, remedy=remedy)
        )
        self.file, self.reason, self.remedy = str(file), reason, remedy


class TableGoneError(UpsidesError):
    """A file that was given some time ago and is no longer kept."""

    def __init__(self) -> None:
        super().__init__(_("this table is kept for a week only, and is gone; give the file again"))


class ColumnsError(UpsidesError):
    """Columns that were chosen in a way that cannot be read.

    Args:
        reason: what is wrong.
        remedy: what to choose instead.
    """

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(_("{reason}; {remedy}", reason=reason, remedy=remedy))
        self.reason, self.remedy = reason, remedy


class CellRefusedError(UpsidesError):
    """A cell that cannot be right; its row is not taken.

    Args:
        column: its heading, or what it would be.
        typed: what stands in it.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, column: str, typed: str, reason: str, remedy: str) -> None:
        super().__init__(
            _("{column} {typed!r}: {reason}; {remedy}", column=column, typed=typed[:40], reason=reason, remedy=remedy)
            if typed
            else _("{column}: {reason}; {remedy}", column=column, reason=reason, remedy=remedy)
        )
        self.column, self.typed, self.reason, self.remedy = column, typed, reason, remedy


class NothingToTakeError(UpsidesError):
    """A table of which no row can be taken."""

    def __init__(self, file: object, wrong: int, already: int) -> None:
        super().__init__(
            _(
                "{file}: no row of it can be taken: {wrong:,} cannot be read and {already:,} are in the books "
                "already; nothing was written. See what is said of each row, or choose other columns",
                file=file,
                wrong=wrong,
                already=already,
            )
        )
        self.wrong, self.already = wrong, already


class ImportBusyError(UpsidesError):
    """An import that is being taken in, or taken back, just now."""

    def __init__(self) -> None:
        super().__init__(_("this table is still being worked on; wait until that ends, or stop it on the jobs' page"))


class ImportUndoneError(UpsidesError):
    """An import that was undone before."""

    def __init__(self) -> None:
        super().__init__(
            _("this import was undone before, and nothing more of it can be; give the file again to redo it")
        )


class ExportPlaceError(UpsidesError):
    """Tables cannot be written where they were asked for."""

    def __init__(self, place: object, reason: str, remedy: str) -> None:
        super().__init__(
            _("nothing was written to {place}: {reason}; {remedy}", place=place, reason=reason, remedy=remedy)
        )
        self.place, self.reason, self.remedy = str(place), reason, remedy


class ExportUnknownError(UpsidesError):
    """A table that cannot be given out because there is none of that name."""

    def __init__(self, name: str, known: list[str]) -> None:
        super().__init__(
            _("there is no table {name!r} to give out; choose of {known}", name=name[:40], known=", ".join(known))
        )
        self.name, self.known = name, known


class AuthorNeededError(UpsidesError):
    """Nobody in whose name entries could be written was found.

    Args:
        login: the sign-in name that was given, empty where none was.
    """

    def __init__(self, login: str) -> None:
        who = (
            _("nobody of the office signs in as {login!r}", login=login)
            if login
            else _("there is no trainer who signs in")
        )
        super().__init__(
            _("{who}, so the entries would be nobody's; name somebody of the office with --by LOGIN", who=who)
        )
        self.login = login
