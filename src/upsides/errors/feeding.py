"""Rations, body mass and stocks of feed: what cannot be right, and what feeds cannot meet."""

from collections.abc import Iterable

from upsides.errors.base import FigureRefusedError, UpsidesError
from upsides.errors.wording import gettext as _


class FeedingRefusedError(FigureRefusedError):
    """A figure or word about feeding that cannot be right."""


class FeedUnknownError(UpsidesError):
    """A feed that is not on the yard's list.

    Args:
        feed: its name as it was given.
        known: the names on the list.
    """

    def __init__(self, feed: str, known: Iterable[str]) -> None:
        self.feed, self.known = feed, tuple(known)
        listed = ", ".join(self.known) or _("none yet")
        super().__init__(
            _(
                "feed {feed!r} is not on the list ({listed}); add it by its label, or choose another",
                feed=feed,
                listed=listed,
            )
        )


class BatchUnknownError(UpsidesError):
    """A batch of feed that was never written down as delivered."""

    def __init__(self, feed: str, number: str) -> None:
        super().__init__(
            _(
                "batch {number!r} of {feed!r} is not among those delivered; write down its delivery, or look at its "
                "label",
                number=number,
                feed=feed,
            )
        )


class RationUnmetError(UpsidesError):
    """Energy and forage that no amounts of the feeds at hand can give together.

    Args:
        reason: what stands in the way, with its figures.
        remedy: what would help.
    """

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason, self.remedy = reason, remedy
        super().__init__(_("these feeds cannot meet it: {reason}; {remedy}", reason=reason, remedy=remedy))
