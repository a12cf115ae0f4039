"""Signing in."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class CannotInviteError(UpsidesError):
    """A person for whom no one-time link can be made.

    Args:
        name: the person's name.
        reason: why not.
        remedy: what to do first.
    """

    def __init__(self, name: str, reason: str, remedy: str) -> None:
        super().__init__(
            _(
                "there can be no link to sign in for {name}, who {reason}; {remedy}",
                name=name,
                reason=reason,
                remedy=remedy,
            )
        )
        self.name, self.reason, self.remedy = name, reason, remedy


class NoPasswordError(UpsidesError):
    """Somebody who has no password yet and wants to change it."""

    def __init__(self, name: str) -> None:
        super().__init__(
            _(
                "{name} has no password to change; ask the trainer for a link to sign in, and choose one there",
                name=name,
            )
        )


class JobKindUnknownError(UpsidesError):
    """There is no kind of job of that name.

    Args:
        name: the name.
        known: the names that there are.
    """

    def __init__(self, name: str, known: list[str]) -> None:
        super().__init__(_("there is no kind of job {name!r}; there are: {known}", name=name, known=", ".join(known)))
        self.name, self.known = name, known


class JobPartMissingError(UpsidesError):
    """A kind of job whose work this program does not have.

    Args:
        name: the kind.
        reason: what was missing.
    """

    def __init__(self, name: str, reason: str) -> None:
        super().__init__(
            _(
                "this program has no part that does the job {name!r} ({reason}); update upsides on the machine "
                "where the worker runs, then ask for it again",
                name=name,
                reason=reason,
            )
        )
        self.name, self.reason = name, reason


class JobEndedError(UpsidesError):
    """A job that has ended cannot be stopped.

    Args:
        number: the job.
    """

    def __init__(self, number: int) -> None:
        super().__init__(
            _("job {number} has ended already; there is nothing to stop. Load the page again to see how", number=number)
        )
        self.number = number


class ScheduleError(UpsidesError):
    """A time at which a schedule cannot ask.

    Args:
        reason: what is wrong.
        remedy: what to do instead.
    """

    def __init__(self, reason: str, remedy: str) -> None:
        super().__init__(_("{reason}; {remedy}", reason=reason, remedy=remedy))
        self.reason, self.remedy = reason, remedy
