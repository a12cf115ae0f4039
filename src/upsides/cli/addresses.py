"""Where `upsides serve` listens, and under which names people reach it."""

import errno
import os
import re
import socket

import click

from upsides.cli.certificates import is_address
from upsides.errors import CannotListenError

HERE = ("localhost", "127.0.0.1", "[::1]")
"""Names of this machine for itself."""

ANYWHERE = frozenset({"0.0.0.0", "::"})  # noqa: S104 (these are compared with, not listened at)
_NEVER_PUBLIC = (".local", ".lan", ".internal", ".home.arpa", ".localhost", ".test", ".example", ".invalid")
_PART = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)", re.ASCII)


class HostName(click.ParamType[str]):
    """A name or an address of a machine, without https:// and without a port."""

    name = "name"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Read the name as browsers send it, or fail in words."""
        text = str(value).strip().rstrip(".").lower()
        if is_address(text):
            bare = text.strip("[]")
            return f"[{bare}]" if ":" in bare else bare
        try:
            name = text.encode("idna").decode("ascii")
        except UnicodeError:
            name = ""
        if not name or not all(_PART.fullmatch(part) for part in name.split(".")):
            self.fail(
                f"{value!r} is not the name of a machine; write it like yard.example.org or 192.168.1.20", param, ctx
            )
        return name


def free_port(wanted: int, host: str = HERE[1]) -> int:
    """Return `wanted` where nothing listens on it, else a free port that the system picks.

    Raises:
        CannotListenError: this machine has no such address, or does not let this account use the port.
    """
    try:
        return _bound(host, wanted)
    except OSError as error:
        if getattr(error, "errno", None) != errno.EADDRINUSE:
            raise CannotListenError(host, wanted, str(error.strerror or error).lower()) from None
    return _bound(host, 0)


def _bound(host: str, port: int) -> int:
    family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
    with socket.socket(family) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        trial.bind((host, port))
        return int(trial.getsockname()[1])


def let_in(host: str, names: tuple[str, ...]) -> None:
    """Let the pages be asked for under more names, in this process and those that it starts."""
    known = os.environ.get("UPSIDES_HOSTS", "").split(",")
    listened = () if host in ANYWHERE else (f"[{host}]" if ":" in host else host,)
    wanted = [name for name in (*(known if known != [""] else HERE), *listened, *names) if name]
    os.environ["UPSIDES_HOSTS"] = ",".join(dict.fromkeys(wanted))


def shown_at(host: str, port: int, names: tuple[str, ...], *, secure: bool) -> str:
    """Return the address that people type: under the first name where there is one."""
    name = names[0] if names else reached(host)
    usual = port == (443 if secure else 80)
    inside = f"[{name}]" if ":" in name and not name.startswith("[") else name
    return f"{'https' if secure else 'http'}://{inside}{'' if usual else f':{port}'}/"


def reached(host: str) -> str:
    """Return an address at which this machine reaches what listens at `host`."""
    return {"0.0.0.0": HERE[1], "::": "::1"}.get(host, host)  # noqa: S104 (compared with, not listened at)


def is_public(name: str) -> bool:
    """Return whether a name is one that the whole world may know: with a dot, no number, no name of homes and tests."""
    return "." in name and not is_address(name) and not name.endswith(_NEVER_PUBLIC)
