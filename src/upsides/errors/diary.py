"""Entries of the diary that cannot be taken."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class KindUnknownError(UpsidesError):
    """A kind of entry that this program does not know.

    Args:
        kind: what was asked for.
        known: the kinds that there are.
    """

    def __init__(self, kind: str, known: list[str]) -> None:
        super().__init__(
            _(
                "there is no kind of entry called {kind!r}; choose one of {known}",
                kind=kind[:40],
                known=", ".join(known),
            )
        )
        self.kind, self.known = kind, known


class EntryRefusedError(UpsidesError):
    """A value of an entry that cannot be right; nothing of the entry was recorded.

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


class EntryClashError(UpsidesError):
    """An entry under a number that another entry has."""

    def __init__(self, client_id: object) -> None:
        super().__init__(
            _(
                "entry {client_id} is in the diary with other words; that one stays. Enter this one again as a new one",
                client_id=client_id,
            )
        )
        self.client_id = client_id


class EntryNotYoursError(UpsidesError):
    """A correction of somebody else's entry by a person who may correct only his own."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "this entry is somebody else's, so only its author, the head person, an assistant or the trainer "
                "can correct it; write a note of your own, or ask one of them"
            )
        )


class KindNotYoursError(UpsidesError):
    """An entry of a kind that only some may make.

    Args:
        kind: what it is called.
        roles: who may make it.
    """

    def __init__(self, kind: str, roles: list[str]) -> None:
        super().__init__(
            _(
                "{kind} is entered by {roles} only, and not by whoever uses a barn phone as less; ask one of them, "
                "or write a note",
                kind=kind,
                roles=", ".join(roles),
            )
        )
        self.kind, self.roles = kind, roles


class NoDiaryError(UpsidesError):
    """An entry in the name of somebody who does not work in the yard."""

    def __init__(self) -> None:
        super().__init__(
            _("the diary is written by people who work in the yard; ask the trainer to enter you as one of them")
        )


class EntryMissingError(UpsidesError):
    """A correction of an entry that the diary does not hold."""

    def __init__(self, client_id: object) -> None:
        super().__init__(
            _(
                "the entry that this corrects ({client_id}) is not in the diary, or is a withdrawal; enter it anew "
                "instead of as a correction",
                client_id=client_id,
            )
        )
        self.client_id = client_id


class NoConflictError(UpsidesError):
    """Two entries that do not contradict each other, or no longer do."""

    def __init__(self) -> None:
        super().__init__(
            _("these two do not stand against each other any more; load the page again to see what stands")
        )


class ViewNameError(UpsidesError):
    """A name that a saved view cannot have.

    Args:
        name: the name as typed.
        remedy: what to call it instead.
    """

    def __init__(self, name: str, remedy: str) -> None:
        super().__init__(_("a view cannot be kept as {name!r}: {remedy}", name=name, remedy=remedy))
        self.name = name


class ViewGoneError(UpsidesError):
    """A saved view that was forgotten in the meantime."""

    def __init__(self) -> None:
        super().__init__(_("that view was forgotten in the meantime; keep this one as a new view"))


class ParcelRefusedError(UpsidesError):
    """What a phone sent is not a parcel of entries; none of it was recorded."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            _(
                "what this phone sent cannot be read as entries: {reason}; nothing of it was recorded. Load the "
                "page again, then send them again",
                reason=reason,
            )
        )
        self.reason = reason
