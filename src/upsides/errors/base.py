"""The root of everything that is refused in words."""

from upsides.errors.wording import gettext as _


class UpsidesError(Exception):
    """Anything this package refuses in words a person can act on."""


class FigureRefusedError(UpsidesError):
    """A figure or word that cannot be right.

    Args:
        field: what the value is called.
        typed: the value as it was given.
        reason: why it cannot be.
        remedy: what to do instead.
    """

    def __init__(self, field: str, typed: object, reason: str, remedy: str) -> None:
        self.field, self.typed, self.reason, self.remedy = field, str(typed)[:60], reason, remedy
        super().__init__(
            _("{field} {typed!r}: {reason}; {remedy}", field=field, typed=self.typed, reason=reason, remedy=remedy)
        )
