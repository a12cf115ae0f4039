"""Lists of sales, shortlists and notes about lots that cannot be taken."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class SaleNotNamedError(UpsidesError):
    """A list that does not say which sale it is of."""

    def __init__(self, file: object) -> None:
        super().__init__(
            _(
                "{file}: by this shape the list does not say which sale it is of; name it: {example}",
                file=file,
                example='--sale "October yearlings, book 1"',
            )
        )


class SaleNamesError(UpsidesError):
    """One name for a list of several sales."""

    def __init__(self, file: object, sale: str, names: list[str]) -> None:
        shown = ", ".join(repr(name) for name in names[:4]) + (", ..." if len(names) > 4 else "")
        super().__init__(
            _(
                "{file}: the list holds {count} sales ({shown}), which {sale!r} would make one of; leave --sale "
                "out, or give a list of one sale",
                file=file,
                count=len(names),
                shown=shown,
                sale=sale,
            )
        )
        self.names = names


class NoteRefusedError(UpsidesError):
    """A note about a lot, or a mark of the shortlist, that cannot be right; nothing was recorded.

    Args:
        field: what the value is called.
        typed: what was typed.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, field: str, typed: str, reason: str, remedy: str) -> None:
        super().__init__(
            _("{field} {typed!r}: {reason}; {remedy}", field=field, typed=typed, reason=reason, remedy=remedy)
            if typed
            else _("{field}: {reason}; {remedy}", field=field, reason=reason, remedy=remedy)
        )
        self.field, self.typed, self.reason, self.remedy = field, typed, reason, remedy


class NoteNotYoursError(UpsidesError):
    """A correction of somebody else's note by a person who may correct only his own."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "this note is somebody else's, so only its author, an assistant or the trainer can correct it; "
                "write a note of your own, or ask one of them"
            )
        )


class NoteChangedError(UpsidesError):
    """A correction of a note that was corrected or withdrawn since the page was loaded."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "this note was corrected or withdrawn meanwhile; load the page again and see whether yours is still "
                "needed"
            )
        )
