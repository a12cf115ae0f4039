"""What is printed: paper there is none of, and sheets that the typesetter refuses."""

from collections.abc import Iterable

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class PaperSizeError(UpsidesError):
    """A size of paper that no sheet is laid out for.

    Args:
        size: what was asked for.
        sizes: those there are.
    """

    def __init__(self, size: str, sizes: Iterable[str]) -> None:
        self.size = size
        super().__init__(
            _("no paper of size {size!r}; there are: {sizes}", size=size[:40], sizes=", ".join(sorted(sizes)))
        )


class SheetRefusedError(UpsidesError):
    """The typesetter refused a sheet, which a sheet of this program should never meet.

    Args:
        title: the sheet's title.
        reason: what the typesetter said.
    """

    def __init__(self, title: str, reason: str) -> None:
        self.title, self.reason = title, reason
        super().__init__(
            _(
                "the sheet {title!r} could not be printed: {reason}; nothing was written. Print another sheet "
                "meanwhile, and report this line as a fault of the program",
                title=title,
                reason=reason,
            )
        )
