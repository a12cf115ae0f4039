"""A yard served under a name of its own, its books beside it, and phones that reach it there."""

import base64
import hashlib
import json
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import trustme
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from upsides.results.library import Library

NAME = "yard.example.test"
"""A name that is not this machine's to browsers, so that only https makes it a secure place."""

PIN, PASSWORD = "2468", "quiet-stable-morning"
READY = """navigator.serviceWorker.ready.then(async () => {
  while (!(await caches.match("/diary/horses.json"))) await new Promise((later) => setTimeout(later, 50));
})"""
"""Resolves once the phone keeps what it needs without signal."""
LOSE_AN_ANSWER = """() => {
  const real = window.fetch;
  window.fetch = async (...asked) => {
    const answer = await real(...asked);
    if (!String(asked[0]).endsWith("/diary/send/")) return answer;
    window.fetch = real;
    window.lost = await answer.text();
    throw new TypeError("the answer was lost");
  };
}"""
"""Lets what was sent arrive and its answer be lost."""
_COMMAND = [sys.executable, "-c", "from upsides.cli.main import main; main()", "serve"]

_SETTLE = """
import json, sys
from datetime import timedelta
from pathlib import Path
from upsides.books.services.opening import open_books
open_books(Path(sys.argv[1]))
from django.contrib.sessions.models import Session
from django.db.models import F
from upsides.books import clock
from upsides.books.models import Box, Device, Entry, Gallop, Horse, Person, Role, Stand, Yard
from upsides.books.services import devices
from upsides.books.services.people import add_person

def settle(password, pin):
    Yard.objects.create(pk=1, name="Tallowmere", zone="Europe/London")
    people = {role.value: add_person(f"{role.value} one", [role], login=role.value, password=password, pin=pin)
              for role in (Role.TRAINER, Role.HEAD_PERSON, Role.CARER)}
    people["carer2"] = add_person("carer two", [Role.CARER], login="carer2", password=password, pin=pin)
    for number, name in enumerate(("Burr Moss", "Curlew Sands", "Thatch"), start=1):
        Horse.objects.create(pk=number, horse_key=str(number), name=name, foaled=2022, sex="filly",
                             joined="2024-01-01", carer=people["carer"] if number == 2 else None)
    return devices.add_shared("Top barn", people["trainer"])[1]

def stable():
    Yard.objects.update(feed_times=["morning", "noon", "evening"])
    for place, number in enumerate((3, 1, 2), start=1):
        box = Box.objects.create(barn="Top", name=f"T{place}", position=place)
        Stand.objects.create(horse_id=number, box=box, first_day="2024-01-01")

def rows(after=0):
    fields = ("id", "kind", "horse_id", "author__login", "device__name", "values", "made_at", "recorded_at")
    return [dict(zip(fields, row)) for row in Entry.objects.filter(pk__gt=after).order_by("pk").values_list(*fields)]

def sessions_end():
    Session.objects.all().delete()

def signed_out_everywhere(login):
    Person.objects.filter(login=login).update(trust=F("trust") + 1)

def clock_goes_back():
    ahead, one = clock.now() + timedelta(hours=5), Entry.objects.order_by("pk").first()
    Entry.objects.create(client_id="0" * 32, kind="looked_at", horse_id=1, author=one.author, happened_at=ahead,
                         made_at=ahead, recorded_at=ahead)

def clock_accepted():
    Yard.objects.update(clock_from_entry=Entry.objects.order_by("pk").last().pk)

for line in sys.stdin:
    print(json.dumps(eval(line), default=str), flush=True)
"""


class Books:
    """The yard's books, asked in a process of their own: a browser's test cannot ask Django itself."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        command = [sys.executable, "-c", _SETTLE, str(folder)]
        self._process = subprocess.Popen(command, env=env, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def ask(self, what: str) -> Any:
        """Return what an expression over the books gives."""
        self._process.stdin.write(f"{what}\n")
        self._process.stdin.flush()
        return json.loads(self._process.stdout.readline())

    def close(self) -> None:
        self._process.stdin.close()
        self._process.wait(timeout=20)


@dataclass(frozen=True)
class Papers:
    """A certificate for `NAME`, its key, and what Chromium calls that key."""

    cert: Path
    key: Path
    pin: str


def papers(folder: Path) -> Papers:
    """Make an authority, and a certificate that it signed."""
    authority = trustme.CA()
    issued = authority.issue_cert(NAME)
    cert, key = folder / "cert.pem", folder / "key.pem"
    chain = issued.cert_chain_pems[0].bytes()
    cert.write_bytes(chain + authority.cert_pem.bytes())
    issued.private_key_pem.write_to_path(key)
    public = x509.load_pem_x509_certificate(chain).public_key()
    digest = hashlib.sha256(public.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)).digest()
    return Papers(cert, key, base64.b64encode(digest).decode())


class Server:
    """`upsides serve` for a yard, at one port, that can be stopped and started."""

    def __init__(self, folder: Path, env: dict[str, str], *options: str) -> None:
        self._command = [*_COMMAND, "--library", str(folder), "--no-worker", *options]
        self._env = env
        self._port = 0
        self._process: subprocess.Popen[str] | None = None
        self.address = ""

    def start(self) -> None:
        """Start it, and wait until it answers."""
        command = [*self._command, "--port", str(self._port)]
        self._process = subprocess.Popen(
            command, env=self._env, text=True, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
        )
        said = ""
        for line in self._process.stdout:
            said += line
            if found := re.search(r"(https?://[^/\s]+:(\d+))/", line):
                self.address, self._port = found[1], int(found[2])
                return
        raise AssertionError(said)

    def stop(self) -> None:
        """Stop it, whatever it does."""
        if self._process is None:
            return
        self._process.send_signal(signal.SIGINT)
        try:
            self._process.communicate(timeout=20)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.communicate()
        self._process = None


@contextmanager
def serving(folder: Path, env: dict[str, str], *options: str) -> Iterator[Server]:
    """A server that is stopped in the end."""
    server = Server(folder, env, *options)
    try:
        server.start()
        yield server
    finally:
        server.stop()


def library(folder: Path) -> Path:
    """Return a library without results; the diary needs none."""
    folder.mkdir()
    Library.create(folder)
    return folder
