import re
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from click.testing import CliRunner

import worlds
from upsides.cli.serve import free_port, serve
from upsides.results.library import Library

COMMAND = [sys.executable, "-c", "from upsides.cli.serve import serve; serve()", "--library"]


@contextmanager
def serving(library: Path, port: int) -> Iterator[tuple[subprocess.Popen[str], str, str]]:
    """A server in its own process: the process, its address, and what it said before."""
    said = ""
    with subprocess.Popen(
        [*COMMAND, str(library), "--port", str(port)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    ) as process:
        try:
            for line in process.stdout:
                said += line
                if found := re.search(r"http://127\.0\.0\.1:\d+/", line):
                    break
            else:
                raise AssertionError(said)
            yield process, found.group(0), said
        finally:
            process.send_signal(signal.SIGINT)
            try:
                process.wait(timeout=30)
            except subprocess.TimeoutExpired:
                process.kill()
                raise


def test_serves_and_stops_cleanly(tmp_path: Path) -> None:
    """From an empty library: tables are made, the printed address answers, Ctrl-C ends it."""
    Library.create(tmp_path)
    with serving(tmp_path, 0) as (process, address, _):
        try:
            urllib.request.urlopen(f"{address}nowhere", timeout=20)  # noqa: S310 (our own local address)
        except urllib.error.HTTPError as answer:
            body, status = answer.read().decode(), answer.code
    assert status == 404
    assert "There is no page at this address." in body
    assert process.returncode == 0
    assert (tmp_path / "books.sqlite3").exists()


def test_a_taken_port_is_said_and_stepped_around(tmp_path: Path) -> None:
    """Where the port is taken another is used, and the page says which."""
    Library.create(tmp_path)
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        with serving(tmp_path, taken) as (_, address, said):
            assert f"Port {taken} is taken" in said
            assert f":{taken}/" not in address


def test_a_free_port_is_kept() -> None:
    """A free port is used as asked."""
    port = free_port(0)
    assert free_port(port) == port


def test_a_missing_library_is_refused_in_words(tmp_path: Path) -> None:
    """Without a library the command names the folder and ends with an error."""
    result = CliRunner().invoke(serve, ["--library", str(tmp_path / "nowhere")])
    assert result.exit_code == 1
    assert "nowhere" in result.output
    assert "Traceback" not in result.output


def test_two_processes_may_open_the_same_books(yard: worlds.Yard) -> None:
    """A second process opens the books of a library that is open here."""
    code = "import sys; from pathlib import Path; from upsides.books.services.opening import open_books as o"
    subprocess.run([sys.executable, "-c", f"{code}; o(Path(sys.argv[1]))", str(yard.library)], check=True)
