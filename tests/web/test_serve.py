"""`upsides serve` as people run it: a process with children of its own."""

import http.client
import json
import os
import re
import signal
import socket
import ssl
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import trustme
from click.testing import CliRunner

import worlds
from desk import PATIENCE_S, Desk, alive, children, desk, until
from fresh import fresh
from upsides.cli.main import main
from upsides.results.library import Library

COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()", "serve", "--library"]

needs_proc = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="children are counted in /proc")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Books for the tests of this module."""
    with desk(tmp_path_factory.mktemp("serve") / "library") as found:
        yield found


@dataclass(frozen=True)
class Served:
    """A server that runs.

    Args:
        process: it.
        address: where it is.
        said: what it said up to then.
    """

    process: subprocess.Popen[str]
    address: str
    said: str

    @property
    def port(self) -> int:
        return int(re.findall(r":(\d+)/", self.address)[0])

    def status(self, host: str) -> int:
        """Return how the sign-in page answers somebody who calls the server `host`."""
        asked = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        asked.request("GET", "/account/login/", headers={"Host": host})
        return asked.getresponse().status


@contextmanager
def serving(library: Path, env: dict[str, str], *options: object) -> Iterator[Served]:
    """Give a server in its own process; it is stopped in the end, unless the test did so."""
    said = ""
    command = [*COMMAND, str(library), "--port", "0", *(str(option) for option in options)]
    with subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) as process:
        try:
            assert process.stdout is not None
            for line in process.stdout:
                said += line
                if found := re.search(r"https?://[^ ]+:\d+/", line):
                    break
            else:
                raise AssertionError(said)
            yield Served(process, found.group(0), said)
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGINT)
                try:
                    process.wait(timeout=PATIENCE_S)
                except subprocess.TimeoutExpired:
                    process.kill()
                    raise


def done_by(opened: Desk) -> int:
    """Ask for a job, wait until it is done, and return the number of the process that did it."""
    return int(opened.until(opened.ask("check"), "done")["worker"].rsplit("-", 2)[1])


def test_serves_from_an_empty_library(tmp_path: Path) -> None:
    """From an empty library: tables are made, the printed address answers, and Ctrl-C ends it."""
    Library.create(tmp_path)
    with fresh(tmp_path, ready=True) as env, serving(tmp_path, env) as served:
        with pytest.raises(urllib.error.HTTPError) as answer:
            urllib.request.urlopen(f"{served.address}nowhere", timeout=60)  # noqa: S310 (our own local address)
        body, status = answer.value.read().decode(), answer.value.code
        served.process.send_signal(signal.SIGINT)
        assert served.process.wait(PATIENCE_S) == 0
    assert status == 404
    assert "There is no page at this address." in body


@needs_proc
def test_everything_stops_together(opened: Desk) -> None:
    """SIGTERM ends the server well, and with it its two web processes and its worker."""
    with serving(opened.folder, opened.env) as served:
        done_by(opened)
        started = children(served.process.pid)
        assert len(started) >= 3
        served.process.send_signal(signal.SIGTERM)
        assert served.process.wait(PATIENCE_S) == 0
        until(lambda: not alive(started))


@needs_proc
def test_a_half_sent_request_keeps_nothing_from_ending(opened: Desk) -> None:
    """With requests on their way that never arrive whole, SIGTERM ends the server well and kills no process for it."""
    with serving(opened.folder, opened.env, "--no-worker") as served:
        asked = [socket.create_connection(("127.0.0.1", served.port)) for _ in range(4)]
        for one in asked:
            one.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n")
        assert served.status("localhost") == 200
        served.process.send_signal(signal.SIGTERM)
        said = served.process.communicate(timeout=PATIENCE_S)[0]
        assert served.process.returncode == 0
        assert "refused" not in said


@needs_proc
def test_nothing_outlives_a_killed_server(opened: Desk) -> None:
    """When the worker is killed another does the next job; when the server is, all that it started end themselves."""
    with serving(opened.folder, opened.env) as served:
        first = done_by(opened)
        assert first in children(served.process.pid)
        os.kill(first, signal.SIGKILL)
        second = done_by(opened)
        assert second in children(served.process.pid) - {first}
        left = children(served.process.pid)
        served.process.kill()
        served.process.wait()
        until(lambda: not alive(left))


def test_names_are_let_in(opened: Desk) -> None:
    """Pages answer under the names given, capitals or not, and under no other; a closed terminal ends them."""
    with serving(opened.folder, opened.env, "--no-worker", "--name", "Yard.lan", "--name", "192.168.1.20") as served:
        assert served.address == f"http://yard.lan:{served.port}/"
        asked = ("yard.lan", f"YARD.lan:{served.port}", "192.168.1.20", "localhost", "elsewhere.lan")
        assert [served.status(host) for host in asked] == [200, 200, 200, 200, 400]
        served.process.send_signal(signal.SIGHUP)
        assert served.process.wait(PATIENCE_S) == 0


def test_by_https_cookies_are_for_https_only(opened: Desk, tmp_path: Path) -> None:
    """With a certificate the pages come by https, the address says so, and cookies never travel in the clear."""
    authority = trustme.CA()
    issued = authority.issue_cert("localhost")
    issued.cert_chain_pems[0].write_to_path(tmp_path / "cert.pem")
    issued.private_key_pem.write_to_path(tmp_path / "key.pem")
    trusting = ssl.create_default_context()
    authority.configure_trust(trusting)
    options = ("--cert", tmp_path / "cert.pem", "--key", tmp_path / "key.pem", "--name", "localhost")
    with serving(opened.folder, opened.env, "--no-worker", *options) as served:
        assert served.address == f"https://localhost:{served.port}/"
        sign_in = f"{served.address}account/login/"
        answer = urllib.request.urlopen(sign_in, timeout=60, context=trusting)  # noqa: S310 (our own local address)
        assert answer.status == 200
        cookies = answer.headers.get_all("Set-Cookie")
        assert cookies
        assert all("Secure" in cookie for cookie in cookies)
        assert "Strict-Transport-Security" not in answer.headers


def test_a_taken_port_is_said_and_stepped_around(opened: Desk) -> None:
    """Where the port is taken another is used, and the command says which."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        taken = other.getsockname()[1]
        with serving(opened.folder, opened.env, "--port", taken, "--no-worker") as served:
            assert f"Port {taken} is taken" in served.said
            assert served.port != taken


