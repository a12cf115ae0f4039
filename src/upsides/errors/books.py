"""Opening a yard's books, beginning one, entering horses."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class BooksOpenError(UpsidesError):
    """The books of one library are open and those of another were asked for in the same process."""

    def __init__(self, opened: object, wanted: object) -> None:
        super().__init__(
            _(
                "the books in {opened} are open in this process; open those in {wanted} in another process",
                opened=opened,
                wanted=wanted,
            )
        )
        self.opened, self.wanted = opened, wanted


class HorseRefusedError(UpsidesError):
    """A horse that cannot be entered.

    Args:
        field: the field at fault.
        value: what was typed.
        remedy: what to write instead, or why it cannot be.
    """

    def __init__(self, field: str, value: str, remedy: str) -> None:
        super().__init__(_("{field} {value!r}: {remedy}", field=field, value=value, remedy=remedy))
        self.field, self.value, self.remedy = field, value, remedy


class HorsesFileError(UpsidesError):
    """A table of horses of which some lines cannot be right; none was taken."""

    def __init__(self, file: object, wrong: list[str]) -> None:
        more = _("; and {count} more", count=len(wrong) - 12) if len(wrong) > 12 else ""
        super().__init__(
            _(
                "{file}: no horse was entered. {wrong}{more}. Correct these and try again",
                file=file,
                wrong="; ".join(wrong[:12]),
                more=more,
            )
        )
        self.wrong = wrong


class YardStandsError(UpsidesError):
    """A yard that was set up before."""

    def __init__(self, folder: object, name: str) -> None:
        super().__init__(
            _(
                "{name} was set up in {folder} before; it stays as it is. Start it: upsides serve --library {folder}",
                name=name,
                folder=folder,
            )
        )


class PersonUnknownError(UpsidesError):
    """Nobody signs in under that name."""

    def __init__(self, login: str) -> None:
        super().__init__(
            _(
                "nobody signs in as {login!r}; look the name up under People, or leave it out for the trainer",
                login=login,
            )
        )


class PasswordWeakError(UpsidesError):
    """A password that would be guessed."""

    def __init__(self, reasons: list[str]) -> None:
        super().__init__(_("that password will not do: {reasons} Choose another", reasons=" ".join(reasons)))


class BooksNewerError(UpsidesError):
    """Books that a newer program wrote."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            _(
                "a newer Upsides wrote these books: {reason}; nothing was changed. Use that program, or newer",
                reason=reason,
            )
        )


class UpgradeCopyError(UpsidesError):
    """Books that need an upgrade, of which no copy could be taken first."""

    def __init__(self, folder: object, reason: object) -> None:
        super().__init__(
            _(
                "the books in {folder} are of an earlier version and must be upgraded, but could not be copied "
                "first ({reason}); nothing was changed. Make room or put that right, then start again",
                folder=folder,
                reason=reason,
            )
        )


class ClockWentBackError(UpsidesError):
    """The computer's clock says a time before rows that were already recorded."""

    def __init__(self, moment: object, last: object) -> None:
        super().__init__(
            _(
                "the clock of this computer says {moment:%Y-%m-%d %H:%M} UTC, but the last entry was recorded at "
                "{last:%Y-%m-%d %H:%M} UTC; nothing is recorded until that is put right. Set the clock; if the "
                "clock is right and the last entry was made while it was wrong, run: upsides check --accept-clock",
                moment=moment,
                last=last,
            )
        )
