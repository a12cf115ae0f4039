"""The certificate that `upsides serve` shows to browsers, looked at before anything starts."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Any

from upsides.errors import CertificateError

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

SOON = timedelta(days=14)
PEM = "export it again as PEM, a text that begins with -----BEGIN"


@dataclass(frozen=True, slots=True)
class Papers:
    """A certificate that can be served.

    Args:
        names: names and addresses it speaks for, in lower case.
        until: when it ends, in UTC.
        own: whether it vouches for itself, as one does that nobody else has signed.
    """

    names: frozenset[str]
    until: datetime
    own: bool

    def covers(self, name: str) -> bool:
        """Return whether it speaks for a name, directly or by `*.` in place of the name's first part."""
        return name in self.names or f"*.{name.partition('.')[2]}" in self.names

    def remarks(self, names: tuple[str, ...], now: datetime) -> list[str]:
        """Return what somebody should hear before phones complain: names left out, an end that is near."""
        missing = ", ".join(name for name in names if not self.covers(name))
        said = [f"The certificate does not speak for {missing}: browsers will refuse it there."] if missing else []
        if self.until - now < SOON:
            said.append(f"The certificate ends on {self.until:%Y-%m-%d}; get the next one soon.")
        return said


def papers(cert: Path, key: Path, now: datetime) -> Papers:
    """Read a certificate and its key, and make sure that browsers can be shown them.

    Args:
        cert: PEM file of the certificate, its signers' after it.
        key: PEM file of its private key, without a password.
        now: the moment, with a zone.

    Raises:
        CertificateError: a file cannot be read, the two do not belong together, or it is not valid now.
    """
    first, *others = _certificates(cert)
    _belong_together(cert, key, first, others)
    if now > first.not_valid_after_utc:
        ended = f"it ended on {first.not_valid_after_utc:%Y-%m-%d}"
        raise CertificateError(cert, ended, "get a new one from whoever issued it")
    if now < first.not_valid_before_utc:
        begins = f"it is not valid before {first.not_valid_before_utc:%Y-%m-%d %H:%M} UTC"
        raise CertificateError(cert, begins, "set this computer's clock if that moment has passed, or wait for it")
    return Papers(_names(first), first.not_valid_after_utc, own=first.issuer == first.subject)


def _certificates(file: Path) -> "list[Certificate]":
    from cryptography.x509 import load_pem_x509_certificates

    try:
        return load_pem_x509_certificates(_read(file))
    except ValueError:
        raise CertificateError(file, "it holds no certificate that can be read", PEM) from None


def _belong_together(cert: Path, key: Path, first: "Certificate", others: "list[Certificate]") -> None:
    """Refuse a key that is not the first certificate's."""
    wanted = _as_bytes(_key(key).public_key())
    if _as_bytes(first.public_key()) == wanted:
        return
    if any(_as_bytes(other.public_key()) == wanted for other in others):
        raise CertificateError(cert, "its first certificate is a signer's", "put the server's own certificate first")
    raise CertificateError(
        key, f"it is not the key of the certificate in {cert}", "name the two that were made together"
    )


def _key(file: Path) -> Any:
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        return load_pem_private_key(_read(file), None)
    except TypeError:
        locked = "it is locked by a password, which nobody could type when the server starts by itself"
        raise CertificateError(file, locked, "write it without one: openssl pkey -in KEY -out NEW") from None
    except (ValueError, UnsupportedAlgorithm):
        raise CertificateError(file, "it holds no private key that can be read", PEM) from None


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        why = str(error.strerror or error).lower()
        raise CertificateError(file, why, "name a file that this account can read") from None


def _as_bytes(public: Any) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    return bytes(public.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo))


def _names(certificate: "Certificate") -> frozenset[str]:
    from cryptography import x509

    try:
        listed = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return frozenset()
    hosts = listed.get_values_for_type(x509.DNSName)
    return frozenset([name.lower() for name in hosts] + [str(ip) for ip in listed.get_values_for_type(x509.IPAddress)])


def is_address(name: str) -> bool:
    """Return whether a host's name is a number: an IP address, in brackets or not."""
    try:
        ip_address(name.strip("[]"))
    except ValueError:
        return False
    return True
