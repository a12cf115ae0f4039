"""What `upsides serve` is told: addresses, names, certificates. Certificates are made by trustme for each test."""

import os
import socket
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event

import click
import pytest
import trustme
from click.testing import CliRunner, Result
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    PrivateFormat,
    load_pem_private_key,
)

from upsides.cli import serve as serve_module
from upsides.cli.addresses import HostName, free_port, is_public, let_in, shown_at
from upsides.cli.certificates import papers
from upsides.cli.children import Kept
from upsides.cli.main import main
from upsides.errors import CannotListenError, CertificateError

NOW = datetime.now(UTC)
Issued = Callable[..., tuple[Path, Path]]


@pytest.fixture(scope="module")
def authority() -> trustme.CA:
    return trustme.CA()


@pytest.fixture
def issued(authority: trustme.CA, tmp_path: Path) -> Issued:
    """Return a function that issues a certificate for names, and gives its file and that of its key."""

    def issue(*names: str, as_: str = "yard", days: tuple[int, int] = (-1, 90)) -> tuple[Path, Path]:
        begins, ends = (NOW + timedelta(days=day) for day in days)
        made = authority.issue_cert(*names, not_before=begins, not_after=ends)
        cert, key = tmp_path / f"{as_}-cert.pem", tmp_path / f"{as_}-key.pem"
        made.cert_chain_pems[0].write_to_path(cert)
        made.private_key_pem.write_to_path(key)
        return cert, key

    return issue


def test_a_good_certificate(issued: Issued) -> None:
    """A certificate is read with its names and its end; a name under a star is covered, one level of it."""
    found = papers(*issued("yard.lan", "*.yard.org", "192.168.1.20"), NOW)
    assert found.names == {"yard.lan", "*.yard.org", "192.168.1.20"}
    assert abs(found.until - NOW - timedelta(days=90)) < timedelta(days=1)
    assert not found.own
    asked = ("yard.lan", "192.168.1.20", "a.yard.org", "a.b.yard.org", "yard.org", "elsewhere.lan")
    assert [found.covers(name) for name in asked] == [True, True, True, False, False, False]


def test_what_phones_would_complain_of_is_said(issued: Issued) -> None:
    """A name that the certificate leaves out and an end that is near are said, nothing else is."""
    near = papers(*issued("yard.lan", days=(-80, 9)), NOW)
    remarks = near.remarks(("yard.lan", "yard.org"), NOW)
    assert ["yard.org" in remarks[0], f"{near.until:%Y-%m-%d}" in remarks[1]] == [True, True]
    assert papers(*issued("yard.lan"), NOW).remarks(("yard.lan",), NOW) == []


def test_a_certificate_that_vouches_for_itself(tmp_path: Path, authority: trustme.CA) -> None:
    """One that nobody else has signed is known as such."""
    authority.cert_pem.write_to_path(tmp_path / "cert.pem")
    authority.private_key_pem.write_to_path(tmp_path / "key.pem")
    assert papers(tmp_path / "cert.pem", tmp_path / "key.pem", NOW).own


@pytest.mark.parametrize(
    ("days", "said"), [((-90, -1), "it ended on"), ((2, 90), "it is not valid before")], ids=["ended", "not yet"]
)
def test_a_certificate_out_of_its_time_is_refused(issued: Issued, days: tuple[int, int], said: str) -> None:
    """An ended certificate and one that is not valid yet are refused, with the day."""
    with pytest.raises(CertificateError, match=said):
        papers(*issued("yard.lan", days=days), NOW)


def test_files_that_do_not_belong_together_are_refused(issued: Issued) -> None:
    """Another certificate's key is refused, and so are two files in each other's place."""
    cert, key = issued("yard.lan")
    other, _ = issued("yard.lan", as_="other")
    with pytest.raises(CertificateError, match="not the key of the certificate"):
        papers(other, key, NOW)
    with pytest.raises(CertificateError, match="holds no certificate"):
        papers(key, cert, NOW)


