"""Photographs that cannot be taken in, or shown."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class PhotoRefusedError(UpsidesError):
    """A file that is no photograph that can be kept; nothing of what was sent with it was kept either.

    Args:
        name: the file's name.
        reason: why it cannot be kept.
        remedy: what to do instead.
    """

    def __init__(self, name: str, reason: str, remedy: str) -> None:
        super().__init__(
            _(
                "the picture {name!r}: {reason}; nothing was kept; {remedy}",
                name=name[:60],
                reason=reason,
                remedy=remedy,
            )
        )
        self.name, self.reason, self.remedy = name, reason, remedy


class NoPhotoError(UpsidesError):
    """Pictures were to be kept, but none was chosen."""

    def __init__(self) -> None:
        super().__init__(_("pictures: none was chosen; choose one or several, or take one, and send the page again"))


class TooManyPhotosError(UpsidesError):
    """More pictures at once than are taken.

    Args:
        sent: how many were sent.
        most: how many are taken.
    """

    def __init__(self, sent: int, most: int) -> None:
        super().__init__(
            _(
                "{sent} pictures at once: {most} is the most, and nothing was kept; send them in parts",
                sent=sent,
                most=most,
            )
        )
        self.sent, self.most = sent, most