def test_a_missing_library_is_refused_in_words(tmp_path: Path) -> None:
    """Without a library the command names the folder and ends with an error, as JSON where that was asked for."""
    result = CliRunner().invoke(main, ["serve", "--library", str(tmp_path / "nowhere"), "--json"])
    assert result.exit_code == 1
    assert "nowhere" in result.stderr
    assert "Traceback" not in result.output
    assert json.loads(result.stdout)["error"]["kind"] == "LibraryMissingError"


def test_two_processes_may_open_the_same_books(yard: worlds.Yard) -> None:
    """A second process opens the books of a library that is open here."""
    code = "import sys; from pathlib import Path; from upsides.books.services.opening import open_books as o"
    subprocess.run([sys.executable, "-c", f"{code}; o(Path(sys.argv[1]))", str(yard.library)], check=True)


RENDERED = """
import sys
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
import upsides.web.wsgi
from django.test import Client
from upsides.books.models import Person
from upsides.books.services.people import add_person
add_person("A trainer", ["trainer"], login="trainer", password="quiet-stable-morning")
browser = Client(headers={"host": "localhost"})
browser.force_login(Person.objects.get(login="trainer"))
asked = browser.post("/jobs/ask/", {"kind": "fit"})
shown = [browser.get(address).status_code for address in ("/", "/jobs/", "/job/1/", "/people/", "/diary/")]
heavy = {"numba", "highspy", "upsides.ratings.fits", "upsides.ratings.levels.fitting"} & set(sys.modules)
print(asked.status_code, *shown, *sorted(heavy))
"""


def test_a_web_process_makes_no_fit(tmp_path: Path) -> None:
    """A process that has shown pages and asked for a fit has loaded nothing that makes one, nor any solver."""
    Library.create(tmp_path)
    with fresh(tmp_path, ready=True) as env:
        done = subprocess.run(
            [sys.executable, "-c", RENDERED, str(tmp_path)], env=env, capture_output=True, text=True, check=False
        )
    assert done.stdout.split() == ["302", "200", "200", "200", "200", "200"], done.stderr
