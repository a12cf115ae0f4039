"""Serving pages and running jobs."""

from upsides.errors.base import UpsidesError
from upsides.errors.wording import gettext as _


class CertificateError(UpsidesError):
    """A certificate, or its key, that browsers cannot be shown.

    Args:
        file: the file at fault.
        reason: what is wrong with it.
        remedy: what to do instead.
    """

    def __init__(self, file: object, reason: str, remedy: str) -> None:
        super().__init__(_("{file}: {reason}; {remedy}. Nothing was started", file=file, reason=reason, remedy=remedy))
        self.file, self.reason, self.remedy = str(file), reason, remedy


class CannotListenError(UpsidesError):
    """An address or port of this machine that pages cannot be shown at.

    Args:
        host: the address.
        port: the port.
        reason: what the system said.
    """

    def __init__(self, host: str, port: int, reason: str) -> None:
        super().__init__(
            _(
                "nothing can be shown at {host}, port {port}: {reason}; name an address of this machine, 0.0.0.0 "
                "for all of them, and a port above 1023. Nothing was started",
                host=host,
                port=port,
                reason=reason,
            )
        )
        self.host, self.port, self.reason = host, port, reason