def test_the_wrong_order_of_certificates_is_refused(issued: Issued, authority: trustme.CA, tmp_path: Path) -> None:
    """A signer's certificate before the server's own is refused, with what to do."""
    cert, key = issued("yard.lan")
    turned = tmp_path / "turned.pem"
    turned.write_bytes(authority.cert_pem.bytes() + cert.read_bytes())
    with pytest.raises(CertificateError, match="put the server's own certificate first"):
        papers(turned, key, NOW)


def test_unusable_files_are_refused(issued: Issued, tmp_path: Path) -> None:
    """Missing, empty, garbled and locked files are each refused by name, and say what to do."""
    cert, key = issued("yard.lan")
    empty, locked = tmp_path / "empty.pem", tmp_path / "locked.pem"
    empty.write_text("")
    private = load_pem_private_key(key.read_bytes(), None)
    locked.write_bytes(private.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, BestAvailableEncryption(b"hay")))
    for pair, at_fault, said in (
        ((tmp_path / "none.pem", key), "none.pem", "no such file"),
        ((cert, tmp_path / "none.pem"), "none.pem", "no such file"),
        ((empty, key), "empty.pem", "holds no certificate"),
        ((cert, empty), "empty.pem", "holds no private key"),
        ((cert, locked), "locked.pem", "locked by a password"),
        ((tmp_path, key), tmp_path.name, "is a directory"),
    ):
        with pytest.raises(CertificateError, match=said) as refused:
            papers(*pair, NOW)
        assert at_fault in refused.value.file


def run_serve(*options: object) -> Result:
    return CliRunner().invoke(main, ["serve", *(str(option) for option in options)])


def test_nothing_starts_with_a_bad_certificate(issued: Issued, tmp_path: Path) -> None:
    """A certificate is looked at before the books are opened: they are not even made."""
    cert, key = issued("yard.lan", days=(-90, -1))
    library = tmp_path / "library"
    library.mkdir()
    result = run_serve("--library", library, "--cert", cert, "--key", key)
    assert (result.exit_code, result.stdout) == (1, "")
    assert "Nothing was started" in result.stderr
    assert list(library.iterdir()) == []
    half = run_serve("--library", library, "--cert", cert)
    assert half.exit_code == 2
    assert "belong together" in half.stderr


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Yard.Example.ORG", "yard.example.org"),
        ("yard.", "yard"),
        ("192.168.1.20", "192.168.1.20"),
        ("fe80::1", "[fe80::1]"),
        ("[fe80::1]", "[fe80::1]"),
        ("écurie.fr", "xn--curie-9ra.fr"),
    ],
)
def test_names_are_kept_as_browsers_send_them(text: str, name: str) -> None:
    """A name is kept in small letters, an address of the newer kind in brackets, other scripts in their ASCII form."""
    assert HostName().convert(text, None, None) == name


@pytest.mark.parametrize("text", ["", "*", "https://yard.lan", "yard.lan:8000", "a..b", "-a.org", "a_b.org", "a,b"])
def test_what_is_no_name_is_refused(text: str) -> None:
    """An address with its scheme or port, a star, and what no machine is called, are refused with an example."""
    with pytest.raises(click.BadParameter, match=r"write it like yard\.example\.org"):
        HostName().convert(text, None, None)


def test_names_are_added_to_those_already_let_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """Names come to this machine's own and to those of the environment; each once, and never an empty one."""
    monkeypatch.delenv("UPSIDES_HOSTS", raising=False)
    let_in("127.0.0.1", ())
    assert os.environ["UPSIDES_HOSTS"] == "localhost,127.0.0.1,[::1]"
    let_in("192.168.1.20", ("yard.lan",))
    assert os.environ["UPSIDES_HOSTS"] == "localhost,127.0.0.1,[::1],192.168.1.20,yard.lan"
    monkeypatch.setenv("UPSIDES_HOSTS", "old.lan")
    let_in("0.0.0.0", ("yard.lan", "old.lan"))  # noqa: S104 (no socket is opened)
    assert os.environ["UPSIDES_HOSTS"] == "old.lan,yard.lan"


def test_the_address_that_is_shown() -> None:
    """People see the first name, else an address that works here, and no port where it is the usual one."""
    assert shown_at("127.0.0.1", 8000, (), secure=False) == "http://127.0.0.1:8000/"
    assert shown_at("0.0.0.0", 8000, (), secure=False) == "http://127.0.0.1:8000/"  # noqa: S104 (no socket is opened)
    assert shown_at("::1", 8000, (), secure=False) == "http://[::1]:8000/"
    assert shown_at("0.0.0.0", 443, ("yard.lan", "x.lan"), secure=True) == "https://yard.lan/"  # noqa: S104 (the same)
    assert shown_at("127.0.0.1", 443, (), secure=False) == "http://127.0.0.1:443/"


def test_names_that_the_world_may_know() -> None:
    """Only a name with a dot that is no number, and not one of those set aside for homes and tests, is public."""
    names = ("yard.org", "yard.co.uk", "yard", "yard.local", "yard.lan", "yard.home.arpa", "10.0.0.1", "yard.test")
    assert [is_public(name) for name in names] == [True, True] + [False] * 6


@pytest.mark.parametrize(
    ("names", "kept"), [(("yard.org",), str(serve_module.HTTPS_ONLY_S)), (("yard.lan",), None), ((), None)]
)
def test_https_only_is_for_public_names(
    issued: Issued, monkeypatch: pytest.MonkeyPatch, names: tuple[str, ...], kept: str | None
) -> None:
    """Browsers are told to come by https alone only under a public name that a signed certificate speaks for."""
    monkeypatch.setenv("UPSIDES_TLS", "")
    monkeypatch.setenv("UPSIDES_HSTS", "")
    monkeypatch.delenv("UPSIDES_HSTS")
    serve_module._secure(*issued("yard.org", "yard.lan"), names)
    assert os.environ["UPSIDES_TLS"] == "1"
    assert os.environ.get("UPSIDES_HSTS") == kept


def test_a_free_port_is_kept() -> None:
    """A free port is used as asked, and a taken one is stepped around."""
    port = free_port(0)
    assert free_port(port) == port
    with socket.socket() as other:
        other.bind(("127.0.0.1", port))
        other.listen()
        assert free_port(port) not in {port, 0}


def test_an_address_of_another_machine_is_refused() -> None:
    """An address that this machine does not have, and a name that nobody knows, are refused in words."""
    for host in ("203.0.113.7", "nobody.invalid"):  # RFC 5737 and RFC 2606: never anybody's
        with pytest.raises(CannotListenError, match="Nothing was started"):
            free_port(8000, host)


class Noting(Event):
    """An event on which nobody waits: it notes for how long somebody would have, and is set after some waits."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self.waits: list[float] = []
        self.most = most

    def wait(self, timeout: float | None = None) -> bool:
        self.waits.append(timeout or 0.0)
        if len(self.waits) == self.most:
            self.set()
        return self.is_set()


def test_a_child_that_keeps_dying_is_started_ever_later(capsys: pytest.CaptureFixture[str]) -> None:
    """A dead child is started again after a pause that doubles up to a bound, and each death is told."""
    kept = Kept(os._exit, (3,), "The child")
    kept.ending = Noting(3)
    kept.start()
    kept.thread.join(120)
    assert not kept.thread.is_alive()
    assert kept.ending.waits == [1.0, 2.0, 4.0]
    assert capsys.readouterr().err.count("The child ended unexpectedly; another is started in") == 3
    kept.stop()


def test_a_child_stopped_before_it_began_never_begins() -> None:
    """When the server ends before it answers, its worker is not started."""
    kept = Kept(os._exit, (3,), "The child")
    kept.stop()
    kept.start()
    assert kept.process is None
    assert not kept.thread.is_alive()
