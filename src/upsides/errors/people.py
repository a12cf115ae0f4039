"""People, their sign-ins, devices and what is released to them."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class DeviceNamelessError(UpsidesError):
    """A phone or computer without a name."""

    def __init__(self) -> None:
        super().__init__(_("a device without a name cannot be told from the others; call it by where it hangs"))


class AuthorTokenError(UpsidesError):
    """What a phone shows for the author of its entries does not hold; one subclass a reason."""


class AuthorTokenUnreadableError(AuthorTokenError):
    """The token was not given by this yard, or was altered."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "these entries carry no valid mark of who made them, so they are kept on the phone; sign in on that "
                "phone again, then send them again"
            )
        )


class DeviceRevokedError(AuthorTokenError):
    """The phone or computer was ended.

    Args:
        device: its name.
    """

    def __init__(self, device: str) -> None:
        super().__init__(
            _(
                "the device {device!r} has been ended, so nothing more is taken from it; make it a barn phone "
                "again, or sign in on it, then send the entries again",
                device=device,
            )
        )
        self.device = device


class AuthorClosedError(AuthorTokenError):
    """The person who made the entries no longer has a sign-in.

    Args:
        number: the person's number.
    """

    def __init__(self, number: int) -> None:
        super().__init__(
            _(
                "the sign-in of person {number} is closed, so nothing more is taken in that name; ask the trainer "
                "to open it again, or enter it in the name of somebody else",
                number=number,
            )
        )
        self.number = number


class TrustLostError(AuthorTokenError):
    """The person's sign-ins were ended after the token was given.

    Args:
        number: the person's number.
    """

    def __init__(self, number: int) -> None:
        super().__init__(
            _(
                "person {number} was signed out everywhere after this phone was last used; sign in on it again, "
                "then send the entries again",
                number=number,
            )
        )
        self.number = number


class PersonFieldError(UpsidesError):
    """Something about a person that cannot be entered; `field` names what of it is at fault."""

    field = "name"


class PersonNamelessError(PersonFieldError):
    """A person without a name."""

    def __init__(self) -> None:
        super().__init__(_("a person needs a name; write it as it is called in the yard"))


class SignInNameTakenError(PersonFieldError):
    """Two people with one sign-in name.

    Args:
        login: the name.
    """

    field = "login"

    def __init__(self, login: str) -> None:
        super().__init__(
            _(
                "somebody else already signs in as {login!r}, and capitals make no difference; choose another name",
                login=login,
            )
        )
        self.login = login


class SignInNameUnusableError(PersonFieldError):
    """A sign-in name that nobody could type again.

    Args:
        login: the name.
    """

    field = "login"

    def __init__(self, login: str) -> None:
        super().__init__(
            _(
                "the sign-in name {login!r} holds a space or a mark that is hard to type; use letters, digits, full "
                "stops and hyphens",
                login=login,
            )
        )
        self.login = login


class RolesMissingError(PersonFieldError):
    """A person who is there for nothing."""

    field = "roles"

    def __init__(self) -> None:
        super().__init__(_("nothing is chosen that this person is there for; choose at least one"))


class RidingRefusedError(PersonFieldError):
    """Something that riding takes of a person, typed as it cannot be.

    Args:
        field: which field is at fault.
        reason: what is wrong with it, and what to write instead.
    """

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(reason)
        self.field, self.reason = field, reason


class PinUnusableError(PersonFieldError):
    """A PIN that is too short, too long, not of digits, or the first that anybody would try.

    Args:
        reason: what is wrong with it.
    """

    field = "pin"

    def __init__(self, reason: str) -> None:
        super().__init__(_("this PIN {reason}; choose 4 to 8 digits that others would not guess", reason=reason))
        self.reason = reason


class TrainersOnlyError(PersonFieldError):
    """Something about a trainer that only a trainer may change."""

    field = "roles"

    def __init__(self) -> None:
        super().__init__(_("only a trainer can make somebody a trainer, or change a trainer's page; ask one to do it"))


class LastTrainerError(PersonFieldError):
    """A change after which no trainer could sign in.

    Args:
        name: the trainer.
    """

    field = "roles"

    def __init__(self, name: str) -> None:
        super().__init__(
            _(
                "{name} is the only trainer who can sign in, and without one nobody could change anything here; "
                "enter another trainer first, and let that one sign in once",
                name=name,
            )
        )
        self.name = name


class PersonErasedError(UpsidesError):
    """A person who was erased cannot be changed any more.

    Args:
        number: the person's number.
    """

    def __init__(self, number: int) -> None:
        super().__init__(
            _(
                "person {number} was erased, so there is nothing left to change; enter the person again under a new "
                "number",
                number=number,
            )
        )
        self.number = number


class PasswordWrongError(PersonFieldError):
    """The password asked for before a change is not the person's."""

    field = "password"

    def __init__(self) -> None:
        super().__init__(_("this is not your password; write the one that you sign in with"))


class NotOnBarnPhoneError(UpsidesError):
    """Something that is not done on a phone that lies about."""

    def __init__(self) -> None:
        super().__init__(
            _(
                "this cannot be changed on a barn phone, which anybody may pick up; sign in on a phone or computer "
                "of yours"
            )
        )


class PinWrongError(UpsidesError):
    """A PIN that is not the person's.

    Args:
        left: how many more tries there are before a wait.
    """

    def __init__(self, left: int) -> None:
        super().__init__(_("that is not the PIN; {left} before a wait", left=_times(left)))
        self.left = left


class PinWaitError(UpsidesError):
    """Too many wrong PINs in a short time.

    Args:
        who: the person, or the phone's name where it was tried for several.
        until: the time of day at which it may be tried again
    """

    def __init__(self, who: str, until: str) -> None:
        super().__init__(
            _(
                "too many wrong PINs for {who}; try again after {until}, or ask the trainer or the secretary for a "
                "new PIN",
                who=who,
                until=until,
            )
        )
        self.who, self.until = who, until


def _times(left: int) -> str:
    return "one more try" if left == 1 else f"{left} more tries"


class ReleaseRefusedError(UpsidesError):
    """Inside information that cannot be made open so.

    Args:
        reason: why not, and what to do instead.
    """

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason
