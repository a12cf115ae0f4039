"""The trade's words: what cannot be read, written or compared."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class UnreadableError(UpsidesError):
    """A word or number of the trade that could not be read.

    Args:
        what: the kind of value, e.g. "distance".
        text: the text as it was given.
        expected: examples of what can be read.
    """

    def __init__(self, what: str, text: object, expected: str) -> None:
        super().__init__(
            _("{what} {text!r} cannot be read; write it like {expected}", what=what, text=text, expected=expected)
        )
        self.what, self.text, self.expected = what, text, expected


class UnwritableError(UpsidesError):
    """A value that a style of writing has no exact form for.

    Args:
        what: the kind of value, e.g. "time".
        value: the value as text.
        style: the style asked for.
        remedy: what to do instead.
    """

    def __init__(self, what: str, value: str, style: str, remedy: str) -> None:
        super().__init__(
            _(
                "{what} {value} cannot be written in the style {style!r}; {remedy}",
                what=what,
                value=value,
                style=style,
                remedy=remedy,
            )
        )


class NotComparableError(UpsidesError):
    """Two values of one kind that have no agreed order.

    Args:
        one: the first value as text.
        other: the second value as text.
        reason: why neither comes first, and what to do.
    """

    def __init__(self, one: str, other: str, reason: str) -> None:
        super().__init__(
            _("{one!r} and {other!r} cannot be put in order: {reason}", one=one, other=other, reason=reason)
        )


class MarginNotListedError(UpsidesError):
    """A named margin that the jurisdiction's list gives no length for.

    Args:
        name: the margin.
        listed: the names that the list does have.
    """

    def __init__(self, name: str, listed: str) -> None:
        super().__init__(
            _(
                "margin {name!r} is not in this list ({listed}); use a list that gives it a length",
                name=name,
                listed=listed,
            )
        )
