"""Where tasks run."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class DaskMissingError(UpsidesError):
    """A cluster was asked for, and the library that reaches one is not installed."""

    def __init__(self) -> None:
        super().__init__(
            _("Dask is not installed here; install the package distributed, or use processes of this machine")
        )


class LedgerError(UpsidesError):
    """A file that is no ledger of a run.

    Args:
        file: which.
    """

    def __init__(self, file: object) -> None:
        super().__init__(
            _("{file}: it is no list of what a run has done; name another file, or delete this one", file=file)
        )
