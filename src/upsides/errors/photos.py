"""Photographs that cannot be taken in, or shown."""

from upsides.errors.base import UpsidesError


class PhotoRefusedError(UpsidesError):
    """A file that is no photograph that can be kept; nothing of what was sent with it was kept either.

    Args:
        name: the file's name.
        reason: why it cannot be kept.
        remedy: what to do instead.
    """

    def __init__(self, name: str, reason: str, remedy: str) -> None:
        super().__init__(f"the picture {name[:60]!r}: {reason}; nothing was kept. {remedy[:1].upper()}{remedy[1:]}")
        self.name, self.reason, self.remedy = name, reason, remedy


class NoPhotoError(UpsidesError):
    """Pictures were to be kept, but none was chosen."""

    def __init__(self) -> None:
        super().__init__("pictures: none was chosen; choose one or several, or take one, and send the page again")


class TooManyPhotosError(UpsidesError):
    """More pictures at once than are taken.

    Args:
        sent: how many were sent.
        most: how many are taken.
    """

    def __init__(self, sent: int, most: int) -> None:
        super().__init__(f"{sent} pictures at once: {most} is the most, and nothing was kept; send them in parts")
        self.sent, self.most = sent, most
